"""Trees of least-cost ways with nothing closed, as `detour_kernel` reads them."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.all_goals import tree_from
from routing.paths.search.arrays import Flat, Network
from routing.paths.search.bucket_kernel import NONE, SOURCE
from routing.paths.search.cost_trees import CostTrees
from routing.paths.search.engine import compiled
from routing.paths.search.tree_kernel import ROW, Backwards, OpenTree, place_nodes, span_places

__all__ = ["OpenTrees", "small"]


class OpenTrees:
    """Least-cost ways from any sources of a network, ties broken as by `least_time`.

    Parameters
    ----------
    network
        With everything open.
    plain
        Whether they are for plain Python; see `CostTrees`.
    """

    def __init__(self, network: Network, *, plain: bool) -> None:
        self._network = network
        self._plain = plain
        self._by = CostTrees(network)

    def tree(self, sources: Sequence[int]) -> OpenTree:
        """Return the tree from some nodes."""
        if not self._plain:
            return self._placed(*tree_from(self._network, sources, engine="compiled"))
        return self._placed(*tree_from(self._network, sources, engine="plain", by=self._by))

    def costs(self, sources: Sequence[int]) -> Floats:
        """Return least costs from some nodes to every node, infinite where no way leads."""
        if self._by.usable:
            return self._by.costs(sources)
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
        room = (self._nothing(), self._nothing())
        count = place(parent, tree.place, tree.end, tree.order, room)
        if not self._plain:
            compiled(span_places)(self._network.terminal, self.backwards, tree, count)
            return tree
        # The same with numpy: in plain Python it would take most of the time.
        lowest, highest, row_lowest, row_highest = (
            one.tolist() for one in self._spans(tree, count)
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


def small(numbers: Indices) -> Flat:
    """Return numbers in half the memory: more of them are at hand."""
    return numbers.astype(np.int32)
