"""What is wrong with a plan on the clock: ways that are not there, limits, and who ends where."""

from collections.abc import Iterable, Iterator

from routing.outings.clock.activity_plan import ACTS_BEGIN, way_id
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import MINUTE_S, Schedule
from routing.outings.custody.places import PlaceBook
from routing.outings.plan_file.acts import ACT_RULES, OFF_STRUCTURE
from routing.outings.plan_file.records import OutingLimits, block_source
from routing.outings.safety.tethers import trips_in_time
from routing.outings.told.causes import Cause, how_to_ask, shut_for_all, trip_cause
from routing.outings.told.results import OutingFinding, OutingTotals
from routing.outings.told.times_said import clock, over_of, total_said
from routing.outings.told.warned_ways import THIN, warned_on_ways
from routing.outings.translations import Ground, Trip
from structures.counting import counted
from structures.findings import SEVERITIES

__all__ = ["check_clock", "check_ends", "check_ways", "sorted_outing_findings"]


_GRAVEST = (
    "no-way-home-in-tow",
    "home-too-late-in-tow",
    "no-rescue",
    "rescue-not-shown",
    "rescue-too-late",
    "p90-over-consumables",
    "p90-over-planned-length",
)
"""Of what warns, this stands before all else, in this order."""


def sorted_outing_findings(findings: Iterable[OutingFinding]) -> tuple[OutingFinding, ...]:
    """Return findings worst first, then by time, act and code; each once."""
    once = dict.fromkeys(findings)
    return tuple(
        sorted(
            once,
            key=lambda f: (
                SEVERITIES.index(f.severity),
                *_gravity(f),
                f.at_s or 0.0,
                f.act or "",
                f.code,
            ),
        )
    )


def _gravity(one: OutingFinding) -> tuple[int, float]:
    """Return what sorts those that warn: nobody comes home first, the longest time first.

    After what is gravest come thin margins, the least one first, and then all else.
    """
    if one.severity == "warns" and one.code in THIN and one.value is not None:
        return (len(_GRAVEST), one.value)
    if one.severity != "warns" or one.code not in _GRAVEST:
        return (len(_GRAVEST) + 1, 0.0)
    return (_GRAVEST.index(one.code), -(one.value or 0.0))


def check_ways(schedule: Schedule, ground: Ground) -> Iterator[OutingFinding]:
    """Yield ways that were not found, and what blocks or is to be watched on those that were.

    Once a way is missing it is not known where and on what tethers the person
    is, so later ways of that person are not worked out: that is said with the first.
    """
    for person in schedule.plan.outing.people:
        trips = [(start_s, trip) for start_s, _, trip in trips_in_time(schedule, person.id)]
        missing = [(start_s, trip) for start_s, trip in trips if trip.route is None]
        if missing:
            start_s, first = missing[0]
            cause = trip_cause(schedule, ground, first)
            ask = ""
            if not cause.message:
                asks = (shut_for_all(schedule, ground, first), how_to_ask(schedule, ground, first))
                ask = "; ".join(one for one in asks if one)
            yield _no_way(start_s, first, [trip.act for _, trip in missing[1:]], cause, ask)
        for start_s, trip in trips:
            yield from _blocks_on_the_way(start_s, trip)
        if not trips:
            yield from _blocks_at_the_start(schedule, person.id)
        yield from warned_on_ways(person.id, trips)
    yield from _placeholders(schedule)


def _blocks_at_the_start(schedule: Schedule, person: str) -> Iterator[OutingFinding]:
    """Yield what is wrong with the hold and the tether of somebody who never leaves the hatch."""
    leg, begins_s = schedule.leg, schedule.end_s(ACTS_BEGIN)
    if person in leg.no_begin:
        start = leg.ends[person]
        yield OutingFinding(
            code="no-hold-at-start",
            severity="blocks",
            person=person,
            at_s=begins_s,
            elements=(start,),
            message=f"{person} cannot begin at {start} (at {clock(begins_s)}): "
            f"{leg.no_begin[person]}",
            remedy="open what is closed, or let the person begin at another hatch",
        )
    elif person in leg.stays:
        yield from _blocks_on_the_way(begins_s, leg.stays[person])


