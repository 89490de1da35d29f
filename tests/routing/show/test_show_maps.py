"""Maps: artist data and positions, never pixels."""

from dataclasses import replace

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from routing.caution import CAUTION
from routing.limits import Limits
from routing.show.maps.frame_arrows import axis_headings
from routing.show.maps.maps import compose_map, draw_map
from routing.show.maps.projection import FlatProjection
from routing.show.maps.routes import numbered_grips
from routing.show.sheets.inputs import (
    DrawingError,
    MapFacts,
    MapRoute,
    MapTransfer,
    Region,
    region_around,
)
from routing.show.sheets.sheet import lay_out
from routing.show.sheets.style import MARKERS, ROUTE_LOOKS, SHEETS_IN, MapStyle
from routing.show.sheets.title_block import scale_bar_lengths_m
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.views import VIEWS
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

ALL_VIEWS = ("plan", "starboard", "port", "zenith", "nadir", "forward", "aft")
DEPOT = small_depot()


def walker(**changes: object) -> MapRoute:
    fields = {
        "person": "EV1",
        "grips_m": ((1.0, 0.0, -2.1), (2.0, 0.0, -2.1), (3.0, 0.0, -2.1), (5.0, 0.0, -2.1)),
        "handrails": ("HZ",),
        "transfers": (MapTransfer(position_m=(4.0, 0.0, -2.1), tether_point="TP2", label="reel"),),
        "stays": ("TP1",),
        "lays_m": (((1.0, 0.3, -2.1), (1.0, 0.0, -2.1), (4.0, 0.0, -2.1)),),
    }
    return MapRoute(**(fields | changes))


@pytest.fixture(scope="module")
def dense() -> Structure:
    return dense_station()


# Labels


@pytest.mark.parametrize("sheet_in", [(16.54, 11.69), (7.5, 10.5), (33.1, 23.4)])
def test_no_label_overlaps_another_or_covers_a_mark(
    dense: Structure, sheet_in: tuple[float, float]
) -> None:
    routes = (straight_route(dense, "H0000-0", "EV1"), straight_route(dense, "H0001-1", "EV2"))
    sheet = compose_map(
        dense,
        views=("plan", "starboard", "forward"),
        routes=routes,
        style=MapStyle(sheet_in=sheet_in),
    )
    for panel in sheet.panels:
        assert len(panel.placed) > 20
        assert overlaps(panel) == []
        assert covered(panel) == []
        for one in panel.placed:
            assert one.box[0] >= 0
            assert one.box[2] <= panel.panel.width_pt
            assert one.box[3] <= panel.panel.height_pt


def test_every_id_in_view_is_written_or_counted(dense: Structure) -> None:
    sheet = compose_map(dense, views=("plan",), style=MapStyle(sheet_in=SHEETS_IN["A4"]))
    (panel,) = sheet.panels
    projection = FlatProjection(VIEWS["plan"], dense.solids, None)
    in_view = 0
    for rail in dense.handrails:
        first, last = np.array(rail.points_m)  # all of these are straight
        spots = first + np.linspace(0.01, 0.99, 60)[:, None] * (last - first)
        in_view += projection.near(spots, np.tile(rail.normal, (60, 1))).any()
    rails = [one for one in panel.placed if one.label.kind == "handrail"]
    left_out = [one for one in panel.left_out if one.kind == "handrail"]
    known = {rail.id for rail in dense.handrails}
    in_key = [one for one in panel.placed if one.label.kind == "key" and one.label.text in known]
    assert len(rails) + len(in_key) + len(left_out) == in_view


def test_an_empty_sheet_round_a_few_rails_names_them_all() -> None:
    for panel in compose_map(DEPOT, views=("plan", "starboard"), routes=(walker(),)).panels:
        assert panel.left_out == ()
        assert panel.notes == ()


