"""The clock of an outing: every activity's earliest and latest time, waits and what is critical."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from routing.outings.clock.activity_plan import ACTS_BEGIN, ALL_DONE, Activity, ActivityPlan, way_id
from routing.outings.clock.network import SLACK_ZERO_S, Floats, Times, critical_path, time_network
from routing.outings.custody.books import Done
from routing.outings.plan_file.acts import OFF_STRUCTURE
from routing.outings.plan_file.records import Outing
from routing.outings.translations import Leg

__all__ = [
    "MINUTE_S",
    "Schedule",
    "Wait",
    "begin_s",
    "end_s",
    "make_schedule",
    "releases_of",
    "spread_s",
    "usual_s",
]

MINUTE_S: Final = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """A person at the site of an act (or inside, or the ground) until it can begin."""

    person: str
    act: str
    start_s: float
    end_s: float
    waits_for: str
    """The act or gate that is done last; empty where the clock is waited for."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Schedule:
    """All activities of a plan on the clock [s from the start of the outing]."""

    plan: ActivityPlan
    leg: Leg
    times: Times
    durations_s: np.ndarray[tuple[int], np.dtype[np.float64]]

    def start_s(self, activity: str) -> float:
        """Return the earliest start of an activity [s]."""
        return float(self.times.earliest_start_s[self.plan.network.index[activity]])

    def end_s(self, activity: str) -> float:
        """Return the earliest finish of an activity [s]."""
        return float(self.times.earliest_finish_s[self.plan.network.index[activity]])

    def latest_start_s(self, activity: str) -> float:
        """Return the latest start that does not make the outing longer [s]."""
        return float(self.times.latest_start_s[self.plan.network.index[activity]])

    def slack_s(self, activity: str) -> float:
        """Return by how much an activity may begin later [s]."""
        slack_s = float(self.times.slack_s[self.plan.network.index[activity]])
        return 0.0 if slack_s < SLACK_ZERO_S else slack_s

    def is_critical(self, activity: str) -> bool:
        """Tell whether a delay of an activity delays the end."""
        return self.slack_s(activity) == 0.0

    @property
    def acts_end_s(self) -> float:
        """When the last act is done [s]."""
        return self.end_s(ALL_DONE)

    @cached_property
    def done(self) -> tuple[Done, ...]:
        """The acts in the order in which they are done."""
        index = self.plan.network.index
        acts = sorted(self.plan.acts, key=lambda act: (self.end_s(act.id), index[act.id]))
        return tuple(
            Done(act=act, start_s=self.start_s(act.id), end_s=self.end_s(act.id)) for act in acts
        )

    @cached_property
    def critical_path(self) -> tuple[str, ...]:
        """Ids of the activities that the end waits for, in order."""
        return critical_path(self.plan.network, self.times)

    @cached_property
    def waits(self) -> tuple[Wait, ...]:
        """All waits, by person and time, those of inside and ground for an action last."""
        found = []
        for person in self.plan.outing.people:
            free_s = self.end_s(ACTS_BEGIN)
            for act in self.plan.acts_of(person.id):
                way = way_id(act.id, person.id)
                there_s, begins_s = self.end_s(way), self.start_s(act.id)
                free_s = max(free_s, there_s)
                if begins_s - free_s > SLACK_ZERO_S:
                    found.append(
                        Wait(
                            person=person.id,
                            act=act.id,
                            start_s=free_s,
                            end_s=begins_s,
                            waits_for=self._waited_for(act.id, person.id),
                        )
                    )
                free_s = self.end_s(act.id)
        return (*found, *(wait for one in OFF_STRUCTURE for wait in self._waits_of(one)))

    @cached_property
    def idle(self) -> tuple[tuple[str, float, float], ...]:
        """Who has nothing more to do until all acts are done: (person, from, until) [s]."""
        found = []
        for person in self.plan.outing.people:
            own = (self.end_s(act.id) for act in self.plan.acts_of(person.id))
            free_s = max(own, default=self.end_s(ACTS_BEGIN))
            if self.acts_end_s - free_s > SLACK_ZERO_S:
                found.append((person.id, free_s, self.acts_end_s))
        return tuple(found)

    def _waits_of(self, party: str) -> Iterator[Wait]:
        """Yield when inside or the ground have nothing to do but wait for their next action."""
        free_s = self.end_s(ACTS_BEGIN)
        for act in self.plan.acts:
            if party not in act.who:
                continue
            begins_s = self.start_s(act.id)
            if begins_s - free_s > SLACK_ZERO_S:
                yield Wait(
                    person=party,
                    act=act.id,
                    start_s=free_s,
                    end_s=begins_s,
                    waits_for=self._waited_for(act.id, party),
                )
            free_s = self.end_s(act.id)

    def _waited_for(self, act_id: str, person: str) -> str:
        network = self.plan.network
        first = network.before[network.index[act_id]]
        longest = max(first, key=lambda i: (self.times.earliest_finish_s[i], -i))
        begins_s, done_s = self.start_s(act_id), float(self.times.earliest_finish_s[longest])
        if begins_s - done_s > SLACK_ZERO_S:
            return ""
        activity: Activity = self.plan.activities[network.ids[longest]]
        if activity.kind == "way" and activity.who != (person,):
            return activity.who[0]
        return activity.act.id if activity.act is not None else activity.id


