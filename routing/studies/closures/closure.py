"""What is taken out of use, singly or two at a time."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats
from routing.graph.situation import Situation
from structures.elements import Condition, Element, Handhold, Handrail, Hatch, Socket, TetherPoint
from structures.model import Structure
from structures.polylines import Polyline, segment_gaps

__all__ = [
    "KINDS",
    "Closure",
    "elements_near",
    "kind_of",
    "pieces_of",
    "single_closures",
    "two_at_a_time",
]

KINDS: Final[dict[type[Element], str]] = {
    Handrail: "handrail",
    Handhold: "handhold",
    TetherPoint: "tether point",
    Socket: "socket",
    Condition: "condition",
}
"""What can be taken out, and what it is called; a condition is put in force instead."""


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Closure:
    """Elements that are out of use together, and conditions that are in force, ids sorted."""

    ids: tuple[str, ...]

    @property
    def name(self) -> str:
        """The ids with a plus between them."""
        return " + ".join(self.ids)

    def split(self, structure: Structure) -> tuple[tuple[str, ...], frozenset[str]]:
        """Return the conditions put in force, and all that is closed, by them too.

        Raises
        ------
        UnknownIdError
            An id names nothing that can be taken out.
        """
        when: list[str] = []
        closed: set[str] = set()
        for one in self.ids:
            found = structure.find(one, tuple(KINDS))
            if isinstance(found, Condition):
                when.append(one)
                closed.update(found.closes)
            else:
                closed.add(one)
        return tuple(when), frozenset(closed)


def kind_of(structure: Structure, closure: Closure) -> str:
    """Return what is closed in words, for instance ``handrail + condition``."""
    kinds = (KINDS[type(structure.find(one, tuple(KINDS)))] for one in closure.ids)
    return " + ".join(kinds)


def single_closures(structure: Structure, situation: Situation) -> tuple[Closure, ...]:
    """Return every handrail, handhold, tether point, socket and condition singly, by id.

    Without what is closed or in force in the situation already.
    """
    ids = [one.id for _, one in structure.elements() if type(one) in KINDS]
    there = {*situation.closed, *situation.when}
    return tuple(Closure(ids=(one,)) for one in sorted(ids) if one not in there)


def two_at_a_time(ids: Iterable[str], situation: Situation) -> tuple[Closure, ...]:
    """Return every two of some elements, without what is closed or in force already."""
    there = {*situation.closed, *situation.when}
    return tuple(Closure(ids=two) for two in combinations(sorted({*ids} - there), 2))


def elements_near(structure: Structure, element_id: str, within_m: float) -> tuple[str, ...]:
    """Return the handrails, handholds, tether points and sockets near one of them, itself too.

    Parameters
    ----------
    within_m
        Least distance from element to element [m].

    Raises
    ------
    UnknownIdError
        No such element.
    """
    placed = (Handrail, Handhold, TetherPoint, Socket)
    centre = structure.find(element_id, placed)
    found = [
        one.id
        for _, one in structure.elements()
        if isinstance(one, placed) and _gap_m(centre, one) <= within_m
    ]
    return tuple(sorted(found))


def pieces_of(element: Element) -> tuple[Floats, Floats]:
    """Return both ends of each straight piece of an element, a point as a piece of no length.

    Raises
    ------
    TypeError
        The element is nothing that hands or hooks hold.
    """
    if isinstance(element, Handrail):
        return Polyline.through(element.points_m).segments()
    if isinstance(element, Handhold | Hatch | Socket | TetherPoint):
        place = np.array([element.position_m])
        return place, place
    raise TypeError(f"{element.id} is nowhere")


def _gap_m(one: Element, other: Element) -> float:
    (a, b), (c, d) = pieces_of(one), pieces_of(other)
    gap_m, _, _ = segment_gaps(a[:, None], b[:, None], c[None], d[None])
    return float(gap_m.min())