def test_drawn_texts_stand_in_their_boxes() -> None:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    sheet = compose_map(DEPOT, views=("plan",), routes=(walker(),))
    sheet.figure.set_dpi(288)
    renderer = FigureCanvasAgg(sheet.figure).get_renderer()
    (panel,) = sheet.panels
    drawn = [one for kind in sheet.figure.axes for one in kind.texts]
    labels = [one for one in drawn if (one.get_gid() or "").startswith("plan.label")]
    assert len(labels) == len(panel.placed)
    for text, placed in zip(labels, panel.placed, strict=True):
        extent = text.get_window_extent(renderer)
        left = extent.x0 * 72 / 288 - panel.panel.left_pt
        bottom = extent.y0 * 72 / 288 - panel.panel.bottom_pt
        right = extent.x1 * 72 / 288 - panel.panel.left_pt
        assert text.get_text() == placed.label.text
        assert left >= placed.box[0] - 0.3
        assert right <= placed.box[2] + 0.3
        assert bottom >= placed.box[1] - 2.0  # the extent has the font's depth, the box the ink's


# Places and scale


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


# Routes


def test_route_marks_numbers_and_arrows_are_in_order() -> None:
    sheet = compose_map(DEPOT, views=("plan",), routes=(walker(),))
    figure = sheet.figure
    marks = artist(figure, "plan.route-1.grips")
    assert marks.get_xdata().tolist() == [1.0, 2.0, 3.0, 5.0]
    assert set(marks.get_ydata().tolist()) == {0.0}
    numbers = [one for one in sheet.panels[0].placed if one.label.kind == "grip number"]
    assert [one.label.text for one in numbers] == ["1", "2", "3", "4"]
    anchors = [one.label.anchors[0][0] for one in numbers]
    assert anchors == sorted(anchors), "numbers run forward, as the person does"
    for path in artist(figure, "plan.route-1.arrows").get_paths():
        tip, *back = path.vertices[:3]
        assert all(tip[0] > corner[0] for corner in back), "an arrow points back"
    (way,) = artist(figure, "plan.route-1.way.near").get_paths()
    assert way.vertices.tolist() == [[1.0, 0.0], [2.0, 0.0], [3.0, 0.0], [5.0, 0.0]]


def test_arrows_turn_with_the_route() -> None:
    back = walker(grips_m=tuple(reversed(walker().grips_m)), transfers=(), stays=(), lays_m=())
    figure = draw_map(DEPOT, views=("plan",), routes=(back,))
    for path in artist(figure, "plan.route-1.arrows").get_paths():
        tip, *rest = path.vertices[:3]
        assert all(tip[0] < corner[0] for corner in rest)


def test_transfers_stays_and_lays_have_symbols_of_their_own() -> None:
    figure = draw_map(DEPOT, views=("plan",), routes=(walker(),))
    transfer = artist(figure, "plan.route-1.transfer-1")
    assert (transfer.get_xdata().tolist(), transfer.get_ydata().tolist()) == ([4.0], [0.0])
    hook = artist(figure, "plan.route-1.transfer-1.hook")
    assert list(zip(hook.get_xdata(), hook.get_ydata(), strict=True)) == [(4.0, 0.0), (4.0, -0.3)]
    stay = artist(figure, "plan.route-1.stay-1")
    assert (stay.get_xdata().tolist(), stay.get_ydata().tolist()) == ([1.0], [-0.3])
    symbols = [transfer.get_marker(), stay.get_marker(), *(m.symbol for m in MARKERS.values())]
    assert symbols.count("h") == symbols.count("v") == 1
    (lay,) = artist(figure, "plan.route-1.lays").get_paths()
    assert lay.vertices.tolist() == [[1.0, -0.3], [1.0, 0.0], [4.0, 0.0]]
    assert "T1 TP2 reel" in texts(figure)
    assert "TP1" in texts(figure)


def test_a_hook_on_the_handrail_in_hand_is_small_and_says_no_id() -> None:
    leap = MapTransfer(position_m=(3.0, 0.0, -2.1), tether_point="HZ")
    route = walker(transfers=(leap,), stays=(), lays_m=())
    other = walker(person="EV2", transfers=(leap,), stays=(), lays_m=())
    figure = draw_map(DEPOT, views=("plan",), routes=(route, other))
    small = artist(figure, "plan.route-1.transfer-1").get_markersize()
    reel = artist(draw_map(DEPOT, views=("plan",), routes=(walker(),)), "plan.route-1.transfer-1")
    assert small < reel.get_markersize()
    assert {"AT1", "BT1"} <= set(texts(figure))
    assert not artists(figure, "plan.route-1.transfer-1.hook")


