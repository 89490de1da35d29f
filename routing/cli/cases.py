"""The people and loads that a study is asked for: each person with each load is one case."""

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated, Final, TypeAlias

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
    "RatesOption",
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
RatesOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--rate",
        metavar="SPEED",
        help="Ask for a person of this rate, with its unit, with each --reach if there are any; "
        "may be repeated: --rate 0.3ft/s --rate 0.15m/s.",
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
    rates: Sequence[str] = ()
    loads: Sequence[str] = ()

    def check(self, structure: Structure, problems: list[Problem]) -> None:
        """Add what is wrong with them, for `Choices.checks`."""
        known = {one.id for one in structure.people}
        problems.extend(
            Problem(
                place="option --reach",
                message=f"the structure has a person of the id {one.id!r} already",
                remedy="ask for that one with --person in a run of its own",
            )
            for one in self._made_up([])
            if one.id in known
        )
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
        picked.extend(self._made_up(problems))
        found = {one.id: one for one in picked if isinstance(one, Person)}
        return list(found.values())

    def _made_up(self, problems: list[Problem]) -> list[Person]:
        """Return a person of each reach with each rate."""
        reaches_m = [
            read_length_m(text, "option --reach", problems, what="a reach") for text in self.reaches
        ]
        rates_m_per_s = [_rate_m_per_s(text, problems) for text in self.rates]
        return [
            _made_up(reach_m, rate)
            for reach_m in (reaches_m or [None])
            for rate in (rates_m_per_s or [None])
            if reach_m is not None or rate is not None
        ]

    def _loads(self, structure: Structure, problems: list[Problem]) -> list[Item]:
        picked = [pick_named(structure.items, CARRY, one, problems) for one in self.loads]
        return list({one.id: one for one in picked if isinstance(one, Item)}.values())


def _made_up(reach_m: float | None, rate_m_per_s: float | None) -> Person:
    """Return a person of a reach and a rate, named after them."""
    # Ten digits: people who differ by less than that are the same, and are asked about once.
    parts = [] if reach_m is None else [f"reach-{reach_m:.10g}m"]
    if rate_m_per_s is not None:
        parts.append(f"rate-{rate_m_per_s:.10g}m/s")
    return Person(id="-".join(parts), reach_m=reach_m, rate_m_per_s=rate_m_per_s)


_SPEED: Final = re.compile(r"(?P<length>.+)/s", re.ASCII)


def _rate_m_per_s(text: str, problems: list[Problem]) -> float | None:
    """Return a speed typed with its unit [m/s]; None, and a problem, if it is none."""
    found = _SPEED.fullmatch(text.strip())
    if found is None:
        problems.append(
            Problem(
                place="option --rate",
                message=f"{text!r} is not a speed with its unit",
                remedy="give a number and m/s, ft/s or in/s, for instance 0.5ft/s",
            )
        )
        return None
    return read_length_m(found["length"], "option --rate", problems, what="a way each second")


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
