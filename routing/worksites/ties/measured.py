"""Places on rails, and what is known of the lines from them to an attach point."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from routing.worksites.ties.kit import Series
from routing.worksites.ties.lines import Line, LinesTo
from routing.worksites.ties.rails import Rails

__all__ = ["ROUNDING_M", "Key", "Places", "TiePlace", "margin_m"]

ROUNDING_M = 1e-9
"""Lengths this much over an end of a span still count as at the end [m]."""

Key: TypeAlias = tuple[int, float]
"""Rail and place along it [m]."""


@dataclass(frozen=True, slots=True)
class TiePlace:
    """A place on a rail with its lines to both positions."""

    rail: int
    along_m: float
    held: Line
    seated: Line

    @property
    def zone(self) -> str | None:
        """The zone that one of the two lines is not certainly clear of."""
        return self.held.zone or self.seated.zone


def margin_m(place: TiePlace, series: Series) -> float:
    """Return how far both lines are from the nearer end of a chain's span [m].

    Negative where a line is outside of it. Zones are not reckoned with.
    """
    return min(
        series.extended_m - place.held.longest_m,
        series.extended_m - place.seated.longest_m,
        place.held.shortest_m - series.cinched_m,
        place.seated.shortest_m - series.cinched_m,
    )


@dataclass(slots=True, eq=False)
class Places:
    """What is known of places from which one attach point may be tied.

    Rails are given in id order, so that ties go to the lower id.
    """

    rails: Rails
    held: LinesTo
    seated: LinesTo
    free: dict[Key, tuple[bool, bool]] = field(default_factory=dict, init=False)
    """Whether the straight lines from a place, held and seated, pass all solids."""
    _known: dict[Key, TiePlace] = field(default_factory=dict, init=False)

    def known(self, key: Key) -> TiePlace | None:
        """Return what was measured at a place, if anything was."""
        return self._known.get(key)

    def measure(self, key: Key, sees: Sequence[bool] | None = None) -> TiePlace:
        """Measure one place, and know it from now on.

        Parameters
        ----------
        key
            The place.
        sees
            Whether it sees the held and the seated position, if that is known.
        """
        point_m = np.array(self.rails.point_at(*key))
        # A line that passes all solids may still go through a seam between them.
        free = [None if one else False for one in self.free.get(key, (True, True))]
        held, seated = (
            to.measure(point_m, sees=one)
            for to, one in zip((self.held, self.seated), sees or free, strict=True)
        )
        self._known[key] = found = TiePlace(*key, held, seated)
        return found

    def barred_between(self, known: TiePlace, half_m: float) -> bool:
        """Tell whether a zone bars all lines from a piece of rail, from what is in its middle."""
        rail, along_m = known.rail, known.along_m
        middle_m, first_m, last_m = (
            np.array(self.rails.point_at(rail, at_m))
            for at_m in (along_m, along_m - half_m, along_m + half_m)
        )
        bent_m = np.abs((first_m + last_m) / 2 - middle_m).max()
        if bent_m > ROUNDING_M or abs(math.dist(first_m, last_m) - 2 * half_m) > ROUNDING_M:
            return False  # the rail has a corner there
        return any(
            line.zone is not None and line.straight and to.barred_between(first_m, last_m)
            for to, line in ((self.held, known.held), (self.seated, known.seated))
        )

    def may_see(self, key: Key) -> bool | None:
        """Tell whether straight lines from a place pass all solids; None if that is not known."""
        free = self.free.get(key)
        return None if free is None else all(free)

    def taken_for_straight(self, key: Key) -> TiePlace | None:
        """Return a place with both lines taken for straight; None if they are too long to be."""
        point_m = np.array(self.rails.point_at(*key))[None]
        lines = []
        for to in (self.held, self.seated):
            straight_m = float(to.straight_m(point_m)[0])
            if straight_m > to.farthest_m:
                return None
            lines.append(Line(straight_m, straight_m, None))
        return TiePlace(*key, *lines)
