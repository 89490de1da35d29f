"""Closures under the reel protocol: the tether search led by the tables of the intact structure.

The tables of `routing.paths.tethers.tables` say what line and seconds must remain
at least. With something closed no less remains, so they stay true; a closed grip
is one from which nothing remains to any goal, and a closed tether point one on
which no line is long enough to be hooked. So neither steps nor tables are made anew.
"""

import math
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any

import numpy as np

from routing.graph.reach_graph import Indices, ReachGraph
from routing.paths.course import Course, course_of
from routing.paths.search.engine import Engine, compiled
from routing.paths.search.label_kernel import Bounds, Chains, Steps, search_labels
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.log import log_tethers
from routing.paths.tethers.outfit import make_outfit, start_states
from routing.paths.tethers.problem import TetherProblem, start_labels
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.search import read_path
from routing.paths.tethers.stack import TetherState
from routing.paths.tethers.tables import TetherTables, make_tables
from routing.studies.closures.ground import Answer, Ground
from routing.studies.closures.remaining import Remaining

__all__ = ["ReelGround"]


_SHRINK = 1 - 1e-9
"""Bounds are taken down by this much, far more than rounding can have added."""


@dataclass(frozen=True, eq=False)
class _Ready:
    """What is prepared for one pair of sites."""

    problem: TetherProblem
    tables: TetherTables