def _placeholders(schedule: Schedule) -> Iterator[OutingFinding]:
    """Yield once what the routes say about limits that nobody has confirmed."""
    said: dict[str, list[str]] = {}
    for person in schedule.plan.outing.people:
        for _, _, trip in trips_in_time(schedule, person.id):
            for one in () if trip.route is None else trip.route.findings:
                if one.code == "limits-not-confirmed":
                    people = said.setdefault(one.message, [])
                    people += [person.id] if person.id not in people else []
    for message, people in said.items():
        limits, _, remedy = message.partition("; ")
        yield OutingFinding(
            code="limits-not-confirmed",
            severity="notes",
            message=f"for {' and '.join(people)} {limits}",
            remedy=remedy,
        )


def _no_way(start_s: float, trip: Trip, later: list[str], cause: Cause, ask: str) -> OutingFinding:
    more = "".join(f"; {one}" for one in (cause.message, ask) if one)
    if later:
        ways = counted(len(later), "later way")
        verb = "is" if len(later) == 1 else "are"
        more += f"; so {ways} {verb} not worked out: {', '.join(later)}"
    return OutingFinding(
        code="no-way",
        severity="blocks",
        act=trip.act,
        person=trip.person,
        at_s=start_s,
        elements=(trip.to_site, *cause.elements),
        message=f"{trip.person} finds no way from {trip.from_site} to {trip.to_site} "
        f"(at {clock(start_s)}): {trip.why_not}{more}",
        remedy=(f"{cause.remedy}; or " if cause.remedy else "")
        + "name another site, carry less, open what is closed, or take up tethers before "
        '(way = "recover")',
    )


def _blocks_on_the_way(start_s: float, trip: Trip) -> Iterator[OutingFinding]:
    for one in () if trip.route is None else trip.route.findings:
        if one.severity == "blocks":
            way = f"on the way from {trip.from_site} to {trip.to_site} of {trip.person}"
            yield OutingFinding(
                code=one.code,
                severity="blocks",
                act=trip.act or None,
                person=trip.person,
                at_s=start_s,
                elements=one.elements,
                message=f"{way if trip.act else f'where {trip.person} is'} "
                f"(at {clock(start_s)}): {one.message}",
                remedy="see `gripway route` for this way",
                value=one.value,
                limit=one.limit,
                unit=one.unit,
            )


def check_ends(schedule: Schedule, book: PlaceBook) -> Iterator[OutingFinding]:
    """Yield people who do not end at the hatch where they began."""
    for person in schedule.plan.outing.people:
        ends = schedule.leg.ends[person.id]
        acts = schedule.plan.acts_of(person.id)
        if acts and not book.same(ends, person.start):
            last = acts[-1]
            yield OutingFinding(
                code="not-back",
                severity="blocks",
                act=last.id,
                person=person.id,
                at_s=schedule.end_s(last.id),
                elements=(person.start,),
                message=f"{person.id} ends at {ends}, not at {person.start} "
                f"(at {clock(schedule.end_s(last.id))})",
                remedy=f'end with a move: does = "move", at = "{person.start}", way = "recover"',
            )
        if not acts:
            yield OutingFinding(
                code="nothing-to-do",
                severity="warns",
                person=person.id,
                message=f"{person.id} has no act in the plan",
                remedy="give acts, or take the person off the plan",
            )


