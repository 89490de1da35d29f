"""Routes on maps: marks, numbers, arrows, transfers, and two that can be told apart."""

import numpy as np
import pytest

from routing.show.maps.maps import compose_map, draw_map
from routing.show.maps.routes import numbered_grips
from routing.show.sheets.inputs import (
    MapTransfer,
)
from routing.show.sheets.style import MARKERS, ROUTE_LOOKS
from tests.routing.show.show_ground import (
    artist,
    artists,
    grey,
    small_depot,
    texts,
    walker,
)

DEPOT = small_depot()


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
