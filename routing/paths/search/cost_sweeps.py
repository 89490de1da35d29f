"""Least costs from many sites, compiled: several of them at once."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Arcs, Flags, Network
from routing.paths.search.buckets import seconds_from
from routing.paths.search.engine import compiled
from routing.paths.search.sweep_kernel import LANES, sweep_costs

__all__ = ["CostSweeps"]

_BYTES: Final = 64_000_000
"""What costs may take that are held until those of all sites near theirs are swept."""
_TRIES: Final = 4
"""How many nodes are tried at most until most others are reached: some stand on islands."""


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
        size = len(self._network)
        together = max(LANES, _BYTES // max(size * 8, 1))
        room = (np.empty((size, LANES)), np.zeros(size, dtype=np.int8))
        for begin in range(0, len(starts), together):
            asked = (np.asarray(site, dtype=np.int64) for site in starts[begin : begin + together])
            some = [self._place[site] for site in asked]
            found: list[Floats] = [np.empty(0)] * len(some)
            # Sites near each other go together: their costs fall at the same nodes.
            near = sorted(range(len(some)), key=lambda i: some[i].min(initial=size))
            for first in range(0, len(near), LANES):
                chosen = near[first : first + LANES]
                swept = self._sweep([some[i] for i in chosen], room)
                for i, cost in zip(chosen, swept, strict=False):
                    found[i] = cost
            yield from found

    def _sweep(self, places: Sequence[Indices], room: tuple[Floats, Flags]) -> Floats:
        """Return costs from some places of the order, shape (`LANES`, n)."""
        found = np.empty((LANES, len(self._network)))
        lane = np.repeat(np.arange(len(places)), [len(one) for one in places])
        sources = np.stack([lane, np.concatenate([lane[:0], *places])], axis=-1).astype(np.int32)
        compiled(sweep_costs)(self._arcs, self._order, sources, *room, found)
        return found

    @cached_property
    def _order(self) -> Indices:
        """Return all nodes by their cost from one in the midst of most others, these last."""
        network = self._network
        left = np.diff(network.indptr) * (network.terminal == 0)
        best = np.full(len(network), np.inf)
        for _ in range(_TRIES):
            if not left.any():
                break
            cost = seconds_from(network, np.array([np.argmax(left)]))
            reached = np.isfinite(cost)
            if reached.sum() > np.isfinite(best).sum():
                best = cost
            if reached.sum() > np.count_nonzero(left):
                break
            left[reached] = 0
        return np.argsort(best, kind="stable").astype(np.uint32)

    @cached_property
    def _place(self) -> Indices:
        """Number of each node in the order."""
        place = np.empty(len(self._network), dtype=np.int64)
        place[self._order] = np.arange(len(place))
        return place

    @cached_property
    def _arcs(self) -> Arcs:
        """The moves between nodes numbered in the order: what comes next is at hand."""
        indptr, _, cost, terminal = self._network.arrays
        count = np.diff(indptr)[self._order]
        first = np.append(0, np.cumsum(count))
        move = np.arange(len(cost)) + np.repeat(indptr[:-1][self._order] - first[:-1], count)
        head = self._place[self._network.head[move]]
        return Arcs(
            first.astype(np.uint32), head.astype(np.uint32), cost[move], terminal[self._order]
        )
