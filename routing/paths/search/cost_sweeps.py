"""Least costs from many sites, compiled: several of them at once."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Arcs, Flat, Network
from routing.paths.search.engine import compiled
from routing.paths.search.sweep_kernel import LANES, sweep_costs

__all__ = ["CostSweeps"]

_BYTES: Final = 64_000_000
"""What costs may take that are held until those of all sites near theirs are swept."""


class CostSweeps:
    """Least costs from any sources of a network to all nodes, to the last bit.

    Parameters
    ----------
    network
        A terminal node is left only by who starts there.
    """

    def __init__(self, network: Network) -> None:
        self._network = network

    def backwards(self) -> "CostSweeps":
        """Return the same for costs to sites, in the same order of nodes."""
        made = CostSweeps(self._network.reverse)
        made.__dict__["_order"] = self._order
        return made

    def costs(self, starts: Sequence[Sequence[int] | Indices]) -> Iterator[Floats]:
        """Yield least costs from each site's nodes, infinite where no way leads, shape (n,)."""
        together = max(LANES, _BYTES // max(len(self._network) * 8, 1))
        for begin in range(0, len(starts), together):
            some = starts[begin : begin + together]
            found: list[Floats] = [np.empty(0)] * len(some)
            # Sites near each other go together: their costs fall at the same nodes.
            near = sorted(
                range(len(some)), key=lambda i: self._place[some[i][0]] if len(some[i]) else -1
            )
            for first in range(0, len(near), LANES):
                chosen = near[first : first + LANES]
                swept = self._sweep([some[i] for i in chosen], self._order)
                for i, cost in zip(chosen, np.ascontiguousarray(swept.T), strict=False):
                    found[i] = cost
            yield from found

    def _sweep(self, starts: Sequence[Sequence[int] | Indices], order: Flat) -> Floats:
        size = len(self._network)
        distance = np.full((size, LANES), np.inf)
        pairs = [(lane, int(node)) for lane, nodes in enumerate(starts) for node in nodes]
        sources = np.array(pairs, dtype=np.int32).reshape(-1, 2)
        changed = np.zeros(size, dtype=np.int8)
        compiled(sweep_costs)(self.arcs, order, sources, distance, changed)
        return distance

    @cached_property
    def _order(self) -> Flat:
        """Return all nodes by their cost from one that is far from others, islands last."""
        order = np.arange(len(self._network), dtype=np.int32)
        first = int(np.argmax(np.diff(self._network.indptr)))
        for _ in range(2):
            cost = self._sweep([[first]], order)[:, 0]
            far = np.where(np.isfinite(cost) & (self._network.terminal == 0), cost, -1.0)
            first = int(np.argmax(far))
            order = np.argsort(cost, kind="stable").astype(np.int32)
        return order

    @cached_property
    def _place(self) -> Indices:
        place = np.empty(len(self._network), dtype=np.int64)
        place[self._order] = np.arange(len(place))
        return place

    @cached_property
    def arcs(self) -> Arcs:
        """The moves in half the memory: more of them are at hand."""
        arrays = self._network.arrays
        # No sign: the compiler then leaves out what a negative place would mean.
        return arrays._replace(
            indptr=arrays.indptr.astype(np.uint32), head=arrays.head.astype(np.uint32)
        )
