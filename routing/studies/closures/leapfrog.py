"""Closures under the leapfrog protocol: a least-time search led by the intact distances."""

import math
from dataclasses import replace
from itertools import groupby

import numpy as np

from routing.graph.reach_graph import Floats, Indices, ReachGraph
from routing.paths.arrays import Network
from routing.paths.course import Course, course_of
from routing.paths.engine import Engine
from routing.paths.landmarks import lowered
from routing.paths.least_time import least_time
from routing.paths.short_tethers import hook_rule, leapfrog_course
from routing.studies.closures.ground import Answer, Ground
from routing.studies.closures.remaining import Remaining

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
        self._last = (frozenset[str](), self._network)
        self._remaining = Remaining(self._network)
        self._bounds: dict[str, Floats] = {}
        self._hatches = frozenset(hatch.id for hatch in graph.structure.hatches)
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
    ) -> Answer | None:
        found = least_time(
            self._without(closed),
            dict.fromkeys(sources.tolist(), 0.0),
            goals.tolist(),
            bound=self._bound(key[1], goals, closed),
            engine=self.engine,
        )
        if found is None:
            return None
        return self._answer(found.nodes, key)

    def _without(self, closed: frozenset[str]) -> Network:
        """Return the network in which nobody passes closed grips; the last one is kept."""
        if self._last[0] != closed:
            terminal = self._network.terminal.copy()
            terminal[self.closed_grips(closed)] = 1
            self._last = (closed, self._network.with_terminal(terminal))
        return self._last[1]

    def _bound(self, goal: str, goals: Indices, closed: frozenset[str]) -> Floats:
        """Return the seconds that remain to a site, never too much.

        Plain Python is slower at trying what does not lead round the closure than
        scipy at telling what remains with it; compiled it is the other way round,
        and what remains with nothing closed will do.
        """
        if closed and self.engine == "plain":
            return lowered(self._remaining.to(goals, self.closed_grips(closed)))
        if goal not in self._bounds:
            self._bounds[goal] = lowered(self._remaining.to(self.site(goal, frozenset())))
        return self._bounds[goal]

    def _answer(self, grips: tuple[int, ...], key: tuple[str, str]) -> Answer:
        moves = self._moves_along(grips)
        transfers = self._rule.transfers[moves]
        ids = self.graph.grips.element_ids
        held = [ids[grip] for grip in grips]
        hatches = tuple(sorted(self._hatches.intersection(held)))

        def course() -> Course:
            return leapfrog_course(self.graph, course_of(self.graph, grips), self._rule)

        seconds = self.graph.moves.seconds[moves].tolist()
        return Answer(
            seconds=math.fsum([*seconds, *self._rule.transfer_s[moves][transfers].tolist()]),
            transfers=int(transfers.sum()),
            chain=tuple(element for element, _ in groupby(held)),
            rests_on=frozenset({*held, *key}),
            # Two short tethers need no point but that of a hatch on the way, and a first hook.
            blocks=self._blocks((grips[0], hatches), course),
            grips=grips,
        )
