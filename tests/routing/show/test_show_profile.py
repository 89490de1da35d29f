"""The profile of a route: lines, limits, transfers, and what is beyond a limit."""

from dataclasses import replace

import numpy as np
import pytest

from routing.caution import CAUTION
from routing.show.charts.profile import draw_profile
from routing.show.sheets.inputs import DrawingError, ProfileTransfer, RouteProfile
from tests.routing.show.show_ground import artist, artists, small_depot, texts

DEPOT = small_depot()

# Grip 2 stands twice: before and after the transfer.
PROFILE = RouteProfile(
    distance_m=(0.0, 1.0, 2.0, 2.0, 3.0),
    gap_m=(0.3, 0.5, 0.0, 0.6),
    clearance_m=(0.2, float("inf"), 0.0, 0.1),
    reach_m=0.61,
    payout_m=(0.5, 1.5, 2.5, 0.2, 1.2),
    payout_limit_m=(3.0, 3.0, 3.0, 25.0, 25.0),
    transfers=(ProfileTransfer(distance_m=2.0, label="TP2"),),
    person="EV1",
)


def test_lines_are_the_values_given() -> None:
    figure = draw_profile(DEPOT, PROFILE)
    payout = artist(figure, "profile.payout.line")
    assert payout.get_xdata().tolist() == [0, 1, 2, 2, 3]
    assert payout.get_ydata().tolist() == [0.5, 1.5, 2.5, 0.2, 1.2]
    limit = artist(figure, "profile.payout.limit")
    assert limit.get_ydata().tolist() == [3, 3, 3, 25, 25]
    gap = artist(figure, "profile.gap.line")
    # Level over each move; the grip that stands twice is no move and no gap of zero.
    assert gap.get_xdata().tolist() == [0, 1, 1, 2, 2, 3]
    assert gap.get_ydata().tolist() == [0.3, 0.3, 0.5, 0.5, 0.6, 0.6]
    assert artist(figure, "profile.gap.limit").get_ydata().tolist() == [0.61, 0.61]
    clearance = artist(figure, "profile.clearance.line").get_ydata()
    assert np.isnan(clearance).tolist() == [False, False, True, True, False, False]


def test_time_runs_along_and_stands_still_at_transfers() -> None:
    timed = replace(
        PROFILE, elapsed_m=(0.0, 1.0, 2.0, 2.0, 3.0), elapsed_s=(0.0, 10.0, 20.0, 50.0, 60.2)
    )
    figure = draw_profile(DEPOT, timed)
    line = artist(figure, "profile.time.line")
    assert line.get_xdata().tolist() == [0, 1, 2, 2, 3]
    assert line.get_ydata().tolist() == [0, 10, 20, 50, 60.2]
    assert "60 s in all, 30 s of it at transfers" in texts(figure)
    assert not artists(figure, "profile.time.limit")
    assert not artists(draw_profile(DEPOT, PROFILE), "profile.time.line")


def test_a_transfer_runs_through_every_chart_and_is_named_once() -> None:
    figure = draw_profile(DEPOT, PROFILE)
    lines = artists(figure, "profile.transfer-1")
    assert len(lines) == 3
    assert all(list(line.get_xdata()) == [2.0, 2.0] for line in lines)
    assert texts(figure).count("T1 TP2") == 1


def test_the_worst_place_is_said_in_both_units() -> None:
    shown = texts(draw_profile(DEPOT, PROFILE))
    assert (
        "worst 2.500 m (8.21 ft) at 2.000 m (6.56 ft), limit 3.000 m (9.84 ft)"
        " (tether length less reserve)"
    ) in shown
    assert any(text.startswith("worst 0.600 m (1.97 ft) at 2.000 m") for text in shown)
    assert not any("BEYOND" in text for text in shown)


def test_what_is_written_is_never_better_than_it_is() -> None:
    near = replace(
        PROFILE,
        clearance_m=(0.2, float("inf"), 0.0, 0.00499),
        gap_m=(0.3, 0.5, 0.0, 0.60901),
        payout_m=(0.5, 1.5, 2.50011, 0.2, 1.2),
    )
    shown = texts(draw_profile(DEPOT, near))
    for worst in ("worst 4 mm", "worst 0.610 m", "worst 2.501 m"):
        assert any(text.startswith(worst) for text in shown)


@pytest.mark.parametrize(
    ("strip", "changes"),
    [
        ("payout", {"payout_limit_m": (2.4, 2.4, 2.4, 25.0, 25.0)}),
        ("gap", {"reach_m": 0.55}),
        ("clearance", {"clearance_m": (0.2, 0.3, 0.0, -0.01)}),
    ],
)
def test_what_is_beyond_its_limit_is_crossed_and_said(
    strip: str, changes: dict[str, object]
) -> None:
    figure = draw_profile(DEPOT, replace(PROFILE, **changes))
    assert len(artist(figure, f"profile.{strip}.wrong").get_xdata())
    others = {"payout", "gap", "clearance"} - {strip}
    assert not any(artists(figure, f"profile.{other}.wrong") for other in others)
    assert sum("BEYOND THE LIMIT" in text for text in texts(figure)) == 1


def test_without_a_reel_there_is_no_chart_of_line_out() -> None:
    figure = draw_profile(DEPOT, replace(PROFILE, payout_m=(), payout_limit_m=()))
    assert not artists(figure, "profile.payout.line")
    assert artists(figure, "profile.gap.line")


def test_all_charts_share_their_distances_and_the_caution_stands_below() -> None:
    figure = draw_profile(DEPOT, PROFILE)
    charts = [one for one in figure.axes if (one.get_gid() or "").startswith("profile.")]
    assert len({axes.get_xlim() for axes in charts}) == 1
    assert len({(axes.get_position().x0, axes.get_position().x1) for axes in charts}) == 1
    assert " ".join(one.get_text() for one in artists(figure, "caution")) == CAUTION


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"distance_m": (0.0,)}, "two or more"),
        ({"distance_m": (0.0, 2.0, 1.0, 2.0, 3.0)}, "must not fall"),
        ({"gap_m": (0.1,)}, "gap_m has 1 values"),
        ({"payout_m": (1.0,)}, "payout_m has 1 values"),
        ({"payout_limit_m": ()}, "payout_limit_m has 0 values"),
        ({"elapsed_m": (0.0, 1.0)}, "elapsed_s has 0 values"),
        ({"elapsed_m": (0.0, 1.0), "elapsed_s": (3.0, 2.0)}, "elapsed_s must be finite and must"),
        ({"gap_m": (0.1, float("nan"), 0.1, 0.1)}, "gap_m holds"),
        ({"clearance_m": (0.1, -float("inf"), 0.1, 0.1)}, "clearance_m holds"),
    ],
)
def test_profiles_that_cannot_be_drawn(changes: dict[str, object], said: str) -> None:
    with pytest.raises(DrawingError, match=said):
        replace(PROFILE, **changes)
