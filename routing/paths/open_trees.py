"""Trees of least-cost ways with nothing closed, as `detour_kernel` reads them."""

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.all_goals import tree_from
from routing.paths.arrays import Flat, Network
from routing.paths.bucket_kernel import NONE, SOURCE
from routing.paths.detour_kernel import ROW, Backwards, OpenTree, place_nodes
from routing.paths.engine import compiled

if TYPE_CHECKING:
    from scipy.sparse import csr_array

__all__ = ["OpenTrees", "small"]


class OpenTrees:
    """Least-cost ways from any sources of a network, ties broken as by `least_time`.

    Parameters
    ----------
    network
        With everything open.
    plain
        Whether they are for plain Python. Then scipy finds the costs, many times
        faster than plain Python would, and what leads where is read from them.
    """

    def __init__(self, network: Network, *, plain: bool) -> None:
        self._network = network
        self._plain = plain

    def tree(self, sources: Sequence[int]) -> OpenTree:
        """Return the tree from some nodes."""
        if not self._plain:
            return self._placed(*tree_from(self._network, sources, engine="compiled"))
        labels = None
        if (self._network.cost > 0).all():
            cost = self._costs(sources)
            labels = self._labels(cost, sources)
        if labels is None:
            # Moves that add nothing: which node comes first is not seen from the costs,
            # and to scipy a move of no cost is none.
            return self._placed(*tree_from(self._network, sources, engine="plain"))
        return self._placed(cost.tolist(), *labels)

    def costs(self, sources: Sequence[int]) -> Floats:
        """Return least costs from some nodes to every node, infinite where no way leads."""
        if (self._network.cost > 0).all():
            return self._costs(sources)
        return np.array(tree_from(self._network, sources, engine="plain")[0])

    @cached_property
    def backwards(self) -> Backwards:
        """The moves of the network by where they lead."""
        reverse = self._network.reverse
        made = Backwards(indptr=reverse.indptr, tail=reverse.head, move=reverse.move)
        return Backwards(*(one.tolist() if self._plain else small(one) for one in made))

    def _placed(self, distance: Flat, hops: Flat, parent: Flat, step: Flat) -> OpenTree:
        made = [self._nothing() for _ in range(7)]
        tree = OpenTree(distance, hops, parent, step, *made)
        place = place_nodes if self._plain else compiled(place_nodes)
        count = place(parent, tree, self._nothing(), self._nothing())
        spans = self._spans(tree, count)
        lowest, highest, row_lowest, row_highest = (
            (one.tolist() for one in spans) if self._plain else spans
        )
        return tree._replace(
            lowest=lowest, highest=highest, row_lowest=row_lowest, row_highest=row_highest
        )

    def _spans(self, tree: OpenTree, count: int) -> list[Indices]:
        """Return from which least and greatest place moves lead to each place, and to each row."""
        tail, first, any_ = self._into
        size = len(self._network)
        place, order = (np.asarray(one, dtype=np.int32) for one in (tree.place, tree.order))
        parent = np.asarray(tree.parent, dtype=np.int32)
        shut = self._network.terminal != 0
        shut &= parent != SOURCE
        low = np.where((place < 0) | shut, size, place).astype(np.int32)
        high = np.where(shut, NONE, place).astype(np.int32)
        spans = []
        for values, nothing, take in ((low, size, np.minimum), (high, NONE, np.maximum)):
            at_node = np.full(size, nothing, dtype=np.int32)
            at_node[any_] = take.reduceat(values[tail], first)
            spans.append(at_node[order[:count]])
        rows = count // ROW * ROW
        lowest, highest = (one[:rows].reshape(-1, ROW) for one in spans)
        return [*spans, lowest.min(axis=1), highest.max(axis=1)]

    @cached_property
    def _into(self) -> tuple[Indices, Indices, Indices]:
        """Return where moves come from by where they lead, where each node's begin, which have."""
        reverse = self._network.reverse
        any_ = np.flatnonzero(np.diff(reverse.indptr))
        return reverse.head, reverse.indptr[any_], any_

    def _nothing(self) -> Flat:
        count = len(self._network)
        return [NONE] * count if self._plain else np.full(count, NONE, dtype=np.int32)

    def _costs(self, sources: Sequence[int]) -> Floats:
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

    def _labels(
        self, cost: Floats, sources: Sequence[int]
    ) -> tuple[list[int], list[int], list[int]] | None:
        """Return moves on the way, node before and move of each node, None if costs do not say."""
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


def small(numbers: Indices) -> Flat:
    """Return numbers in half the memory: more of them are at hand."""
    return numbers.astype(np.int32)
