"""Ways round closures, many in one go, against one search at a time on what is left."""

import heapq
import random

import pytest

from routing.paths.search import detour_kernel, kept_rows
from routing.paths.search.arrays import Network
from routing.paths.search.detours import Detours, Pair
from routing.paths.search.least_time import least_time
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
        pairs.append(Pair(sources, goals))
    closures = [draw.sample(range(nodes), draw.randrange(min(5, nodes))) for _ in range(30)]
    return network, pairs, closures, [(i, j) for i in range(30) for j in range(6)]


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("plain", [True, pytest.param(False, marks=NUMBA)])
def test_every_way_is_that_of_one_search_without_the_closed_nodes(seed: int, plain: bool) -> None:
    network, pairs, closures, cases = drawn(seed)
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


@pytest.mark.parametrize("plain", [True, pytest.param(False, marks=NUMBA)])
def test_sites_that_find_no_room_at_once_come_in_turn(
    plain: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    network, pairs, closures, cases = drawn(5)
    whole = [*Detours(network, plain=plain).find(pairs, closures, cases)]
    monkeypatch.setattr(kept_rows, "_LEAST_ROWS", 2)
    monkeypatch.setattr(kept_rows, "_BYTES", 0)
    detours = Detours(network, plain=plain)
    for _ in range(2):
        for one, other in zip(detours.find(pairs, closures, cases), whole, strict=True):
            assert (one is None) == (other is None)
            if one is not None and other is not None:
                assert one.nodes.tolist() == other.nodes.tolist()
                assert one.moves.tolist() == other.moves.tolist()


def test_a_search_that_is_broken_off_leaves_nothing_wrong_behind(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    network, pairs, closures, cases = drawn(5)
    whole = [*Detours(network, plain=True).find(pairs, closures, cases)]
    detours = Detours(network, plain=True)
    left = 40

    def break_off(heap: list[tuple[float, int]]) -> tuple[float, int]:
        nonlocal left
        left -= 1
        if left == 0:
            raise KeyboardInterrupt
        return heapq.heappop(heap)

    monkeypatch.setattr(detour_kernel, "heappop", break_off)
    with pytest.raises(KeyboardInterrupt):
        detours.find(pairs, closures, cases)
    monkeypatch.undo()
    for one, other in zip(detours.find(pairs, closures, cases), whole, strict=True):
        assert (one is None) == (other is None)
        if one is not None and other is not None:
            assert one.nodes.tolist() == other.nodes.tolist()


def test_a_goal_behind_a_wall_is_told_from_one_far_away() -> None:
    nodes = 4_000
    arcs = [(i, i + 1, 1.0) for i in range(nodes - 1)] + [(i + 1, i, 1.0) for i in range(nodes - 1)]
    network = Network.of_arcs(nodes, arcs)
    pair = Pair([0], [nodes - 1])
    shut, open_ = Detours(network, plain=True).find([pair], [[nodes - 3], []], [(0, 0), (1, 0)])
    assert shut is None
    assert open_ is not None
    assert len(open_.moves) == nodes - 1
