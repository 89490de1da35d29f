"""Whether the grips that a plan names are there: which there are depends on reach and limits."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from routing.graph.grip_names import nearest_grips, rail_length_text
from routing.limits import Limits
from routing.outings.plan_file.act_record import Act
from routing.outings.plan_file.bodies import body_of
from routing.outings.plan_file.records import Errand, Holder, OutingItem, OutingPerson
from structures.elements import Handrail
from structures.errors import Problem
from structures.model import Structure

__all__ = ["check_grips"]


def check_grips(
    lists: Mapping[str, Sequence[Any] | None], structure: Structure, limits: Limits
) -> Iterator[Problem]:
    """Yield each grip (``H12@0.250``) of a handrail of the structure that is not there.

    A plan whose people could not be read is not looked at: where grips are
    depends on how far they reach. Handrails that are not there are not this
    check's matter.
    """
    people = {one.id: one for one in lists.get("people") or () if isinstance(one, OutingPerson)}
    named = [
        (place, grip, who)
        for place, grip, who in _named(lists)
        if isinstance(structure.by_id.get(grip.rpartition("@")[0]), Handrail)
    ]
    if not named or not people:
        return
    known = _Grips(structure, limits, people)
    for place, grip, who in named:
        for person in who or tuple(people):
            if person not in people or grip in known.of(person):
                continue
            rail = structure.find(grip.rpartition("@")[0], (Handrail,))
            near = nearest_grips(grip, known.on(person, rail.id))
            length = f"; {rail_length_text(rail)}"
            yield Problem(
                place=place,
                message=f"no grip has the id {grip!r} (for {person}){length}",
                remedy=f"did you mean {' or '.join(near)}?",
            )
            break


class _Grips:
    """The ids of all grips for each person, worked out once for each."""

    def __init__(
        self, structure: Structure, limits: Limits, people: Mapping[str, OutingPerson]
    ) -> None:
        self.structure, self.limits, self.people = structure, limits, people
        self._known: dict[str, frozenset[str]] = {}

    def of(self, person: str) -> frozenset[str]:
        """Return all of a person's."""
        from routing.graph.grips import place_grips
        from routing.graph.situation import Situation

        if person not in self._known:
            body = body_of(self.people[person], self.structure)
            situation = Situation(limits=self.limits, person=body)
            self._known[person] = frozenset(place_grips(self.structure, situation).ids)
        return self._known[person]

    def on(self, person: str, rail: str) -> list[str]:
        """Return those on one handrail."""
        return sorted(one for one in self.of(person) if one.rpartition("@")[0] == rail)


def _named(
    lists: Mapping[str, Sequence[Any] | None],
) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    """Yield (place, grip, who must find it there; nobody: everybody) in the order of the plan."""
    for i, one in enumerate(lists.get("holders") or ()):
        if isinstance(one, Holder) and "@" in one.at:
            yield f"holders[{i}].at", one.at, ()
    for i, one in enumerate(lists.get("items") or ()):
        if isinstance(one, OutingItem):
            for key, grip in _grips_of_item(one):
                yield f"items[{i}].{key}", grip, ()
    may = {one.id: one.who for one in lists.get("errands") or () if isinstance(one, Errand)}
    for i, one in enumerate(lists.get("acts") or ()):
        if isinstance(one, Act):
            for key, grip, who in _grips_of(one):
                yield (
                    f"acts[{i}].{key}",
                    grip,
                    who if one.errand is None else may.get(one.errand, who),
                )


def _grips_of_item(item: OutingItem) -> Iterator[tuple[str, str]]:
    sites = [("at", item.at), ("ends_at", item.ends_at)]
    sites += [(f"spans[{j}]", site) for j, site in enumerate(item.spans)]
    for key, site in sites:
        if site is not None and "@" in site:
            yield key, site


def _grips_of(act: Act) -> Iterator[tuple[str, str, tuple[str, ...]]]:
    others = act.who[1:] if act.beside else ()
    sites = [("at", act.at, act.who[:1] if others else act.who), ("beside", act.beside, others)]
    sites += [("to", act.to, act.who)]
    sites += [(f"via[{j}]", site, act.who) for j, site in enumerate(act.via)]
    for key, site, who in sites:
        if site is not None and "@" in site:
            yield key, site, who
