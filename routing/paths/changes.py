"""One thing changed at a time: a zone taken away, a closure lifted, a limit moved, a load put down.

Every function gives the structure and the situation that result; nothing is
changed in place.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace

from routing.graph.situation import Situation
from routing.limits import Limits
from structures.elements import Condition
from structures.model import Structure

__all__ = ["Case", "base_limit", "with_limit", "without_closures", "without_load", "without_zones"]

_PERSONAL = ("reach_m", "rate_m_per_s", "corridor_radius_m")


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """A structure in a situation: what a reach graph is built from."""

    structure: Structure
    situation: Situation


def without_zones(case: Case, zone_ids: Collection[str]) -> Case:
    """Return the case without some zones."""
    kept = tuple(zone for zone in case.structure.zones if zone.id not in zone_ids)
    return Case(structure=_remade(case.structure, zones=kept), situation=case.situation)


def without_closures(case: Case, element_ids: Collection[str]) -> Case:
    """Return the case with some elements open, whether named as closed or by a condition."""
    conditions = tuple(
        _remade_condition(condition, element_ids) for condition in case.structure.conditions
    )
    closed = tuple(one for one in case.situation.closed if one not in element_ids)
    return Case(
        structure=_remade(case.structure, conditions=conditions),
        situation=replace(case.situation, closed=closed),
    )


def without_load(case: Case) -> Case:
    """Return the case with nothing carried."""
    return Case(structure=case.structure, situation=replace(case.situation, carry=None))


def base_limit(situation: Situation, name: str) -> float:
    """Return a limit as it counts: the person's own where there is one."""
    own = getattr(situation.person, name, None) if name in _PERSONAL else None
    return float(getattr(situation.limits, name) if own is None else own)


def with_limit(situation: Situation, name: str, value: float) -> Situation:
    """Return the situation with one limit moved, the person's own where there is one."""
    person = situation.person
    if person is not None and name in _PERSONAL and getattr(person, name) is not None:
        return replace(situation, person=person.model_copy(update={name: value}))
    limits: Limits = situation.limits.model_copy(update={name: value})
    return replace(situation, limits=limits)


def _remade(structure: Structure, **lists: object) -> Structure:
    """Return the structure with other lists; made anew, so that no cached look-up goes along."""
    content = {name: getattr(structure, name) for name in Structure.model_fields}
    return Structure.model_construct(**{**content, **lists})


def _remade_condition(condition: Condition, opened: Collection[str]) -> Condition:
    closes = tuple(one for one in condition.closes if one not in opened)
    return condition.model_copy(update={"closes": closes})
