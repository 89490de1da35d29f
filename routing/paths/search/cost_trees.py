"""Trees of least-cost ways by scipy, with the ties of our own kernels."""

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Network
from routing.paths.search.bucket_kernel import NONE, SOURCE

if TYPE_CHECKING:
    from scipy.sparse import csr_array

__all__ = ["CostTrees", "trace_together"]


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
    ) -> tuple[Indices, Indices, Indices] | None:
        """Return moves on the way, node before and move of each node, shape (n,) each.

        None where a move adds nothing to a cost: which node comes first is not seen then.
        """
        network = self._network
        tail, head = self._ends
        left = self._left
        if network.terminal[list(sources)].any():
            left = left.copy()
            for source in sources:
                left[network.indptr[source] : network.indptr[source + 1]] = True
        begun = cost[tail]
        tight = left & (begun + network.cost == cost[head]) & np.isfinite(begun)
        tight[network.reverse.move[self._into(sources)]] = False
        moves = np.flatnonzero(tight)
        if (begun[moves] == cost[head[moves]]).any():
            return None
        hops = self._fewest(moves, sources)
        # Of ways with as few moves the last write counts, which is that by the lowest node.
        first = moves[hops[tail[moves]] + 1 == hops[head[moves]]][::-1]
        step = np.full(len(network), NONE)
        step[head[first]] = first
        parent = np.where(step >= 0, tail[step], NONE)
        parent[list(sources)] = SOURCE
        return hops, parent, step

    @cached_property
    def _ends(self) -> tuple[Indices, Indices]:
        return self._network.tail, self._network.head

    @cached_property
    def _left(self) -> NDArray[np.bool_]:
        """Which moves begin at a node that anybody may leave, shape (m,)."""
        left: NDArray[np.bool_] = self._network.terminal[self._network.tail] == 0
        return left

    def _into(self, nodes: Sequence[int]) -> Indices:
        """Return which moves lead to some nodes, as they are numbered the other way round."""
        first = self._network.reverse.indptr
        return np.concatenate([np.arange(first[node], first[node + 1]) for node in nodes])

    def _fewest(self, tight: Indices, sources: Sequence[int]) -> Indices:
        """Return the least number of moves to each node over some moves, -1 where none lead."""
        from scipy.sparse import csr_array
        from scipy.sparse.csgraph import breadth_first_order

        size = len(self._network)
        # From one more node moves lead to all sources.
        indptr = np.append(np.searchsorted(tight, self._network.indptr), len(tight) + len(sources))
        heads = np.append(self._network.head[tight], sources)
        matrix: csr_array = csr_array(
            (np.ones(len(heads), dtype=np.int8), heads, indptr), shape=(size + 1, size + 1)
        )
        met, before = breadth_first_order(matrix, size, directed=True, return_predecessors=True)
        # From node to node before, twice as far each time.
        back = np.arange(size + 1)
        back[met[1:]] = before[met[1:]]
        hops = np.zeros(size + 1, dtype=np.int64)
        hops[met[1:]] = 1
        while (back[met] != size).any():
            hops += hops[back]
            back = back[back]
        hops -= 1
        hops[size] = NONE
        return hops[:size]


def trace_together(
    tail: Indices, step: Indices, nodes: Indices, hops: Indices
) -> tuple[Indices, Indices]:
    """Return the moves on many ways, those of all trees in one go.

    Parameters
    ----------
    tail
        Where each move begins, shape (m,).
    step
        Move that leads to each node, -1 at sources, by tree, shape (r, n).
    nodes
        Where ways lead, -1 for none, by tree, shape (r, k).
    hops
        Moves on each way, shape (r, k).

    Returns
    -------
    first
        Where the moves of each way begin among those of its tree, shape (r, k + 1).
    steps
        Moves from each node back, tree by tree, shape (s,).
    """
    count = np.where(nodes >= 0, hops, 0)
    first = np.zeros((len(nodes), nodes.shape[1] + 1), dtype=np.int64)
    np.cumsum(count, axis=1, out=first[:, 1:])
    flat = step.ravel()
    at = (first[:, :-1] + (np.cumsum(first[:, -1]) - first[:, -1])[:, None])[nodes >= 0]
    row = (np.arange(len(nodes)) * step.shape[1])[:, None]
    base = np.broadcast_to(row, nodes.shape)[nodes >= 0]
    node = nodes[nodes >= 0]
    steps = np.empty(int(first[:, -1].sum()), dtype=np.int64)
    while len(node):
        move = flat[base + node]
        on = move >= 0
        if not on.all():
            move, at, base = move[on], at[on], base[on]
        steps[at] = move
        at = at + 1
        node = tail[move]
    return first, steps
