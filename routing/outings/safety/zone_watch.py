"""Keep-out zones that come into force, by the clock, while somebody or a line is in them.

Ways keep out of every zone that may be in force by the order of acts alone. This
check adds where people stay, and where their lines lie, while an act switches a
zone on.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from routing.outings.clock.schedule import Schedule, end_s
from routing.outings.safety.moments import Moment
from routing.outings.safety.switched_zones import SwitchedZones, way_kinds
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground

__all__ = ["InForce", "check_zones", "conditions_by_clock", "outing_ends_s"]


class InForce(NamedTuple):
    """A condition that an act switches on, and for how long."""

    condition: str
    act: str
    start_s: float
    end_s: float


def outing_ends_s(schedule: Schedule) -> float:
    """Return when everybody is inside and the hatch is shut: until then people are at it [s]."""
    return schedule.acts_end_s + end_s(schedule.plan.outing)


def conditions_by_clock(schedule: Schedule) -> tuple[InForce, ...]:
    """Return which conditions acts switch on when: from their beginning until a clearing is done.

    Without a clearing act it is in force until everybody is inside: clean-up and ingress are at
    the hatch.
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
            found.append(
                InForce(one, act.id, start_s, min(cleared_s, default=outing_ends_s(schedule)))
            )
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
    kinds = way_kinds(ground, moments)
    zones = {one.condition: SwitchedZones(ground, one.condition, kinds) for one in switched}
    grips = ground.grips(moments[0].person)
    until_s = [*(following.at_s for _, following in pairwise(moments)), outing_ends_s(schedule)]
    said: set[tuple[str, str, int]] = set()
    for moment, came_from, leaves_s in zip(moments, _came_from(moments), until_s, strict=True):
        for one in switched:
            if one.start_s >= leaves_s or one.end_s <= moment.at_s:
                continue
            there = zones[one.condition]
            at_s = max(moment.at_s, one.start_s)
            key = ("person", one.condition, moment.grip)
            if key not in said and there.hold_person(moment):
                said.add(key)
                yield _person_in_zone(moment, one, grips.ids[moment.grip], at_s)
            for lies in there.hold_lines(moment, came_from):
                if ("line", one.condition, lies) not in said:
                    said.add(("line", one.condition, lies))
                    yield _line_there(moment, one, grips.ids[lies], at_s)


def _came_from(moments: Sequence[Moment]) -> Iterator[int | None]:
    """Yield for each moment the grip held before the one held then; None at first."""
    came_from: int | None = None
    for before, moment in zip((None, *moments), moments, strict=False):
        if before is not None and before.grip != moment.grip:
            came_from = before.grip
        yield came_from


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
        f"{clock(one.start_s)} to {clock(one.end_s)}, keeps lines out "
        f"(at {clock(at_s)})",
        remedy=f"take that line up before {one.act}, or let {one.act} wait",
    )
