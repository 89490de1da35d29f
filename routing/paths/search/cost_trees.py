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
        self, costs: Floats, sites: Sequence[Sequence[int]]
    ) -> tuple[Indices, Indices, Indices] | None:
        """Return moves on the way, node before and move of each node, shape (r, n) each.

        None where a move adds nothing to a cost: which node comes first is not seen then.

        Parameters
        ----------
        costs
            From the nodes of each site, shape (r, n).
        sites
            At least one node each.
        """
        network = self._network
        tight = self._tight(costs, sites)
        row, move = np.divmod(np.flatnonzero(tight), len(network.head))
        base = row * len(network)
        tail, head = base + network.tail[move], base + network.head[move]
        flat = costs.ravel()
        if (flat[tail] == flat[head]).any():
            return None
        sources = np.array(
            [i * len(network) + node for i, site in enumerate(sites) for node in site]
        )
        hops = _fewest(costs.size, tail, head, sources)
        # Of ways with as few moves the last write counts, which is that by the lowest node.
        first = np.flatnonzero(hops[tail] + 1 == hops[head])[::-1]
        step = np.full(costs.size, NONE)
        step[head[first]] = move[first]
        parent = np.where(step >= 0, network.tail[step], NONE)
        parent[sources] = SOURCE
        return hops.reshape(costs.shape), parent.reshape(costs.shape), step.reshape(costs.shape)

    def _tight(self, costs: Floats, sites: Sequence[Sequence[int]]) -> NDArray[np.bool_]:
        """Return which moves make up the least costs, shape (r, m)."""
        network = self._network
        begun = costs[:, network.tail]
        tight: NDArray[np.bool_] = begun + network.cost == costs[:, network.head]
        tight &= np.isfinite(begun)
        passed = network.terminal[network.tail] == 0
        into, out = network.reverse, network.indptr
        for row, site in enumerate(sites):
            # Who starts at a terminal node may leave it; nothing leads to a start.
            left = [(move, tight[row, move].copy()) for node in site
                    for move in [slice(int(out[node]), int(out[node + 1]))]]  # fmt: skip
            tight[row] &= passed
            for move, kept in left:
                tight[row, move] = kept
            for node in site:
                tight[row, into.move[into.indptr[node] : into.indptr[node + 1]]] = False
        return tight


def _fewest(size: int, tail: Indices, head: Indices, sources: Indices) -> Indices:
    """Return the least number of moves to each node, -1 where none lead.

    Parameters
    ----------
    tail, head
        Of each move, by tail, shape (m,).
    """
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import breadth_first_order

    # From one more node moves lead to all sources.
    indptr = np.append(np.searchsorted(tail, np.arange(size + 1)), len(tail) + len(sources))
    heads = np.append(head, sources)
    matrix: csr_array = csr_array(
        (np.ones(len(heads), dtype=np.int8), heads, indptr), shape=(size + 1, size + 1)
    )
    met, before = breadth_first_order(matrix, size, directed=True, return_predecessors=True)
    # From node to node before, twice as far each time.
    back = np.arange(size + 1, dtype=np.int32)
    back[met[1:]] = before[met[1:]]
    hops = np.zeros(size + 1, dtype=np.int32)
    hops[met[1:]] = 1
    while True:
        further = back[back]
        if (further == back).all():
            break
        hops += hops[back]
        back = further
    return hops[:size].astype(np.int64) - 1


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
