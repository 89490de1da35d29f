"""Maps that cannot be drawn say why; those that can leave no trace."""

from dataclasses import replace

import matplotlib as mpl
import pytest

from routing.show.maps.maps import compose_map, draw_map
from routing.show.sheets.inputs import (
    DrawingError,
    MapFacts,
    Region,
    region_around,
)
from structures.errors import UnknownIdError
from structures.model import Structure
from tests.routing.show.show_ground import (
    small_depot,
    walker,
)

ALL_VIEWS = ("plan", "starboard", "port", "zenith", "nadir", "forward", "aft")
DEPOT = small_depot()


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
