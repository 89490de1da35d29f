"""What a review pack is made from: an outing worked out, and what was looked at besides."""

from dataclasses import dataclass
from functools import cached_property
from typing import Final

from routing.limits import Limits
from routing.outings.choosing.late_records import TimeLost
from routing.outings.clock.spread import spread_of
from routing.outings.clock.spread_records import OutingSpread
from routing.outings.plan import PlannedOuting
from routing.outings.safety.tethers import trips_in_time
from routing.outings.translations import Trip
from routing.studies.outing_closures import ClosuresFound
from routing.studies.outing_sites import PersonSites

__all__ = ["SPREAD_SAMPLES", "SPREAD_SEED", "PackMaterial", "PackWay", "unsafe_sites", "ways_of"]

SPREAD_SAMPLES: Final = 10_000
SPREAD_SEED: Final = 1
"""Of the spread in a pack: always the same, so that the same plan gives the same pack."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PackWay:
    """One way of one person, with the key that the page knows it by."""

    key: str
    person: str
    start_s: float
    end_s: float
    trip: Trip


@dataclass(frozen=True, kw_only=True, eq=False)
class PackMaterial:
    """All that a pack shows.

    Parameters
    ----------
    planned
        The outing, worked out.
    limits
        Limits in force.
    sites
        The site table of each person, or None: then the pack says that it was not checked.
    closures
        What single handrails cost, or None: then the pack says that it was not checked.
    losses
        What becomes of the plan when time is lost, for each loss that was asked about.
    """

    planned: PlannedOuting
    limits: Limits
    sites: tuple[PersonSites, ...] | None = None
    closures: tuple[ClosuresFound, ...] | None = None
    losses: tuple[TimeLost, ...] = ()

    @cached_property
    def spread(self) -> OutingSpread | None:
        """How the times spread; None where a way is missing."""
        known = self.planned.answer.spread
        if known is not None and (known.samples, known.seed) == (SPREAD_SAMPLES, SPREAD_SEED):
            return known
        return spread_of(self.planned.schedule, SPREAD_SAMPLES, SPREAD_SEED)


def unsafe_sites(material: PackMaterial) -> tuple[str, ...]:
    """Return the worksites of which the site table finds something not safe, by id."""
    return tuple(
        sorted({row.worksite for one in material.sites or () for row in one.rows if row.failed})
    )


def ways_of(planned: PlannedOuting) -> tuple[PackWay, ...]:
    """Return all ways by time, then by person."""
    found = [
        (start_s, number, end_s, person.id, trip)
        for number, person in enumerate(planned.outing.people)
        for start_s, end_s, trip in trips_in_time(planned.schedule, person.id)
    ]
    found.sort(key=lambda one: one[:2])
    return tuple(
        PackWay(key=f"w{i}", person=person, start_s=start_s, end_s=end_s, trip=trip)
        for i, (start_s, _, end_s, person, trip) in enumerate(found, start=1)
    )
