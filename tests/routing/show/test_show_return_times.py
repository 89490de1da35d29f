"""The return-time map: bands by the limit, the limit's crossings, labels apart."""

from itertools import combinations

import pytest

from routing.show.maps.return_times import (
    ReturnTimes,
    TimedGrip,
    compose_return_times,
    limit_crossings,
)
from routing.show.sheets.inputs import DrawingError, MapFacts
from tests.routing.paths.route_graphs import deck

HANDS_M = -0.07


def grip(rail: str, along_m: float, x_m: float, seconds: float | None, **more: bool) -> TimedGrip:
    return TimedGrip(
        id=f"{rail}@{along_m:.3f}",
        element=rail,
        along_m=along_m,
        position_m=(x_m, 0.0, HANDS_M),
        reached=more.get("reached", True),
        seconds=seconds,
    )


TIMES = ReturnTimes(
    grips=(
        grip("H1", 0.0, 0.0, 0.0),
        grip("H1", 1.0, 1.0, 60.0),
        grip("H1", 2.0, 2.0, 100.0),
        grip("H1", 3.0, 3.0, 140.0),
        grip("H2", 0.0, 3.4, 180.0),
        grip("H2", 2.0, 5.4, None),
        grip("H3", 0.0, 6.5, None, reached=False),
    ),
    limit_s=120.0,
    reach_m=0.6,
)


def test_the_limit_is_crossed_by_the_share_of_the_times() -> None:
    ((place, beyond),) = limit_crossings(TIMES)
    assert place == pytest.approx((2.5, 0.0, HANDS_M))
    assert beyond.id == "H1@3.000"


def test_it_is_crossed_between_handrails_within_reach_too() -> None:
    later = ReturnTimes(grips=TIMES.grips, limit_s=150.0, reach_m=0.6)
    ((place, beyond),) = limit_crossings(later)
    assert place == pytest.approx((3.1, 0.0, HANDS_M))
    assert beyond.element == "H2"
    assert limit_crossings(ReturnTimes(grips=TIMES.grips, limit_s=150.0, reach_m=0.3)) == ()


def test_no_way_is_beyond_every_limit() -> None:
    ((place, beyond),) = limit_crossings(ReturnTimes(grips=TIMES.grips, limit_s=1e6, reach_m=0.6))
    assert place == pytest.approx((3.4, 0.0, HANDS_M))
    assert beyond.seconds is None


def test_every_grip_is_drawn_in_its_band_and_labels_are_apart() -> None:
    sheet = compose_return_times(deck(), TIMES, views=("plan",), facts=MapFacts())
    drawn: dict[str, int] = {}
    for axes in sheet.figure.axes:
        for line in axes.lines:
            gid = str(line.get_gid())
            if ".home." in gid:
                band = gid.split(".")[2]
                drawn[band] = drawn.get(band, 0) + len(line.get_xdata())
    assert drawn == {"first": 1, "third": 1, "fourth": 1, "late": 2, "no-way": 1, "not-reached": 1}
    (panel,) = sheet.panels
    texts = [one.label.text for one in panel.placed]
    assert "H2@0.000 180 s" in texts
    for one, other in combinations([placed.box for placed in panel.placed], 2):
        assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def test_nothing_to_draw_is_an_error() -> None:
    empty = ReturnTimes(grips=(), limit_s=1800.0, reach_m=0.6)
    with pytest.raises(DrawingError, match="no grips"):
        compose_return_times(deck(), empty, facts=MapFacts())
