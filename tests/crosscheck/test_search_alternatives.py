"""Alternatives and fallback routes against enumeration of all routes."""

import dataclasses
import heapq
import itertools
from typing import Any

import networkx as nx
import numpy as np
import pytest

from routing.paths.choices.alternatives import (
    Held,
    constrained_solver,
    find_alternatives,
    make_alternative,
    tethered_solver,
)
from routing.paths.choices.fallback import find_fallback, least_time_without, tethered_without
from routing.paths.search.arrays import Network
from routing.paths.tethers.front import moves_between
from routing.paths.tethers.search import TetherProblem, find_tethered_path
from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    make_case,
    problem_of,
    random_from,
    walk_actions,
)


def _random(number: int) -> tuple[Held, nx.DiGraph]:
    """Twelve grips on six handrails of two grips."""
    rng = np.random.default_rng(number)
    nodes = 12
    graph = nx.gnp_random_graph(nodes, 0.22, seed=number)
    graph.add_edges_from((node, node + 1) for node in range(0, nodes, 2))
    arcs, ways = [], []
    for a, b in sorted(graph.edges):
        cost, way = int(rng.integers(2, 30)) / 4, int(rng.integers(1, 8)) / 4
        for pair in ((a, b), (b, a)):
            arcs.append((*pair, cost))
            ways.append(way)
    network = Network.of_arcs(nodes, arcs)
    held = Held(
        network=network,
        way_m=np.array([ways[move] for move in network.move]),
        element=np.arange(nodes) // 2,
    )
    return held, graph.to_directed()


def _all_routes(held: Held, graph: nx.DiGraph) -> list[tuple[float, tuple[int, ...]]]:
    routes = []
    for path in nx.all_simple_paths(graph, 0, 11):
        cost = float(held.network.cost[moves_between(held.network, path)].sum())
        routes.append((cost, tuple(path)))
    return sorted(routes)


@pytest.mark.parametrize("max_overlap", [0.0, 0.3, 0.75])
def test_each_alternative_is_the_best_of_all_that_differ(max_overlap: float) -> None:
    several = 0
    for number in range(25):
        held, graph = _random(number)
        found = find_alternatives(
            held, constrained_solver(held, {0: 0.0}, [11]), count=4, max_overlap=max_overlap
        )
        routes = _all_routes(held, graph)
        assert bool(found) == bool(routes)
        if not found:
            continue
        assert found[0].cost == routes[0][0]
        length = held.way_m[moves_between(held.network, found[0].nodes)].sum()
        before = [{int(held.element[node]) for node in route.nodes} for route in found]
        for count in range(1, 5):
            used = {int(held.element[n]) for route in found[:count] for n in route.nodes}
            fitting = []
            for cost, nodes in routes:
                moves = moves_between(held.network, nodes)
                there = np.isin(held.element[held.network.head[moves]], sorted(used))
                if held.way_m[moves][there].sum() <= max_overlap * length:
                    fitting.append((cost, {int(held.element[node]) for node in nodes}))
            if count == len(found):
                # There are no more, or the next would hold what one before it holds.
                assert count == 4 or not fitting or fitting[0][1] in before
                break
            assert found[count].cost == fitting[0][0]
            assert found[count].overlap <= max_overlap
        several += len(found) > 1
    assert several >= 4 or max_overlap == 0.0


def test_fallback_shares_the_fewest_handrails_of_all_routes() -> None:
    for number in range(40):
        held, graph = _random(number)
        routes = _all_routes(held, graph)
        if not routes:
            continue
        first = make_alternative(held, routes[0][1], routes[0][0])
        found = find_fallback(first, least_time_without(held, {0: 0.0}, [11]))
        expected = min((len(first.elements & held.elements(nodes)), cost) for cost, nodes in routes)
        assert (len(found.shared), found.route.cost) == expected
        assert found.proven
        assert set(found.needed) <= set(found.shared)
        assert {0, 5} <= set(found.needed)


def test_fallback_that_must_share_one_of_two_handrails() -> None:
    """Round handrail 1 the way leads over 2, round 2 over 1: neither is needed, one of them is."""
    arcs = [(0, 1, 1), (1, 2, 1), (2, 5, 1), (0, 3, 4), (3, 2, 4), (1, 4, 2), (4, 5, 2)]
    network = Network.of_arcs(6, [(a, b, float(cost)) for a, b, cost in arcs])
    held = Held(network=network, way_m=network.cost, element=np.arange(6))
    first = make_alternative(held, (0, 1, 2, 5), 3.0)
    found = find_fallback(first, least_time_without(held, {0: 0.0}, [5]))
    assert found.needed == (0, 5)
    assert found.shared == (0, 1, 5)
    assert found.route.nodes == (0, 1, 4, 5)
    assert found.proven


