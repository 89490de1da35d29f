"""The unrolled map: places on the skin at true scale."""

import math

import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from routing.show.maps.unrolled import compose_unrolled, draw_unrolled
from routing.show.sheets.inputs import DrawingError, MapRoute
from structures.elements import Handrail, Solid, Zone
from structures.errors import UnknownIdError
from structures.shapes import Cylinder, Sphere
from tests.routing.show.show_ground import (
    artist,
    artists,
    covered,
    dense_station,
    overlaps,
    small_depot,
    straight_route,
    texts,
)

DEPOT = small_depot()


def test_rails_stand_at_their_clock_angle_times_the_radius() -> None:
    figure = draw_unrolled(DEPOT, "M1")
    paths = [path.vertices for path in artist(figure, "skin.handrails.near").get_paths()]
    rounds = {round(float(path[0, 1]), 9) for path in paths}
    # HZ at clock 0, HS at 90 deg (starboard), HP at -90 deg, HN near 180 deg (nadir).
    nadir = 2.0 * math.atan2(0.8, -2.0)
    assert rounds == {0.0, round(math.pi, 9), round(-math.pi, 9), round(nadir, 9)}
    for path in paths:
        assert path[0, 0] == pytest.approx(1.0)
        assert path[-1, 0] == pytest.approx(5.0)


def test_both_directions_have_the_scale_that_is_written() -> None:
    sheet = compose_unrolled(DEPOT, "M1")
    panel = sheet.panels[0].panel
    assert panel.points_per_m == pytest.approx(72 / 0.0254 / sheet.scale)
    skin = artist(sheet.figure, "skin.outline")
    assert (skin.get_width(), skin.get_height()) == pytest.approx((8.0, 2 * math.pi * 2.0))
    clock = sorted(path.vertices[0, 1] for path in artist(sheet.figure, "skin.clock").get_paths())
    assert np.diff(clock) == pytest.approx(math.radians(30) * 2.0)
    assert {"0\u00b0  zenith", "90\u00b0  starboard", "-90\u00b0  port"} <= set(texts(sheet.figure))


@pytest.mark.parametrize("length_m", [3.0, 40.0, 90.0, 300.0, 2000.0])
def test_clock_angles_never_stand_on_each_other(length_m: float) -> None:
    long = Solid(id="M1", volume=Cylinder(start_m=(0, 0, 0), end_m=(length_m, 0, 0), radius_m=2.0))
    sheet = compose_unrolled(small_depot(solids=(long,)), "M1")
    written = artists(sheet.figure, "skin.clock.text")
    assert "0\u00b0  zenith" in [one.get_text() for one in written]
    size_pt = written[0].get_fontproperties().get_size_in_points()
    per_m = sheet.panels[0].panel.points_per_m
    heights = sorted(one.get_position()[1] * per_m for one in written)
    assert all(up >= size_pt for up in np.diff(heights))
    assert len(written) == len(artist(sheet.figure, "skin.clock").get_paths())


def test_clock_angles_stand_clear_of_rails_beyond_the_end_and_of_labels() -> None:
    """Rails of the next module are drawn up to 1 m beyond the end, on the very clock lines."""
    beyond = tuple(
        Handrail(
            id=f"B{i}",
            points_m=((-0.95, 0.0, z), (-0.1, 0.0, z)),
            normal=(0.0, 0.0, math.copysign(1.0, z)),
        )
        for i, z in enumerate((-2.07, 2.07))
    )
    depot = DEPOT.model_copy(update={"handrails": (*DEPOT.handrails, *beyond)})
    sheet = compose_unrolled(depot, "M1")
    (result,) = sheet.panels
    panel = result.panel
    renderer = FigureCanvasAgg(sheet.figure).get_renderer()
    into = sheet.figure.axes[1].transData.inverted()
    angles = [
        one.get_window_extent(renderer).transformed(into)
        for one in artists(sheet.figure, "skin.clock.text")
    ]
    rails = [path.vertices for path in artist(sheet.figure, "skin.handrails.near").get_paths()]
    assert min(float(rail[:, 0].min()) for rail in rails) < -0.9
    labels = [
        (*panel.to_flat_m(one.box[:2]), *panel.to_flat_m(one.box[2:])) for one in result.placed
    ]
    assert len(angles) == 13
    for box in angles:
        assert panel.extent_m[0] < box.x0 < box.x1 < min(float(r[:, 0].min()) for r in rails)
        assert all(
            label[0] > box.x1 or label[2] < box.x0 or label[1] > box.y1 or label[3] < box.y0
            for label in labels
        )


def test_a_geodesic_route_is_drawn_straight() -> None:
    """W10: the helix from clock 0 to 90 deg over 3 m, R = 2, L = sqrt(9 + pi^2)."""
    turn = np.linspace(0, math.pi / 2, 31)
    grips = tuple(
        (1.0 + 3.0 * t / (math.pi / 2), 2.0 * math.sin(t), -2.0 * math.cos(t))
        for t in turn.tolist()
    )
    figure = draw_unrolled(DEPOT, "M1", routes=(MapRoute(person="EV1", grips_m=grips),))
    (way,) = [path.vertices for path in artist(figure, "skin.route-1.way.near").get_paths()]
    straight = way[0] + np.linspace(0, 1, 400)[:, None] * (way[-1] - way[0])
    off = np.abs(np.interp(way[:, 0], straight[:, 0], straight[:, 1]) - way[:, 1])
    assert off.max() < 1e-3
    length = float(np.hypot(*np.diff(way, axis=0).T).sum())
    assert length == pytest.approx(math.sqrt(9 + math.pi**2), rel=1e-5)


