"""Zones, closures, symbols and the title block of maps."""

import numpy as np
import pytest

from routing.caution import CAUTION
from routing.limits import Limits
from routing.paths.answers.results import InputDigest
from routing.show.maps.maps import compose_map, draw_map
from routing.show.sheets.inputs import (
    MapFacts,
)
from routing.show.sheets.style import MARKERS, MapStyle
from structures.elements import Zone
from structures.shapes import Sphere
from tests.routing.show.show_ground import (
    artist,
    artists,
    small_depot,
    texts,
)

DEPOT = small_depot()


def test_zones_are_hatched_by_kind_with_their_condition() -> None:
    figure = draw_map(DEPOT, views=("plan",))
    for kind in ("keep-out", "slow-down", "idle"):
        lines = [
            path.vertices for path in artist(figure, f"plan.zones.{kind}.hatching").get_paths()
        ]
        assert lines
        rise = np.sign(np.array([np.prod(line[1] - line[0]) for line in lines]))
        assert set(rise) == ({-1.0} if kind == "slow-down" else {1.0})
    assert "Dish (if radar-on)" in texts(figure)
    assert "zone whose condition is not in force" in texts(figure)
    in_force = draw_map(DEPOT, views=("plan",), facts=MapFacts(when=("radar-on",)))
    assert len(artist(in_force, "plan.zones.keep-out").get_paths()) == 2
    assert not artists(in_force, "plan.zones.idle")
    assert "Dish (in force: radar-on)" in texts(in_force)


def test_legend_explains_the_star_under_a_socket_only_where_there_is_one() -> None:
    assert "worksite on a socket" in texts(draw_map(DEPOT, views=("plan",)))
    without = DEPOT.model_copy(update={"worksites": ()})
    assert "worksite on a socket" not in texts(draw_map(without, views=("plan",)))


def test_what_is_told_is_whole_in_the_title_block_however_many_lines_it_takes() -> None:
    subject = "Cost of single losses to 12 trips, leapfrog, reach and rate of the limits; " * 3
    told = ("protocol reel, 2 reels of 25.91 m (85.0 ft)", "answered and safe, 367 s")
    shown = texts(draw_map(DEPOT, views=("plan",), facts=MapFacts(subject=subject, told=told)))
    assert subject.strip() in " ".join(shown)
    assert set(told) <= set(shown)


def test_a_zone_that_the_panel_cuts_off_has_no_edge_there() -> None:
    far = Zone(id="FAR", volume=Sphere(center_m=(8.0, 0.0, -60.0), radius_m=59.0))
    sheet = compose_map(DEPOT.model_copy(update={"zones": (far,)}), views=("starboard",))
    (path,) = artist(sheet.figure, "starboard.zones.keep-out").get_paths()
    # Every corner of the edge is on the ball (the polygon's 0.1 %), none on the panel's frame.
    radius_m = np.hypot(*(path.vertices - [8.0, 60.0]).T)
    assert radius_m.min() > 58.9
    assert len(path.vertices) > 2
    assert "FAR" in texts(sheet.figure)


def test_hatching_stays_inside_its_zone() -> None:
    figure = draw_map(DEPOT, views=("starboard",))
    for path in artist(figure, "starboard.zones.keep-out.hatching").get_paths():
        # The ball Z1: centre (8, 3) seen from starboard, radius 1 and the polygon's 0.1 %.
        assert np.hypot(*(path.vertices - [8.0, 3.0]).T).max() <= 1.0012


def test_closed_rails_are_crossed_out_and_never_drawn_as_usable() -> None:
    facts = MapFacts(when=("radar-on",), closed=("HZ",))
    figure = draw_map(DEPOT, views=("plan",), facts=facts)
    closed = sorted(
        p.vertices[0].tolist() for p in artist(figure, "plan.handrails.closed").get_paths()
    )
    assert closed == [[1.0, 0.0], [1.0, 2.1]]  # HZ by hand, HP by its condition
    assert sorted(artist(figure, "plan.closures").get_ydata().tolist()) == [0.0, 2.1]
    shown = texts(figure)
    assert {"HZ closed", "HP closed", "closed, do not use"} <= set(shown)
    assert "Closed: HZ" in shown
    assert "Conditions in force: radar-on" in shown


def test_title_block_says_where_the_drawing_is_from() -> None:
    inputs = (
        InputDigest(name="depot.toml", sha256="0123456789abcdef" * 4),
        InputDigest(name="rails $x$.csv", sha256="fedcba9876543210" * 4),
    )
    facts = MapFacts(subject="hatch to WS1", inputs=inputs, limits=Limits(reach_m=0.5))
    shown = texts(draw_map(DEPOT, facts=facts))
    assert {"Depot", "hatch to WS1"} <= set(shown)
    read = "SHA-256 depot.toml\u00a00123456789ab, rails $x$.csv\u00a0fedcba987654"
    assert f"Revision B \u00b7 data of 2031-04-02 \u00b7 {read}" in " ".join(shown)
    assert "Limits not at their default: reach 0.5 m (default 0.6096 m)" in shown
    assert any(text.startswith("Scale 1:") for text in shown)


@pytest.mark.parametrize("sheet_in", [(16.54, 11.69), (4.0, 9.0)])
def test_the_caution_is_whole_on_every_map(sheet_in: tuple[float, float]) -> None:
    figure = draw_map(DEPOT, views=("plan",), style=MapStyle(sheet_in=sheet_in))
    lines = [one.get_text() for one in artists(figure, "caution")]
    assert " ".join(lines) == CAUTION


def test_every_kind_has_its_own_symbol() -> None:
    assert len({(m.symbol, m.filled) for m in MARKERS.values()}) == len(MARKERS)
    figure = draw_map(DEPOT, views=("plan",))
    for kind, count in (("hatch", 1), ("socket", 2), ("tether-point", 1), ("staged-tether", 1)):
        assert len(artist(figure, f"plan.{kind}.near").get_xdata()) == count
    # WS2 is on its rail at the nearest point to its place: (3, 2.1, 0).
    worksites = artist(figure, "plan.worksite.near")
    found = sorted(zip(worksites.get_xdata(), worksites.get_ydata(), strict=True))
    assert found == [(3.0, -2.1), (7.0, 0.0)]


def test_names_of_modules_stand_inside_what_is_seen_of_them() -> None:
    sheet = compose_map(DEPOT, views=("plan",))
    (panel,) = sheet.panels
    (name,) = [one for one in panel.placed if one.label.text == "Long module"]
    left, bottom = panel.panel.to_flat_m(name.box[:2])
    right, top = panel.panel.to_flat_m(name.box[2:])
    assert 0 <= left < right <= 8
    assert -2 <= bottom < top <= 2
