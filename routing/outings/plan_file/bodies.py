"""The bodies of an outing's people: what the plan says of them, else what the structure says."""

from typing import Any

from routing.outings.plan_file.records import OutingPerson
from structures.elements import Person
from structures.model import Structure

__all__ = ["body_of"]


def body_of(person: OutingPerson, structure: Structure) -> Person:
    """Return reach, rate and corridor: the plan's word first, then the structure's."""
    known = None if person.person is None else structure.find(person.person, (Person,))
    made: dict[str, Any] = {"id": person.id, "name": person.name}
    for key in ("reach_m", "rate_m_per_s", "corridor_radius_m", "body"):
        values = [getattr(one, key) for one in (person, known) if one is not None]
        given = [value for value in values if value is not None]
        if given:
            made[key] = given[0]
    return Person(**made)