def test_what_is_off_the_skin_is_not_drawn() -> None:
    far = Handrail(id="FAR", points_m=((1, 0, -9), (5, 0, -9)), normal=(0, 0, -1))
    beyond = Handrail(id="BEYOND", points_m=((20, 0, -2.1), (22, 0, -2.1)), normal=(0, 0, -1))
    figure = draw_unrolled(small_depot(handrails=(*DEPOT.handrails, far, beyond)), "M1")
    assert len(artist(figure, "skin.handrails.near").get_paths()) == 4
    assert not {"FAR", "BEYOND"} & set(texts(figure))


def test_a_rail_across_the_cut_is_drawn_on_both_sides() -> None:
    ring = tuple(
        (6.0, 2.1 * math.sin(math.radians(a)), -2.1 * math.cos(math.radians(a)))
        for a in range(160, 201, 5)
    )
    rail = Handrail(id="RING", points_m=ring, normal=(0, 0, 1))
    figure = draw_unrolled(
        small_depot(handrails=(rail,), worksites=(), conditions=(), zones=()), "M1"
    )
    ends = [path.vertices[[0, -1], 1] for path in artist(figure, "skin.handrails.near").get_paths()]
    cut = 2.0 * math.pi
    assert ends[0] == pytest.approx([2.0 * math.radians(160), cut])
    assert ends[1] == pytest.approx([-cut, -2.0 * math.radians(160)])


def test_a_rail_along_the_cut_is_drawn_on_both_edges_whichever_side_rounding_puts_it() -> None:
    for side_m in (1e-12, -1e-12):
        rail = Handrail(
            id="KEEL", points_m=((1, side_m, 2.05), (3, side_m, 2.05)), normal=(0, 0, 1)
        )
        bare = small_depot(handrails=(rail,), worksites=(), conditions=(), zones=())
        sheet = compose_unrolled(bare, "M1")
        lines = artist(sheet.figure, "skin.handrails.near").get_paths()
        heights = sorted(float(line.vertices[0, 1]) for line in lines)
        assert heights == pytest.approx([-2.0 * math.pi, 2.0 * math.pi])
        (panel,) = sheet.panels
        (label,) = [one for one in panel.placed if one.label.text == "KEEL"]
        assert label.box[3] > panel.panel.height_pt / 2


def test_zones_have_their_outline_on_the_skin() -> None:
    ball = Zone(id="ZB", volume=Sphere(center_m=(4, 2.0, 0), radius_m=0.5))
    figure = draw_unrolled(small_depot(zones=(ball,)), "M1")
    (edge,) = [one.vertices for one in artist(figure, "skin.zone-outline.ZB").get_paths()]
    assert edge[0] == pytest.approx(edge[-1])
    angle = edge[:, 1] / 2.0
    space = np.column_stack([edge[:, 0], 2.0 * np.sin(angle), -2.0 * np.cos(angle)])
    assert np.linalg.norm(space - (4.0, 2.0, 0.0), axis=1) == pytest.approx(0.6, abs=0.005)


def test_zones_are_hatched_where_they_reach_the_hands() -> None:
    ball = Zone(id="ZB", volume=Sphere(center_m=(4, 2.0, 0), radius_m=0.5))
    clear = Zone(id="ZC", volume=Sphere(center_m=(4, -3.0, 0), radius_m=0.5))
    figure = draw_unrolled(small_depot(zones=(ball, clear)), "M1")
    ends = np.vstack([path.vertices for path in artist(figure, "skin.zone.ZB").get_paths()])
    away = np.hypot(ends[:, 0] - 4.0, ends[:, 1] - math.pi)  # starboard is 90 deg: pi m round
    assert 0.5 < away.max() < 0.5 + 0.1 + 0.1
    assert not artists(figure, "skin.zone.ZC")


def test_labels_of_a_dense_skin_neither_overlap_nor_cover_marks() -> None:
    station = dense_station()
    route = straight_route(station, "H0000-0", "EV1")
    (panel,) = compose_unrolled(station, "M0000", routes=(route,)).panels
    assert len(panel.placed) > 40
    assert overlaps(panel) == []
    assert covered(panel) == []


@pytest.mark.parametrize(("solid", "said"), [("B1", "is a box"), ("N1", "is a cone")])
def test_only_cylinders_unroll(solid: str, said: str) -> None:
    with pytest.raises(DrawingError, match=said):
        draw_unrolled(DEPOT, solid)


def test_an_unknown_solid_is_told_the_nearest() -> None:
    with pytest.raises(UnknownIdError, match="M1"):
        draw_unrolled(DEPOT, "M11")
    with pytest.raises(UnknownIdError):
        draw_unrolled(DEPOT, "HZ")
