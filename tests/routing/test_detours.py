"""Ways round closures, many in one go, against one search at a time on what is left."""

import random
from collections.abc import Sequence
from importlib.util import find_spec

import numpy as np
import pytest

from routing.graph.reach_graph import Floats
from routing.paths.search.all_goals import seconds_from
from routing.paths.search.arrays import Network
from routing.paths.search.detours import Detours, Pair
from routing.paths.search.landmarks import lowered
from routing.paths.search.least_time import least_time, least_time_tree
from tests.needs import NUMBA


def drawn(seed: int) -> tuple[Network, list[Pair], list[list[int]], list[tuple[int, int]]]:
    """A network with ties, sockets, dead ends and moves of no cost; sites, closures, all cases."""
    draw = random.Random(seed)
    nodes, least = draw.randrange(8, 120), int(seed % 4 > 0)
    near = [(a, b) for a in range(nodes) for b in range(nodes) if 0 < abs(a - b) < 4]
    arcs = [(a, b, float(draw.randrange(least, 4))) for a, b in near if draw.random() < 0.7]
    network = Network.of_arcs(nodes, arcs, terminal=draw.sample(range(nodes), nodes // 8))
    pairs = []
    for _ in range(6):
        sources, goals = (sorted(draw.sample(range(nodes), draw.randrange(1, 3))) for _ in "ab")
        pairs.append(Pair(sources=sources, goals=goals, bound=[0.0] * nodes))
    closures = [draw.sample(range(nodes), draw.randrange(min(5, nodes))) for _ in range(30)]
    return network, pairs, closures, [(i, j) for i in range(30) for j in range(6)]


def remaining(network: Network, goals: Sequence[int]) -> Floats:
    """Least costs to the goals: from buckets if they can be compiled, or else from the heap."""
    if find_spec("numba") is None:
        return least_time_tree(network.reverse, dict.fromkeys(goals, 0.0)).cost
    return seconds_from(network.reverse, np.array(goals))


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("plain", [True, pytest.param(False, marks=NUMBA)])
@pytest.mark.parametrize("led", [True, False])
def test_every_way_is_that_of_one_search_without_the_closed_nodes(
    seed: int,
    plain: bool,
    led: bool,
) -> None:
    network, pairs, closures, cases = drawn(seed)
    if led or not plain:
        bounds = [
            lowered(remaining(network, one.goals))
            if led and not network.terminal[one.goals].any()
            else np.zeros(len(network))
            for one in pairs
        ]
        pairs = [
            Pair(sources=one.sources, goals=one.goals, bound=bound.tolist() if plain else bound)
            for one, bound in zip(pairs, bounds, strict=True)
        ]
    # Over and over, so that the room for answers fills up more than once.
    found = Detours(network, plain=plain).find(pairs, closures, cases * 3)
    assert len(found) == 3 * len(cases)
    there = 0
    for (closure, pair), way in zip(cases * 3, found, strict=True):
        closed = closures[closure]
        left = network.without(nodes=closed)
        sources = {one: 0.0 for one in pairs[pair].sources if one not in closed}
        goals = [one for one in pairs[pair].goals if one not in closed]
        expected = least_time(left, sources, goals, engine="plain") if sources and goals else None
        assert (way is None) == (expected is None)
        if way is not None and expected is not None:
            there += 1
            assert tuple(way.nodes.tolist()) == expected.nodes
            assert network.cost[way.moves].sum() == expected.cost
            assert network.tail[way.moves].tolist() == way.nodes[:-1].tolist()
            assert network.head[way.moves].tolist() == way.nodes[1:].tolist()
    assert there > 50


def test_a_goal_behind_a_wall_is_told_from_one_far_away() -> None:
    nodes = 4_000
    arcs = [(i, i + 1, 1.0) for i in range(nodes - 1)] + [(i + 1, i, 1.0) for i in range(nodes - 1)]
    network = Network.of_arcs(nodes, arcs)
    pair = Pair(sources=[0], goals=[nodes - 1], bound=[0.0] * nodes)
    shut, open_ = Detours(network, plain=True).find([pair], [[nodes - 3], []], [(0, 0), (1, 0)])
    assert shut is None
    assert open_ is not None
    assert len(open_.moves) == nodes - 1
