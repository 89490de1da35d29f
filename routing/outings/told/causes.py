"""What shuts a way: the conditions without which it is there, and how to ask for the rest."""

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from shlex import quote

from routing.outings.clock.activity_plan import ActivityPlan, way_id
from routing.outings.clock.schedule import Schedule
from routing.outings.custody.handling import Stock
from routing.outings.plan_file.records import OutingPerson
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground, Trip, kit_of, translate
from routing.paths.onward import NoWayOnError
from routing.paths.request import Request, solve
from structures.elements import Item
from structures.zones import closed_by

__all__ = [
    "Cause",
    "blocking_conditions",
    "cause_of",
    "closed_because",
    "how_to_ask",
    "shut_for_all",
    "trip_cause",
]


@dataclass(frozen=True, slots=True)
class Cause:
    """Conditions that shut a way, in words, and what to do about them."""

    message: str = ""
    remedy: str = ""
    elements: tuple[str, ...] = ()


def blocking_conditions(
    when: tuple[str, ...], opens: Callable[[tuple[str, ...]], bool]
) -> tuple[str, ...]:
    """Return the conditions that shut a way; none where it is shut without any as well.

    Parameters
    ----------
    when
        Those in whose zones nobody goes.
    opens
        Tells whether the way is there under some of them.

    Returns
    -------
    tuple of str
        Each that it is enough to leave out alone, or else all of them.

    Examples
    --------
    >>> blocking_conditions(("hot", "vent"), lambda left: "vent" not in left)
    ('vent',)
    >>> blocking_conditions(("hot", "vent"), lambda left: not left)
    ('hot', 'vent')
    >>> blocking_conditions(("hot", "vent"), lambda left: False)
    ()
    """
    if not when or not opens(()):
        return ()
    alone = tuple(one for one in when if opens(tuple(two for two in when if two != one)))
    return alone or when


def cause_of(
    schedule: Schedule,
    ground: Ground,
    when: tuple[str, ...],
    opens: Callable[[tuple[str, ...]], bool],
) -> Cause:
    """Return what shuts a way; empty where no condition does. Parameters as above."""
    found = blocking_conditions(when, opens)
    if not found:
        return Cause()
    zones = [one.id for one in ground.structure.zones if set(one.when) & set(found)]
    acts = [act for act in schedule.plan.acts if set(act.sets) & set(found)]
    joint = " or " if len(found) == 1 or opens(tuple(x for x in when if x != found[0])) else " and "
    said = joint.join(_condition(schedule, ground, one) for one in found)
    remedy = f"end {joint.join(found)} before"
    if acts:
        remedy = f"let {', '.join(act.id for act in acts)} wait until nobody needs it, or {remedy}"
    return Cause(
        message=f"it is there without {said}",
        remedy=remedy,
        elements=(*found, *zones),
    )


def _condition(schedule: Schedule, ground: Ground, condition: str) -> str:
    """Say which zones a condition switches on, and what begins it when."""
    zones = [one.id for one in ground.structure.zones if condition in one.when]
    parts = [f"zone {', '.join(zones)}"] if zones else []
    parts += [
        f"{act.id} begins it at {clock(schedule.start_s(act.id))}"
        for act in schedule.plan.acts
        if condition in act.sets
    ]
    if condition in schedule.plan.outing.when:
        parts.append("in force by the plan's when")
    return f"{condition} ({'; '.join(parts)})" if parts else condition


def closed_because(plan: ActivityPlan, ground: Ground) -> dict[str, str]:
    """Return why elements are closed that the plan does not close: a condition, and what begins it.

    Such an element is closed from the start: grips are numbered once for the whole outing.
    """
    found: dict[str, list[str]] = {}
    for one in ground.structure.conditions:
        acts = [act.id for act in plan.acts if one.id in act.sets]
        if not acts and one.id not in plan.outing.when:
            continue
        begun = f", which {' and '.join(acts)} begins; closed from the start, to be safe"
        for element in one.closes:
            if element in ground.closed and element not in plan.outing.closed:
                found.setdefault(element, []).append(
                    f"by condition {one.id}{begun if acts else ''}"
                )
    return {element: "; ".join(why) for element, why in sorted(found.items())}


def trip_cause(schedule: Schedule, ground: Ground, trip: Trip) -> Cause:
    """Return what shuts the way of a trip that was not found."""
    begins, sites = trip.begins, _sites(schedule, trip)
    if begins is None:
        return Cause()
    shut = [site for site in sites if ground.is_closed(site)]
    if shut:
        return _closed_site(schedule, ground, shut[0])
    person = _person(schedule, trip)
    kit = kit_of(person, ground.limits)
    request = Request(start="", goal="", protocol=person.protocol, kit=kit)

    def opens(when: tuple[str, ...], carry: Item | None = trip.carry) -> bool:
        try:
            ground.onward((trip.person, carry, when), begins, sites, request, trip.manner)
        except NoWayOnError:
            return False
        return True

    cause = cause_of(schedule, ground, trip.when, opens)
    if cause.message or trip.carry is None or not opens(trip.when, None):
        return cause
    load = trip.carry.id
    return Cause(
        message=f"it is there without {load} in the hands",
        remedy=f"put {load} down before",
        elements=(load,),
    )


