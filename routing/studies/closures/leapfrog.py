"""Closures under the leapfrog protocol: a least-time search led by the intact distances."""

from dataclasses import replace
from itertools import groupby

import numpy as np

from routing.graph.reach_graph import Floats, Indices, ReachGraph
from routing.paths.arrays import Network
from routing.paths.course import Course, course_of
from routing.paths.engine import Engine
from routing.paths.landmarks import lowered
from routing.paths.least_time import least_time, least_time_tree
from routing.paths.short_tethers import hook_rule, leapfrog_course
from routing.studies.closures.ground import Answer, Ground

__all__ = ["LeapfrogGround"]


class LeapfrogGround(Ground):
    """All routes of people on two short tethers."""

    protocol = "leapfrog"

    def __init__(self, graph: ReachGraph, *, engine: Engine = "auto", searches: int = 1) -> None:
        super().__init__(graph, engine=engine, searches=searches)
        self._rule = hook_rule(graph)
        self._network = Network.of_moves(
            graph.moves,
            extra_s=self._rule.transfer_s,
            allowed=self._rule.allowed,
            terminal=np.flatnonzero(self.sockets),
        )
        self._bounds: dict[str, Floats] = {}
        self._hatch_points = frozenset(hatch.tether_point for hatch in graph.structure.hatches)
        self._other: dict[frozenset[str], LeapfrogGround] = {}

    def answer(self, start: str, goal: str, closed: frozenset[str] = frozenset()) -> Answer | None:
        """Return the best way; see `Ground.answer`.

        Closing the tether point of a hatch takes the hook off the hatch, and with it
        the seconds of a transfer there: that makes no way shorter by itself, but
        the moves are others, so the ground is another one too.
        """
        hooks = (closed & self._hatch_points) - {*self.graph.situation.closed}
        if not hooks:
            return super().answer(start, goal, closed)
        if hooks not in self._other:
            situation = self.graph.situation
            shut = replace(situation, closed=tuple(sorted({*situation.closed, *hooks})))
            graph = replace(self.graph, situation=shut)
            self._other[hooks] = LeapfrogGround(graph, engine=self.engine)
        return self._other[hooks].answer(start, goal, closed)

    def _search(
        self, key: tuple[str, str], sources: Indices, goals: Indices, closed: frozenset[str]
    ) -> Course | None:
        network = self._network
        if closed:
            terminal = network.terminal.copy()
            terminal[self.closed_grips(closed)] = 1
            network = network.with_terminal(terminal)
        found = least_time(
            network,
            dict.fromkeys(sources.tolist(), 0.0),
            goals.tolist(),
            bound=self._bound(key[1]),
            engine=self.engine,
        )
        if found is None:
            return None
        return leapfrog_course(self.graph, course_of(self.graph, found.nodes), self._rule)

    def _bound(self, goal: str) -> Floats:
        """Return the seconds that remain to a site with nothing closed, never too much."""
        if goal not in self._bounds:
            grips = self.site(goal, frozenset())
            tree = least_time_tree(
                self._network.reverse, dict.fromkeys(grips.tolist(), 0.0), engine=self.engine
            )
            self._bounds[goal] = lowered(tree.cost)
        return self._bounds[goal]

    def _chain(self, course: Course, held: list[str]) -> tuple[str, ...]:
        del course
        return tuple(element for element, _ in groupby(held))
