"""Reel: the exact search for routes on long tethers, bound to a reach graph.

The tether search (`routing.paths.tethers.search`) knows grips, moves and hooks;
here its ground is made from a reach graph, and a course from the path it finds.
"""

from collections.abc import Sequence
from dataclasses import replace
from weakref import WeakKeyDictionary

import numpy as np

from routing.graph.reach_graph import GripKind, Indices, ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.course import Anchoring, Course, course_of
from routing.paths.search.arrays import Network
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.legs import by_way_of, follow_legs
from routing.paths.tethers.log import log_tethers, payout_along
from routing.paths.tethers.outfit import (
    make_outfit,
    start_hooks,
    start_states,
    transfer_hooks,
)
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_paths, least_costs
from routing.paths.tethers.steps import TetherGround

__all__ = [
    "on_one_reel",
    "reel_courses",
    "reel_ground",
    "reel_reach",
    "solve_reel",
]


def solve_reel(graph: ReachGraph, places: Sequence[SitePlaces], kit: Kit) -> Course | None:
    """Return the least-time course on reels, or None; via sites: `routing.paths.tethers.legs`.

    Raises
    ------
    SearchGaveUpError
        It is not known whether there is a course by all via sites.
    """
    outfit = make_outfit(graph, kit)
    starts = start_states(graph, outfit, places[0])
    if not starts:
        return None
    stops = [place.grips.tolist() for place in places[1:]]
    found = by_way_of(reel_ground(graph), outfit.rules, starts, stops)
    if found is None:
        return None
    course = course_of(graph, found.nodes, found.via_at)
    anchorings = log_tethers(outfit, found.paths)
    return replace(course, anchorings=anchorings, unproven_s=found.unproven)


_grounds: WeakKeyDictionary[ReachGraph, TetherGround] = WeakKeyDictionary()
"""Grounds by their graph: of many kits, starts and goals each asks for the same one."""


def reel_ground(graph: ReachGraph) -> TetherGround:
    """Return where tethers may lie and be hooked on; sockets are never passed through.

    It is made once a graph and depends on nobody's kit.
    """
    ground = _grounds.get(graph)
    if ground is None:
        moves = graph.moves
        sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET)
        network = Network.of_moves(moves, allowed=moves.line_clear, terminal=sockets)
        ground = TetherGround(
            network=network, way_m=moves.way_m[network.move], hooks=transfer_hooks(graph)
        )
        _grounds[graph] = ground
    return ground


def reel_courses(
    graph: ReachGraph,
    start: SitePlaces,
    goals: Sequence[SitePlaces],
    kit: Kit,
) -> dict[str, Course]:
    """Return the least-time course on reels to each goal that can be reached, by id in order.

    One search for all: a label stays useful for one goal whatever the others are.
    """
    outfit = make_outfit(graph, kit)
    starts = start_states(graph, outfit, start)
    grips = {goal.site_id: goal.grips.tolist() for goal in goals}
    wanted = sorted({grip for one in grips.values() for grip in one})
    if not starts or not wanted:
        return {}
    problem = TetherProblem(ground=reel_ground(graph), rules=outfit.rules, starts=starts)
    paths = find_tethered_paths(problem, wanted).paths
    found: dict[str, Course] = {}
    for site_id in sorted(grips):
        there = [paths[grip] for grip in grips[site_id] if grip in paths]
        if there:
            path = min(there, key=lambda one: (one.cost, one.nodes[-1]))
            anchorings = log_tethers(outfit, [path])
            found[site_id] = replace(course_of(graph, path.nodes), anchorings=anchorings)
    return found


def reel_reach(graph: ReachGraph, places: Sequence[SitePlaces], kit: Kit) -> tuple[int, Indices]:
    """Return the first leg that cannot be done on reels, and the grips reached on it.

    Returns
    -------
    leg, grips
        Number of the leg, from 0; grips (k,), ascending. None is reached where no reel can
        be hooked on at the start.
    """
    outfit = make_outfit(graph, kit)
    starts = start_states(graph, outfit, places[0])
    if not starts:
        return 0, np.empty(0, dtype=np.int64)
    ground = reel_ground(graph)
    vias = [place.grips.tolist() for place in places[1:-1]]
    paths = follow_legs(ground, outfit.rules, starts, vias)
    if paths:
        starts = (paths[-1].state,)
    problem = TetherProblem(ground=ground, rules=outfit.rules, starts=starts)
    return len(paths), np.flatnonzero(np.isfinite(least_costs(problem)))


def on_one_reel(graph: ReachGraph, course: Course, start: SitePlaces, kit: Kit) -> Course | None:
    """Return a course with the payout of the longest reel along it, never swapped.

    The payout may be more than the reel holds: this tells where it runs out.
    """
    outfit = make_outfit(graph, Kit(reels_m=(max(kit.reels_m),)))
    here = [hook for hook in start_hooks(graph, outfit, start) if hook[1] == course.grips[0]]
    if not here:
        return None
    point, _, distance_m = min(here, key=lambda hook: (hook[2], hook[0]))
    way_m = [float(graph.moves.way_m[move]) for move in course.moves]
    reel = Anchoring(
        at=0,
        element_id=outfit.points[point].id,
        line_m=max(kit.reels_m),
        payout_m=payout_along(course.grips, way_m, distance_m),
        starts=True,
    )
    return replace(course, anchorings=(reel,))
