"""Doubt about a whole table of handrails: most of them float, as with a wrong length unit."""

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from structures.elements import Handrail
from structures.findings import Finding
from structures.inspection.rails import FLOATING_M, MeasuredRail, measure_rails
from structures.inspection.surroundings import Surroundings
from structures.units import METRES_PER_UNIT, LengthUnit, TableUnit, fine_text

__all__ = ["check_rails_adrift"]

_WORDS: Final[dict[LengthUnit, str]] = {"m": "metres", "ft": "feet", "in": "inches"}

_FEWEST: Final = 3
"""So many handrails must float before it is one doubt about all of them."""


def check_rails_adrift(
    measured: Sequence[MeasuredRail], surroundings: Surroundings, table: TableUnit | None
) -> Iterator[Finding]:
    """Find that more than half of the handrails float, and which length unit puts them right.

    Parameters
    ----------
    measured
        All handrails.
    surroundings
        What they were measured against.
    table
        The file that the handrails are from and its unit; None if they are from
        the document itself, whose solids are in the same unit.
    """
    floating = [
        one
        for one in measured
        if (one.nearest >= 0).all()
        and float(one.distance_m.min()) > one.handrail.standoff_m + FLOATING_M
    ]
    if len(floating) < _FEWEST or 2 * len(floating) <= len(measured):
        return
    median_m = _median_m(measured)
    share = (
        f"all {len(measured)}"
        if len(floating) == len(measured)
        else f"{len(floating)} of {len(measured)}"
    )
    fits = [] if table is None else list(_fitting(measured, surroundings, table))
    if table is None:
        message = (
            f"{share} handrails float, half of them {fine_text(median_m)} or more off all solids; "
            "check their points, or add the solids that they are mounted on"
        )
    else:
        message = (
            f"{share} handrails of {table.file} float, half of them {fine_text(median_m)} or "
            "more off "
            f"all solids: is its length_unit right? It is read in {_WORDS[table.unit]}; "
        )
        message += (
            "; ".join(
                f"in {_WORDS[unit]} half of them lie {fine_text(m)} or less off" for unit, m in fits
            )
            + f': then write handrails = {{ csv = "{table.file}", length_unit = "{fits[0][0]}" }}'
            + _or_the_document(table, fits[0][0])
            if fits
            else "no other unit puts them on the solids: check their points and the frame, or add "
            "the solids that they are mounted on"
        )
    yield Finding(
        code="adrift-handrails",
        # With a unit that fits there is little doubt, and no answer is worth anything.
        severity="blocks" if fits else "warns",
        message=message,
        value=median_m,
        limit=FLOATING_M,
        unit="m",
    )


def _or_the_document(table: TableUnit, fit: LengthUnit) -> str:
    """Return what to do if the table is right, so that the document's unit is what is wrong."""
    metres = METRES_PER_UNIT
    needed_m = metres[table.document] * metres[table.unit] / metres[fit]
    right = [unit for unit, one_m in metres.items() if math.isclose(one_m, needed_m)]
    advice = (
        f'then write length_unit = "{right[0]}" at its head, and keep length_unit = '
        f'"{table.unit}" for {table.file}'
        if right
        else "then its length_unit, or the solids in it, must be put right"
    )
    return (
        f"; or {table.file} is right and the document, which is read in "
        f"{_WORDS[table.document]}, is wrong: {advice}. See in the sources which of the two it is"
    )


def _median_m(measured: Sequence[MeasuredRail]) -> float:
    return float(np.median([one.distance_m.min() for one in measured]))


def _fitting(
    measured: Sequence[MeasuredRail], surroundings: Surroundings, table: TableUnit
) -> Iterator[tuple[LengthUnit, float]]:
    """Yield the other units with which handrails lie outside of solids, a hand's standoff off."""
    for unit, metres in METRES_PER_UNIT.items():
        if unit == table.unit:
            continue
        factor = metres / METRES_PER_UNIT[table.unit]
        rails = [_rescaled(one.handrail, factor, table) for one in measured]
        median_m = _median_m(measure_rails(rails, surroundings))
        if 0.0 <= median_m <= FLOATING_M:
            yield unit, median_m


def _rescaled(rail: Handrail, factor: float, table: TableUnit) -> Handrail:
    origin_m = np.asarray(table.origin_m)
    points_m = origin_m + factor * (np.asarray(rail.points_m) - origin_m)
    return rail.model_copy(update={"points_m": tuple(map(tuple, points_m.tolist()))})
