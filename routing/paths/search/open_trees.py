"""Trees of least-cost ways with nothing closed, as `detour_kernel` reads them."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.all_goals import tree_from
from routing.paths.search.arrays import Flat, Network
from routing.paths.search.bucket_kernel import NONE, SOURCE
from routing.paths.search.buckets import seconds_from
from routing.paths.search.cost_trees import CostTrees
from routing.paths.search.engine import compiled
from routing.paths.search.tree_kernel import BLOCK, Backwards, OpenTree, grow_trees
from routing.paths.search.tree_places import place_together

__all__ = ["OpenTrees", "empty_rows", "more_rows"]

_TOGETHER: Final = 32
"""Trees of which all is read together, in plain Python."""


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
        if self._plain:
            return next(self.trees([sources]))
        rows = empty_rows(1, len(self._network))
        rows.distance[0] = seconds_from(self._network, np.array(sources, dtype=np.int64))
        self.grow(rows, {tuple(sources): 0})
        return OpenTree(*(table[0] for table in rows))

    def trees(self, sites: Sequence[Sequence[int]]) -> Iterator[OpenTree]:
        """Yield the tree from each of some sites, for plain Python."""
        for begin in range(0, len(sites), _TOGETHER):
            some = sites[begin : begin + _TOGETHER]
            costs, *labels = self._labels(some)
            places = place_together(labels[0], labels[1])
            spans = self._spans(labels[1], *places[:2])
            for i in range(len(some)):
                lists = (one[i].tolist() for one in (costs, *labels, *places, *spans[:2]))
                yield OpenTree(*lists, *(one[i] for one in spans[2:]))

    def grow(self, rows: OpenTree, made: Mapping[tuple[int, ...], int]) -> None:
        """Fill in all but the costs of some rows of tables, by site, compiled."""
        first = np.cumsum([0, *map(len, made)], dtype=np.int32)
        nodes = np.array([node for site in made for node in site], dtype=np.int32)
        numbers = np.array([*made.values()], dtype=np.int32)
        size, moves = len(self._network), len(self._network.head)
        rooms = (size, size, size, size + 1, moves + 1)
        room = tuple(np.empty(many, dtype=np.int32) for many in rooms)
        arcs = self._network.compact
        compiled(grow_trees)(arcs, self.backwards, rows, numbers, first, nodes, room)

    def _labels(self, sites: Sequence[Sequence[int]]) -> tuple[Floats, Indices, Indices, Indices]:
        """Return costs, moves on the way, node before and move of all nodes, shape (r, n) each."""
        if self._by.usable and all(sites):
            costs = np.stack([self._by.costs(site) for site in sites])
            labels = self._by.labels(costs, sites)
            if labels is not None:
                return (costs, *labels)
        trees = [tree_from(self._network, site, engine="plain") for site in sites]
        costs, hops, parent, step = (np.array(table) for table in zip(*trees, strict=True))
        return costs, hops, parent, step

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
        return Backwards(*(one.tolist() if self._plain else one.astype(np.uint32) for one in made))

    def _spans(self, parent: Indices, place: Indices, order: Indices) -> list[Flat]:
        """Return `lowest` and `highest` of each place and then of each block, shape (r, ...)."""
        tail, first, any_ = self._into
        size = len(self._network)
        shut = (self._network.terminal != 0) & (parent != SOURCE)
        shut |= place < 0
        blocks = np.arange(0, size, BLOCK)
        spans: list[Flat] = []
        of_blocks: list[Flat] = []
        for nothing, take in ((size, np.minimum), (NONE, np.maximum)):
            values = np.where(shut, nothing, place).astype(np.int32)
            at_node = np.full(place.shape, nothing, dtype=np.int32)
            at_node[:, any_] = take.reduceat(values[:, tail], first, axis=1)
            # Behind the last place stands the last node; that only makes a block wider.
            spans.append(np.take_along_axis(at_node, order, axis=1))
            of_blocks.append(take.reduceat(spans[-1], blocks, axis=1))
        return [*spans, *of_blocks]

    @cached_property
    def _into(self) -> tuple[Indices, Indices, Indices]:
        """Return where moves come from by where they lead, where each node's begin, which have."""
        reverse = self._network.reverse
        any_ = np.flatnonzero(np.diff(reverse.indptr))
        return reverse.head, reverse.indptr[any_], any_


def empty_rows(count: int, nodes: int) -> OpenTree:
    """Return tables of so many rows to be filled in, for the compiled engine.

    They are one piece of memory: numpy asks for big pages from 4 MB on, and to be given
    one of the small ones takes longer than to fill it in.
    """
    widths = [
        -(-nodes // BLOCK) if name.startswith("block") else nodes for name in OpenTree._fields
    ]
    # Nodes without a sign, as in the moves that lead to them.
    kinds = {"distance": np.float64, "order": np.uint32}
    types = [np.dtype(kinds.get(name, np.int32)) for name in OpenTree._fields]
    sizes = [count * w * t.itemsize for w, t in zip(widths, types, strict=True)]
    piece, at = np.empty(sum(sizes), dtype=np.uint8), np.cumsum([0, *sizes])
    return OpenTree(
        *(
            piece[a:b].view(kind).reshape(count, width)
            for a, b, kind, width in zip(at[:-1], at[1:], types, widths, strict=True)
        )
    )


def more_rows(rows: OpenTree, count: int, nodes: int) -> OpenTree:
    """Return tables of so many rows, the first of which are filled in already."""
    made = empty_rows(count, nodes)
    for table, old in zip(made, rows, strict=True):
        table[: len(old)] = old
    return made
