"""Keep-out zones that come into force, by the clock, while somebody or a line is in them.

Ways keep out of every zone that may be in force by the order of acts alone. This
check adds where people stay, and where their lines lie, while an act switches a
zone on.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from routing.graph.reach_graph import ReachGraph
from routing.outings.clock.schedule import Schedule
from routing.outings.safety.moments import Moment
from routing.outings.told.results import OutingFinding, clock
from routing.outings.translations import Ground
from routing.paths.tethers.stack import TetherState
from structures.solids.sweep import Sweep, sweep_clears

__all__ = ["InForce", "check_zones", "conditions_by_clock"]


class InForce(NamedTuple):
    """A condition that an act switches on, and for how long."""

    condition: str
    act: str
    start_s: float
    end_s: float


def conditions_by_clock(schedule: Schedule) -> tuple[InForce, ...]:
    """Return which conditions acts switch on when: from their beginning until a clearing is done.

    Without a clearing act it is in force until everything is done.
    """
    found = []
    for act in schedule.plan.acts:
        for one in act.sets:
            start_s = schedule.start_s(act.id)
            cleared_s = [
                schedule.end_s(other.id)
                for other in schedule.plan.acts
                if one in other.clears and schedule.end_s(other.id) >= start_s
            ]
            found.append(InForce(one, act.id, start_s, min(cleared_s, default=schedule.acts_end_s)))
    return tuple(sorted(found, key=lambda one: (one.start_s, one.condition, one.act)))


def check_zones(
    schedule: Schedule, ground: Ground, moments: Sequence[Moment]
) -> Iterator[OutingFinding]:
    """Yield where one person, or a line of theirs, is in a zone that is in force just then.

    Parameters
    ----------
    moments
        Of one person, by time.

    Yields
    ------
    OutingFinding
        One for each condition, place and kind, at the first moment.
    """
    switched = conditions_by_clock(schedule)
    if not switched or not moments:
        return
    base = tuple(sorted(schedule.plan.outing.when))
    ends_s = [*(following.at_s for _, following in pairwise(moments)), schedule.acts_end_s]
    said: set[tuple[str, str, int]] = set()
    for moment, end_s in zip(moments, ends_s, strict=True):
        for one in switched:
            if one.condition in base or one.start_s >= end_s or one.end_s <= moment.at_s:
                continue
            before = ground.graph(moment.person, moment.carry, base)
            graph = ground.graph(moment.person, moment.carry, tuple(sorted({*base, one.condition})))
            at_s = max(moment.at_s, one.start_s)
            key = ("zone-in-force", one.condition, moment.grip)
            shut = before.grips.usable[moment.grip] and not graph.grips.usable[moment.grip]
            if shut and key not in said:
                said.add(key)
                yield _person_in_zone(moment, one, graph.grips.ids[moment.grip], at_s)
            for lies in _lines_in_zone(ground, graph, before, moment.state):
                if ("line", one.condition, lies) not in said:
                    said.add(("line", one.condition, lies))
                    yield _line_there(moment, one, graph.grips.ids[lies], at_s)


def _lines_in_zone(
    ground: Ground, graph: ReachGraph, before: ReachGraph, state: TetherState | None
) -> Iterator[int]:
    """Yield the grips at or from which lines lie in a zone switched on."""
    if state is None:
        return
    for found in (
        _hook_in_zone(ground, graph, before, state),
        _line_in_zone(graph, before, state),
    ):
        if found is not None:
            yield found


def _hook_in_zone(
    ground: Ground, graph: ReachGraph, before: ReachGraph, state: TetherState
) -> int | None:
    """Return the grip where a tether was hooked on through what is now a zone; None if none.

    The line runs straight from the tether point to that grip.
    """
    still = np.array([[1.0, 0.0, 0.0]])
    for stay in state.stack:
        hook_m = np.array([ground.tether_points[stay.point].position_m])
        sweep = Sweep(hook_m, graph.grips.position_m[[stay.grips[0]]], still, still, 0.0)
        shut, was_shut = (
            bool(one.surroundings.line.shapes)
            and not bool(sweep_clears(one.surroundings.line.shapes, sweep, 0.0)[0])
            for one in (graph, before)
        )
        if shut and not was_shut:
            return stay.grips[0]
    return None


def _line_in_zone(graph: ReachGraph, before: ReachGraph, state: TetherState) -> int | None:
    """Return the first grip of a lay from which the line lies in a zone switched on; None if none.

    A move that is only gone may be barred for the body alone; with a line the safe
    side counts: what cannot be shown to be clear is not.
    """
    for stay in state.stack:
        for tail, head in pairwise(stay.grips):
            if _line_clear(before, tail, head) and not _line_clear(graph, tail, head):
                return tail
    return None


def _line_clear(graph: ReachGraph, tail: int, head: int) -> bool:
    first, last = graph.moves.indptr[tail : tail + 2].tolist()
    found = first + int(graph.moves.head[first:last].searchsorted(head))
    if found == last or int(graph.moves.head[found]) != head:
        return False
    return bool(graph.moves.line_clear[found])


def _person_in_zone(moment: Moment, one: InForce, grip: str, at_s: float) -> OutingFinding:
    return OutingFinding(
        code="zone-in-force",
        severity="blocks",
        act=moment.act,
        person=moment.person,
        at_s=at_s,
        elements=(grip, one.condition),
        message=f"{moment.person} is at {grip} when {one.condition}, from {clock(one.start_s)} to "
        f"{clock(one.end_s)}, keeps people out of there (at {clock(at_s)})",
        remedy=f"let {one.act} wait until {moment.person} is gone, or end {one.condition} before",
    )


def _line_there(moment: Moment, one: InForce, grip: str, at_s: float) -> OutingFinding:
    return OutingFinding(
        code="line-in-zone",
        severity="blocks",
        act=moment.act,
        person=moment.person,
        at_s=at_s,
        elements=(grip, one.condition),
        message=f"the line of {moment.person} lies from {grip} on where {one.condition}, from "
        f"{clock(one.start_s)} to {clock(one.end_s)}, keeps lines or hands out "
        f"(at {clock(at_s)})",
        remedy=f"take that line up before {one.act}, or let {one.act} wait",
    )
