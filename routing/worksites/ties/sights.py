"""Straight lines that searches for places ask about, all of them looked at in one go."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias, TypeVar

import numpy as np

from routing.worksites.in_step import Search
from routing.worksites.ties.lines import LinesTo
from structures.solids.axes import Flags, Floats
from structures.solids.seams import through_seam
from structures.solids.sight import crosses_any
from structures.solids.tables import ShapeTables

__all__ = ["Ask", "Seeking", "Sight", "look"]

_Found = TypeVar("_Found")


@dataclass(frozen=True, slots=True, eq=False)
class Sight:
    """Straight lines from some places to an attach point."""

    to: LinesTo
    places_m: Floats
    seams: bool
    """Whether a seam between two solids counts as a solid; finding that is slow."""


Ask: TypeAlias = tuple[Sight, ...]

Seeking: TypeAlias = Search[Ask, list[Flags], _Found]
"""A search that asks about lines, and is told of each `Sight` which of them are free."""


def look(solids: ShapeTables, asked: Sequence[Ask]) -> list[list[Flags]]:
    """Tell which lines are free, for each sight of each that asks.

    Parameters
    ----------
    solids
        All there are.
    asked
        Lines no longer than `LinesTo.farthest_m`, so that it does not matter that the
        lines to an attach point otherwise reckon only with the solids near it.
    """
    sights = [one for some in asked for one in some]
    many = [len(one.places_m) for one in sights]
    starts_m = np.concatenate([one.places_m for one in sights])
    ends_m = np.repeat(np.stack([one.to.point_m for one in sights]), many, axis=0)
    free = ~crosses_any(solids, starts_m, ends_m)
    ask = np.flatnonzero(free & np.repeat([one.seams for one in sights], many))
    free[ask] = ~through_seam(solids, starts_m[ask], ends_m[ask])
    answers = iter(np.split(free, np.cumsum(many)[:-1]))
    return [[next(answers) for _ in some] for some in asked]
