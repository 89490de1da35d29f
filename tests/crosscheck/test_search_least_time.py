"""Least-time costs against four general graph libraries on random networks."""

from collections.abc import Callable

import igraph
import networkx as nx
import numpy as np
import pytest
import rustworkx as rx
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine
from routing.paths.search.landmarks import Landmarks, prepare_landmarks, straight_bound
from routing.paths.search.least_time import least_time, least_time_tree
from tests.needs import NUMBA

RELATIVE = 1e-9
ENGINES = ["plain", pytest.param("compiled", marks=NUMBA)]
Costs = NDArray[np.float64]


def _random(seed: int, nodes: int = 120) -> tuple[Network, Costs]:
    """Points in a box, near ones joined; costs never below the straight distance."""
    rng = np.random.default_rng(seed)
    position_m = rng.uniform(0, 10, (nodes, 3))
    gaps = np.linalg.norm(position_m[:, None] - position_m[None], axis=2)
    arcs = [
        (int(i), int(j), float(gaps[i, j] * rng.uniform(1, 2)))
        for i, j in np.argwhere((gaps < 2.6) & (gaps > 0))
        if rng.random() < 0.8
    ]
    return Network.of_arcs(nodes, arcs), position_m


def _networkx(network: Network, start: int) -> Costs:
    graph = nx.DiGraph()
    graph.add_nodes_from(range(len(network)))
    graph.add_weighted_edges_from(
        zip(network.tail.tolist(), network.head.tolist(), network.cost.tolist(), strict=True)
    )
    costs = np.full(len(network), np.inf)
    for node, cost in nx.single_source_dijkstra_path_length(graph, start).items():
        costs[node] = cost
    return costs


def _scipy(network: Network, start: int) -> Costs:
    matrix = csr_array((network.cost, network.head, network.indptr), (len(network),) * 2)
    return np.asarray(dijkstra(matrix, indices=start))


def _rustworkx(network: Network, start: int) -> Costs:
    graph = rx.PyDiGraph()
    graph.add_nodes_from(range(len(network)))
    graph.add_edges_from(
        list(zip(network.tail.tolist(), network.head.tolist(), network.cost.tolist(), strict=True))
    )
    costs = np.full(len(network), np.inf)
    costs[start] = 0
    for node, cost in rx.dijkstra_shortest_path_lengths(graph, start, float).items():
        costs[node] = cost
    return costs


def _igraph(network: Network, start: int) -> Costs:
    graph = igraph.Graph(
        n=len(network),
        edges=list(zip(network.tail.tolist(), network.head.tolist(), strict=True)),
        directed=True,
    )
    return np.array(graph.distances(source=start, weights=network.cost.tolist())[0])


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(
    "reference", [_networkx, _scipy, _rustworkx, _igraph], ids=lambda f: f.__name__
)
def test_tree_equals_reference(engine: Engine, reference: Callable[[Network, int], Costs]) -> None:
    for seed in range(10):
        network, _ = _random(seed)
        tree = least_time_tree(network, {seed: 0.0}, engine=engine)
        np.testing.assert_allclose(tree.cost, reference(network, seed), rtol=RELATIVE)


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("bounds", ["none", "straight", "landmarks"])
def test_bounds_change_no_path(engine: Engine, bounds: str) -> None:
    """Goal-directed or not, plain or compiled: the same nodes and the same bits."""
    for seed in range(20):
        network, position_m = _random(seed)
        tables = prepare_landmarks(network, count=4)
        for start, goal in ((0, 119), (50, 3), (7, 7), (90, 14)):
            bound = None
            if bounds == "straight":
                bound = straight_bound(position_m, [goal], rate_m_per_s=1.0)
            if bounds == "landmarks":
                bound = tables.bound([start], [goal], engine=engine)
            found = least_time(network, {start: 0.0}, [goal], bound=bound, engine=engine)
            tree = least_time_tree(network, {start: 0.0})
            assert (found is None) == np.isinf(tree.cost[goal])
            if found is not None:
                assert found.nodes == tree.path_to(goal)
                assert found.cost == tree.cost[goal]


@pytest.mark.parametrize("use", [1, 3, 9])
def test_compiled_bounds_are_the_plain_ones_bit_for_bit(use: int) -> None:
    """Several ends, closed parts (infinite less infinite), fewer landmarks than asked for."""
    for seed in range(20):
        network, _ = _random(seed)
        closed = network.without(nodes=range(30, 30 + 3 * seed))
        tables = prepare_landmarks(closed if seed % 2 else network, count=5)
        # An island of its own: its tables are infinite almost everywhere.
        for part in (tables, _seen_from_an_island(tables)):
            for starts, goals in (([0], [119]), ([50, 4, 9], [3, 100]), ([31], [32]), ([7], [7])):
                plain = part.bound(starts, goals, use=use, engine="plain")
                compiled = part.bound(starts, goals, use=use, engine="compiled")
                np.testing.assert_array_equal(plain, compiled, strict=True)


def _seen_from_an_island(tables: Landmarks) -> Landmarks:
    outward, homeward = tables.outward.copy(), tables.homeward.copy()
    outward[0, 5:], homeward[1:3, :60] = np.inf, np.inf
    return Landmarks(nodes=tables.nodes, outward=outward, homeward=homeward)


def test_bounds_stay_true_with_several_goals_and_closed_nodes() -> None:
    """Tables of the whole network bound the network with moves taken out."""
    for seed in range(20):
        network, _ = _random(seed)
        tables = prepare_landmarks(network, count=4)
        closed = network.without(nodes=range(40, 60))
        goals = [3, 100, 70]
        remaining = least_time_tree(closed.reverse, dict.fromkeys(goals, 0.0)).cost
        bound = tables.bound([0], goals, use=4)
        assert np.all(bound <= remaining)
        found = least_time(closed, {0: 0.0, 1: 0.5}, goals, bound=bound)
        expected = min(remaining[0], 0.5 + remaining[1])
        assert (found is None) == np.isinf(expected)
        if found is not None:
            assert found.cost == pytest.approx(expected, rel=RELATIVE)
