"""The k cheapest loopless paths against printed answers.

W3: gonum/gonum at 06185442d977a3037a61958b0ba1ce1e318c70e6, graph/path/yen_ksp_test.go (graph
of an encyclopedia's article on Yen's algorithm); third place is a tie of three, so costs are
compared beyond the second. W4: networkx at cfc6b79fc53f583aa15a79b2187ae30bd4f480ed,
tests/test_simple_paths.py: a 4 by 4 grid and two small weighted graphs. Counts of all paths
were computed by enumeration.
"""

import itertools
from collections import Counter

import networkx as nx
import numpy as np
import pytest

from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine
from routing.paths.search.k_shortest import k_shortest_paths
from tests.needs import NUMBA

ENGINES = ["plain", pytest.param("compiled", marks=NUMBA)]

W3 = {"CD": 3, "CE": 2, "DF": 4, "ED": 1, "EF": 2, "EG": 3, "FG": 2, "FH": 1, "GH": 2}


@pytest.mark.parametrize("engine", ENGINES)
def test_w3(engine: Engine) -> None:
    names = "CDEFGH"
    network = Network.of_arcs(6, [(names.index(a), names.index(b), c) for (a, b), c in W3.items()])
    paths = list(k_shortest_paths(network, 0, 5, engine=engine))
    assert [path.cost for path in paths] == [5, 7, 8, 8, 8, 11, 11]
    written = ["".join(names[node] for node in path.nodes) for path in paths]
    assert written[:2] == ["CEFH", "CEGH"]
    assert set(written[2:5]) == {"CDFH", "CEDFH", "CEFGH"}
    assert set(written[5:]) == {"CDFGH", "CEDFGH"}


def test_w4_grid() -> None:
    grid = nx.grid_2d_graph(4, 4)
    number = {place: place[0] * 4 + place[1] for place in grid}
    arcs = [(number[a], number[b], 1.0) for pair in grid.edges for a, b in (pair, pair[::-1])]
    network = Network.of_arcs(16, arcs)
    paths = list(k_shortest_paths(network, 0, 11))
    assert Counter(len(path.nodes) - 1 for path in paths) == {
        5: 10,
        7: 28,
        9: 38,
        11: 39,
        13: 27,
        15: 4,
    }
    assert len({path.nodes for path in paths}) == 146
    assert all(len(set(path.nodes)) == len(path.nodes) for path in paths)
    printed = {(1, 2, 3, 4, 8, 12), (1, 5, 6, 7, 8, 12)}
    assert printed <= {tuple(node + 1 for node in path.nodes) for path in paths[:10]}


@pytest.mark.parametrize(
    ("costs", "expected"),
    [
        ((2, 1, 2, 2), [(0, 3), (0, 2, 3)]),
        ((10, 1, 1, 1), [(0, 2, 3), (0, 3)]),
    ],
)
def test_w4_small(costs: tuple[float, ...], expected: list[tuple[int, ...]]) -> None:
    """Arcs IN-OUT, IN-A, IN-B, B-OUT; A leads nowhere."""
    ends = ((0, 3), (0, 1), (0, 2), (2, 3))
    network = Network.of_arcs(4, [(*pair, cost) for pair, cost in zip(ends, costs, strict=True)])
    assert [path.nodes for path in k_shortest_paths(network, 0, 3)] == expected


@pytest.mark.parametrize("engine", ENGINES)
def test_random_costs_equal_a_general_library(engine: Engine) -> None:
    for number in range(8):
        rng = np.random.default_rng(number)
        graph = nx.gnp_random_graph(9, 0.35, seed=number, directed=True)
        for arc in sorted(graph.edges):
            graph.edges[arc]["weight"] = int(rng.integers(1, 20))
        if not nx.has_path(graph, 0, 8):
            continue
        arcs = [(a, b, float(graph.edges[a, b]["weight"])) for a, b in sorted(graph.edges)]
        expected = [
            nx.path_weight(graph, path, "weight")
            for path in nx.shortest_simple_paths(graph, 0, 8, weight="weight")
        ]
        network = Network.of_arcs(9, arcs)
        found = list(k_shortest_paths(network, 0, 8, engine=engine))
        assert [path.cost for path in found] == expected
        for path in found:
            weights = [graph.edges[pair]["weight"] for pair in itertools.pairwise(path.nodes)]
            assert path.cost == sum(weights)


def test_no_path_and_sockets() -> None:
    network = Network.of_arcs(4, [(0, 1, 1.0), (1, 3, 1.0), (0, 2, 2.0), (2, 3, 2.0)], terminal=[1])
    assert [path.nodes for path in k_shortest_paths(network, 0, 3)] == [(0, 2, 3)]
    assert list(k_shortest_paths(network, 3, 0)) == []