def test_grips_on_the_far_side_are_drawn_open_and_their_way_thin() -> None:
    normals = ((0, 0, -1.0), (0, 0, -1.0), (0, 0, 1.0), (0, 0, 1.0))
    below = ((1.0, 0.0, -2.1), (2.0, 0.0, -2.1), (3.0, 0.0, 2.1), (5.0, 0.0, 2.1))
    route = walker(grips_m=below, normals=normals, transfers=(), stays=(), lays_m=())
    figure = draw_map(DEPOT, views=("plan",), routes=(route,))
    assert artist(figure, "plan.route-1.numbered.near").get_xdata().tolist() == [1.0, 2.0]
    assert artist(figure, "plan.route-1.numbered.far").get_xdata().tolist() == [3.0, 5.0]
    near, far = (artist(figure, f"plan.route-1.way.{side}") for side in ("near", "far"))
    assert far.get_linewidth()[0] < near.get_linewidth()[0]


def test_without_normals_what_a_solid_hides_is_still_drawn_open() -> None:
    below = walker(
        grips_m=((1.0, 0.0, -2.1), (2.0, 0.0, -2.1), (2.0, 0.0, 2.1)),
        transfers=(),
        stays=(),
        lays_m=(),
    )
    figure = draw_map(DEPOT, views=("plan",), routes=(below,))
    assert artist(figure, "plan.route-1.numbered.far").get_xdata().tolist() == [2.0]
    assert artist(figure, "plan.route-1.numbered.near").get_xdata().tolist() == [1.0, 2.0]


def grey(colour: object) -> float:
    """Return the lightness of a colour as a grey print shows it (ITU-R BT.601 luma)."""
    return float(np.array(to_rgb(colour)) @ [0.299, 0.587, 0.114])


def test_two_routes_differ_in_dash_marker_filling_and_lightness() -> None:
    looks = [(look.dash, look.marker, look.filled) for look in ROUTE_LOOKS]
    assert len({look.dash for look in ROUTE_LOOKS}) == len({m for _, m, _ in looks}) == 4
    assert ROUTE_LOOKS[0].filled != ROUTE_LOOKS[1].filled
    assert abs(grey(ROUTE_LOOKS[0].colour) - grey(ROUTE_LOOKS[1].colour)) > 0.25
    other = walker(person="EV2", grips_m=((1.0, 0.5, -2.1), (5.0, 0.5, -2.1)), transfers=())
    sheet = compose_map(DEPOT, views=("plan",), routes=(walker(), other))
    shown = texts(sheet.figure)
    assert {"A: EV1", "B: EV2", "A1", "A4", "B1", "B2"} <= set(shown)
    dashes = [
        artist(sheet.figure, f"plan.route-{i}.way.near").get_linestyle()[0][1] for i in (1, 2)
    ]
    assert dashes[0] is None
    assert dashes[1] is not None


@pytest.mark.parametrize(
    ("count", "gap_pt", "numbered"),
    [
        (1, 0.0, (0,)),
        (4, 20.0, (0, 1, 2, 3)),
        (6, 8.0, (0, 1, 3, 5)),  # every 2nd: grips 1, 2, 4, 6
        (12, 3.0, (0, 4, 9, 11)),  # every 5th: grips 1, 5, 10 and the last
        (3, 0.0, (0, 2)),  # seen end-on
    ],
)
def test_dense_grips_are_numbered_at_round_steps(
    count: int, gap_pt: float, numbered: tuple[int, ...]
) -> None:
    page = np.column_stack([np.arange(count) * gap_pt, np.zeros(count)])
    assert numbered_grips(page, 15.0) == numbered


# Zones, closures and title block


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
    facts = MapFacts(
        subject="hatch to WS1", digest="0123456789abcdef" * 4, limits=Limits(reach_m=0.5)
    )
    shown = texts(draw_map(DEPOT, facts=facts))
    assert {"Depot", "hatch to WS1"} <= set(shown)
    assert "Revision B \u00b7 data of 2031-04-02 \u00b7 SHA-256 0123456789ab" in shown
    assert "Limits not at their default: reach_m 0.5 (default 0.6096)" in shown
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


