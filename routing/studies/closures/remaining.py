"""What remains to a goal at least, with some grips closed: it leads the exact searches."""

from collections.abc import Sequence
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.all_goals import seconds_from
from routing.paths.arrays import Network
from routing.paths.engine import Engine

if TYPE_CHECKING:
    from scipy.sparse import csr_array

__all__ = ["Remaining"]


class Remaining:
    """Least cost from every node of a network to some goals, whatever is closed.

    A whole tree at a time is what scipy is good at: many times faster than plain
    Python; compiled buckets are faster still. It only leads searches; users take
    rounding off before they do.
    """

    def __init__(self, network: Network, *, engine: Engine) -> None:
        self._reverse = network.reverse
        self._engine = engine

    def to(self, goals: Indices, closed: Sequence[int] = ()) -> Floats:
        """Return the least cost from every node to the nearest goal, shape (n,).

        Infinite from closed nodes and wherever no way leads.

        Parameters
        ----------
        goals
            Nodes that are not closed.
        closed
            Nodes that nobody may be at.
        """
        if self._engine == "compiled" and not len(closed):
            return seconds_from(self._reverse, goals)
        # Only here: scipy is worth its start-up for a study, not for a route.
        from scipy.sparse.csgraph import dijkstra

        matrix = self._matrix
        cost = matrix.data.copy()
        indptr = self._reverse.indptr
        for goal in goals.tolist():
            # Into a goal one comes also where it is terminal.
            some = slice(int(indptr[goal]), int(indptr[goal + 1]))
            cost[some] = self._cost[some]
        for node in closed:
            cost[indptr[node] : indptr[node + 1]] = np.inf
        left = matrix.copy()
        left.data = cost
        remaining: Floats = dijkstra(left, indices=goals, min_only=True)
        remaining[list(closed)] = np.inf
        return remaining

    @cached_property
    def _cost(self) -> Floats:
        # A move of no cost would read as no move at all in a sparse matrix.
        cost: Floats = np.maximum(self._reverse.cost, 1e-12)
        return cost

    @cached_property
    def _matrix(self) -> "csr_array":
        """All moves backwards; nobody passes through a terminal node."""
        from scipy.sparse import csr_array

        reverse = self._reverse
        passed = np.where(reverse.terminal[reverse.tail] != 0, np.inf, self._cost)
        size = len(reverse)
        return csr_array((passed, reverse.head, reverse.indptr), shape=(size, size))
