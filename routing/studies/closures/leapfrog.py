"""Closures under the leapfrog protocol: a least-time search led by the intact distances."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from routing.graph.reach_graph import GripKind, Indices, ReachGraph
from routing.paths.course import Course
from routing.paths.search.arrays import Network
from routing.paths.search.detours import Detours, Pair, Ways
from routing.paths.search.engine import Engine
from routing.paths.search.exact_sums import ExactSums, sums_of_runs
from routing.paths.tethers.short_tethers import hook_rule, leapfrog_course
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
        self._detours = Detours(self._network, plain=self.engine == "plain")
        ids = np.array(graph.grips.element_ids, dtype=object)
        self._names, self._element = np.unique(ids, return_inverse=True)
        # By move of the network.
        moves = self._network.move
        self._transfers = self._rule.transfers[moves].astype(np.int64)
        self._sums = ExactSums.of(graph.moves.seconds[moves], self._rule.transfer_s[moves])
        self._held: dict[str, frozenset[str]] = {}
        on_hatches = np.flatnonzero(graph.grips.kind == GripKind.HATCH)
        self._hatch_grips = frozenset(on_hatches.tolist())
        self._hatches = frozenset(hatch.id for hatch in graph.structure.hatches)
        self._is_hatch = np.array([name in self._hatches for name in self._names], dtype=np.int64)
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
            Pair(self.site(start, frozenset()).tolist(), self.site(goal, frozenset()).tolist())
            for start, goal in pairs
        ]
        at_sites = frozenset({one for pair in pairs for site in pair for one in self._hold(site)})
        nowhere = any(not one.sources or not one.goals for one in asked)
        near = [nowhere or not closed.isdisjoint(at_sites) for closed in closures]
        searched = [
            case
            for case in cases
            if not near[case[0]]
            or not any(self._is_shut(site, closures[case[0]]) for site in pairs[case[1]])
        ]
        wanted = {closure for closure, _ in searched}
        grips = [self.closed_grips(one) if i in wanted else [] for i, one in enumerate(closures)]
        self.searched += len(searched)
        ways = self._detours.find(asked, grips, searched)
        there = [searched[number] for number in ways.case[ways.goal >= 0].tolist()]
        made = self._answers(ways, [pairs[pair] for _, pair in there])
        answers = dict(zip(there, made, strict=True))
        return [answers.get(case) for case in cases]

    def _search(
        self, key: tuple[str, str], sources: Indices, goals: Indices, closed: frozenset[str]
    ) -> Answer | None:
        pair = Pair(sources.tolist(), goals.tolist())
        ways = self._detours.find([pair], [self.closed_grips(closed)], [(0, 0)])
        return next(iter(self._answers(ways, [key] if ways.goal[0] >= 0 else [])), None)

    def _hold(self, site_id: str) -> frozenset[str]:
        """Return a site that has been looked up, and the elements that its grips are on."""
        if site_id not in self._held:
            ids, places = self.graph.grips.element_ids, self._places[site_id]
            self._held[site_id] = frozenset({site_id, *map(ids.__getitem__, places.grips.tolist())})
        return self._held[site_id]

    def _is_shut(self, site_id: str, closed: frozenset[str]) -> bool:
        """Tell whether no grip of a site is open, for sites that have been looked up."""
        if len(self._places[site_id].grips) and closed.isdisjoint(self._hold(site_id)):
            return False
        return not len(self.site(site_id, closed))

    def _answers(self, ways: Ways, keys: Sequence[tuple[str, str]]) -> list[Answer]:
        """Read all ways that there are in one go: they are much alike, and each is long."""
        there = np.flatnonzero(ways.goal >= 0)
        if not len(there):
            return []
        moves = ways.moves
        # Where there is no way there are no moves; behind the others stands the goal.
        move_at = np.append(0, ways.move_at[there + 1])
        nodes = np.insert(ways.tail, move_at[1:], ways.goal[there])
        node_at = move_at + np.arange(len(move_at))
        element = self._element[nodes]
        changed = np.append(True, element[1:] != element[:-1])
        changed[node_at[:-1]] = True
        held = np.flatnonzero(changed)
        element, held_at = element[held], np.searchsorted(held, node_at)
        names = self._names[element].tolist()
        each = zip(
            keys,
            self._sums.runs(moves, move_at),
            nodes[node_at[:-1]].tolist(),
            sums_of_runs(self._transfers[moves], move_at).tolist(),
            sums_of_runs(self._is_hatch[element], held_at).tolist(),
            *(at.tolist() for at in (node_at[:-1], node_at[1:], held_at[:-1], held_at[1:])),
            strict=True,
        )
        answers = []
        for key, seconds, first, transfers, passed, begin, end, from_, to in each:
            chain = tuple(names[from_:to])
            hatches = tuple(sorted(self._hatches.intersection(chain))) if passed else ()
            blocks = self._checked.get((first, hatches))
            answer = Answer(
                seconds=seconds,
                transfers=transfers,
                chain=chain,
                held=chain,
                sites=key,
                blocks=self._blocks_of(nodes[begin:end], hatches) if blocks is None else blocks,
                grips=nodes[begin:end],
            )
            answers.append(answer)
        return answers

    def _blocks_of(self, grips: Indices, hatches: tuple[str, ...]) -> tuple[str, ...]:
        """Two short tethers need no point but that of a hatch on the way, and a first hook."""
        first = int(grips[0])

        def course() -> Course:
            on_hatches = (grip for grip in grips[1:].tolist() if grip in self._hatch_grips)
            short = Course(grips=(first, *on_hatches), moves=())
            return leapfrog_course(self.graph, short, self._rule)

        return self._blocks((first, hatches), course)