# Region


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


# Errors and state


@pytest.mark.parametrize(
    ("views", "said"),
    [
        (("top",), "no view 'top'"),
        (("starbord",), "did you mean 'starboard'"),
        ((), "one or more"),
        (("plan", "plan"), "each once"),
    ],
)
def test_wrong_views_are_told_what_there_is(views: tuple[str, ...], said: str) -> None:
    with pytest.raises(DrawingError, match=said):
        draw_map(DEPOT, views=views)


def test_nothing_to_draw_is_said() -> None:
    with pytest.raises(DrawingError, match="nothing to draw"):
        draw_map(Structure(name="void", revision="1"))


def test_more_routes_than_can_be_told_apart() -> None:
    with pytest.raises(DrawingError, match="at most 4"):
        draw_map(DEPOT, routes=(walker(),) * 5)


def test_unknown_stays_and_conditions_are_errors() -> None:
    with pytest.raises(UnknownIdError, match="TP9"):
        draw_map(DEPOT, routes=(walker(stays=("TP9",)),))
    with pytest.raises(UnknownIdError, match="radar"):
        draw_map(DEPOT, facts=MapFacts(when=("radar",)))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"grips_m": ()}, "no grips"),
        ({"grips_m": ((0.0, float("nan"), 0.0),)}, "finite"),
        ({"normals": ((0.0, 0.0, 1.0),)}, "4 grips but 1 normals"),
        ({"lays_m": (((0.0, 0.0, float("inf")),),)}, "finite"),
    ],
)
def test_routes_that_cannot_be_drawn(changes: dict[str, object], said: str) -> None:
    with pytest.raises(DrawingError, match=said):
        walker(**changes)


def test_regions_that_are_empty() -> None:
    with pytest.raises(DrawingError, match="empty"):
        Region(low_m=(0, 0, 0), high_m=(1, 0, 1))
    with pytest.raises(DrawingError, match="at least one route"):
        region_around(())


@pytest.mark.parametrize(
    "only",
    [
        {"solids": (), "zones": ()},
        {"handrails": (), "worksites": (), "conditions": (), "zones": ()},
        {"solids": (), "handrails": (), "worksites": (), "conditions": (), "handholds": ()},
    ],
)
def test_parts_of_a_structure_are_enough(only: dict[str, object]) -> None:
    assert draw_map(small_depot(**only), views=ALL_VIEWS)


def test_a_station_of_one_point_is_drawn() -> None:
    from structures.elements import Handhold

    hold = Handhold(id="K", position_m=(1, 2, 3), normal=(0, 0, -1))
    sheet = compose_map(Structure(name="dot", revision="1", handholds=(hold,)))
    assert [one.label.text for one in sheet.panels[0].placed] == ["K"]


def test_order_of_elements_does_not_change_the_drawing() -> None:
    turned = small_depot(
        handrails=DEPOT.handrails[::-1],
        solids=DEPOT.solids[::-1],
        sockets=DEPOT.sockets[::-1],
        zones=DEPOT.zones[::-1],
        tether_points=DEPOT.tether_points[::-1],
    )
    first, second = (compose_map(one, views=("plan", "aft")) for one in (DEPOT, turned))
    assert first.panels == second.panels


def test_global_state_of_matplotlib_is_left_alone() -> None:
    before = dict(mpl.rcParams)
    draw_map(DEPOT, routes=(walker(),))
    assert dict(mpl.rcParams) == before


def test_mathematics_is_never_parsed() -> None:
    hostile = small_depot(name="$\\frac{1}{0$ <b>", revision="$x^2$")
    hostile = hostile.model_copy(
        update={"solids": (hostile.solids[0].model_copy(update={"name": "$\\bad{$"}),)}
    )
    figure = draw_map(hostile, views=("plan",), routes=(replace(walker(), person="$EV_1$"),))
    from matplotlib.text import Text

    shown = [one for one in figure.findobj(Text) if "$" in one.get_text()]
    assert {"$\\frac{1}{0$ <b>", "$\\bad{$", "$EV_1$"} <= {one.get_text() for one in shown}
    assert not any(one.get_parse_math() or one.get_usetex() for one in shown)