def test_fallback_without_proof_is_still_a_route() -> None:
    unproven = 0
    for number in range(40):
        held, graph = _random(number)
        routes = _all_routes(held, graph)
        if not routes:
            continue
        first = make_alternative(held, routes[0][1], routes[0][0])
        solve = least_time_without(held, {0: 0.0}, [11])
        found = find_fallback(first, solve, most_searches=0)
        best = find_fallback(first, solve)
        assert len(found.shared) >= len(best.shared)
        unproven += not found.proven
    assert unproven > 0


def _fewest_shared(case: Case, element: Any, first: frozenset[int], goal: int) -> Any:
    """(number shared, seconds) of the best legal walk, by enumeration with elements held."""
    count = itertools.count()
    start = frozenset({int(element[case.start[0][-1][3][-1]])})
    heap = [((len(start & first), 0.0), next(count), case.start, start)]
    done = set()
    while heap:
        (shared, cost), _, walk, held = heapq.heappop(heap)
        if (walk, held & first) in done:
            continue
        done.add((walk, held & first))
        if len(done) > 5_000:
            raise TooManyWalksError
        if walk[0][-1][3][-1] == goal:
            return shared, cost
        for extra, after in walk_actions(case, case.start, walk):
            now = held | {int(element[after[0][-1][3][-1]])}
            heapq.heappush(heap, ((len(now & first), cost + extra), next(count), after, now))
    return None


def _held_case(number: int) -> tuple[Case, TetherProblem, Held, int]:
    rng = random_from(number)
    case = make_case(rng)
    problem = problem_of(case)
    element = np.array([rng.randrange(case.nodes - 1) for _ in range(case.nodes)])
    held = Held(network=problem.ground.network, way_m=problem.ground.way_m, element=element)
    return case, problem, held, rng.randrange(case.nodes)


def test_tethered_fallback_equals_enumeration() -> None:
    compared = 0
    for number in range(70):
        case, problem, held, goal = _held_case(number)
        path = find_tethered_path(problem, [goal])
        if path is None or len(path.nodes) < 2:
            continue
        first = make_alternative(held, path.nodes, path.cost, path)
        try:
            expected = _fewest_shared(case, held.element, first.elements, goal)
        except TooManyWalksError:
            continue
        found = find_fallback(first, tethered_without(held, problem, [goal]))
        assert (len(found.shared), found.route.cost) == expected
        compared += 1
    assert compared >= 30


def test_tethered_alternatives_keep_to_the_line_and_to_the_overlap() -> None:
    several = 0
    for number in range(80):
        _, problem, held, goal = _held_case(number)
        routes = find_alternatives(
            held, tethered_solver(held, problem, [goal]), count=3, max_overlap=0.6
        )
        path = find_tethered_path(problem, [goal])
        assert bool(routes) == (path is not None)
        if path is None:
            continue
        assert routes[0].cost == path.cost
        assert [route.cost for route in routes] == sorted(route.cost for route in routes)
        for route in routes:
            assert route.tethered is not None
            assert route.tethered.least_left.left_m >= problem.rules.reserve_m
            assert route.overlap <= 0.6 or route is routes[0]
        several += len(routes) > 1
    assert several >= 3


def test_on_a_line_long_enough_the_protocols_agree() -> None:
    for number in range(30):
        case, problem, held, goal = _held_case(number)
        if len(case.start[0]) > 1 or len(case.start[0][0][3]) > 1:
            continue
        start = problem.starts[0].grip
        longer = problem_of(dataclasses.replace(case, usable=tuple(99.0 for _ in case.usable)))
        tethered = find_alternatives(
            held, tethered_solver(held, longer, [goal]), count=3, max_overlap=0.5
        )
        plain = find_alternatives(
            held, constrained_solver(held, {start: 0.0}, [goal]), count=3, max_overlap=0.5
        )
        assert tethered[0].cost == plain[0].cost if plain else not tethered


def test_overlap_limit_is_a_part() -> None:
    held, _ = _random(0)
    with pytest.raises(ValueError, match=r"max_overlap is 1\.5; it must be from 0 to below 1"):
        find_alternatives(held, constrained_solver(held, {0: 0.0}, [11]), count=2, max_overlap=1.5)
