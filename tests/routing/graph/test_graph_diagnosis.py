import math

import pytest

from routing.graph.build import build_graph
from routing.graph.diagnosis import Obstacle, why_not, why_unusable
from routing.graph.situation import Situation
from structures.elements import Handhold, Solid, Zone
from structures.frames import Vector
from structures.model import Structure
from structures.shapes import Box, Sphere
from tests.routing.graph.graph_structures import UP, random_structure


def ask(*places: tuple[Vector, Vector], **lists: object) -> tuple[Obstacle, ...]:
    holds = tuple(Handhold(id="ab"[i], position_m=p, normal=n) for i, (p, n) in enumerate(places))
    structure = Structure.model_validate(
        {"name": "holds", "revision": "1", "handholds": holds, **lists}
    )
    return why_not(build_graph(structure, Situation()), 1, 0)


def test_a_possible_move_has_no_obstacle() -> None:
    assert ask(((0, 0, 0), UP), ((0.5, 0, 0), UP)) == ()


def test_gap_and_turn_are_both_named() -> None:
    found = ask(((0, 0, 0), UP), ((0.7, 0, 0), (0.5, 0.0, math.sqrt(0.75))))
    assert [(one.condition, one.unit) for one in found] == [("gap", "m"), ("turn", "deg")]
    assert found[0].value == pytest.approx(0.7)
    assert found[0].limit == pytest.approx(0.6096)
    assert "91 mm (3.6 in) over" in found[0].message
    assert found[1].value == pytest.approx(150)


def test_a_corridor_names_what_is_in_the_way() -> None:
    wall = Solid(id="wall", volume=Box(center_m=(0.2, 0.0, 0.0), size_m=(0.02, 4.0, 4.0)))
    slab = Zone(id="slab", volume=Box(center_m=(0.2, 1.8, -0.5), size_m=(0.02, 2.6, 0.1)))
    found = ask(((0, 0, 0), UP), ((0.4, 0, 0), UP), solids=(wall,))
    assert [(one.condition, one.elements) for one in found] == [("corridor", ("wall",))]
    found = ask(((-0.1, 0, 0), UP), ((0.5, 0, 0), UP), zones=(slab,))
    assert [(one.condition, one.elements) for one in found] == [("corridor", ("slab",))]
    assert found[0].value < 0


def test_a_way_that_is_too_long_is_told_with_its_length() -> None:
    # A ridge that only the midpoint raised by 0.2 m clears: 2 * hypot(0.29, 0.2) = 0.705 m.
    ridge = Solid(id="ridge", volume=Box(center_m=(0.29, 0.0, 0.0), size_m=(0.01, 0.02, 0.2)))
    found = ask(((0, 0, 0), UP), ((0.58, 0, 0), UP), solids=(ridge,))
    assert [(one.condition, one.elements) for one in found] == [("way", ("ridge",))]
    assert found[0].value == pytest.approx(2 * math.hypot(0.29, 0.2))


def test_a_place_without_room_names_what_is_too_near() -> None:
    ball = Zone(id="Z", volume=Sphere(center_m=(0.0, 0.0, -0.5), radius_m=0.2))
    found = ask(((0, 0, 0), UP), ((0.3, 0, 0), UP), zones=(ball,))
    assert [(one.condition, one.elements) for one in found] == 2 * [("body place", ("Z",))]


@pytest.mark.parametrize("draw", range(6))
def test_there_is_an_obstacle_just_where_there_is_no_move(draw: int) -> None:
    graph = build_graph(random_structure(draw), Situation())
    moves = {
        (tail, int(head))
        for tail in range(len(graph.grips))
        for head in graph.moves.head[graph.moves.indptr[tail] : graph.moves.indptr[tail + 1]]
    }
    for one in range(len(graph.grips)):
        assert (why_unusable(graph, one) == ()) == graph.grips.usable[one]
        for other in range(one):
            assert (why_not(graph, one, other) == ()) == ((one, other) in moves)
