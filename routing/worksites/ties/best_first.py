"""The best place for a series of tethers, best first.

A piece of rail holds no better margin than its middle has, plus half the
piece's length: a taut line changes by no more than its end moves. So the best
piece is split until nothing can be better by more than `TIE_WITHIN_M`.
"""

import heapq
from collections.abc import Mapping
from dataclasses import dataclass
from math import dist
from typing import TypeAlias

import numpy as np

from routing.worksites.ties.kit import Series
from routing.worksites.ties.measured import ROUNDING_M, Key, Places, TiePlace, margin_m

__all__ = ["MOST_MEASURED", "TIE_WITHIN_M", "Best", "Entry", "Run", "push"]

TIE_WITHIN_M = 0.01
"""The margin found may be this much under the best there is [m]; a chain that fits
nowhere by more than this may be missed."""

MOST_MEASURED = 600
"""At most so many places more are measured for each series of tethers; then the best so far
stands, and what it may lack is said."""

_SHORTEST_UNPROVEN_M = 0.125
"""Pieces this short are not split where only a bound of the length is known [m]: the
bound says little about the places beside it, and finding it takes long."""


@dataclass(frozen=True, slots=True)
class Best:
    """The best place for a series of tethers, and how much better another might be."""

    place: TiePlace | None
    """Where the margin is 0 or more and the lines keep off zones; ``None`` if nowhere found."""
    margin_m: float
    """Its margin [m]; minus infinity without a place."""
    at_most_m: float
    """No place on any of the rails has a greater margin than this [m]; below 0: none has any."""


Entry: TypeAlias = tuple[float, int, float, float]
"""Minus what the margin cannot exceed, rail, middle and half length of a piece."""


def push(heap: list[Entry], upper_m: float, piece: tuple[int, float, float]) -> None:
    """Put a piece on the heap if it can hold a place; rounded, so that equals go by id."""
    if upper_m >= -ROUNDING_M:
        heapq.heappush(heap, (-round(upper_m, 9), *piece))


class Run:
    """One run of the search for the best place, from the first pieces to the end.

    Parameters
    ----------
    places, series
        Where something may be tied, and what.
    met
        What searches before came to.
    guesses
        Whether lines may be taken for straight where they are likely to be.
    """

    def __init__(
        self, places: Places, series: Series, met: Mapping[Key, TiePlace], *, guesses: bool
    ) -> None:
        self.places, self.series, self.guesses = places, series, guesses
        self.met_before = met
        self.met: dict[Key, TiePlace] = {}
        """What it came to that no search before had."""
        self.guessed: list[Key] = []
        """Those of them whose lines were taken for straight."""
        self._likely: set[Key] = set()
        self._ends = places.held.point_m.tolist(), places.seated.point_m.tolist()

    def best(self, pieces: list[Entry], beat_m: float) -> Best:
        """Find the best place; parameters and result as in `TieSearch.best`."""
        heap = list(pieces)
        series, before = self.series, self.met_before
        found, best_m = None, -np.inf
        left_out_m = -np.inf
        while heap:
            enough_m = max(beat_m, best_m)
            if np.isfinite(enough_m) and -heap[0][0] <= enough_m + TIE_WITHIN_M:
                break
            known = before.get(heap[0][1:3]) or self.met.get(heap[0][1:3])
            if known is None and len(self.met) >= MOST_MEASURED:
                break
            minus_upper, rail, along_m, half_m = heapq.heappop(heap)
            known = known or self._meet((rail, along_m))
            here_m = margin_m(known, series)
            better = here_m >= -ROUNDING_M if found is None else here_m > best_m + ROUNDING_M
            if better and known.zone is None:
                found, best_m = known, here_m
            if known.zone is not None and half_m > 0 and self.places.barred_between(known, half_m):
                continue
            halves = self._halves((rail, along_m, half_m), known, -minus_upper)
            if not halves and (half_m > 0 or self.places.rails.lines[rail].length_m == 0):
                left_out_m = max(left_out_m, self._whole_m(known, -minus_upper, half_m))
            for upper, piece in halves:
                push(heap, upper, piece)
        rest_m = -heap[0][0] if heap else -np.inf
        # What is not on the heap any more cannot reach 0, or was measured, or left out.
        at_most_m = max(best_m, rest_m, left_out_m)
        return Best(found, best_m, at_most_m)

    def _meet(self, key: Key) -> TiePlace:
        """Return what is at a place: known, or taken for granted, or measured."""
        found = self.places.known(key) or self._guess(key)
        if found is None:
            found = self.places.measure(key)
        self.met[key] = found
        return found

    def _guess(self, key: Key) -> TiePlace | None:
        """Take both lines for straight where that is likely."""
        likely = self.places.may_see(key)
        if not self.guesses or not (key in self._likely if likely is None else likely):
            return None
        found = self.places.taken_for_straight(key)
        if found is not None:
            self.guessed.append(key)
        return found

    def _whole_m(self, known: TiePlace, upper_m: float, half_m: float) -> float:
        """Return what no margin on a piece exceeds, from the measured middle if it is proven."""
        if known.held.exact and known.seated.exact:
            return min(upper_m, margin_m(known, self.series) + half_m)
        return upper_m

    def _halves(
        self, piece: tuple[int, float, float], known: TiePlace, upper_m: float
    ) -> list[tuple[float, tuple[int, float, float]]]:
        """Return the two halves of a piece, each with what no margin on it can exceed."""
        series = self.series
        rail, along_m, half_m = piece
        proven = known.held.exact and known.seated.exact
        if half_m < (TIE_WITHIN_M if proven else _SHORTEST_UNPROVEN_M) / 2:
            return []
        upper_m = self._whole_m(known, upper_m, half_m)
        quarter_m = half_m / 2
        middles = [along_m - quarter_m, along_m + quarter_m]
        if known.held.straight and known.seated.straight:
            self._likely.update((rail, middle_m) for middle_m in middles)
        points = [self.places.rails.point_at(rail, middle_m) for middle_m in middles]
        most_m = (series.extended_m - series.cinched_m) / 2
        hopes = [
            min(series.extended_m - max(dist(point, end) for end in self._ends), most_m)
            for point in points
        ]
        return [
            (min(upper_m, hope_m + quarter_m), (rail, middle_m, quarter_m))
            for middle_m, hope_m in zip(middles, hopes, strict=True)
        ]
