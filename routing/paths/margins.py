"""Margins: how near a course is to the limits it was found under."""

import math
from itertools import pairwise

import numpy as np

from routing.graph.reach_graph import ReachGraph
from routing.paths.course import Course
from routing.paths.results import ClearanceMargin, GapMargin, LineMargin, Margins, TurnMargin
from structures.elements import Zone
from structures.shapes import Shape
from structures.solids.sweep import Sweep, sweep_clearance
from structures.zones import active_zones, zone_shape

__all__ = ["body_zones", "measure_margins"]


def measure_margins(graph: ReachGraph, course: Course) -> Margins:
    """Return the margins of a course."""
    return Margins(
        gap=_gap(graph, course),
        turn=_turn(graph, course),
        clearance=_clearance(graph, course),
        line=_line(graph, course),
    )


def body_zones(graph: ReachGraph) -> tuple[Zone, ...]:
    """Return the keep-out zones that the body corridor must stay clear of, in id order."""
    wanted = {"body"} if graph.situation.carry is None else {"body", "item"}
    zones = active_zones(graph.structure, graph.situation.when)
    kept = [z for z in zones if z.kind == "keep-out" and wanted & set(z.applies_to)]
    return tuple(sorted(kept, key=lambda zone: zone.id))


def _pair(course: Course, i: int) -> tuple[int, int]:
    return course.grips[i], course.grips[i + 1]


def _gap(graph: ReachGraph, course: Course) -> GapMargin | None:
    """Look at the hand-overs between elements; along a rail hands may go in smaller steps."""
    moves = graph.moves
    between = [i for i, move in enumerate(course.moves) if moves.changes_rail[move]]
    if not between:
        return None
    widest = max(between, key=lambda i: float(moves.gap_m[course.moves[i]]))
    longest = max(between, key=lambda i: float(moves.way_m[course.moves[i]]))
    move = course.moves[widest]
    way_m = float(moves.way_m[course.moves[longest]])
    tail, head = _pair(course, widest)
    reach_m = graph.situation.ability.reach_m
    return GapMargin(
        from_grip=graph.grips.ids[tail],
        to_grip=graph.grips.ids[head],
        gap_m=float(moves.gap_m[move]),
        way_m=float(moves.way_m[move]),
        reach_m=reach_m,
        left_m=reach_m - way_m,
        fails_below_reach_m=way_m,
    )


def _turn(graph: ReachGraph, course: Course) -> TurnMargin | None:
    if not course.moves:
        return None
    moves, limit_deg = graph.moves, graph.situation.limits.max_turn_deg
    sharpest = max(range(len(course.moves)), key=lambda i: float(moves.turn_rad[course.moves[i]]))
    turn_deg = math.degrees(float(moves.turn_rad[course.moves[sharpest]]))
    tail, head = _pair(course, sharpest)
    return TurnMargin(
        from_grip=graph.grips.ids[tail],
        to_grip=graph.grips.ids[head],
        turn_deg=turn_deg,
        limit_deg=limit_deg,
        left_deg=limit_deg - turn_deg,
    )


def _clearance(graph: ReachGraph, course: Course) -> ClearanceMargin | None:
    solids = sorted(graph.structure.solids, key=lambda solid: solid.id)
    zones = body_zones(graph)
    shapes: tuple[Shape, ...] = (
        *(solid.volume for solid in solids),
        *(zone_shape(zone) for zone in zones),
    )
    if not shapes:
        return None
    pairs = list(pairwise(course.grips)) or [(course.grips[0], course.grips[0])]
    tails = np.array([tail for tail, _ in pairs])
    heads = np.array([head for _, head in pairs])
    grips, radius_m = graph.grips, graph.situation.ability.corridor_radius_m
    sweep = Sweep(
        grips.position_m[tails],
        grips.position_m[heads],
        grips.lean[tails],
        grips.lean[heads],
        radius_m,
    )
    clearance_m, nearest = sweep_clearance(shapes, sweep, radius_m)
    tightest = int(np.argmin(clearance_m))
    against = int(nearest[tightest])
    tail, head = pairs[tightest]
    return ClearanceMargin(
        from_grip=grips.ids[tail],
        to_grip=grips.ids[head],
        clearance_m=float(clearance_m[tightest]),
        corridor_radius_m=radius_m,
        solid=solids[against].id if against < len(solids) else None,
        zone=zones[against - len(solids)].id if against >= len(solids) else None,
    )


def _line(graph: ReachGraph, course: Course) -> LineMargin | None:
    """Find the least line left, and where the reserve is first no longer there."""
    reserve_m = graph.situation.limits.reserve_m
    lines = [
        (anchoring.line_m - payout_m, payout_m, anchoring.at + i)
        for anchoring in course.anchorings
        if anchoring.line_m is not None
        for i, payout_m in enumerate(anchoring.payout_m)
    ]
    if not lines:
        return None
    least_m, payout_m, worst = min(lines, key=lambda line: (line[0], line[2]))
    short = [index for left_m, _, index in lines if left_m < reserve_m]
    out_at = min(short) if short else None
    ids, moves = graph.grips.ids, graph.moves
    return LineMargin(
        reserve_m=reserve_m,
        most_payout_m=payout_m,
        least_left_m=least_m,
        worst_grip=ids[course.grips[worst]],
        runs_out_at=None if out_at is None else ids[course.grips[out_at]],
        runs_out_after_m=None
        if out_at is None
        else math.fsum(float(moves.way_m[move]) for move in course.moves[:out_at]),
    )
