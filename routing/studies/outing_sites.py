"""The reach table of the worksites of an outing, for each person in it."""

from dataclasses import dataclass

from routing.outings.plan import PlannedOuting
from routing.outings.translations import kit_of
from routing.paths.tethers.kit import Outfitting
from routing.worksites.reach_table import ReachRow, reach_table
from routing.worksites.restraints.at_worksite import restraint_verdicts
from routing.worksites.safety_chains import safety_chains
from structures.elements import Worksite

__all__ = ["PersonSites", "outing_sites", "worksites_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonSites:
    """One person's rows, worst first."""

    person: str
    rows: tuple[ReachRow, ...]


def worksites_of(planned: PlannedOuting, person: str) -> tuple[str, ...]:
    """Return the worksites at which a person does something, by id."""
    structure = planned.ground.structure
    sites = {site for (_, who), site in planned.leg.sites.items() if who == person}
    return tuple(sorted(s for s in sites if isinstance(structure.by_id.get(s), Worksite)))


def outing_sites(planned: PlannedOuting) -> tuple[PersonSites, ...]:
    """Return what each person's worksites can be reached, held and tied from, carrying nothing.

    Each is asked from the hatch with the person's own safety tethers, under the
    conditions in force at the start of the plan.
    """
    found = []
    for person in planned.outing.people:
        wanted = worksites_of(planned, person.id)
        if not wanted:
            continue
        ground = planned.ground
        graph = ground.graph(person.id, None, tuple(sorted(planned.outing.when)))
        reels = person.protocol == "reel"
        outfitting = Outfitting(
            name="as planned",
            protocol=person.protocol,
            kit=kit_of(person, ground.limits) if reels else None,
        )
        chains = {one.worksite: one for one in safety_chains(graph, outfitting, home=True)}
        own = [one for one in ground.structure.worksites if one.id in wanted]
        restraints = restraint_verdicts(ground.structure, own, graph.situation)
        rows = reach_table(ground.structure, graph, ways=chains, restraints=restraints)
        found.append(
            PersonSites(person=person.id, rows=tuple(row for row in rows if row.worksite in wanted))
        )
    return tuple(found)