class ReelGround(Ground):
    """All routes of people on long reels from stay to stay."""

    protocol = "reel"

    def __init__(
        self, graph: ReachGraph, kit: Kit, *, engine: Engine = "auto", searches: int = 1
    ) -> None:
        super().__init__(graph, engine=engine, searches=searches)
        self._outfit = make_outfit(graph, kit)
        self._ground = reel_ground(graph)
        self._seconds = Remaining(self._ground.network, engine=self.engine)
        self._lengths = Remaining(self._ground.lengths, engine=self.engine)
        self._seconds_of_move = graph.moves.seconds[self._ground.network.move]
        self._ready: dict[tuple[str, str], _Ready | None] = {}
        self._problems: dict[str, TetherProblem | None] = {}

    def _search(
        self, key: tuple[str, str], sources: Indices, goals: Indices, closed: frozenset[str]
    ) -> Answer | None:
        del sources  # the states that one may start in say it
        ready = self._prepared(key)
        if ready is None:
            return None
        starts = tuple(state for state in ready.problem.starts if self._is_open(state, closed))
        if starts:
            ready = _Ready(_with_starts(ready.problem, starts), ready.tables)
        else:
            # Without a rated point those that are not rated stand in, and the checks say so.
            starts = start_states(self.graph, self._outfit, self._places[key[0]], closed)
            if not starts:
                return None
            ready = self._ready_of(self._problem_of(starts), key)
        chains = self._run(ready.problem, ready.tables, goals, key, closed)
        if len(chains.first) < 2:
            return None
        return self._answer(ready.problem, chains, key)

    def _answer(self, problem: TetherProblem, chains: Chains, key: tuple[str, str]) -> Answer:
        """Read the first way found; those who start here have laid no line to go back over."""
        start = problem.retreats[-1 - chains.step[-1]].state
        made = np.array(chains.step[-2::-1], dtype=np.int64)
        steps = problem.steps
        hook = steps.hook[made]
        walked = made[hook < 0]
        points = [start.stack[0].point, *self._ground.hooks.point[hook[hook >= 0]].tolist()]
        chain = tuple(self._outfit.points[point].id for point in points)
        grips = (start.grip, *steps.arrays.head[walked].tolist())
        seconds = self._seconds_of_move[steps.move[walked]].tolist()
        transfers, ids = len(points) - 1, self.graph.grips.element_ids

        def course() -> Course:
            path = read_path(problem, chains, 0)
            anchorings = log_tethers(self._outfit, [path])
            return replace(course_of(self.graph, path.nodes), anchorings=anchorings)

        return Answer(
            seconds=math.fsum([*seconds, *[self._outfit.rules.transfer_s] * transfers]),
            transfers=transfers,
            chain=chain,
            held=tuple(one for one, _ in groupby(map(ids.__getitem__, grips))),
            sites=key,
            # What is checked is where lines are hooked on, and how the first one runs.
            blocks=self._blocks((chain, grips[0]), course),
            grips=np.array(grips, dtype=np.int64),
        )

    def _run(
        self,
        problem: TetherProblem,
        tables: TetherTables,
        goals: Indices,
        key: tuple[str, str],
        closed: frozenset[str],
    ) -> Chains:
        plain = self.engine == "plain"
        steps, bounds = (
            (problem.steps.lists, tables.lists) if plain else (problem.steps.arrays, tables.arrays)
        )
        if closed:
            steps = self._without_points(problem, steps, closed)
            bounds = self._without_grips(bounds, goals, key, closed)
        kernel = search_labels if plain else compiled(search_labels)
        starts = start_labels(problem, plain=plain)
        return Chains(*kernel(steps, bounds, starts, problem.groups.guard, 1))

    def _without_points(
        self, problem: TetherProblem, steps: Steps, closed: frozenset[str]
    ) -> Steps:
        """Return the steps with no line long enough for closed tether points."""
        numbers = [i for i, point in enumerate(self._outfit.points) if point.id in closed]
        if not numbers:
            return steps
        hook = problem.steps.hook
        point = np.where(hook >= 0, self._ground.hooks.point[hook], -1)
        return steps._replace(need=_put(steps.need, np.flatnonzero(np.isin(point, numbers))))

    def _without_grips(
        self, bounds: Bounds, goals: Indices, key: tuple[str, str], closed: frozenset[str]
    ) -> Bounds:
        """Return the bounds with what remains at least once some grips are closed.

        From a closed grip nothing can be reached. From the others it takes at least
        the time that it would without tethers, and a transfer for each that is
        needed at least; and without a transfer it takes at least the shortest line.
        The tables of the intact structure know more of tethers, these of the closure.
        """
        grips = self.closed_grips(closed)
        count = len(self.graph.grips)
        levels = len(bounds.remaining) // count
        all_goals = self.site(key[1], frozenset())
        least_s = self._seconds.without(grips, all_goals) * _SHRINK
        with_transfers = np.arange(levels)[:, None] * self._outfit.rules.transfer_s * _SHRINK
        remaining = np.maximum(np.asarray(bounds.remaining), (least_s + with_transfers).ravel())
        slack = np.array(bounds.slack, dtype=np.float64)
        least_m = self._lengths.without(grips, all_goals) * _SHRINK
        np.maximum(slack[:count], least_m, out=slack[:count])
        goal = np.zeros(count, dtype=np.int8)
        goal[goals] = 1
        if isinstance(bounds.goal, list):
            return bounds._replace(
                slack=slack.tolist(), remaining=remaining.tolist(), goal=goal.tolist()
            )
        return bounds._replace(slack=slack, remaining=remaining, goal=goal)

    def _is_open(self, state: TetherState, closed: frozenset[str]) -> bool:
        point = self._outfit.points[state.stack[0].point].id
        return point not in closed and self.graph.grips.element_ids[state.grip] not in closed

    def _prepared(self, key: tuple[str, str]) -> _Ready | None:
        if key not in self._ready:
            problem = self._problem(key[0])
            self._ready[key] = None if problem is None else self._ready_of(problem, key)
        return self._ready[key]

    def _ready_of(self, problem: TetherProblem, key: tuple[str, str]) -> _Ready:
        goals = self.site(key[1], frozenset()).tolist()
        return _Ready(problem, make_tables(problem, goals, engine=self.engine))

    def _problem(self, start: str) -> TetherProblem | None:
        if start not in self._problems:
            self.site(start, frozenset())
            starts = start_states(self.graph, self._outfit, self._places[start])
            self._problems[start] = self._problem_of(starts) if starts else None
        return self._problems[start]

    def _problem_of(self, starts: tuple[TetherState, ...]) -> TetherProblem:
        return TetherProblem(ground=self._ground, rules=self._outfit.rules, starts=starts)


def _with_starts(problem: TetherProblem, starts: tuple[TetherState, ...]) -> TetherProblem:
    """Return the problem with some of its starts; it shares the steps, which cost most."""
    if starts == problem.starts:
        return problem
    some = TetherProblem(ground=problem.ground, rules=problem.rules, starts=starts)
    some.__dict__["groups"] = problem.groups
    some.__dict__["steps"] = problem.steps
    return some


def _put(values: Any, places: Indices) -> Any:
    """Return a copy of a list or an array, infinite at these places."""
    changed = values.copy()
    if isinstance(changed, list):
        for place in places.tolist():
            changed[place] = float("inf")
    else:
        changed[places] = np.inf
    return changed
