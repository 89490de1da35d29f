"""Closures under the leapfrog protocol: a least-time search led by the intact distances."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

import numpy as np

from routing.graph.reach_graph import GripKind, Indices, ReachGraph
from routing.paths.arrays import Flat, Network
from routing.paths.course import Course
from routing.paths.detours import Detour, Detours, Pair
from routing.paths.engine import Engine
from routing.paths.landmarks import lowered
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
        self._detours = Detours(self._network, plain=self.engine == "plain")
        self._element_ids = graph.grips.element_ids
        # By move of the network; lists, since they are read one by one.
        moves = self._network.move
        self._seconds: list[float] = graph.moves.seconds[moves].tolist()
        self._transfers: list[bool] = self._rule.transfers[moves].tolist()
        self._held: dict[str, frozenset[str]] = {}
        self._remaining = Remaining(self._network, engine=self.engine)
        self._bounds: dict[str, Flat] = {}
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

    def changes(
        self, pairs: Sequence[tuple[str, str]], closures: Sequence[frozenset[str]]
    ) -> dict[tuple[int, int], Answer | None]:
        """Return what closures change; see `Ground.changes` and `answer`."""
        there = {*self.graph.situation.closed}
        other = [i for i, closed in enumerate(closures) if (closed & self._hatch_points) - there]
        # Nothing is closed on this ground in their place, and they are asked on their own.
        here = [frozenset[str]() if i in other else one for i, one in enumerate(closures)]
        found = super().changes(pairs, here)
        for closure in other:
            for number, (start, goal) in enumerate(pairs):
                found[closure, number] = self.answer(start, goal, closures[closure])
        return found

    def _solve_all(
        self,
        pairs: Sequence[tuple[str, str]],
        closures: Sequence[frozenset[str]],
        cases: Sequence[tuple[int, int]],
    ) -> list[Answer | None]:
        asked = [
            Pair(
                sources=self.site(start, frozenset()).tolist(),
                goals=self.site(goal, frozenset()).tolist(),
                bound=self._bound(goal),
            )
            for start, goal in pairs
        ]
        grips = [self.closed_grips(closed) for closed in closures]
        searched = [
            case
            for case in cases
            if not any(self._is_shut(site, closures[case[0]]) for site in pairs[case[1]])
        ]
        self.searched += len(searched)
        answers: dict[tuple[int, int], Answer] = {}
        for case, way in zip(searched, self._detours.find(asked, grips, searched), strict=True):
            if way is not None:
                answers[case] = self._answer(way, pairs[case[1]])
        return [answers.get(case) for case in cases]

    def _search(
        self, key: tuple[str, str], sources: Indices, goals: Indices, closed: frozenset[str]
    ) -> Answer | None:
        pair = Pair(sources=sources.tolist(), goals=goals.tolist(), bound=self._bound(key[1]))
        (way,) = self._detours.find([pair], [self.closed_grips(closed)], [(0, 0)])
        return None if way is None else self._answer(way, key)

    def _is_shut(self, site_id: str, closed: frozenset[str]) -> bool:
        """Tell whether no grip of a site is open, for sites that have been looked up."""
        if site_id not in self._held:
            ids, places = self.graph.grips.element_ids, self._places[site_id]
            self._held[site_id] = frozenset(ids[grip] for grip in places.grips.tolist())
        return self._held[site_id] <= closed or (
            site_id in closed and not len(self.site(site_id, closed))
        )

    def _bound(self, goal: str) -> Flat:
        """Return the seconds that remain to a site with everything open, never too much."""
        if goal not in self._bounds:
            remaining = lowered(self._remaining.to(self.site(goal, frozenset())))
            self._bounds[goal] = remaining.tolist() if self.engine == "plain" else remaining
        return self._bounds[goal]

    def _answer(self, way: Detour, key: tuple[str, str]) -> Answer:
        transfers = sum(map(self._transfers.__getitem__, way.moves))
        transfer_s = self.graph.situation.limits.transfer_s
        chain = tuple(one for one, _ in groupby(map(self._element_ids.__getitem__, way.nodes)))
        hatches = tuple(sorted(self._hatches.intersection(chain)))

        def course() -> Course:
            # Two short tethers need no point but that of a hatch on the way, and a first hook.
            kind = self.graph.grips.kind
            on_hatches = (grip for grip in way.nodes[1:] if kind[grip] == GripKind.HATCH)
            short = Course(grips=(way.nodes[0], *on_hatches), moves=())
            return leapfrog_course(self.graph, short, self._rule)

        return Answer(
            seconds=math.fsum(
                [*map(self._seconds.__getitem__, way.moves), *[transfer_s] * transfers]
            ),
            transfers=transfers,
            chain=chain,
            rests_on=frozenset({*chain, *key}),
            blocks=self._blocks((way.nodes[0], hatches), course),
            grips=tuple(way.nodes),
        )
