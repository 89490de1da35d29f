"""Courses from one start to many goals: one search answers them all."""

from collections.abc import Mapping, Sequence

import numpy as np

from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.course import Course, course_of
from routing.paths.request import Request, move_rule
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import LeastTimeTree, least_time_tree
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.reel import reel_courses
from routing.paths.tethers.short_tethers import leapfrog_course

__all__ = ["courses_to", "hands_tree"]


def courses_to(
    graph: ReachGraph, request: Request, start: SitePlaces, goals: Sequence[SitePlaces]
) -> dict[str, Course]:
    """Return the least-time course to each goal that can be reached, by the goal's id.

    Parameters
    ----------
    graph
        The reach graph.
    request
        Protocol and kit; its own start and goal are not looked at.
    start
        Where every course begins.
    goals
        Where they end; each is exact as if it had been asked for alone.

    Returns
    -------
    dict
        In ascending order of ids.
    """
    if request.protocol == "reel":
        kit: Kit = request.kit_for(graph.situation.limits)
        return reel_courses(graph, start, goals, kit)
    rule = move_rule(graph, request)
    tree = hands_tree(graph, request, start)
    found: dict[str, Course] = {}
    for site_id, goal in _by_id(goals).items():
        grips = [grip for grip in goal.grips.tolist() if np.isfinite(tree.cost[grip])]
        if not grips:
            continue
        best = min(grips, key=lambda grip: (tree.cost[grip], grip))
        course = course_of(graph, tree.path_to(best))
        leapfrog = request.protocol == "leapfrog"
        found[site_id] = leapfrog_course(graph, course, rule) if leapfrog else course
    return found


def hands_tree(graph: ReachGraph, request: Request, start: SitePlaces) -> LeastTimeTree:
    """Return the least times from a start to every grip by the rules of single moves.

    Sockets are reached, but never passed through.
    """
    rule = move_rule(graph, request)
    sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET)
    network = Network.of_moves(
        graph.moves, extra_s=rule.transfer_s, allowed=rule.allowed, terminal=sockets
    )
    return least_time_tree(network, dict.fromkeys(start.grips.tolist(), 0.0))


def _by_id(goals: Sequence[SitePlaces]) -> Mapping[str, SitePlaces]:
    return {goal.site_id: goal for goal in sorted(goals, key=lambda goal: goal.site_id)}
