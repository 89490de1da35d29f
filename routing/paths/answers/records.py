"""From a course in a reach graph to the records of a route."""

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from routing.graph.reach_graph import GripKind, ReachGraph
from routing.paths.answers.corridor import slow_zones
from routing.paths.answers.results import GripPlace, HandOver, Stay, Stretch, Totals, Transfer
from routing.paths.course import Anchoring, Course
from structures.elements import TetherPoint
from structures.frames import DIRECTIONS, Vector

__all__ = [
    "GRIP_KEYS",
    "grip_places",
    "hand_overs",
    "heading",
    "stays",
    "stretches",
    "totals",
    "transfer_records",
]

GRIP_KEYS: Final[dict[int, str]] = {
    GripKind.HANDRAIL: "handrail",
    GripKind.HANDHOLD: "handhold",
    GripKind.HATCH: "hatch",
    GripKind.SOCKET: "socket",
}
"""Under which key the element of a grip stands in records."""

_NO_WAY_M: Final = 1e-9
"""Below this there is no direction to speak of [m]."""


def heading(start_m: Vector, end_m: Vector) -> str | None:
    """Return the trade direction that dominates the way from start to end, if there is a way.

    Ties go to the direction named first in `structures.frames.DIRECTIONS`.

    Examples
    --------
    >>> heading((0.0, 0.0, 0.0), (0.5, -2.0, 1.0))
    'port'
    """
    way = tuple(b - a for a, b in zip(start_m, end_m, strict=True))
    if math.hypot(*way) < _NO_WAY_M:
        return None
    along = {
        name: sum(w * d for w, d in zip(way, direction, strict=True))
        for name, direction in DIRECTIONS.items()
    }
    return max(along, key=lambda name: along[name])


def _position(graph: ReachGraph, grip: int) -> Vector:
    x, y, z = graph.grips.position_m[grip].tolist()
    return (x, y, z)


def _key_of(graph: ReachGraph, grip: int) -> dict[str, str]:
    return {GRIP_KEYS[int(graph.grips.kind[grip])]: graph.grips.element_ids[grip]}


def _along(graph: ReachGraph, grip: int) -> float | None:
    on_rail = int(graph.grips.kind[grip]) == GripKind.HANDRAIL
    return float(graph.grips.along_m[grip]) if on_rail else None


def grip_places(graph: ReachGraph, course: Course) -> tuple[GripPlace, ...]:
    """Return the grips of a course in order."""
    return tuple(
        GripPlace(
            **_key_of(graph, grip),
            grip=graph.grips.ids[grip],
            along_m=_along(graph, grip),
            position_m=_position(graph, grip),
        )
        for grip in course.grips
    )


def hand_overs(graph: ReachGraph, course: Course) -> tuple[HandOver, ...]:
    """Return the hand-overs of a course in order."""
    moves, ids = graph.moves, graph.grips.ids
    payout_m = _payout_at(course)
    zones = slow_zones(graph, course)
    return tuple(
        HandOver(
            from_grip=ids[tail],
            to_grip=ids[head],
            changes_rail=bool(moves.changes_rail[move]),
            gap_m=float(moves.gap_m[move]),
            way_m=float(moves.way_m[move]),
            turn_deg=math.degrees(float(moves.turn_rad[move])),
            seconds=float(moves.seconds[move]),
            travel_s=float(moves.travel_s[move]),
            gap_s=float(moves.gap_s[move]),
            turn_s=float(moves.turn_s[move]),
            face_s=float(moves.face_s[move]),
            slow_s=float(moves.slow_s[move]),
            exposure_s=float(moves.exposure_s[move]),
            slow_zones=zones[i],
            payout_m=payout_m.get(i + 1),
        )
        for i, ((tail, head), move) in enumerate(
            zip(pairwise(course.grips), course.moves, strict=True)
        )
    )


def _payout_at(course: Course) -> dict[int, float]:
    """Line out on arriving at each grip: on the tether one arrives with."""
    found: dict[int, float] = {}
    for anchoring in course.anchorings:
        for i, payout_m in enumerate(anchoring.payout_m):
            found.setdefault(anchoring.at + i, payout_m)
    return found


