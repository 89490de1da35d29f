"""The move set against all pairs of grips, each looked at again by the walker."""

import itertools
import math

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from structures.elements import Item, Person
from structures.model import Structure
from tests.crosscheck import walker
from tests.routing.graph.graph_structures import random_structure

DRAWS = 15

UNSURE_M = 0.003
"""Between 0 and this the builder's millimetre and the walker's samples may disagree."""

BAG = Item(id="bag", size_m=(0.2, 0.2, 0.1), mass_kg=5.0)
SITUATIONS = (
    Situation(),
    Situation(when=("hot",), carry=BAG),
    Situation(person=Person(id="P", reach_m=0.75, corridor_radius_m=0.4)),
)


def hold(graph: ReachGraph, i: int) -> walker.Hold:
    grips = graph.grips
    return walker.Hold(
        grips.ids[i], grips.element_ids[i], grips.position_m[i], grips.normal[i], grips.body_m[i]
    )


def moves_of(graph: ReachGraph) -> dict[tuple[int, int], float]:
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
    pairs = zip(tail.tolist(), graph.moves.head.tolist(), strict=True)
    return dict(zip(pairs, graph.moves.way_m.tolist(), strict=True))


def expected_way_m(structure: Structure, graph: ReachGraph, pair: tuple[int, int]) -> float | None:
    """Return the way of a pair by its definition, infinite for none, None for unsure."""
    situation = graph.situation
    one, other = (hold(graph, i) for i in pair)
    ability = situation.ability
    if math.dist(one.position_m, other.position_m) > ability.reach_m:
        return math.inf
    cosine = float(np.clip(one.normal @ other.normal, -1, 1))
    if math.degrees(math.acos(cosine)) > situation.limits.max_turn_deg:
        return math.inf
    loaded = situation.carry is not None
    barred = [
        walker.volume_of(zone)
        for zone in walker.in_force(structure, situation)
        if zone.kind == "keep-out"
        and ("body" in zone.applies_to or (loaded and "item" in zone.applies_to))
    ]
    shapes = [solid.volume for solid in structure.solids] + barred
    found = walker.ways(one, other, ability.corridor_radius_m)
    for way in [found[0], *sorted(found[1:], key=walker.way_length_m)]:
        length_m = walker.way_length_m(way)
        if length_m > ability.reach_m:
            continue
        room_m = walker.room_on_way_m(shapes, way, ability.corridor_radius_m)
        if room_m >= UNSURE_M:
            return length_m
        if room_m > -1e-9:
            return None
    return math.inf


@pytest.mark.parametrize("draw", range(DRAWS))
def test_moves_are_those_of_all_pairs(draw: int) -> None:
    structure = random_structure(draw)
    graph = build_graph(structure, SITUATIONS[draw % 3])
    moves = moves_of(graph)
    sure = 0
    for pair in itertools.combinations(np.flatnonzero(graph.grips.usable).tolist(), 2):
        way_m = expected_way_m(structure, graph, pair)
        if way_m is not None:
            sure += 1
            assert moves.get(pair, math.inf) == pytest.approx(way_m, abs=1e-9), pair
    assert sure > 0 or not graph.grips.usable.any()


@pytest.mark.parametrize("draw", range(DRAWS))
def test_the_walker_finds_nothing_wrong_with_any_move(draw: int) -> None:
    structure = random_structure(draw)
    graph = build_graph(structure, SITUATIONS[draw % 3])
    claims = [claim for pair in moves_of(graph) for claim in walker.claims_of(graph, pair)]
    assert walker.walk_problems(structure, graph.situation, claims, is_route=False) == []


def test_random_structures_have_ways_round_edges_and_zones_that_matter() -> None:
    bent = slow = barred = unusable = 0
    for draw in range(DRAWS):
        graph = build_graph(random_structure(draw), SITUATIONS[draw % 3])
        bent += int((graph.moves.way_m > graph.moves.gap_m + 1e-6).sum())
        slow += int((graph.moves.exposure_s > 0).sum())
        barred += int((~graph.moves.line_clear).sum())
        unusable += int((~graph.grips.usable).sum())
    assert min(bent, slow, barred, unusable) > 10


@pytest.mark.parametrize(
    ("field", "value", "word"),
    [
        ("way_m", 0.0, "is not between"),
        ("seconds", 0.0, "faster than the rate"),
    ],
)
def test_the_walker_sees_a_false_claim(field: str, value: float, word: str) -> None:
    structure = random_structure(1)
    graph = build_graph(structure, Situation())
    pair = next(iter(moves_of(graph)))
    claim = walker.claims_of(graph, pair)[0]
    false = walker.Claim(**{**vars(claim), field: value})
    problems = walker.walk_problems(structure, graph.situation, [false])
    assert any(word in problem for problem in problems)


def test_the_walker_sees_a_body_in_a_solid_and_a_closed_rail() -> None:
    structure = random_structure(1)
    graph = build_graph(structure, Situation())
    claim = walker.claims_of(graph, next(iter(moves_of(graph))))[0]
    tail = walker.Hold(
        claim.tail.grip,
        claim.tail.element,
        claim.tail.position_m,
        claim.tail.normal,
        claim.tail.position_m - (claim.tail.body_m - claim.tail.position_m),
    )
    inside = walker.Claim(**{**vars(claim), "tail": tail})
    problems = walker.walk_problems(structure, graph.situation, [inside])
    assert any("inside something" in problem or "leans" in problem for problem in problems)
    closed = Situation(closed=(claim.tail.element,))
    problems = walker.walk_problems(structure, closed, [claim])
    assert any("is closed" in problem for problem in problems)
