"""By how much two short tethers fail to span the way to goals (leapfrog)."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import Floats, GripKind, ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.course import Course, course_of
from routing.paths.no_route.least_extra import Enough, least_extra
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.short_tethers import hook_rule
from structures.units import length_text

__all__ = ["SpanExcess", "short_tether_excess"]

_WITHIN_M = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanExcess:
    """The widest span on the way that needs the least."""

    element_id: str
    """What the hook has to go on to there, or come off from."""
    hook_short_m: float
    """Hook reach that is missing, 0 if it is the short tether alone [m]."""
    line_short_m: float
    """Length that the short tether is missing, 0 if it is the hook reach alone [m]."""
    message: str


def short_tether_excess(
    graph: ReachGraph, start: SitePlaces, goals: Mapping[str, SitePlaces]
) -> dict[str, SpanExcess]:
    """Return what is missing for each goal that longer arms and short tethers would open.

    The least over all ways of the largest excess on one way, to 0.001 m.
    """
    excess_m, rule = _excess(graph), hook_rule(graph)
    possible = rule.allowed | np.isfinite(excess_m)
    over_m = np.where(rule.allowed, 0.0, excess_m)
    sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET)

    def search(extra_m: float, wanted: Iterable[str]) -> dict[str, Course]:
        network = Network.of_moves(
            graph.moves, allowed=possible & (over_m <= extra_m), terminal=sockets
        )
        tree = least_time_tree(network, dict.fromkeys(start.grips.tolist(), 0.0))
        found = {}
        for goal in wanted:
            grips = [g for g in goals[goal].grips.tolist() if np.isfinite(tree.cost[g])]
            if grips:
                nearest = min(grips, key=lambda g: (tree.cost[g], g))
                found[goal] = course_of(graph, tree.path_to(nearest))
        return found

    def needs(course: Course, _: float) -> float:
        return max((float(over_m[move]) for move in course.moves), default=0.0)

    most_m = float(over_m[np.isfinite(over_m)].max(initial=0.0))
    known = {
        goal: Enough(extra_m=needs(course, most_m), course=course)
        for goal, course in search(most_m, goals).items()
    }
    found = least_extra(known, search, needs, within_m=_WITHIN_M)
    return {goal: _told(graph, one.course, over_m) for goal, one in found.items()}


def _excess(graph: ReachGraph) -> Floats:
    """Return what each move's span lacks; infinite where no reach makes it one, shape (m,) [m]."""
    moves, limits = graph.moves, graph.situation.limits
    takes_hook = hook_rule(graph).takes_hook
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(moves.indptr))
    hooked = takes_hook[tail] | takes_hook[moves.head]
    over_m = np.maximum(moves.gap_m - limits.hook_reach_m, moves.way_m - limits.short_tether_m)
    return np.where(moves.line_clear & hooked, np.maximum(over_m, 0.0), np.inf)


def _told(graph: ReachGraph, course: Course, over_m: Floats) -> SpanExcess:
    limits, moves = graph.situation.limits, graph.moves
    worst = max(range(len(course.moves)), key=lambda i: float(over_m[course.moves[i]]))
    move = course.moves[worst]
    hook_m = max(float(moves.gap_m[move]) - limits.hook_reach_m, 0.0)
    line_m = max(float(moves.way_m[move]) - limits.short_tether_m, 0.0)
    here, there = (graph.grips.element_ids[grip] for grip in course.grips[worst : worst + 2])
    parts = []
    if hook_m > 0:
        short = length_text(hook_m, "up", feet=True)
        parts.append(f"from {here} the hook does not reach {there} by {short}")
    if line_m > 0:
        short = length_text(line_m, "up", feet=True)
        parts.append(f"the short tether is {short} too short from {here} to {there}")
    return SpanExcess(
        element_id=there,
        hook_short_m=hook_m,
        line_short_m=line_m,
        message="; ".join(parts),
    )
