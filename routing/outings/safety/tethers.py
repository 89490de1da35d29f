"""The safety tethers of everybody over the whole outing: which are where from which moment on."""

from collections.abc import Iterator, Sequence

from routing.outings.clock.activity_plan import ACTS_BEGIN, way_id
from routing.outings.clock.schedule import Schedule
from routing.outings.told.results import OutingFinding, StayHeld, TetherChange
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground, Trip, kit_of
from routing.paths.tethers.outfit import Outfit, make_outfit
from routing.paths.tethers.stack import TetherState

__all__ = ["check_tethers", "chosen_start", "tether_changes", "trips_in_time"]


def trips_in_time(schedule: Schedule, person: str) -> Iterator[tuple[float, float, Trip]]:
    """Yield (start, end, way) of every way of a person that is not empty, in order [s]."""
    leg = schedule.leg
    for act in schedule.plan.acts_of(person):
        way = way_id(act.id, person)
        if way in leg.trips:
            yield schedule.start_s(way), schedule.end_s(way), leg.trips[way]
        if (act.id, person) in leg.laying:
            yield schedule.start_s(act.id), schedule.end_s(act.id), leg.laying[act.id, person]


def tether_changes(schedule: Schedule, ground: Ground) -> tuple[TetherChange, ...]:
    """Return the stacks of everybody on reels, at first and after every way, by time.

    Payout is that at the end of the way; on the way it is in the route.
    """
    found: list[TetherChange] = []
    for person in schedule.plan.outing.people:
        if person.protocol != "reel" or person.id not in schedule.leg.begins:
            continue
        outfit = make_outfit(ground.graph(person.id, None, ()), kit_of(person, ground.limits))
        trips = list(trips_in_time(schedule, person.id))
        first = schedule.leg.begins[person.id].tethers[0]
        if trips and trips[0][2].route is not None:
            first = chosen_start(outfit, trips[0][2])
        found.append(_change(outfit, person.id, None, schedule.end_s(ACTS_BEGIN), first))
        for _, end_s, trip in trips:
            if trip.ends is not None:
                state = trip.ends.tethers[0]
                found.append(_change(outfit, person.id, trip.act, end_s, state))
    return tuple(sorted(found, key=lambda one: (one.at_s, one.person)))


def chosen_start(outfit: Outfit, trip: Trip) -> TetherState:
    """Return with which reel the first way began: it chose one where there are several types."""
    if trip.begins is None or trip.route is None:
        raise AssertionError("a way that was found begins somewhere")
    length_m = trip.route.stays[0].length_m
    tethers = outfit.rules.tethers
    return next(
        state
        for state in trip.begins.tethers
        if tethers[state.stack[-1].tether].length_m == length_m
    )


def _change(
    outfit: Outfit, person: str, act: str | None, at_s: float, state: TetherState
) -> TetherChange:
    tethers = outfit.rules.tethers
    return TetherChange(
        at_s=at_s,
        person=person,
        act=act,
        stack=tuple(
            StayHeld(
                tether_point=outfit.points[stay.point].id,
                length_m=tethers[stay.tether].length_m,
                payout_m=stay.payout_m[-1],
                staged=stay.staged,
            )
            for stay in state.stack
        ),
        carried_m=tuple(
            tethers[kind].length_m for kind, count in enumerate(state.carried) for _ in range(count)
        ),
    )


def check_tethers(schedule: Schedule, changes: Sequence[TetherChange]) -> Iterator[OutingFinding]:
    """Yield safety tethers left outside against the plan."""
    for person in schedule.plan.outing.people:
        last = next((one for one in reversed(changes) if one.person == person.id), None)
        lost = any(trip.route is None for _, _, trip in trips_in_time(schedule, person.id))
        if last is None or lost:
            continue  # where a lost person's tethers end is not known; the lost way blocks
        for stay in last.stack[1:]:
            if stay.tether_point in person.leaves:
                continue
            yield OutingFinding(
                code="tether-left-outside",
                severity="blocks",
                act=last.act,
                person=person.id,
                at_s=last.at_s,
                elements=(stay.tether_point,),
                message=f"{person.id} leaves the safety tether of {stay.length_m:.2f} m at "
                f"{stay.tether_point} outside (at {clock(last.at_s)})",
                remedy='end with a move to the hatch that says way = "recover", or plan for it to '
                f"stay: leaves = [{stay.tether_point!r}]",
            )
