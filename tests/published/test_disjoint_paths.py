"""Disjoint paths against printed answers.

W7: the encyclopedia's graph of Suurballe's algorithm, paths as printed at
www.linchenguang.com/2018/01/31/Suurballe-s-algorithm/ (10 in total). W8: a stored library test
of Bhandari's algorithm (totals computed). W9: JGraphT,
BhandariKDisjointShortestPathsTest.testTwoDisjointPathsNeedToMerge and
testTwoDisjointPathsJointNode, where taking the cheapest path first fails.
"""

import itertools

import networkx as nx
import numpy as np
import pytest

from routing.paths.search.arrays import Network
from routing.paths.search.disjoint import find_disjoint_paths
from routing.paths.search.engine import Engine
from tests.needs import NUMBA

ENGINES = ["plain", pytest.param("compiled", marks=NUMBA)]

W7 = {"AB": 1, "AC": 2, "BD": 1, "BE": 2, "CD": 2, "DF": 1, "EF": 2}
W8 = {"sa": 1, "sc": 4, "ab": 1, "bc": 1, "sb": 4, "at": 6, "bt": 5, "ct": 1}
W9 = {"12": 1, "23": 1, "34": 1, "15": 3, "53": 3, "26": 2, "64": 2}
W9B = dict.fromkeys(("12", "17", "23", "73", "34", "36", "45", "65"), 1)


def _network(arcs: dict[str, int], names: str) -> Network:
    return Network.of_arcs(
        len(names), [(names.index(a), names.index(b), c) for (a, b), c in arcs.items()]
    )


def _written(paths: tuple[tuple[int, ...], ...], names: str) -> list[str]:
    return ["".join(names[node] for node in path) for path in paths]


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("share_grips", [True, False])
def test_w7(engine: Engine, share_grips: bool) -> None:
    both = {**W7, **{name[::-1]: cost for name, cost in W7.items()}}
    found = find_disjoint_paths(
        _network(both, "ABCDEF"), 0, 5, share_grips=share_grips, engine=engine
    )
    assert found.cost == 10
    assert sorted(_written(found.paths, "ABCDEF")) == ["ABEF", "ACDF"]


@pytest.mark.parametrize(
    ("count", "total", "paths"), [(1, 4, 1), (2, 12, 2), (3, 21, 3), (4, 21, 3)]
)
def test_w8(count: int, total: int, paths: int) -> None:
    found = find_disjoint_paths(_network(W8, "sabct"), 0, 4, count=count, share_grips=True)
    assert (found.cost, len(found.paths)) == (total, paths)
    if count == 3:
        assert sorted(_written(found.paths, "sabct")) == ["sat", "sbt", "sct"]


@pytest.mark.parametrize("share_grips", [True, False])
def test_w9_cheapest_first_fails(share_grips: bool) -> None:
    found = find_disjoint_paths(_network(W9, "123456"), 0, 3, share_grips=share_grips)
    assert found.cost == 12
    assert _written(found.paths, "123456") == ["1264", "1534"]


def test_w9b_moves_apart_but_not_grips() -> None:
    apart = find_disjoint_paths(_network(W9B, "1234567"), 0, 4, share_grips=True)
    assert (apart.cost, len(apart.paths)) == (8, 2)
    joint = find_disjoint_paths(_network(W9B, "1234567"), 0, 4)
    assert (joint.cost, len(joint.paths)) == (4, 1)


def test_random_totals_equal_a_general_flow_solver() -> None:
    """networkx min-cost flow on whole numbers, two paths, grips apart."""
    for number in range(20):
        rng = np.random.default_rng(number)
        graph = nx.gnp_random_graph(10, 0.3, seed=number, directed=True)
        arcs = [(a, b, float(rng.integers(1, 20))) for a, b in sorted(graph.edges)]
        found = find_disjoint_paths(Network.of_arcs(10, arcs), 0, 9)
        split = nx.DiGraph()
        for node in range(10):
            split.add_edge((node, 0), (node, 1), capacity=2 if node in (0, 9) else 1, weight=0)
        for a, b, cost in arcs:
            split.add_edge((a, 1), (b, 0), capacity=1, weight=int(cost))
        split.add_edge("start", (0, 0), capacity=2, weight=0)
        split.add_edge((9, 1), "end", capacity=2, weight=0)
        flow = nx.max_flow_min_cost(split, "start", "end")
        assert found.cost == nx.cost_of_flow(split, flow)
        assert len(found.paths) == flow["start"][0, 0]
        inner = [node for path in found.paths for node in path[1:-1]]
        assert len(inner) == len(set(inner))
        listed = {(a, b) for a, b, _ in arcs}
        assert all(pair in listed for path in found.paths for pair in itertools.pairwise(path))


def test_sockets_are_not_passed_and_goal_differs() -> None:
    arcs = [(0, 1, 1.0), (1, 3, 1.0), (0, 2, 2.0), (2, 3, 2.0)]
    network = Network.of_arcs(4, arcs, terminal=[1])
    assert find_disjoint_paths(network, 0, 3).paths == ((0, 2, 3),)
    assert find_disjoint_paths(network, 3, 0).paths == ()
    with pytest.raises(ValueError, match="source and goal are the same grip, 2"):
        find_disjoint_paths(network, 2, 2)
