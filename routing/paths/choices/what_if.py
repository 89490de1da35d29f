"""What would save time: longer tethers, a free transfer, one more tether point.

Each is the present least-time answer against the one of a search with that one thing changed,
so each is exact. Longer line and a further tether point only add ways, and a free transfer only
makes ways quicker: none of them is ever dearer.

For the tether point every candidate counts, but few are searched. Up to the first transfer at
a new point the way is one that there is already, so no route by way of it takes less than the
least time to a grip from which it can be hooked on, the transfer, and the least time on from
there for a person without tethers. Candidates are searched in the order of that bound, up to
the first whose bound is no better than the best found.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from routing.graph.hooks import hooks_near
from routing.graph.reach_graph import Floats, GripKind, Indices, ReachGraph
from routing.paths.answers.margin_records import LineSaving, PointSaving, TransferSaving, WhatIf
from routing.paths.changes import base_limit, with_limit
from routing.paths.course import Course, course_seconds
from routing.paths.request import Request, move_rule, request_stops, solve, solve_by_rule
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.legs import MOST_LABELS, SearchGaveUpError
from routing.paths.tethers.outfit import Outfit, is_rated, make_outfit, start_states
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.search import find_tethered_path, least_costs
from routing.paths.tethers.steps import Hooks, TetherGround
from routing.paths.tethers.tables import TetherTables, make_tables

__all__ = ["MORE_LINE", "ask_what_if"]

MORE_LINE: Final = 1.1
"""How much longer tethers are looked at: 10 %."""

_NOTHING_S: Final = 1e-6
"""Less is no saving but rounding [s]."""


def ask_what_if(graph: ReachGraph, request: Request) -> WhatIf:
    """Return what would save time on the least-time route of a request.

    Raises
    ------
    ValueError
        There is no such route.
    """
    course = solve(graph, request)
    if course is None:
        raise ValueError("there is no route, so nothing can save time on it")
    now_s = course_seconds(graph, course)
    if request.via and request.protocol == "reel":
        return _over_via_sites(graph, request, course, now_s)
    reel = _Reel.of_request(graph, request) if request.protocol == "reel" else None
    return WhatIf(
        seconds=now_s,
        more_line=_more_line(graph, request, now_s),
        transfer=_dearest_transfer(graph, request, course, reel, now_s),
        tether_point=None if reel is None else _best_point(reel, now_s),
    )


def _over_via_sites(graph: ReachGraph, request: Request, course: Course, now_s: float) -> WhatIf:
    """Return what more line saves over via sites on reels, where both routes are proven best."""
    not_tried = ["one more tether point and a free transfer: not searched for over via sites"]
    more_line = None
    if course.unproven_s > 0:
        not_tried.append("longer tethers: the present route is not proven quickest")
    else:
        try:
            more_line = _more_line(graph, request, now_s)
        except SearchGaveUpError:
            not_tried.append("longer tethers: the search over via sites gave up")
    return WhatIf(seconds=now_s, more_line=more_line, not_tried=tuple(not_tried))


def _saved_s(now_s: float, then_s: float) -> float:
    """Return what is saved, rounding left out [s]."""
    saved_s = now_s - then_s
    return saved_s if saved_s > _NOTHING_S else 0.0


def _more_line(graph: ReachGraph, request: Request, now_s: float) -> LineSaving:
    if request.protocol == "reel":
        kit = request.kit_for(graph.situation.limits)
        longer = Kit(reels_m=tuple(MORE_LINE * length_m for length_m in kit.reels_m))
        course = solve(graph, replace(request, kit=longer))
        if course is not None and course.unproven_s > 0:
            # Then what is saved is not known: up to so much more.
            raise SearchGaveUpError(MOST_LABELS)
    else:
        length_m = MORE_LINE * base_limit(graph.situation, "short_tether_m")
        situation = with_limit(graph.situation, "short_tether_m", length_m)
        course = solve(replace(graph, situation=situation), request)
    if course is None:
        raise AssertionError("more line shuts no way")
    then_s = course_seconds(graph, course)
    return LineSaving(factor=MORE_LINE, seconds=then_s, saved_s=_saved_s(now_s, then_s))


def _dearest_transfer(
    graph: ReachGraph, request: Request, course: Course, reel: "_Reel | None", now_s: float
) -> TransferSaving | None:
    """Return the transfer with most to save, of equal ones the first on the way."""
    found: list[TransferSaving] = []
    known: dict[str, float] = {}
    for anchoring in course.anchorings:
        if anchoring.starts:
            continue
        element = anchoring.element_id
        if element not in known:
            known[element] = (
                _free_on_rail(graph, request, element) if reel is None else reel.free_at(element)
            )
        found.append(
            TransferSaving(
                tether_point=None if reel is None else element,
                element=element if reel is None else None,
                at_grip=graph.grips.ids[course.grips[anchoring.at]],
                seconds=known[element],
                saved_s=_saved_s(now_s, known[element]),
            )
        )
    return max(found, key=lambda one: one.saved_s, default=None)


def _free_on_rail(graph: ReachGraph, request: Request, element_id: str) -> float:
    """Return the least time when transfers on to one element are free (leapfrog) [s]."""
    rule = move_rule(graph, request)
    there = np.array([one == element_id for one in graph.grips.element_ids], dtype=bool)
    transfer_s = np.where(there[graph.moves.head], 0.0, rule.transfer_s)
    stops = [place.grips for place in request_stops(graph, request)]
    course = solve_by_rule(graph, stops, replace(rule, transfer_s=transfer_s))
    if course is None:
        raise AssertionError("a free transfer shuts no way")
    moves = list(course.moves)
    return float(graph.moves.seconds[moves].sum() + transfer_s[moves].sum())


@dataclass(frozen=True, kw_only=True, eq=False)
class _Reel:
    """A request on reels without via sites, as the tether search has it."""

    graph: ReachGraph
    outfit: Outfit
    problem: TetherProblem
    goals: tuple[int, ...]

    @classmethod
    def of_request(cls, graph: ReachGraph, request: Request) -> "_Reel":
        start, goal = request_stops(graph, request)
        outfit = make_outfit(graph, request.kit_for(graph.situation.limits))
        problem = TetherProblem(
            ground=reel_ground(graph),
            rules=outfit.rules,
            starts=start_states(graph, outfit, start),
        )
        return cls(graph=graph, outfit=outfit, problem=problem, goals=tuple(goal.grips.tolist()))

    def free_at(self, point_id: str) -> float:
        """Return the least time when transfers to one tether point are free [s]."""
        number = [point.id for point in self.outfit.points].index(point_id)
        steps, hooks = self.problem.steps, self.problem.ground.hooks
        there = (steps.hook >= 0) & (hooks.point[steps.hook] == number)
        free = replace(self.problem)
        cost = np.where(there, 0.0, steps.arrays.cost)
        free.__dict__["steps"] = replace(steps, arrays=steps.arrays._replace(cost=cost))
        # With all transfers free bounds never say too much where one place is.
        rules = replace(self.problem.rules, transfer_s=0.0)
        tables = make_tables(replace(self.problem, rules=rules), self.goals)
        return self.seconds(free, tables)

    def seconds(self, problem: TetherProblem, tables: TetherTables | None = None) -> float:
        """Return the least time of a problem that has an answer [s]."""
        path = find_tethered_path(problem, self.goals, tables=tables)
        if path is None:
            raise AssertionError("what is asked for shuts no way")
        return path.cost

    def with_hooks(self, more: Hooks) -> TetherProblem:
        """Return the problem with further places for transfers."""
        ground = self.problem.ground
        hooks = Hooks(
            point=np.concatenate([ground.hooks.point, more.point + len(self.outfit.points)]),
            grip=np.concatenate([ground.hooks.grip, more.grip]),
            distance_m=np.concatenate([ground.hooks.distance_m, more.distance_m]),
        )
        longer = TetherGround(network=ground.network, way_m=ground.way_m, hooks=hooks)
        return replace(self.problem, ground=longer)


@dataclass(frozen=True, kw_only=True, eq=False)
class _Candidates:
    """Places where a tether point could be, and from where they can be hooked on."""

    near_grip: tuple[str | None, ...]
    tether_point: tuple[str | None, ...]
    hooks: Hooks

    def of(self, number: int) -> Hooks:
        """Return the hooks of one candidate."""
        here = self.hooks.point == number
        return Hooks(
            point=self.hooks.point[here],
            grip=self.hooks.grip[here],
            distance_m=self.hooks.distance_m[here],
        )


def _candidates(graph: ReachGraph, points: Sequence[tuple[str, Floats]]) -> _Candidates:
    """Return every hookable grip on a handrail, and the points given."""
    grips = graph.grips
    on_rails = np.flatnonzero((grips.kind == GripKind.HANDRAIL) & grips.tether_hook & grips.usable)
    points_m = np.concatenate(
        [grips.position_m[on_rails], *(at_m.reshape(1, 3) for _, at_m in points)]
    )
    point, grip, distance_m = hooks_near(graph, points_m, np.zeros(len(points_m), dtype=bool))
    return _Candidates(
        near_grip=(*(grips.ids[i] for i in on_rails.tolist()), *(None for _ in points)),
        tether_point=(*(None for _ in on_rails), *(point_id for point_id, _ in points)),
        hooks=Hooks(point=point, grip=grip, distance_m=distance_m),
    )


def _best_point(reel: _Reel, now_s: float) -> PointSaving:
    graph = reel.graph
    unrated = [
        (point.id, np.array(point.position_m))
        for point in reel.outfit.points
        if not is_rated(graph, point)
    ]
    candidates = _candidates(graph, unrated)
    every = reel.with_hooks(candidates.hooks)
    # With all candidates at once bounds never say too much for one of them.
    tables = make_tables(every, reel.goals)
    least_s = reel.seconds(every, tables)
    best_s, best, searched = now_s, None, 0
    for number, bound_s in _in_order(reel, candidates):
        if max(bound_s, least_s) >= best_s - _NOTHING_S:
            break
        searched += 1
        seconds = reel.seconds(reel.with_hooks(candidates.of(number)), tables)
        if seconds < best_s - _NOTHING_S:
            best_s, best = seconds, number
    return PointSaving(
        near_grip=None if best is None else candidates.near_grip[best],
        tether_point=None if best is None else candidates.tether_point[best],
        seconds=best_s,
        saved_s=_saved_s(now_s, best_s),
        candidates=len(candidates.near_grip),
        searched=searched,
    )


def _in_order(reel: _Reel, candidates: _Candidates) -> Iterator[tuple[int, float]]:
    """Yield candidates by the least time that a route by way of them can take."""
    network, rules = reel.problem.ground.network, reel.problem.rules
    hooks = candidates.hooks
    out_s = least_costs(reel.problem)
    on_s = least_time_tree(network.reverse, dict.fromkeys(reel.goals, 0.0)).cost
    by_hook_s = out_s[hooks.grip] + rules.transfer_s + on_s[hooks.grip]
    bound_s = np.full(len(candidates.near_grip), np.inf)
    np.minimum.at(bound_s, hooks.point, by_hook_s)
    order: Indices = np.lexsort((np.arange(len(bound_s)), bound_s))
    for number in order.tolist():
        yield number, float(bound_s[number])
