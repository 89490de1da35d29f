"""Maps: where things are, their scale, and parts of a structure; never pixels."""

import numpy as np
import pytest

from routing.show.maps.frame_arrows import axis_headings
from routing.show.maps.maps import compose_map, draw_map
from routing.show.sheets.inputs import (
    Region,
    region_around,
)
from routing.show.sheets.sheet import lay_out
from routing.show.sheets.title_block import scale_bar_lengths_m
from structures.model import Structure
from structures.views import VIEWS
from tests.routing.show.show_ground import (
    artist,
    artists,
    dense_station,
    grey,
    small_depot,
    texts,
    walker,
)

ALL_VIEWS = ("plan", "starboard", "port", "zenith", "nadir", "forward", "aft")
DEPOT = small_depot()


@pytest.fixture(scope="module")
def dense() -> Structure:
    return dense_station()


def test_rails_are_where_the_projection_puts_them() -> None:
    figure = draw_map(DEPOT, views=("plan",))
    near = [path.vertices.tolist() for path in artist(figure, "plan.handrails.near").get_paths()]
    # From zenith: the rail on top, and those on both sides, which are seen edge-on.
    assert near == [
        [[1.0, 2.1], [5.0, 2.1]],  # HP: port is up
        [[1.0, -2.1], [5.0, -2.1]],  # HS: the wing begins outboard of it
        [[1.0, 0.0], [5.0, 0.0]],  # HZ
    ]
    far = [path.vertices.tolist() for path in artist(figure, "plan.handrails.far").get_paths()]
    assert far == [[[1.0, -0.8], [5.0, -0.8]]]  # HN is under the module


def test_what_a_solid_hides_is_drawn_as_behind() -> None:
    """The rail on the starboard side faces starboard, but a wall stands in between."""
    from structures.elements import Solid
    from structures.shapes import Box

    wall = Solid(id="wall", volume=Box(center_m=(3, 5, 0), size_m=(8, 0.1, 8)))
    figure = draw_map(small_depot(solids=(*DEPOT.solids, wall)), views=("starboard",))
    assert not artists(figure, "starboard.handrails.near")
    assert len(artist(figure, "starboard.handrails.far").get_paths()) == 4
    open_figure = draw_map(DEPOT, views=("starboard",))
    # HS, and edge-on HZ on top and HN below.
    assert len(artist(open_figure, "starboard.handrails.near").get_paths()) == 3


def test_a_rail_that_goes_behind_something_is_drawn_in_parts() -> None:
    from structures.elements import Solid
    from structures.shapes import Box

    # A box over the middle of HZ, from x = 2.5 to 3.5 m, out of reach of nothing else.
    roof = Solid(id="roof", volume=Box(center_m=(3, 0, -4), size_m=(1.0, 1.0, 0.2)))
    sheet = compose_map(small_depot(solids=(*DEPOT.solids, roof)), views=("plan",))
    near, far = (
        [path.vertices for path in artist(sheet.figure, f"plan.handrails.{side}").get_paths()]
        for side in ("near", "far")
    )
    part_m = 4.0 / 24
    ends = sorted(line[[0, -1], 0].tolist() for line in near if line[0, 1] == 0.0)
    assert np.ravel(ends) == pytest.approx([1.0, 2.5, 3.5, 5.0], abs=part_m)
    (hidden,) = (line[[0, -1], 0].tolist() for line in far if line[0, 1] == 0.0)
    assert hidden == pytest.approx([2.5, 3.5], abs=part_m)
    (name,) = (one for one in sheet.panels[0].placed if one.label.text == "HZ")
    at_m = [sheet.panels[0].panel.to_flat_m(spot)[0] for spot in name.label.anchors]
    assert sorted(at_m) == pytest.approx([1.75, 4.25], abs=part_m), "by what is in view of it"


def test_far_rails_are_thinner_broken_and_paler() -> None:
    figure = draw_map(DEPOT, views=("plan",))
    near, far = (artist(figure, f"plan.handrails.{side}") for side in ("near", "far"))
    assert far.get_linewidth()[0] < near.get_linewidth()[0] / 2
    assert near.get_linestyle()[0][1] is None
    assert far.get_linestyle()[0][1] is not None
    assert grey(far.get_color()[0]) > grey(near.get_color()[0]) + 0.3


