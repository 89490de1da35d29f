"""Margins: how near a course is to the limits it was found under."""

import math
from collections.abc import Iterator

from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.corridor import tightest_place
from routing.paths.answers.results import (
    ClearanceMargin,
    GapMargin,
    LineMargin,
    Margins,
    TurnMargin,
)
from routing.paths.course import Anchoring, Course

__all__ = ["line_margin", "measure_margins"]


def measure_margins(graph: ReachGraph, course: Course) -> Margins:
    """Return the margins of a course."""
    return Margins(
        gap=_gap(graph, course),
        turn=_turn(graph, course),
        clearance=_clearance(graph, course),
        line=line_margin(graph, course),
    )


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
    fails_tail, fails_head = _pair(course, longest)
    reach_m = graph.situation.ability.reach_m
    return GapMargin(
        from_grip=graph.grips.ids[tail],
        to_grip=graph.grips.ids[head],
        gap_m=float(moves.gap_m[move]),
        way_m=float(moves.way_m[move]),
        reach_m=reach_m,
        left_m=reach_m - way_m,
        fails_below_reach_m=way_m,
        fails_from_grip=graph.grips.ids[fails_tail],
        fails_to_grip=graph.grips.ids[fails_head],
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
    around = graph.surroundings
    if not around.body.shapes:
        return None
    tightest, clearance_m, against = tightest_place(graph, course, around.body.tables)
    tail = course.grips[tightest]
    head = course.grips[min(tightest + 1, len(course.grips) - 1)]
    solids = len(around.solids.shapes)
    against_id = around.body.ids[against]
    return ClearanceMargin(
        from_grip=graph.grips.ids[tail],
        to_grip=graph.grips.ids[head],
        clearance_m=clearance_m,
        corridor_radius_m=graph.situation.ability.corridor_radius_m,
        solid=against_id if against < solids else None,
        zone=against_id if against >= solids else None,
    )


def _line_out(anchoring: Anchoring) -> Iterator[tuple[int, float]]:
    """Yield (grips after hooking on, line out), stowing its end at the last grip included."""
    yield from enumerate(anchoring.payout_m)
    if anchoring.stowed_m is not None:
        yield len(anchoring.payout_m) - 1, anchoring.stowed_m


def line_margin(graph: ReachGraph, course: Course) -> LineMargin | None:
    """Find the least line left, and where the reserve is first no longer there."""
    reserve_m = graph.situation.limits.reserve_m
    lines = [
        (anchoring.line_m - payout_m, payout_m, anchoring.at + i)
        for anchoring in course.anchorings
        if anchoring.line_m is not None
        for i, payout_m in _line_out(anchoring)
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
