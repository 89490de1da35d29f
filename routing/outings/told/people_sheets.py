"""What one person does, in a few numbers and as steps to paste."""

from collections.abc import Iterator, Mapping

from routing.outings.clock.activity_plan import way_id
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import Schedule
from routing.outings.plan_file.records import OutingPerson
from routing.outings.safety.tethers import trips_in_time
from routing.outings.told.results import PersonSheet
from routing.outings.told.times_said import clock
from routing.outings.told.wording import Wording
from routing.outings.translations import Trip
from routing.paths.answers.step_text import one_line
from routing.paths.tethers.kit import Kit

__all__ = ["person_sheets"]


def person_sheets(
    schedule: Schedule, wording: Wording, kits: Mapping[str, Kit]
) -> tuple[PersonSheet, ...]:
    """Return a sheet for each person outside, in the plan's order."""
    return tuple(
        _sheet(schedule, wording, person, kits[person.id]) for person in schedule.plan.outing.people
    )


def _sheet(schedule: Schedule, wording: Wording, person: OutingPerson, kit: Kit) -> PersonSheet:
    trips = list(trips_in_time(schedule, person.id))
    routes = [(trip.act, trip.route) for _, _, trip in trips if trip.route is not None]
    lines = [
        (route.margins.line.least_left_m, act)
        for act, route in routes
        if route.margins.line is not None
    ]
    least = min(lines, default=None)
    waits_s = sum(w.end_s - w.start_s for w in schedule.waits if w.person == person.id)
    moving_s = sum(trip.seconds for _, _, trip in trips)
    acts = schedule.plan.acts_of(person.id)
    acts_s = sum(schedule.end_s(act.id) - schedule.start_s(act.id) for act in acts)
    idle_s = sum(to_s - from_s for who, from_s, to_s in schedule.idle if who == person.id)
    own_waits_s = sum(
        schedule.end_s(act.id) - schedule.start_s(act.id) for act in acts if act.does == "wait"
    )
    laying_s = sum(trip.seconds for _, _, trip in trips if trip.laying)
    return PersonSheet(
        person=person.id,
        name=person.name,
        protocol=person.protocol,
        reels_m=kit.reels_m if person.protocol == "reel" else (),
        busy_s=acts_s - own_waits_s + moving_s - laying_s,
        moving_s=moving_s,
        waiting_s=waits_s + own_waits_s + idle_s,
        distance_m=sum(route.totals.distance_m for _, route in routes),
        transfers=sum(route.totals.transfers for _, route in routes),
        least_left_m=None if least is None else least[0],
        least_left_act=None if least is None else least[1],
        steps=tuple(_steps(schedule, wording, person.id)),
    )


def _steps(schedule: Schedule, wording: Wording, person: str) -> Iterator[str]:
    waits = {wait.act: wait for wait in schedule.waits if wait.person == person}
    for act in schedule.plan.acts_of(person):
        way = way_id(act.id, person)
        trip = schedule.leg.trips.get(way)
        if trip is not None:
            load = "" if trip.carry is None else f" with {wording.thing(trip.carry.id)}"
            goal = one_line(f"{wording.site(trip.to_site)}{load}")
            yield f"{clock(schedule.start_s(way))} Go to {goal}:"
            yield from _way_steps(trip)
        if act.id in waits:
            wait = waits[act.id]
            what = f"for {wait.waits_for}" if wait.waits_for else f"until {clock(wait.end_s)}"
            yield f"{clock(wait.start_s)} Wait {what}."
        if act.does in {"move", "carry"}:
            continue
        start_s, end_s = schedule.start_s(act.id), schedule.end_s(act.id)
        if act.does == "wait" and end_s - start_s < SLACK_ZERO_S:
            continue  # it only makes others' order; what is waited for is said above
        told = [wording.act_of(act, person), *wording.remarks(act)]
        if person in act.still:
            told = [f"HOLD STILL while {act.who[0]} does: {wording.act(act)}"]
        yield (
            f"{clock(start_s)} {one_line('; '.join(told))} "
            f"[{one_line(act.id)}], {(end_s - start_s) / 60:.0f} min."
        )
        laying = schedule.leg.laying.get((act.id, person))
        if laying is not None:
            yield from _way_steps(laying)
    for _, start_s, end_s in (one for one in schedule.idle if one[0] == person):
        yield f"{clock(start_s)} Nothing more planned: wait for the others until {clock(end_s)}."


def _way_steps(trip: Trip) -> Iterator[str]:
    if trip.route is None:
        yield f"    STOP: no way was found: {one_line(trip.why_not)}"
        return
    yield from (f"    {step}" for step in trip.route.steps)
