"""Why not: what keeps a grip from being used, or hands from going from one to another."""

from typing import Literal, TypeAlias

import numpy as np

from routing.graph.costs import turn_between
from routing.graph.moves import ANGLE_SLACK_RAD, ends_of
from routing.graph.reach_graph import Indices, ReachGraph
from routing.graph.surroundings import Named
from routing.graph.ways import LENGTH_SLACK_M, Ends, find_ways, norms
from structures.fields import Number, Record, Text
from structures.solids.sweep import SWEEP_TOLERANCE_M, Sweep, places_clearance, sweep_clearance
from structures.units import fine_text, number_text

__all__ = ["Condition", "Obstacle", "why_not", "why_unusable"]

_NEAR_M = 2 * SWEEP_TOLERANCE_M
"""Shapes farther from the body than this are not in its way [m]."""

Condition: TypeAlias = Literal["body place", "gap", "turn", "way", "corridor"]


class Obstacle(Record):
    """One condition that fails, with what was measured and what is allowed."""

    condition: Condition
    elements: tuple[str, ...] = ()
    """Ids of the solids and zones in the way, nearest first."""
    message: Text
    value: Number
    limit: Number
    unit: Literal["m", "deg"]


def why_not(graph: ReachGraph, one: int, other: int) -> tuple[Obstacle, ...]:
    """Return every condition that keeps hands from going between two grips; none if they can.

    Parameters
    ----------
    graph
        The graph both grips are in. Closed elements have no grips in it.
    one, other
        Indices of two different grips, in any order.
    """
    first, second = min(one, other), max(one, other)
    pair: tuple[Indices, Indices] = (np.array([first]), np.array([second]))
    ends = ends_of(graph.grips, *pair)
    found = [*why_unusable(graph, first), *why_unusable(graph, second)]
    found += _gap_and_turn(graph, ends)
    if not found:
        found += _way(graph, ends)
    return tuple(found)


def why_unusable(graph: ReachGraph, grip: int) -> tuple[Obstacle, ...]:
    """Return what leaves no clear body place at a grip; nothing if it is usable."""
    if graph.grips.usable[grip]:
        return ()
    radius_m = graph.situation.ability.corridor_radius_m
    body_m = graph.grips.body_m[[grip]]
    # What is no nearer than this has room enough, so something nearer is in the way.
    body = graph.surroundings.body.around(body_m, radius_m + _NEAR_M)
    room_m = [float(places_clearance((s,), body_m, radius_m)[0][0]) for s in body.shapes]
    tight = _tight(body, room_m)
    least_m = min(room_m)
    message = (
        f"at {graph.grips.ids[grip]} the best lean to solids has {fine_text(least_m, 'down')} "
        "between the body "
        f"ball of {fine_text(radius_m)} radius and {_listed(tight)}; it needs "
        f"{SWEEP_TOLERANCE_M:g} m"
    )
    return (
        Obstacle(
            condition="body place",
            elements=tight,
            message=message,
            value=least_m,
            limit=SWEEP_TOLERANCE_M,
            unit="m",
        ),
    )


def _gap_and_turn(graph: ReachGraph, ends: Ends) -> list[Obstacle]:
    situation = graph.situation
    reach_m, limit_deg = situation.ability.reach_m, situation.limits.max_turn_deg
    gap_m = float(norms(ends.end_m - ends.start_m)[0])
    turn_rad = float(turn_between(ends.start_normal, ends.end_normal)[0])
    turn_deg = float(np.rad2deg(turn_rad))
    found = []
    if gap_m > reach_m + LENGTH_SLACK_M:
        message = (
            f"the gap of {fine_text(gap_m, 'up')} is {fine_text(gap_m - reach_m, 'up')} over "
            "the reach"
        )
        found.append(
            Obstacle(condition="gap", message=message, value=gap_m, limit=reach_m, unit="m")
        )
    if turn_rad > np.deg2rad(limit_deg) + ANGLE_SLACK_RAD:
        turn = number_text(turn_deg, "up", 1)
        message = f"the turn of {turn} deg is over the limit of {limit_deg:g} deg"
        found.append(
            Obstacle(condition="turn", message=message, value=turn_deg, limit=limit_deg, unit="deg")
        )
    return found


def _way(graph: ReachGraph, ends: Ends) -> list[Obstacle]:
    """Say what is wrong with the ways: too long where one is clear, else what is in the way."""
    ability = graph.situation.ability
    radius_m, reach_m = ability.corridor_radius_m, ability.reach_m
    body = graph.surroundings.body
    if find_ways(ends, body.shapes, radius_m, reach_m).kind[0] >= 0:
        return []
    straight = Sweep(ends.start_m, ends.end_m, ends.start_lean, ends.end_lean, radius_m)
    room_m = [float(sweep_clearance((s,), straight, radius_m)[0][0]) for s in body.shapes]
    tight = _tight(body, room_m)
    clear = find_ways(ends, body.shapes, radius_m, np.inf)
    if clear.kind[0] >= 0:
        way_m = float(clear.length_m[0])
        message = (
            f"the hands' way past {_listed(tight)} is {fine_text(way_m, 'up')}, "
            f"{fine_text(way_m - reach_m, 'up')} over the reach"
        )
        return [
            Obstacle(
                condition="way",
                elements=tight,
                message=message,
                value=way_m,
                limit=reach_m,
                unit="m",
            )
        ]
    least_m = min(room_m, default=0.0)
    message = f"the body ball of {fine_text(radius_m)} radius does not come past {_listed(tight)}"
    return [
        Obstacle(
            condition="corridor",
            elements=tight,
            message=message,
            value=max(least_m, -radius_m),
            limit=SWEEP_TOLERANCE_M,
            unit="m",
        )
    ]


def _tight(body: Named, room_m: list[float]) -> tuple[str, ...]:
    """Return the ids of the shapes with too little room, least room first."""
    tight = sorted(
        (room, name)
        for room, name in zip(room_m, body.ids, strict=True)
        if room < SWEEP_TOLERANCE_M
    )
    return tuple(name for _, name in tight)


def _listed(names: tuple[str, ...]) -> str:
    if not names:
        return "itself (the leans are opposite)"
    if len(names) == 1:
        return names[0]
    return f"{', '.join(names[:-1])} and {names[-1]}"