def stretches(graph: ReachGraph, course: Course) -> tuple[Stretch, ...]:
    """Return the handrails (and single grips) of a course in order, with what is spent on each."""
    return tuple(_stretch(graph, course, first, last) for first, last in _runs(graph, course))


def _runs(graph: ReachGraph, course: Course) -> Iterator[tuple[int, int]]:
    first = 0
    elements = [graph.grips.element_ids[grip] for grip in course.grips]
    for i, (here, following) in enumerate(pairwise(elements)):
        if here != following:
            yield first, i
            first = i + 1
    yield first, len(elements) - 1


def _stretch(graph: ReachGraph, course: Course, first: int, last: int) -> Stretch:
    begin, end = course.grips[first], course.grips[last]
    moves = list(course.moves[first:last])
    named = graph.structure.by_id.get(graph.grips.element_ids[begin])
    return Stretch(
        **_key_of(graph, begin),
        name="" if named is None else named.name,
        from_m=_along(graph, begin),
        to_m=_along(graph, end),
        first_grip=first,
        last_grip=last,
        heading=heading(_position(graph, begin), _position(graph, end)),
        way_m=math.fsum(float(graph.moves.way_m[move]) for move in moves),
        seconds=math.fsum(float(graph.moves.seconds[move]) for move in moves),
    )


def transfer_records(graph: ReachGraph, course: Course) -> tuple[Transfer, ...]:
    """Return the transfers of a course in order (the tether one starts on is not one)."""
    return tuple(
        Transfer(
            **_anchor_key(graph, course, anchoring),
            at_grip=graph.grips.ids[course.grips[anchoring.at]],
            grip_index=anchoring.at,
            seconds=anchoring.seconds,
            line_m=anchoring.line_m,
            returns=anchoring.returns,
        )
        for anchoring in course.anchorings
        if not anchoring.starts
    )


def _anchor_key(graph: ReachGraph, course: Course, anchoring: Anchoring) -> dict[str, str]:
    if isinstance(graph.structure.by_id.get(anchoring.element_id), TetherPoint):
        return {"tether_point": anchoring.element_id}
    return _key_of(graph, course.grips[anchoring.at])


def stays(graph: ReachGraph, course: Course) -> tuple[Stay, ...]:
    """Return the stays of a course on reels, in order; leapfrog has none."""
    reels = [anchoring for anchoring in course.anchorings if anchoring.line_m is not None]
    return tuple(_stay(graph, course, anchoring) for anchoring in reels)


def _stay(graph: ReachGraph, course: Course, anchoring: Anchoring) -> Stay:
    most_m = max(anchoring.payout_m)
    worst = anchoring.at + anchoring.payout_m.index(most_m)
    if anchoring.stowed_m is not None and anchoring.stowed_m > most_m:
        most_m, worst = anchoring.stowed_m, anchoring.at + len(anchoring.payout_m) - 1
    length_m = anchoring.line_m if anchoring.line_m is not None else 0.0
    return Stay(
        tether_point=anchoring.element_id,
        length_m=length_m,
        from_grip=anchoring.at,
        to_grip=anchoring.at + len(anchoring.payout_m) - 1,
        first_payout_m=anchoring.payout_m[0],
        most_payout_m=most_m,
        least_left_m=length_m - most_m,
        worst_grip=graph.grips.ids[course.grips[worst]],
        stowed_m=anchoring.stowed_m,
    )


def totals(overs: tuple[HandOver, ...], transfers: tuple[Transfer, ...]) -> Totals:
    """Return the sums over hand-overs and transfers, each rounded once."""
    parts = {
        name: math.fsum(getattr(over, name) for over in overs)
        for name in ("travel_s", "gap_s", "turn_s", "face_s", "slow_s", "exposure_s")
    }
    transfers_s = math.fsum(transfer.seconds for transfer in transfers)
    seconds = math.fsum([*(over.seconds for over in overs), transfers_s])
    return Totals(
        **parts,
        transfers_s=transfers_s,
        seconds=seconds,
        distance_m=math.fsum(over.way_m for over in overs),
        hand_overs=len(overs),
        transfers=len(transfers),
    )