def check_clock(schedule: Schedule, totals: OutingTotals) -> Iterator[OutingFinding]:
    """Yield acts that are done too late, and the limits of the outing as a whole."""
    total_s = totals.total_s
    limits = schedule.plan.outing.outing_limits
    for code, limit_min, what, remedy in (
        (
            "over-planned-length",
            limits.planned_min,
            "the planned length",
            "shorten acts on the critical path, or make some of them get-aheads",
        ),
        (
            "over-consumables",
            limits.consumables_min,
            "what the suits hold",
            "take acts off the plan: this limit is no matter of choice",
        ),
    ):
        limit_s = MINUTE_S * limit_min
        if total_s > limit_s + SLACK_ZERO_S:
            over = over_of(limit_s, total_s)
            if totals.ways_missing:
                over = f"at least {clock(total_s - limit_s)}"
            yield OutingFinding(
                code=code,
                severity="blocks",
                at_s=limit_s,
                message=f"the outing takes {total_said(total_s, totals.ways_missing)}, "
                f"{over} more than {what} of {clock(limit_s)}",
                remedy=remedy,
                value=total_s / MINUTE_S,
                limit=limit_min,
                unit="min",
            )
    yield from _no_time(schedule)
    yield from _more_than_suits(limits)
    for act in schedule.plan.acts:
        if act.no_later_min is None:
            continue
        late_s = schedule.end_s(act.id) - MINUTE_S * act.no_later_min
        if late_s > SLACK_ZERO_S:
            yield OutingFinding(
                code="too-late",
                severity="blocks",
                act=act.id,
                person=act.who[0],
                at_s=schedule.end_s(act.id),
                message=f"{act.id} is done at {clock(schedule.end_s(act.id))}, "
                f"{late_s / MINUTE_S:.0f} min after no_later_min {act.no_later_min:g}",
                remedy="let it begin earlier: other acts later, or fewer things to wait for",
                value=schedule.end_s(act.id) / MINUTE_S,
                limit=act.no_later_min,
                unit="min",
            )


def _more_than_suits(limits: OutingLimits) -> Iterator[OutingFinding]:
    """Yield that the plan lets the suits hold more than their design: every total goes by it."""
    design_min = OutingLimits.model_fields["consumables_min"].default
    if limits.consumables_min > design_min:
        yield OutingFinding(
            code="suits-hold-more",
            severity="warns",
            at_s=MINUTE_S * design_min,
            message=f"the plan lets the suits hold {clock(MINUTE_S * limits.consumables_min)}, "
            f"more than {clock(MINUTE_S * design_min)}: "
            f"{block_source(OutingLimits, 'consumables_min')}",
            remedy="take consumables_min off the plan, or have whoever answers for the suits "
            "confirm it",
            value=limits.consumables_min,
            limit=design_min,
            unit="min",
        )


def _no_time(schedule: Schedule) -> Iterator[OutingFinding]:
    """Yield the acts outside that are planned to take no time at all, all in one."""
    none = [
        act
        for act in schedule.plan.acts
        if ACT_RULES[act.does].timed
        and act.who[0] not in OFF_STRUCTURE
        and act.minutes is not None
        and act.minutes[1] == 0
    ]
    if not none:
        return
    ids = [act.id for act in none]
    yield OutingFinding(
        code="takes-no-time",
        severity="warns",
        act=ids[0],
        person=none[0].who[0],
        at_s=schedule.start_s(ids[0]),
        message=f"{', '.join(ids)} {'is' if len(ids) == 1 else 'are'} planned to take 0 min, so "
        "all times after that are too early",
        remedy="say how many minutes it takes: usual, or low, usual and high",
        value=0.0,
        unit="min",
    )


def check_restraints_on_ways(
    schedule: Schedule, inside: Iterable[tuple[str, str, str]]
) -> Iterator[OutingFinding]:
    """Yield ways that begin with the feet in a restraint.

    Parameters
    ----------
    inside
        (act, person, restraint) of the acts that a person comes to without having got out.
    """
    for act, person, restraint in inside:
        way = way_id(act, person)
        trip = schedule.leg.trips.get(way) or schedule.leg.laying.get((act, person))
        if trip is None or (trip.route is not None and not trip.route.hand_overs):
            continue
        yield OutingFinding(
            code="moves-in-restraint",
            severity="blocks",
            act=act,
            person=person,
            at_s=schedule.start_s(way),
            elements=(restraint,),
            message=f"{person} goes to {trip.to_site} with the feet in {restraint} "
            f"(at {clock(schedule.start_s(way))})",
            remedy="add a get-out before",
        )