def _closed_site(schedule: Schedule, ground: Ground, site: str) -> Cause:
    """Return the conditions that close a site; empty where the plan or the call does."""
    element = site.rpartition("@")[0] if "@" in site else site
    why = closed_because(schedule.plan, ground).get(element)
    if why is None:
        return Cause()
    conditions = tuple(one.id for one in ground.structure.conditions if element in one.closes)
    return Cause(
        message=f"{element} is closed {why}, for the whole outing",
        remedy=f"do without what begins {' and '.join(conditions)} on this outing",
        elements=(element, *conditions),
    )


def shut_for_all(schedule: Schedule, ground: Ground, trip: Trip) -> str:
    """Say that a way is shut by what conditions close; empty where it would be lost all the same.

    All ways of the plan are found again with nothing closed by conditions, so it counts too
    that people come there on other tethers then. Their zones stay.
    """
    closed = closed_because(schedule.plan, ground)
    if not closed:
        return ""
    opened = ground.once("nothing closed by conditions", lambda: _opened(schedule, ground, closed))
    leg = translate(schedule.plan, opened, Stock(schedule.plan.outing, opened.structure))
    there = (
        leg.laying.get((trip.act, trip.person))
        if trip.laying
        else leg.trips.get(way_id(trip.act, trip.person))
    )
    if there is not None and there.route is None:
        return ""
    said = ", ".join(f"{element} ({why})" for element, why in closed.items())
    return f"it is there without what is closed for the whole outing: {said}"


def _opened(schedule: Schedule, ground: Ground, closed: Collection[str]) -> Ground:
    """Return the ground of a plan on which conditions close nothing."""
    conditions = tuple(one.model_copy(update={"closes": ()}) for one in ground.structure.conditions)
    return Ground(
        ground.structure.model_copy(update={"conditions": conditions}),
        schedule.plan.outing,
        ground.limits,
        tuple(one for one in ground.closed if one not in closed),
    )


def how_to_ask(schedule: Schedule, ground: Ground, trip: Trip) -> str:
    """Return the call that says what would open a way that even without a tether is not there.

    Empty where the tethers are in the way, of which such a call knows nothing.
    """
    begins, sites = trip.begins, _sites(schedule, trip)
    if begins is None or any(ground.is_closed(site) for site in sites):
        return ""
    graph = ground.graph(trip.person, trip.carry, trip.when)
    start = begins.site if begins.grip is None else graph.grips.ids[begins.grip]
    asked = Request(start=start, goal=sites[-1], via=sites[:-1], protocol=None)
    if solve(graph, asked) is not None:
        return ""
    own = list(_not_to_ask(schedule, ground, trip))
    if own:
        shut = f"; closed on this plan: {', '.join(ground.closed)}" if ground.closed else ""
        return f"`gripway route` cannot be asked what would open one: {' and '.join(own)}{shut}"
    words = [start, sites[-1], *_options(schedule, ground, trip)]
    call = " ".join(
        quote(word) for word in ("gripway", "route", schedule.plan.outing.structure, *words)
    )
    return f"`{call}` says what would open one"


def _options(schedule: Schedule, ground: Ground, trip: Trip) -> Iterator[str]:
    """Yield the options under which a route is the same question."""
    outing, person = schedule.plan.outing, _person(schedule, trip)
    by_condition = closed_by(ground.structure, trip.when)
    for option, ids in (
        ("--via", _sites(schedule, trip)[:-1]),
        ("--person", (person.person,)),
        ("--carry", () if trip.carry is None else (trip.carry.id,)),
        ("--when", trip.when),
        ("--close", tuple(one for one in ground.closed if one not in by_condition)),
        ("--limits", (outing.limits or None,)),
    ):
        for one in ids:
            if one is not None:
                yield from (option, one)


def _not_to_ask(schedule: Schedule, ground: Ground, trip: Trip) -> Iterator[str]:
    """Yield what only the plan knows, so that a single route cannot have it."""
    person, carry = _person(schedule, trip), trip.carry
    own_sizes = (person.reach_m, person.rate_m_per_s, person.corridor_radius_m)
    if any(size is not None for size in own_sizes):
        yield f"the plan gives {person.id} a reach, rate or corridor of its own"
    known = None if carry is None else ground.structure.by_id.get(carry.id)
    sizes = ("size_m", "mass_kg", "envelope_m")
    if carry is not None and any(
        getattr(known, size, None) != getattr(carry, size) for size in sizes
    ):
        yield f"only the plan gives {carry.id} its size or mass"


def _sites(schedule: Schedule, trip: Trip) -> tuple[str, ...]:
    via = next((act.via for act in schedule.plan.acts if act.id == trip.act), ())
    return (trip.to_site,) if trip.laying else (*via, trip.to_site)


def _person(schedule: Schedule, trip: Trip) -> OutingPerson:
    return next(one for one in schedule.plan.outing.people if one.id == trip.person)