def usual_s(plan: ActivityPlan, leg: Leg, activity: str) -> float:
    """Return the usual duration of an activity [s]."""
    return spread_s(plan, leg, activity)[1]


def spread_s(plan: ActivityPlan, leg: Leg, activity: str) -> tuple[float, float, float]:
    """Return low, usual and high duration of an activity; ways are not spread [s]."""
    one = plan.activities[activity]
    if one.kind == "begin":
        before_s = begin_s(plan.outing) + plan.lost_s.get(activity, 0.0)
        return (before_s, before_s, before_s)
    if one.kind == "way":
        trip = leg.trips.get(activity)
        way_s = 0.0 if trip is None else trip.seconds
        return (way_s, way_s, way_s)
    if one.kind != "act" or one.act is None:
        return (0.0, 0.0, 0.0)
    act = one.act
    lost_s = plan.lost_s.get(activity, 0.0)
    laying = [leg.laying[act.id, who] for who in act.who if (act.id, who) in leg.laying]
    laying_s = max((trip.seconds for trip in laying), default=0.0)
    more_s = lost_s + laying_s
    low, usual, high = act.minutes or (0.0, 0.0, 0.0)
    return (low * MINUTE_S + more_s, usual * MINUTE_S + more_s, high * MINUTE_S + more_s)


def begin_s(outing: Outing) -> float:
    """Return how long the blocks before the first act take [s]."""
    return MINUTE_S * (outing.blocks.after_depress_min + outing.blocks.egress_min)


def end_s(outing: Outing) -> float:
    """Return how long the blocks after the last act take [s]."""
    return MINUTE_S * (outing.blocks.ingress_min + outing.blocks.before_repress_min)


def releases_of(plan: ActivityPlan) -> Floats:
    """Return before which time each activity must not begin, in network order, shape (n,) [s]."""
    releases_s = np.zeros(len(plan.network))
    for act in plan.acts:
        if act.no_earlier_min is not None:
            releases_s[plan.network.index[act.id]] = MINUTE_S * act.no_earlier_min
    return releases_s


def make_schedule(plan: ActivityPlan, leg: Leg) -> Schedule:
    """Put a plan on the clock: everything begins as early as it can, at its usual duration."""
    network = plan.network
    durations_s = np.array([usual_s(plan, leg, one) for one in network.ids])
    return Schedule(
        plan=plan,
        leg=leg,
        times=time_network(network, durations_s, releases_of(plan)),
        durations_s=durations_s,
    )
