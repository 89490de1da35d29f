"""Plan an outing: the one way in, from a plan to the answer."""

from collections.abc import Collection
from dataclasses import dataclass
from math import inf

from routing.caution import CAUTION
from routing.limits import DEFAULT_LIMITS, Limits, changed_limits
from routing.outings.clock.activity_plan import ACTS_BEGIN, ActivityPlan, plan_activities
from routing.outings.clock.schedule import MINUTE_S, Schedule, end_s, make_schedule
from routing.outings.custody.custody import Custody, keep_custody
from routing.outings.custody.handling import Stock
from routing.outings.custody.places import PlaceBook
from routing.outings.plan_file.records import Outing
from routing.outings.safety.left_items import check_left_items
from routing.outings.safety.tethers import check_tethers, tether_changes, trips_in_time
from routing.outings.safety.together_checks import check_hand_overs, check_same_place
from routing.outings.safety.turn_home import turn_home_moments
from routing.outings.safety.watch import watch_safety
from routing.outings.sites.site_checks import check_sites
from routing.outings.sites.tie_checks import check_ties
from routing.outings.told.causes import closed_because
from routing.outings.told.findings import (
    check_clock,
    check_ends,
    check_restraints_on_ways,
    check_ways,
    sorted_outing_findings,
)
from routing.outings.told.people_sheets import person_sheets
from routing.outings.told.results import OutingAnswer, OutingRef, OutingTotals, TetherChange
from routing.outings.told.run_sheet import blocks, milestones, run_sheet, translation
from routing.outings.told.verdict import verdict_of
from routing.outings.told.wording import Wording
from routing.outings.translations import Ground, Leg, kit_of, translate
from routing.paths.answers.results import InputDigest, LimitChange, StructureRef
from routing.version import gripway_version
from structures.model import Structure

__all__ = ["OnClock", "PlannedOuting", "plan_outing", "put_on_clock", "work_out", "work_out_plan"]


@dataclass(frozen=True, kw_only=True, eq=False)
class OnClock:
    """A plan with its ways and times only: what every further check starts from."""

    stock: Stock
    plan: ActivityPlan
    leg: Leg
    schedule: Schedule

    @property
    def total_s(self) -> float:
        """How long the outing is; infinite where a way is missing [s]."""
        trips = (*self.leg.trips.values(), *self.leg.laying.values())
        if any(trip.route is None for trip in trips):
            return inf
        return self.schedule.acts_end_s + end_s(self.plan.outing)


def put_on_clock(plan: ActivityPlan, ground: Ground) -> OnClock:
    """Find the ways of a plan and put it on the clock, without the books and further checks."""
    stock = Stock(plan.outing, ground.structure)
    leg = translate(plan, ground, stock)
    return OnClock(stock=stock, plan=plan, leg=leg, schedule=make_schedule(plan, leg))


@dataclass(frozen=True, kw_only=True, eq=False)
class PlannedOuting:
    """A plan worked out, with all that further checks need: states, graphs and the clock."""

    outing: Outing
    ground: Ground
    stock: Stock
    plan: ActivityPlan
    leg: Leg
    schedule: Schedule
    custody: Custody
    tethers: tuple[TetherChange, ...]
    answer: OutingAnswer


def plan_outing(
    outing: Outing,
    structure: Structure,
    *,
    limits: Limits = DEFAULT_LIMITS,
    closed: Collection[str] = (),
    get_aheads: Collection[str] = (),
    inputs: tuple[InputDigest, ...] = (),
) -> OutingAnswer:
    """Work out every way, the clock and the books of a plan, and return the answer.

    Parameters
    ----------
    outing
        A plan that was read without problems (`routing.outings.plan_file.reader.read_outing`).
    structure
        What it is planned on.
    limits
        Limits of reach, rates, tethers.
    closed
        Ids out of use besides those that the plan names.
    get_aheads
        Ids of the get-aheads that are done.
    inputs
        Digests of the files that were read, to stand in the answer.

    Raises
    ------
    UnknownIdError
        Something that is closed does not exist.
    """
    ground = Ground(structure, outing, limits, tuple(closed))
    return work_out(outing, ground, get_aheads=get_aheads, inputs=inputs).answer


def work_out(
    outing: Outing,
    ground: Ground,
    *,
    get_aheads: Collection[str] = (),
    inputs: tuple[InputDigest, ...] = (),
) -> PlannedOuting:
    """Do what `plan_outing` does, over reach graphs that are there already, and keep all of it."""
    return work_out_plan(plan_activities(outing, get_aheads), ground, inputs=inputs)


