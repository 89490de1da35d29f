"""Least costs from many sites, compiled: several of them at once."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import Final, TypeAlias

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Arcs, Flags, Network
from routing.paths.search.buckets import seconds_from
from routing.paths.search.engine import compiled
from routing.paths.search.landmarks import widest_costs
from routing.paths.search.sweep_kernel import LANES, sweep_costs

__all__ = ["CostSweeps"]

Site: TypeAlias = Sequence[int] | Indices

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
        made.__dict__.update(_order=self._order, _place=self._place, _room=self._room)
        return made

    def costs(self, starts: Sequence[Site]) -> Iterator[Floats]:
        """Yield least costs from each site's nodes, infinite where no way leads, shape (n,)."""
        size = len(self._network)
        together = max(LANES, _BYTES // max(size * 8, 1))
        for begin in range(0, len(starts), together):
            some = starts[begin : begin + together]
            table = np.empty((len(some), size))
            self.fill(some, table, range(len(some)))
            yield from table

    def fill(self, starts: Sequence[Site], table: Floats, rows: Sequence[int]) -> None:
        """Write least costs from each site's nodes into some rows of a table, shape (r, n)."""
        size = len(self._network)
        places = [self._place[np.asarray(site, dtype=np.int64)].tolist() for site in starts]
        # Sites near each other go together: their costs fall at the same nodes.
        near = sorted(range(len(starts)), key=lambda i: min(places[i], default=size))
        for first in range(0, len(near), LANES):
            some = near[first : first + LANES]
            pairs = [(lane, place) for lane, i in enumerate(some) for place in places[i]]
            sources = np.array(pairs, dtype=np.int32).reshape(-1, 2)
            into = np.array([rows[i] for i in some], dtype=np.int32)
            compiled(sweep_costs)(self._arcs, self._order, sources, *self._room, table, into)

    @cached_property
    def _room(self) -> tuple[Floats, Flags]:
        """Where sweeps work."""
        size = len(self._network)
        return np.empty((size, LANES)), np.zeros(size, dtype=np.int8)

    @cached_property
    def _order(self) -> Indices:
        """Return all nodes by their cost from one in the midst of most others, these last."""
        network = self._network
        cost = widest_costs(network, lambda node: seconds_from(network, np.array([node])))
        return np.argsort(cost, kind="stable").astype(np.uint32)

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
