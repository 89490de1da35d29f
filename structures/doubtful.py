"""Doubts about numbers that a document may have but seldom means: people, loads, the unit."""

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Any, Final

from structures.elements import Handrail, Item, Person
from structures.findings import Finding
from structures.human import BODY_RADIUS, HAND_REACH, HOOK_REACH, TRANSLATION_RATE, Span

__all__ = [
    "HEAVIEST_KG",
    "LONGEST_EDGE_M",
    "LONGEST_RAIL_M",
    "check_items",
    "check_length_unit",
    "check_people",
    "check_spans",
]

HEAVIEST_KG: Final = 1000.0
"""A load heavier than this is doubtful [kg]; own planning assumption."""

LONGEST_EDGE_M: Final = 5.0
"""A load longer than this is doubtful [m]; own planning assumption."""

LONGEST_RAIL_M: Final = 10.0
"""Handrails longer than this are doubtful where most are [m]; own planning assumption."""

_SPANS: Final[dict[str, tuple[str, Span]]] = {
    "reach_m": ("reach", HAND_REACH),
    "hook_reach_m": ("hook_reach", HOOK_REACH),
    "rate_m_per_s": ("rate", TRANSLATION_RATE),
    "corridor_radius_m": ("corridor_radius", BODY_RADIUS),
}
"""What is known of people by field: its key in documents, and where it is doubtful."""


def check_people(people: Iterable[Person]) -> Iterator[Finding]:
    """Find people whose reach, rate or corridor radius few have, in id order."""
    for person in sorted(people, key=lambda person: person.id):
        yield from check_spans(person, f"person {person.id}", elements=(person.id,))


def check_spans(
    values: Any, of: str, *, elements: tuple[str, ...] = (), without: Any = None
) -> Iterator[Finding]:
    """Find the reach, rates and radius of a person or of limits that few people have.

    Parameters
    ----------
    values
        A record that has some of these fields.
    of
        Whose they are, in words.
    elements
        Ids for the findings.
    without
        A record whose own values take the place of those in ``values``.
    """
    for name, (key, span) in _SPANS.items():
        value = getattr(values, name, None)
        if value is None or getattr(without, name, None) is not None:
            continue
        if not span.is_doubtful(value):
            continue
        high = value > span.many
        limit = span.many if high else span.few
        yield Finding(
            code=f"{key.replace('_', '-')}-doubtful",
            severity="warns",
            elements=elements,
            message=(
                f"the {key} of {of} is {value:.4g} {span.unit}, {'above' if high else 'below'} "
                f"{limit:.4g} {span.unit}: {span.doubt}; confirm it, and check the length "
                "unit it is given in, before people rely on it"
            ),
            value=value,
            limit=limit,
            unit=span.unit,
        )


def check_items(items: Iterable[Item]) -> Iterator[Finding]:
    """Find items that are heavier or longer than what one person carries, in id order."""
    for item in sorted(items, key=lambda item: item.id):
        longest_m = max(item.size_m)
        for value, limit, what, unit, check in (
            (item.mass_kg, HEAVIEST_KG, "has a mass of", "kg", "the mass"),
            (longest_m, LONGEST_EDGE_M, "has an edge of", "m", "its size and the length unit"),
        ):
            if value > limit:
                yield Finding(
                    code=f"item-{'heavy' if unit == 'kg' else 'long'}",
                    severity="warns",
                    elements=(item.id,),
                    message=(
                        f"item {item.id} {what} {value:.4g} {unit}, above {limit:g} {unit} (own "
                        "planning assumption): no one person may be able to carry it, whatever "
                        f"the route says; check {check}"
                    ),
                    value=value,
                    limit=limit,
                    unit=unit,
                )


def check_length_unit(handrails: Iterable[Handrail], *, glove_grip_m: float) -> Iterator[Finding]:
    """Find that half of the handrails are too short to hold, or most are longer than any.

    One such rail is an error of that rail; so many have one cause.
    """
    rails = tuple(handrails)
    many = len(rails)
    short = _at_least(
        (_length_m(rail) < glove_grip_m - _ROUNDING_M for rail in rails),
        many,
        max(_FEWEST, (many + 1) // 2),
    )
    if short:
        yield _wrong_unit(f"{short} of {many}", "shorter than one gloved grip", glove_grip_m)
    long = _at_least(
        (_length_m(rail) > LONGEST_RAIL_M for rail in rails), many, max(_FEWEST, many // 2 + 1)
    )
    if long:
        yield _wrong_unit(f"{long} of {many}", "longer than any handrail is", LONGEST_RAIL_M)


_FEWEST: Final = 2
"""So many rails that are wrong have one cause; a single one is an error of its own."""
_ROUNDING_M: Final = 1e-9
"""Rounding of inches must not make a rail of just the limit too short [m]."""


def _length_m(rail: Handrail) -> float:
    points = rail.points_m
    if len(points) == 2:  # nearly all are, and every route asks this of every rail
        return math.dist(*points)
    return sum(math.dist(a, b) for a, b in pairwise(points))


def _at_least(found: Iterable[bool], many: int, wanted: int) -> int:
    """Return how many are, or 0 as soon as fewer than wanted can be."""
    count = others = 0
    for one in found:
        if one:
            count += 1
        else:
            others += 1
            if others > many - wanted:
                return 0
    return count if count >= wanted else 0


def _wrong_unit(share: str, how: str, limit_m: float) -> Finding:
    return Finding(
        code="length-unit-doubtful",
        severity="warns",
        message=(
            f"the length unit may be wrong: {share} handrails are {how} ({limit_m:.3f} m); every "
            "distance, and so every gap and clearance, would be wrong with it; check length_unit "
            "at the head of the document and of the CSV files it names"
        ),
        limit=limit_m,
        unit="m",
    )
