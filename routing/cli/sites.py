"""The places a route is asked between, checked before the graph is built."""

from collections.abc import Sequence
from itertools import pairwise

from routing.cli.near_ids import what_is_near
from routing.graph.sites import SITE_KINDS
from structures.elements import Handrail, Worksite
from structures.errors import Problem
from structures.model import Structure

__all__ = ["check_trips", "check_worksite"]


def check_trips(
    structure: Structure,
    trips: Sequence[tuple[tuple[str, str], ...]],
    problems: list[Problem],
) -> None:
    """Report sites that the structure does not have, and ways from a site to itself.

    A grip (``H12@0.250``) is checked as far as its handrail; which grips there
    are is known once the graph is built.

    Parameters
    ----------
    structure
        What the sites must be in.
    trips
        For each route (where it was typed, id) of its sites, in order.
    problems
        Where what is wrong is added.
    """
    for trip in trips:
        for place, site in trip:
            problems.extend(_site_faults(structure, place, site))
        problems.extend(
            Problem(
                place=place,
                message=f"the way from {before!r} to {site!r} leads nowhere",
                remedy="name another site, or out and back one on the way with --via",
            )
            for (_, before), (place, site) in pairwise(trip)
            if before == site
        )


def _site_faults(structure: Structure, place: str, site: str) -> list[Problem]:
    element = structure.by_id.get(site)
    rail = structure.by_id.get(site.rpartition("@")[0])
    if type(element) in SITE_KINDS or isinstance(rail, Handrail):
        return []
    if element is not None:
        message = f"{site!r} is the id of a {type(element).__name__.lower()}"
        remedy = f"give the id of a {_kinds()}"
    else:
        known = [e.id for _, e in structure.elements() if type(e) in SITE_KINDS]
        message = f"no {_kinds()} has the id {site!r}"
        remedy = what_is_near(site, known)
    return [Problem(place=place, message=message, remedy=remedy)]


def _kinds() -> str:
    return f"{', '.join(SITE_KINDS.values())} or grip"


def check_worksite(structure: Structure, worksite: str, problems: list[Problem]) -> None:
    """Report a worksite that the structure does not have."""
    if isinstance(structure.by_id.get(worksite), Worksite):
        return
    known = [one.id for one in structure.worksites]
    problems.append(
        Problem(
            place="WORKSITE",
            message=f"no worksite has the id {worksite!r}",
            remedy=what_is_near(worksite, known),
        )
    )
