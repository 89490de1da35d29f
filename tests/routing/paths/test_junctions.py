"""Bounds from junction to junction against searches over every grip."""

import itertools
import random

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import Floats
from routing.graph.situation import Situation
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.junctions import Junctions, find_junctions
from tests.benchmarks.stations import make_station
from tests.crosscheck.search_cases import random_from

CASES = 300


def rails(rng: random.Random) -> tuple[Network, Floats]:
    """A few rails with moves that skip grips, moves from rail to rail, sockets, and odd moves."""
    arcs: dict[tuple[int, int], tuple[float, float]] = {}
    count = 0
    for length in [rng.randint(1, 14) for _ in range(rng.randint(1, 4))]:
        steps = [
            (rng.choice([0.0, 0.5, 0.7, 1.3]), rng.choice([0.0, 0.25, 0.3])) for _ in range(length)
        ]
        for i, j in itertools.permutations(range(length + 1), 2):
            if abs(i - j) > 3 or rng.random() < 0.02:
                continue
            between = steps[min(i, j) : max(i, j)]
            # Now and then a move that skips grips is quicker, or its line shorter.
            quicker = 0.9 if rng.random() < 0.04 else 1.0
            shorter = 0.9 if rng.random() < 0.04 else 1.0
            arcs[count + i, count + j] = (
                quicker * sum(step[0] for step in between),
                shorter * sum(step[1] for step in between),
            )
        count += length + 1
    for _ in range(rng.randint(0, 6)):
        i, j = rng.randrange(count), rng.randrange(count)
        arcs[i, j] = (rng.choice([0.0, 0.4, 2.0]), rng.choice([0.1, 0.9]))
    sockets = [node for node in range(count) if rng.random() < 0.08]
    network = Network.of_arcs(count, [(*arc, of[0]) for arc, of in arcs.items()], terminal=sockets)
    way_m = np.array([list(arcs.values())[move][1] for move in network.move])
    return network, way_m


def from_junctions(
    junctions: Junctions, network: Network, goals: list[int], *, line: bool
) -> Floats:
    weights = junctions.metres if line else junctions.seconds
    at = np.array(goals, dtype=np.int64)
    start = junctions.at_goals(weights, at)
    sources = {int(one): float(start[one]) for one in np.flatnonzero(np.isfinite(start))}
    least = least_time_tree(weights.back, sources).cost
    return junctions.everywhere(weights, least, at)


def test_no_bound_says_too_much_and_none_says_much_too_little() -> None:
    rng = random_from(61_000)
    fewer = 0
    for _ in range(CASES):
        network, way_m = rails(rng)
        count = len(network)
        kept = [node for node in range(count) if rng.random() < 0.1]
        junctions = find_junctions(network, way_m, np.array(kept, dtype=np.int64))
        assert {*kept, *np.flatnonzero(network.terminal).tolist()} <= set(junctions.node.tolist())
        fewer += count - len(junctions.node)
        goals = sorted(rng.sample(range(count), rng.randint(1, min(count, 3))))
        for line, full in ((False, network), (True, network.with_cost(way_m))):
            exact = least_time_tree(full.reverse, dict.fromkeys(goals, 0.0)).cost
            bound = from_junctions(junctions, network, goals, line=line)
            assert (np.isfinite(bound) == np.isfinite(exact)).all()
            reached = np.isfinite(exact)
            assert (bound[reached] <= exact[reached]).all()
            assert bound[reached] == pytest.approx(exact[reached], abs=1e-6)
    assert fewer > CASES, fewer


def test_a_station_has_less_than_half_as_many_junctions_as_grips() -> None:
    graph = build_graph(make_station(1_000), Situation())
    network = Network.of_moves(graph.moves)
    junctions = find_junctions(network, graph.moves.way_m, np.empty(0, dtype=np.int64))
    assert len(junctions.node) < len(network) / 2
    assert len(junctions.seconds.back.head) < len(network.head) / 2
