"""Which single handrails an outing hangs on: each one used, closed against each site gone to."""

from dataclasses import dataclass

from routing.graph.situation import Situation
from routing.outings.plan import PlannedOuting
from routing.outings.translations import kit_of
from routing.studies.closures.answers import Asked, Trip
from routing.studies.closures.closure import Closure
from routing.studies.closures.ranking import Critical, count_rows
from routing.studies.closures.sweep import closure_study
from routing.studies.running.run import run_study

__all__ = ["ClosuresFound", "outing_closures", "used_handrails"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClosuresFound:
    """What was looked at for one person, and the closures that change anything, worst first."""

    person: str
    trips: int
    closures: int
    critical: tuple[Critical, ...]


def used_handrails(planned: PlannedOuting, person: str) -> tuple[str, ...]:
    """Return the handrails on a person's ways, by id."""
    routes = [
        trip.route
        for trip in (*planned.leg.trips.values(), *planned.leg.laying.values())
        if trip.person == person and trip.route is not None
    ]
    return tuple(
        sorted({one.handrail for route in routes for one in route.handrails if one.handrail})
    )


def outing_closures(planned: PlannedOuting) -> tuple[ClosuresFound, ...]:
    """Close every handrail in use, one by one, against the way out to each site.

    From the hatch where the person begins, with nothing carried and the tethers
    of the start: what a loss means in the middle of the outing is told by planning it
    again with the handrail closed.
    """
    found = []
    ground = planned.ground
    for person in planned.outing.people:
        trips = [*planned.leg.trips.values(), *planned.leg.laying.values()]
        goals = sorted({trip.to_site for trip in trips if trip.person == person.id})
        asked = Asked(
            structure=ground.structure,
            situation=Situation(
                limits=ground.limits,
                person=ground.people[person.id],
                when=tuple(sorted(planned.outing.when)),
                closed=ground.closed,
            ),
            protocol=person.protocol,
            kit=kit_of(person, ground.limits) if person.protocol == "reel" else None,
        )
        ways = [Trip(starts=(person.start,), goal=goal) for goal in goals if goal != person.start]
        closures = [Closure(ids=(one,)) for one in used_handrails(planned, person.id)]
        critical: tuple[Critical, ...] = ()
        if ways and closures:
            rows = run_study(closure_study(asked, ways, closures))
            critical = count_rows(ground.structure, rows).critical
        found.append(
            ClosuresFound(
                person=person.id, trips=len(ways), closures=len(closures), critical=critical
            )
        )
    return tuple(found)
