"""Least-time paths against printed graphs.

W1: networkx/networkx at cfc6b79fc53f583aa15a79b2187ae30bd4f480ed,
networkx/algorithms/shortest_paths/tests/test_weighted.py (graphs XG to XG4; XG is the
five-node graph of a textbook, there figure 24.6). W2: six-node graph of an encyclopedia's
animation, data from memory, answers computed. All numbers are whole: compared exactly.
"""

import pytest

from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine
from routing.paths.search.least_time import least_time, least_time_tree
from tests.needs import NUMBA

ENGINES = ["plain", pytest.param("compiled", marks=NUMBA)]
Listed = list[tuple[str, str, float]]

XG: Listed = [
    ("s", "u", 10),
    ("s", "x", 5),
    ("u", "v", 1),
    ("u", "x", 2),
    ("v", "y", 1),
    ("x", "u", 3),
    ("x", "v", 5),
    ("x", "y", 2),
    ("y", "s", 7),
    ("y", "v", 6),
]
XG2: Listed = [
    ("1", "4", 1),
    ("4", "5", 1),
    ("5", "6", 1),
    ("6", "3", 1),
    ("1", "3", 50),
    ("1", "2", 100),
    ("2", "3", 100),
]
XG3: Listed = [
    ("0", "1", 2),
    ("1", "2", 12),
    ("2", "3", 1),
    ("3", "4", 5),
    ("4", "5", 1),
    ("5", "0", 10),
]
XG4: Listed = [
    ("0", "1", 2),
    ("1", "2", 2),
    ("2", "3", 1),
    ("3", "4", 1),
    ("4", "5", 1),
    ("5", "6", 1),
    ("6", "7", 1),
    ("7", "0", 1),
]
SIX: Listed = [
    ("1", "2", 7),
    ("1", "3", 9),
    ("1", "6", 14),
    ("2", "3", 10),
    ("2", "4", 15),
    ("3", "4", 11),
    ("3", "6", 2),
    ("4", "5", 6),
    ("5", "6", 9),
]


def _both_ways(arcs: Listed) -> Listed:
    """Undirected, the lighter weight kept where both directions are listed."""
    lightest: dict[tuple[str, str], float] = {}
    for tail, head, cost in arcs:
        for key in ((tail, head), (head, tail)):
            lightest[key] = min(cost, lightest.get(key, cost))
    return [(tail, head, cost) for (tail, head), cost in lightest.items()]


def _network(arcs: Listed) -> tuple[Network, dict[str, int]]:
    names = sorted({name for arc in arcs for name in arc[:2]})
    number = {name: index for index, name in enumerate(names)}
    return (
        Network.of_arcs(len(names), [(number[a], number[b], cost) for a, b, cost in arcs]),
        number,
    )


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    ("arcs", "start", "goal", "cost", "path"),
    [
        pytest.param(XG, "s", "v", 9, "sxuv", id="XG"),
        pytest.param(_both_ways(XG), "s", "v", 8, None, id="XG-undirected"),
        pytest.param(XG2, "1", "3", 4, "14563", id="XG2"),
        pytest.param(_both_ways(XG3), "0", "3", 15, "0123", id="XG3"),
        pytest.param(_both_ways(XG4), "0", "2", 4, "012", id="XG4"),
        pytest.param(_both_ways(SIX), "1", "5", 20, "1365", id="W2"),
    ],
)
def test_printed_distance(
    engine: Engine, arcs: Listed, start: str, goal: str, cost: float, path: str | None
) -> None:
    network, number = _network(arcs)
    names = {index: name for name, index in number.items()}
    found = least_time(network, {number[start]: 0.0}, [number[goal]], engine=engine)
    assert found is not None
    assert found.cost == cost
    if path is not None:
        assert "".join(names[node] for node in found.nodes) == path


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    ("arcs", "start", "expected"),
    [
        pytest.param(XG, "s", {"s": 0, "x": 5, "y": 7, "u": 8, "v": 9}, id="W1"),
        pytest.param(
            _both_ways(XG), "s", {"s": 0, "x": 5, "y": 7, "u": 7, "v": 8}, id="W1-undirected"
        ),
        pytest.param(
            _both_ways(SIX), "1", {"1": 0, "2": 7, "3": 9, "6": 11, "4": 20, "5": 20}, id="W2"
        ),
    ],
)
def test_whole_tree(engine: Engine, arcs: Listed, start: str, expected: dict[str, float]) -> None:
    network, number = _network(arcs)
    tree = least_time_tree(network, {number[start]: 0.0}, engine=engine)
    assert {name: tree.cost[number[name]] for name in expected} == expected
