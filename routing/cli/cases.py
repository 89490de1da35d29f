"""The people and loads that a study is asked for: each person with each load is one case."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated, TypeAlias

import typer

from routing.cli.kit_option import read_length_m
from routing.cli.question import CARRY, PERSON, Question, pick_named
from routing.graph.situation import Situation
from structures.elements import Element, Item, Person
from structures.errors import Problem
from structures.frozen import frozen
from structures.model import Structure

__all__ = [
    "CasePick",
    "LoadsOption",
    "OnePeopleOption",
    "PeopleOption",
    "ReachesOption",
    "cases_text",
]

PeopleOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--person",
        metavar="NAME",
        help="Who moves: an id or name from the structure's people; may be repeated.",
    ),
]
OnePeopleOption: TypeAlias = Annotated[
    bool, typer.Option("--people", help="Ask for all people of the structure, by id.")
]
ReachesOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--reach",
        metavar="LENGTH",
        help="Ask for a person of this reach, with its unit, all else as in the limits; "
        "may be repeated: --reach 20in --reach 24in.",
    ),
]
LoadsOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--carry",
        metavar="ITEM",
        help="An item that is carried; may be repeated. The way without it is asked for too.",
    ),
]


@frozen(kw_only=True)
class CasePick:
    """What the options say about people and loads, as typed."""

    people: Sequence[str] = ()
    everybody: bool = False
    reaches: Sequence[str] = ()
    loads: Sequence[str] = ()

    def check(self, structure: Structure, problems: list[Problem]) -> None:
        """Add what is wrong with them, for `Choices.checks`."""
        self._people(structure, problems)
        self._loads(structure, problems)
        if self.everybody and not structure.people:
            problems.append(
                Problem(
                    place="option --people",
                    message="the structure lists no people",
                    remedy="leave it out, or add people to the document",
                )
            )

    def situations(self, question: Question) -> tuple[Situation, ...]:
        """Return one situation for each person with each load; without people, the limits' own."""
        people: list[Person | None] = [*self._people(question.structure, [])] or [None]
        loads = [None, *self._loads(question.structure, [])]
        return tuple(
            replace(question.situation, person=person, carry=load)
            for person in people
            for load in loads
        )

    @staticmethod
    def people_in(situations: Sequence[Situation]) -> tuple[str, ...]:
        """Return the ids of the people of some situations, each once."""
        return tuple(dict.fromkeys(one.person.id for one in situations if one.person is not None))

    @staticmethod
    def loads_in(situations: Sequence[Situation]) -> tuple[str, ...]:
        """Return the ids of the loads of some situations, each once."""
        return tuple(dict.fromkeys(one.carry.id for one in situations if one.carry is not None))

    def _people(self, structure: Structure, problems: list[Problem]) -> list[Person]:
        picked: list[Element | None] = [
            pick_named(structure.people, PERSON, one, problems) for one in self.people
        ]
        if self.everybody:
            everybody = sorted(structure.people, key=lambda one: one.id)
            picked.extend(everybody)
        for text in self.reaches:
            reach_m = read_length_m(text, "option --reach", problems, what="a reach")
            if reach_m is not None:
                picked.append(Person(id=f"reach-{reach_m:.4g}m", reach_m=reach_m))
        found = {one.id: one for one in picked if isinstance(one, Person)}
        return list(found.values())

    def _loads(self, structure: Structure, problems: list[Problem]) -> list[Item]:
        picked = [pick_named(structure.items, CARRY, one, problems) for one in self.loads]
        return list({one.id: one for one in picked if isinstance(one, Item)}.values())


def cases_text(situations: Sequence[Situation]) -> str:
    """Return who moves with what, as one line.

    Examples
    --------
    >>> cases_text((Situation(), Situation(person=Person(id="ev-1"))))
    'reach and rate of the limits; ev-1'
    """
    names = []
    for situation in situations:
        person, carry = situation.person, situation.carry
        name = "reach and rate of the limits" if person is None else person.name or person.id
        names.append(name if carry is None else f"{name} with {carry.name or carry.id}")
    return "; ".join(names)
