"""Trees read from costs, those of several sites in one go, against one search a site."""

import numpy as np
import pytest

from routing.paths.search.all_goals import tree_from
from routing.paths.search.arrays import Network
from routing.paths.search.cost_trees import CostTrees, trace_together
from tests.routing.paths.test_detours import drawn


@pytest.mark.parametrize("seed", [one for one in range(16) if one % 4])
def test_ties_are_those_of_single_searches(seed: int) -> None:
    network, pairs, _, _ = drawn(seed)
    sites = [pair.sources for pair in pairs]
    by = CostTrees(network)
    costs = np.stack([by.costs(site) for site in sites])
    labels = by.labels(costs, sites)
    assert labels is not None
    for row, site in enumerate(sites):
        expected = tree_from(network, site, engine="plain")
        found = (costs, *labels)
        assert [one[row].tolist() for one in found] == [list(one) for one in expected]


def test_a_move_that_adds_nothing_is_told() -> None:
    network = Network.of_arcs(3, [(0, 1, 1e9), (1, 2, 1e-9)])
    by = CostTrees(network)
    assert by.labels(by.costs([0])[None], [[0]]) is None


def test_ways_of_several_trees_are_read_back_together() -> None:
    tail = np.array([0, 1, 2])
    step = np.array([[-1, 0, 1], [-1, -1, -1], [-1, -1, 1]])
    nodes = np.array([[2, 1], [-1, 0], [-1, 2]])
    hops = np.array([[2, 1], [0, 0], [0, 1]])
    first, steps = trace_together(tail, step, nodes, hops)
    assert first.tolist() == [[0, 2, 3], [0, 0, 0], [0, 0, 1]]
    assert steps.tolist() == [1, 0, 0, 1]
