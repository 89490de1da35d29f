"""Trees of least-cost ways by scipy, with the ties of our own kernels."""

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Network
from routing.paths.search.bucket_kernel import NONE, SOURCE

if TYPE_CHECKING:
    from scipy.sparse import csr_array

__all__ = ["CostTrees"]


class CostTrees:
    """Least-cost ways from any sources to all nodes, for the plain engine.

    scipy finds the costs, many times faster than plain Python would; which of the
    ways that cost the same is taken is then read from the costs.

    Parameters
    ----------
    network
        A terminal node is left only by who starts there.
    """

    def __init__(self, network: Network) -> None:
        self._network = network
        self.usable = bool((network.cost > 0).all())
        """Whether every move costs something: to scipy a move of no cost is none."""

    def costs(self, sources: Sequence[int]) -> Floats:
        """Return least costs from some nodes, infinite where no way leads, shape (n,)."""
        # Only here: scipy is worth its start-up for a study, not for a route.
        from scipy.sparse.csgraph import dijkstra

        matrix, network = self._matrix, self._network
        if network.terminal[list(sources)].any():
            # Who starts at a terminal node may leave it.
            data = matrix.data.copy()
            for source in sources:
                some = slice(int(network.indptr[source]), int(network.indptr[source + 1]))
                data[some] = network.cost[some]
            matrix = matrix.copy()
            matrix.data = data
        costs: Floats = dijkstra(matrix, indices=list(sources), min_only=True)
        return costs

    @cached_property
    def _matrix(self) -> "csr_array":
        from scipy.sparse import csr_array

        network = self._network
        cost = np.where(network.terminal[network.tail] != 0, np.inf, network.cost)
        size = len(network)
        return csr_array((cost, network.head, network.indptr), shape=(size, size))

    def labels(
        self, cost: Floats, sources: Sequence[int]
    ) -> tuple[list[int], list[int], list[int]] | None:
        """Return moves on the way, node before and move of each node, shape (n,) each.

        None where a move adds nothing to a cost: which node comes first is not seen then.
        """
        network = self._network
        tail, head = network.tail, network.head
        left = network.terminal[tail] == 0
        left[np.isin(tail, sources)] = True
        tight = np.flatnonzero(left & (cost[tail] + network.cost == cost[head]))
        tight = tight[np.isfinite(cost[head[tight]])]
        tight = tight[~np.isin(head[tight], sources)]
        if (cost[tail[tight]] == cost[head[tight]]).any():
            return None
        hops = self._fewest(tight, sources)
        # Of ways with as few moves the last write counts, which is that by the lowest node.
        first = tight[hops[tail[tight]] + 1 == hops[head[tight]]][::-1]
        step = np.full(len(network), NONE)
        step[head[first]] = first
        parent = np.where(step >= 0, tail[step], NONE)
        parent[list(sources)] = SOURCE
        return hops.tolist(), parent.tolist(), step.tolist()

    def _fewest(self, tight: Indices, sources: Sequence[int]) -> Indices:
        """Return the least number of moves to each node over some moves, -1 where none lead."""
        from scipy.sparse import csr_array
        from scipy.sparse.csgraph import dijkstra

        network = self._network
        size = len(network)
        indptr = np.searchsorted(tight, network.indptr)
        matrix: csr_array = csr_array(
            (np.ones(len(tight)), network.head[tight], indptr), shape=(size, size)
        )
        count: Floats = dijkstra(matrix, indices=list(sources), min_only=True)
        hops: Indices = np.where(np.isfinite(count), count, NONE).astype(np.int64)
        return hops
