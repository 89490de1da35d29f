"""From a plan to activities: the way to each act, the act itself, gates, and what waits for what.

Every act of a person outside is two activities: the way there, which begins as
soon as the person is free, and the act, which waits for everything it is ``after``.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final, Literal, TypeAlias

from routing.outings.clock.network import ActivityNetwork
from routing.outings.plan_file.acts import OFF_STRUCTURE
from routing.outings.plan_file.records import Act, Outing

__all__ = [
    "ACTS_BEGIN",
    "ALL_DONE",
    "Activity",
    "ActivityPlan",
    "plan_activities",
    "waits_for_left_out",
    "way_id",
]

ACTS_BEGIN: Final = "@begin"
"""The activity that stands for the blocks before the first act; ids of plans have no ``@``."""
ALL_DONE: Final = "@end"

ActivityKind: TypeAlias = Literal["begin", "way", "act", "gate", "end"]


def way_id(act_id: str, person: str) -> str:
    """Return the id of the way that a person takes to an act."""
    return f"{act_id}@{person}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """One node of the activity network."""

    id: str
    kind: ActivityKind
    act: Act | None = None
    who: tuple[str, ...] = ()
    """Whose time it takes."""


@dataclass(frozen=True, kw_only=True, eq=False)
class ActivityPlan:
    """The activities of a plan and their network."""

    outing: Outing
    acts: tuple[Act, ...]
    """Those that are planned, in the plan's order."""
    activities: dict[str, Activity]
    network: ActivityNetwork
    get_aheads: frozenset[str] = frozenset()
    """Those of which the acts are planned."""
    lost_s: Mapping[str, float] = field(default_factory=dict)
    """Time that is lost at activities, by their ids [s]."""
    dropped: frozenset[str] = frozenset()
    """Groups that may be dropped, and are."""

    def acts_of(self, person: str) -> tuple[Act, ...]:
        """Return the acts that take a person's time, in order."""
        return tuple(act for act in self.acts if person in (*act.who, *act.still))

    @cached_property
    def number(self) -> dict[str, int]:
        """Place of each planned act in the plan."""
        return {act.id: i for i, act in enumerate(self.acts)}


def outside(act: Act) -> tuple[str, ...]:
    """Return the people outside whose time an act takes."""
    return tuple(one for one in (*act.who, *act.still) if one not in OFF_STRUCTURE)


def plan_activities(
    outing: Outing,
    get_aheads: Collection[str] = (),
    *,
    dropped: Collection[str] = (),
    lost_s: Mapping[str, float] | None = None,
) -> ActivityPlan:
    """Return the activities of a plan that was read without problems.

    Parameters
    ----------
    get_aheads
        Ids of the get-aheads that are planned; acts of the others are left out.
    dropped
        Ids of the groups under ``may_drop`` of which the acts are left out.
    lost_s
        Time that is lost, by the act at which it is (or `ACTS_BEGIN`) [s].

    Notes
    -----
    What is left out is not waited for. Whether anything may be left out that others wait for
    is `waits_for_left_out`.
    """
    acts = tuple(
        act
        for act in outing.acts
        if (act.spare is None or act.spare in get_aheads) and act.may_drop not in dropped
    )
    planned = {*(act.id for act in acts), *(gate.id for gate in outing.gates)}
    activities = {ACTS_BEGIN: Activity(id=ACTS_BEGIN, kind="begin")}
    before: dict[str, list[str]] = {ACTS_BEGIN: []}
    last: dict[str, str] = {}
    for act in acts:
        people = outside(act)
        waits = [one for one in act.after if one in planned]
        for person in people:
            way = way_id(act.id, person)
            activities[way] = Activity(id=way, kind="way", act=act, who=(person,))
            before[way] = [last.get(person, ACTS_BEGIN)]
            waits.append(way)
        parties = tuple(dict.fromkeys((*act.who, *act.still)))
        waits += [last[one] for one in parties if one in OFF_STRUCTURE and one in last]
        activities[act.id] = Activity(id=act.id, kind="act", act=act, who=parties)
        before[act.id] = waits or [ACTS_BEGIN]
        last |= dict.fromkeys(parties, act.id)
    for gate in outing.gates:
        activities[gate.id] = Activity(id=gate.id, kind="gate")
        before[gate.id] = [one for one in gate.needs if one in planned]
        for opened in gate.opens:
            if opened in before:
                before[opened].append(gate.id)
    activities[ALL_DONE] = Activity(id=ALL_DONE, kind="end")
    before[ALL_DONE] = list(before)
    return ActivityPlan(
        outing=outing,
        acts=acts,
        activities=activities,
        network=ActivityNetwork.of(before),
        get_aheads=frozenset(get_aheads),
        lost_s=dict(lost_s or {}),
        dropped=frozenset(dropped),
    )


def waits_for_left_out(plan: ActivityPlan) -> tuple[tuple[str, str], ...]:
    """Return (what waits, the act that is left out) of everything planned that waits for one."""
    left_out = {act.id for act in plan.outing.acts} - {act.id for act in plan.acts}
    waiting = [(act.id, one) for act in plan.acts for one in act.after if one in left_out]
    gates = plan.outing.gates
    waiting += [(gate.id, one) for gate in gates for one in gate.needs if one in left_out]
    return tuple(waiting)