def work_out_plan(
    plan: ActivityPlan, ground: Ground, *, inputs: tuple[InputDigest, ...] = ()
) -> PlannedOuting:
    """Do what `work_out` does for acts that are chosen already."""
    on_clock = put_on_clock(plan, ground)
    outing, stock, leg, schedule = plan.outing, on_clock.stock, on_clock.leg, on_clock.schedule
    get_aheads = plan.get_aheads
    custody = keep_custody(plan, stock, leg, schedule.done, ground.structure)
    tethers = tether_changes(schedule, ground)
    book = PlaceBook(outing, ground.structure)
    totals = _totals(schedule)
    safety = watch_safety(schedule, ground, stock)
    turn_home = turn_home_moments(safety.home)
    findings = sorted_outing_findings(
        (
            *check_ways(schedule, ground),
            *custody.findings,
            *check_restraints_on_ways(schedule, custody.came_inside),
            *check_tethers(schedule, tethers),
            *check_ties(schedule, ground),
            *check_same_place(schedule, ground),
            *check_hand_overs(schedule, ground, stock),
            *check_sites(schedule, ground, stock),
            *check_ends(schedule, book),
            *check_clock(schedule, totals),
            *check_left_items(schedule, ground, stock, custody.ledger),
            *safety.findings,
        )
    )
    wording = Wording(ground.structure, stock)
    kits = {person.id: kit_of(person, ground.limits) for person in outing.people}
    protocols = {person.id: person.protocol for person in outing.people}
    answer = OutingAnswer(
        gripway=gripway_version(),
        structure=StructureRef(
            name=ground.structure.name,
            revision=ground.structure.revision,
            date=ground.structure.date,
        ),
        outing=OutingRef(name=outing.name, revision=outing.revision),
        inputs=inputs,
        closed=ground.closed,
        closed_because=closed_because(plan, ground) or None,
        limits_changed={
            name: LimitChange(value=value, default=default)
            for name, (value, default) in changed_limits(ground.limits).items()
        },
        verdict=verdict_of(findings),
        totals=totals,
        blocks=blocks(outing, schedule.acts_end_s, plan.lost_s.get(ACTS_BEGIN, 0.0)),
        people=person_sheets(schedule, wording, kits),
        run_sheet=run_sheet(schedule, ground.structure, wording, turn_home),
        translations=tuple(
            translation(ground.structure, trip, protocols[person.id])
            for person in outing.people
            for _, _, trip in trips_in_time(schedule, person.id)
        ),
        milestones=milestones(schedule),
        critical_path=schedule.critical_path,
        ledger=custody.ledger,
        tethers=tethers,
        home=safety.home,
        turn_home=turn_home,
        dropped=tuple(sorted(plan.dropped)),
        lines=safety.lines,
        get_aheads_planned=tuple(sorted(get_aheads)),
        get_aheads_left=tuple(
            sorted(one.id for one in outing.get_aheads if one.id not in get_aheads)
        ),
        findings=findings,
        caution=CAUTION,
    )
    return PlannedOuting(
        outing=outing,
        ground=ground,
        stock=stock,
        plan=plan,
        leg=leg,
        schedule=schedule,
        custody=custody,
        tethers=tethers,
        answer=answer,
    )


def _totals(schedule: Schedule) -> OutingTotals:
    outing = schedule.plan.outing
    clock_blocks = blocks(outing, schedule.acts_end_s, schedule.plan.lost_s.get(ACTS_BEGIN, 0.0))
    total_s = clock_blocks[-1].end_s
    planned_s = MINUTE_S * outing.outing_limits.planned_min
    consumables_s = MINUTE_S * outing.outing_limits.consumables_min
    trips = [*schedule.leg.trips.values(), *schedule.leg.laying.values()]
    missing = sum(trip.route is None for trip in trips)
    return OutingTotals(
        total_s=total_s,
        acts_s=clock_blocks[-2].start_s - clock_blocks[-3].end_s,
        planned_s=planned_s,
        planned_left_s=None if missing else planned_s - total_s,
        consumables_s=consumables_s,
        consumables_left_s=None if missing else consumables_s - total_s,
        acts=len(schedule.plan.acts),
        translations=len(trips),
        ways_missing=missing,
    )
