"""What must hold of every reach graph, whatever the structure."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from routing.graph.build import build_graph
from routing.graph.reach_graph import Grips, Moves, ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from structures.elements import Solid, Zone
from structures.fields import Reading
from structures.frames import Frame
from structures.model import ELEMENT_LISTS, Structure
from structures.shapes import Box, Sphere
from tests.routing.graph.graph_structures import random_structure

structures = st.integers(0, 100_000).map(random_structure)
places = st.tuples(*[st.floats(-1.2, 1.2)] * 3)


def seconds(graph: ReachGraph) -> dict[tuple[str, str], float]:
    ids, moves = graph.grips.ids, graph.moves
    tail = np.repeat(np.arange(len(ids)), np.diff(moves.indptr)).tolist()
    return {
        (ids[a], ids[b]): s
        for a, b, s in zip(tail, moves.head.tolist(), moves.seconds.tolist(), strict=True)
    }


def assert_same(one: Grips | Moves, other: Grips | Moves) -> None:
    for name in one.__dataclass_fields__:
        np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)


@given(structures, st.randoms(use_true_random=False))
def test_shuffled_elements_give_the_same_arrays(
    structure: Structure, random: "np.random.Generator"
) -> None:
    shuffled = {}
    for name in ELEMENT_LISTS:
        elements = list(getattr(structure, name))
        random.shuffle(elements)
        shuffled[name] = tuple(elements)
    one = build_graph(structure, Situation())
    other = build_graph(structure.model_copy(update=shuffled), Situation())
    assert_same(one.grips, other.grips)
    assert_same(one.moves, other.moves)


def moved(structure: Structure, frame: Frame) -> Structure:
    """Read the structure as if its document were written in another frame."""
    return Structure.model_validate(
        structure.model_dump(mode="json", by_alias=False), context=Reading(frame=frame)
    )


FRAMES = (
    Frame(("x", "y", "z"), (64.0, -16.0, 8.0)),
    Frame(("y", "z", "x"), (0.0, 0.0, 0.0)),
    Frame(("-x", "-z", "-y"), (-32.0, 0.0, 4.0)),
)


@pytest.mark.parametrize("frame", FRAMES)
@given(structure=structures)
def test_a_structure_moved_and_turned_costs_the_same(frame: Frame, structure: Structure) -> None:
    one = seconds(build_graph(structure, Situation()))
    other = seconds(build_graph(moved(structure, frame), Situation()))
    assert one.keys() == other.keys()
    for pair, cost in one.items():
        assert other[pair] == pytest.approx(cost, rel=1e-9)


def assert_no_better(before: ReachGraph, after: ReachGraph) -> None:
    was, now = seconds(before), seconds(after)
    assert now.keys() <= was.keys()
    for pair, cost in now.items():
        assert cost >= was[pair] - 1e-9


@given(structures, places, st.floats(0.05, 0.8), st.sampled_from(["keep-out", "slow-down"]))
def test_an_added_zone_never_adds_a_move_nor_makes_one_cheaper(
    structure: Structure, at: tuple[float, float, float], radius_m: float, kind: str
) -> None:
    zone = Zone.model_validate(
        {"id": "new", "kind": kind, "volume": Sphere(center_m=at, radius_m=radius_m)}
    )
    after = structure.model_copy(update={"zones": (*structure.zones, zone)})
    assert_no_better(build_graph(structure, Situation()), build_graph(after, Situation()))


@given(structures)
def test_a_condition_never_adds_a_move_nor_makes_one_cheaper(structure: Structure) -> None:
    assert_no_better(
        build_graph(structure, Situation()), build_graph(structure, Situation(when=("hot",)))
    )


@given(structures, places, st.floats(0.02, 0.6))
def test_an_added_solid_that_leaves_the_leans_never_adds_a_move(
    structure: Structure, at: tuple[float, float, float], edge_m: float
) -> None:
    solid = Solid(id="new", volume=Box(center_m=at, size_m=(edge_m, edge_m, edge_m)))
    after = structure.model_copy(update={"solids": (*structure.solids, solid)})
    one, other = build_graph(structure, Situation()), build_graph(after, Situation())
    same = (one.grips.lean == other.grips.lean).all(axis=1)
    assume(same.any())
    kept = {grip for grip, as_before in zip(one.grips.ids, same, strict=True) if as_before}
    was = seconds(one)
    for (tail, head), cost in seconds(other).items():
        if tail in kept and head in kept:
            assert cost >= was[tail, head] - 1e-9


@given(structures, st.floats(0.3, 0.7), st.floats(0.0, 0.3))
def test_a_longer_reach_never_removes_a_move_nor_makes_one_dearer(
    structure: Structure, reach_m: float, more_m: float
) -> None:
    def at(reach_m: float) -> ReachGraph:
        return build_graph(structure, Situation(limits=Limits(reach_m=reach_m)))

    near, far = at(reach_m), at(reach_m + more_m)
    assert set(near.grips.ids) <= set(far.grips.ids)
    assert_no_better(far, near)


@given(structures)
def test_a_closure_takes_its_moves_away_and_changes_no_other(structure: Structure) -> None:
    graph = build_graph(structure, Situation())
    closed = structure.handrails[0].id
    on_it = {
        grip
        for grip, element in zip(graph.grips.ids, graph.grips.element_ids, strict=True)
        if element == closed
    }
    left = {pair: cost for pair, cost in seconds(graph).items() if not on_it.intersection(pair)}
    assert seconds(build_graph(structure, Situation(closed=(closed,)))) == left


@given(structures)
def test_every_move_is_finite_symmetric_and_the_sum_of_its_parts(structure: Structure) -> None:
    moves = build_graph(structure, Situation()).moves
    tail = np.repeat(np.arange(len(moves.indptr) - 1), np.diff(moves.indptr))
    order = np.lexsort((tail, moves.head))
    columns: tuple[Callable[[Moves], object], ...] = (
        lambda m: m.seconds,
        lambda m: m.exposure_s,
        lambda m: m.way_m,
        lambda m: m.line_clear,
    )
    for column in columns:
        values = np.asarray(column(moves), dtype=float)
        assert np.isfinite(values).all()
        np.testing.assert_array_equal(values, values[order])
    assert (moves.way_m >= moves.gap_m).all()
    parts = moves.travel_s + moves.gap_s + moves.turn_s + moves.face_s + moves.slow_s
    np.testing.assert_array_equal(moves.seconds, parts)
