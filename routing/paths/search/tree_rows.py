"""What is searched once with nothing closed, in tables of a row a site."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from routing.paths.search.arrays import Flat, Network
from routing.paths.search.cost_sweeps import CostSweeps
from routing.paths.search.kept_rows import KeptRows, most_rows, rows_to_make
from routing.paths.search.landmarks import lowered
from routing.paths.search.open_trees import OpenTrees, empty_rows, more_rows
from routing.paths.search.tree_kernel import Backwards, OpenTree

__all__ = ["BoundRows", "TreeRows"]

Sites = Sequence[tuple[int, ...]]

_BIG_BYTES = 1 << 22


class TreeRows:
    """Least-cost ways from many sites, ties broken as by `least_time`.

    Parameters
    ----------
    network
        With everything open.
    plain
        Whether they are for plain Python.
    """

    def __init__(self, network: Network, *, plain: bool) -> None:
        self._network = network
        self._plain = plain
        self._open = OpenTrees(network, plain=plain)
        self.sweeps = CostSweeps(network)
        self.kept = KeptRows(most_rows(len(network), 8 + 4 * 8))
        self.rows = (
            OpenTree(*([] for _ in OpenTree._fields)) if plain else empty_rows(0, len(network))
        )
        """Tables of a row each: lists for plain Python, or else arrays of shape (rows, ...)."""

    def fill(self, sites: Sites) -> None:
        """Have the trees from some sites in `rows`; `kept` says which row each has."""
        made = self.kept.place(sites)
        if not made:
            return
        there = len(self.rows.distance)
        count = rows_to_make(there, self.kept.used, self.kept.most)
        if self._plain:
            self.rows = OpenTree(*(table + [[]] * (count - there) for table in self.rows))
            for row, tree in zip(made.values(), self._open.trees([*made]), strict=True):
                for table, one in zip(self.rows, tree, strict=True):
                    table[row] = one
            return
        if count > there:
            self.rows = more_rows(self.rows, count, len(self._network))
        self.sweeps.fill([*made], self.rows.distance, [*made.values()])
        self._open.grow(self.rows, made)

    @property
    def backwards(self) -> Backwards:
        """The moves of the network by where they lead."""
        return self._open.backwards


class BoundRows:
    """What remains to many sites at least, to lead searches there.

    A trifle less than the least cost, the more the further: so of nodes on ways as
    good, those are looked at first that come first, and none of them twice.

    Parameters
    ----------
    network
        With everything open.
    sweeps
        Of the costs from sites.
    plain
        Whether they are for plain Python.
    """

    def __init__(self, network: Network, sweeps: CostSweeps, *, plain: bool) -> None:
        self._network = network
        self._plain = plain
        self._open = OpenTrees(network.reverse, plain=True)
        self._forwards = sweeps
        self.kept = KeptRows(most_rows(len(network), 32 if plain else 8))
        self.rows: Flat = [] if plain else np.empty((0, len(network)))
        """A row each: lists for plain Python, or else an array of shape (rows, n)."""

    def fill(self, sites: Sites) -> None:
        """Have the bounds to some sites in `rows`; `kept` says which row each has."""
        made = self.kept.place(sites)
        if not made:
            return
        there = len(self.rows)
        count = rows_to_make(there, self.kept.used, self.kept.most)
        if self._plain:
            self.rows = self.rows + [[]] * (count - there)
            for site, row in made.items():
                self.rows[row] = lowered(self._open.costs(site)).tolist()
            return
        if count > there:
            # From 4 MB on numpy asks for big pages, which cost less than many small ones.
            enough = min(max(count, -(-_BIG_BYTES // (8 * len(self._network)))), self.kept.most)
            larger = np.empty((enough, len(self._network)))
            larger[:there] = self.rows
            self.rows = larger
        self._sweeps.fill([*made], self.rows, [*made.values()])
        for row in made.values():
            self.rows[row] = lowered(self.rows[row])

    @cached_property
    def _sweeps(self) -> CostSweeps:
        return self._forwards.backwards()
