"""Seconds home on two short tethers: one tree back from the hatches for every closure."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from routing.graph.reach_graph import Floats, Indices, ReachGraph
from routing.paths.home.ground import HomeGround, NoWayHomeError
from routing.paths.search.engine import Engine
from routing.studies.closures.remaining import Remaining

__all__ = ["ShortTetherHomes"]


class ShortTetherHomes:
    """Seconds home of every grip under leapfrog.

    A hatch of which the tether point is closed is no home: nothing would hold
    people there.
    """

    def __init__(self, graph: ReachGraph, engine: Engine) -> None:
        self._graph = graph
        shut = {*graph.situation.closed}
        open_ = {one.id for one in graph.structure.hatches if one.tether_point not in shut}
        self._home: HomeGround | None = None
        self._goals: Indices = np.zeros(0, dtype=np.int64)
        try:
            self._home = HomeGround(graph=graph, protocol="leapfrog")
        except NoWayHomeError:  # there is no hatch, and so no time home that is known
            return
        hatches = self._home.hatches.items()
        self._goals = np.array([grip for grip, hatch in hatches if hatch in open_], dtype=np.int64)
        if len(self._goals):
            self._remaining = Remaining(self._home.network, engine=engine)

    def seconds(self, closed: Sequence[int]) -> Floats:
        """Return the seconds home of every grip with some closed, shape (n,)."""
        if not len(self._goals):
            return np.full(len(self._graph.grips), np.inf)
        return self._remaining.without(closed, self._goals)

    def grips_home(self, grips: Sequence[int]) -> set[int]:
        """Return all grips on the ways home from some, these too, with nothing more closed."""
        found: set[int] = set()
        parent = None if self._home is None else self._home.tree.parent
        for grip in grips:
            at = grip
            while at >= 0 and at not in found:
                found.add(at)
                at = -1 if parent is None else int(parent[at])
        return found

    def number_of(self, grip_id: str) -> int:
        """Return the number of a grip: it need not be that of another ground."""
        return self._numbers[grip_id]

    @cached_property
    def _numbers(self) -> dict[str, int]:
        return {one: number for number, one in enumerate(self._graph.grips.ids)}