def test_all_views_have_one_true_scale() -> None:
    sheet = compose_map(DEPOT, views=ALL_VIEWS)
    expected = 72 / 0.0254 / sheet.scale
    panels = [axes for axes in sheet.figure.axes if axes.get_xlim() != (0, 16.54 * 72)]
    assert len(panels) == len(ALL_VIEWS)
    for axes in panels:
        box = axes.get_position()
        width_pt, height_pt = box.width * 16.54 * 72, box.height * 11.69 * 72
        assert width_pt / np.ptp(axes.get_xlim()) == pytest.approx(expected)
        assert height_pt / np.ptp(axes.get_ylim()) == pytest.approx(expected)


def test_panels_hold_everything_and_do_not_overlap(dense: Structure) -> None:
    sheet = compose_map(dense, views=("plan", "starboard", "port", "forward"))
    boxes = []
    for result in sheet.panels:
        panel = result.panel
        points = np.array([point for rail in dense.handrails for point in rail.points_m])
        assert panel.shows(VIEWS[result.name].project(points)).all()
        boxes.append(
            (
                panel.left_pt,
                panel.bottom_pt,
                panel.left_pt + panel.width_pt,
                panel.bottom_pt + panel.height_pt + 34.0,
            )
        )
    for i, a in enumerate(boxes):
        assert a[0] >= 0
        assert a[2] <= 16.54 * 72
        assert a[3] <= 11.69 * 72
        for b in boxes[:i]:
            assert a[0] >= b[2] or b[0] >= a[2] or a[1] >= b[3] or b[1] >= a[3]


def test_layout_takes_the_largest_usual_scale() -> None:
    # 10 m on 400 pt less two margins of 24 and two gutters of 8: 1:85.9 fits, the next usual is 100
    scale, (panel,) = lay_out([(0, 0, 10, 1)], (400, 400), 0)
    assert scale == 100
    assert panel.points_per_m == pytest.approx(28.346, abs=1e-3)
    assert lay_out([(0, 0, 10, 1)], (4000, 400), 0)[0] == 10


@pytest.mark.parametrize("points_per_m", [1.2, 14.17, 28.3, 500.0])
def test_scale_bars_are_round_lengths_in_both_units(points_per_m: float) -> None:
    metres, feet_in_m = scale_bar_lengths_m(points_per_m)
    for length in (metres, feet_in_m / 0.3048):
        digits = f"{length:e}"[:3]
        assert digits in {"1.0", "2.0", "5.0"}
    assert 40 < metres * points_per_m <= 130
    assert 40 < feet_in_m * points_per_m <= 130


def test_scale_bars_are_drawn_at_the_scale_of_the_panels() -> None:
    sheet = compose_map(DEPOT, views=("plan",))
    per_m = 72 / 0.0254 / sheet.scale
    for unit, metres in zip(("m", "ft"), scale_bar_lengths_m(per_m), strict=True):
        halves = artists(sheet.figure, f"scale-bar.{unit}")
        assert sum(half.get_width() for half in halves) == pytest.approx(metres * per_m)
        number = metres if unit == "m" else metres / 0.3048
        assert f"{number:g} {unit}" in texts(sheet.figure)


@pytest.mark.parametrize("name", ALL_VIEWS)
def test_frame_arrows_point_where_the_axes_go(name: str) -> None:
    view = VIEWS[name]
    for i, (text, run) in enumerate(axis_headings(view)):
        axis = np.eye(3)[[i]]
        assert tuple(view.project(axis)[0]) == run
        assert text == ("+X forward", "+Y starboard", "+Z nadir")[i]
    figure = draw_map(DEPOT, views=(name,))
    assert {"+X forward", "+Y starboard", "+Z nadir"} <= set(texts(figure))


def test_a_region_cuts_the_rest_away() -> None:
    region = Region(low_m=(0.5, -1.0, -3.0), high_m=(4.0, 1.0, -1.0))
    figure = draw_map(DEPOT, views=("plan",), region=region)
    assert len(artist(figure, "plan.handrails.near").get_paths()) == 1  # HZ alone
    assert not artists(figure, "plan.handrails.far")
    assert len(artist(figure, "plan.solids").get_paths()) == 1  # the long module alone
    assert artist(figure, "plan.socket.near").get_xdata().tolist() == [2.0]
    # The frame is where the region ends, in the plan X right and Y down.
    frame = artist(figure, "plan.region")
    assert frame.get_bbox().extents == pytest.approx((0.5, -1.0, 4.0, 1.0))
    assert "part only, inside the frame: X 0.5 to 4.0, Y -1.0 to 1.0, Z -3.0 to -1.0 m" in texts(
        figure
    )


def test_region_around_routes_holds_grips_and_lays() -> None:
    region = region_around((walker(),), margin_m=0.5)
    assert region.low_m == pytest.approx((0.5, -0.5, -2.6))
    assert region.high_m == pytest.approx((5.5, 0.8, -1.6))
