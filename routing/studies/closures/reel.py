"""Closures under the reel protocol: the tether search led by the tables of the intact structure.

The tables of `routing.paths.tether_tables` say what line and seconds must remain
at least. With something closed no less remains, so they stay true; a closed grip
is one from which nothing remains to any goal, and a closed tether point one on
which no line is long enough to be hooked. So neither steps nor tables are made anew.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from routing.graph.reach_graph import Indices, ReachGraph
from routing.paths.course import Course, course_of
from routing.paths.engine import Engine, compiled
from routing.paths.kit import Kit
from routing.paths.label_kernel import Bounds, Chains, Steps, search_labels
from routing.paths.outfit import make_outfit, start_states
from routing.paths.reel import reel_ground
from routing.paths.stack import TetherState
from routing.paths.tether_log import log_tethers
from routing.paths.tether_problem import TetherProblem, start_labels
from routing.paths.tether_search import read_path
from routing.paths.tether_tables import TetherTables, make_tables
from routing.studies.closures.ground import Ground

__all__ = ["ReelGround"]


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
        self._ground = reel_ground(graph, self._outfit)
        self._ready: dict[tuple[str, str], _Ready | None] = {}
        self._problems: dict[str, TetherProblem | None] = {}

    def _search(
        self, key: tuple[str, str], sources: Indices, goals: Indices, closed: frozenset[str]
    ) -> Course | None:
        del sources  # the states that one may start in say it
        ready = self._prepared(key)
        if ready is None:
            return None
        problem = ready.problem
        starts = tuple(state for state in problem.starts if self._is_open(state, closed))
        if not starts:
            return None
        some = _with_starts(problem, starts)
        chains = self._run(some, ready.tables, goals, closed)
        if len(chains.first) < 2:
            return None
        path = read_path(some, chains, 0)
        course = course_of(self.graph, path.nodes)
        return replace(course, anchorings=log_tethers(self._outfit, [path]))

    def _run(
        self,
        problem: TetherProblem,
        tables: TetherTables,
        goals: Indices,
        closed: frozenset[str],
    ) -> Chains:
        plain = self.engine == "plain"
        steps, bounds = (
            (problem.steps.lists, tables.lists) if plain else (problem.steps.arrays, tables.arrays)
        )
        if closed:
            steps = self._without_points(problem, steps, closed)
            bounds = self._without_grips(bounds, goals, closed)
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

    def _without_grips(self, bounds: Bounds, goals: Indices, closed: frozenset[str]) -> Bounds:
        """Return the bounds with nothing remaining to be reached from closed grips."""
        grips = np.array(self.closed_grips(closed), dtype=np.int64)
        count = len(self.graph.grips)
        levels = len(bounds.remaining) // count
        every = (np.arange(levels)[:, None] * count + grips).ravel()
        goal = [0] * count if isinstance(bounds.goal, list) else np.zeros(count, dtype=np.int8)
        for grip in goals.tolist():
            goal[grip] = 1
        return bounds._replace(remaining=_put(bounds.remaining, every), goal=goal)

    def _is_open(self, state: TetherState, closed: frozenset[str]) -> bool:
        point = self._outfit.points[state.stack[0].point].id
        return point not in closed and self.graph.grips.element_ids[state.grip] not in closed

    def _prepared(self, key: tuple[str, str]) -> _Ready | None:
        if key not in self._ready:
            problem = self._problem(key[0])
            goals = self.site(key[1], frozenset()).tolist()
            self._ready[key] = (
                None
                if problem is None
                else _Ready(problem, make_tables(problem, goals, engine=self.engine))
            )
        return self._ready[key]

    def _problem(self, start: str) -> TetherProblem | None:
        if start not in self._problems:
            self.site(start, frozenset())
            starts = start_states(self.graph, self._outfit, self._places[start])
            self._problems[start] = (
                TetherProblem(ground=self._ground, rules=self._outfit.rules, starts=starts)
                if starts
                else None
            )
        return self._problems[start]

    def _chain(self, course: Course, held: list[str]) -> tuple[str, ...]:
        del held
        return tuple(one.element_id for one in course.anchorings)


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
