"""Where on the handrails to tie a chain: the best place, for a given number of tethers.

The place is sought for one series of tethers, of which only the span counts.
Places are continuous along a rail, and searched best first (`best_first`).
Every answer is the margin of a place that was really measured; what the bound
leaves out can only be better.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial

import numpy as np

from routing.worksites.in_step import alone
from routing.worksites.ties.best_first import Best, Entry, Run, push
from routing.worksites.ties.kit import Series
from routing.worksites.ties.measured import ROUNDING_M, Key, Places, TiePlace
from routing.worksites.ties.rails import Pieces
from routing.worksites.ties.sights import Seeking, Sight, look
from structures.solids.tables import ShapeTables

__all__ = ["TieSearch"]

_GUESSES = 3
"""So often a search may go through on guesses; then it measures place by place."""


@dataclass(slots=True, eq=False)
class TieSearch(Places):
    """The search for one attach point; what it has measured serves every series of tethers."""

    solids: ShapeTables
    """All there are: many straight lines are looked at in one go (`sights`)."""
    measured: dict[Key, TiePlace] = field(default_factory=dict, init=False)
    """What searches have come to."""
    _pieces: Pieces | None = field(default=None, init=False)

    def best(self, series: Series, beat_m: float = -np.inf) -> Best:
        """Return the place with the best margin of 0 or more that keeps off zones, if any.

        Parameters
        ----------
        series
            The tethers.
        beat_m
            Margin that another series has already [m]: this one is given up
            once it cannot be better by more than `TIE_WITHIN_M`.
        """
        return alone(self.seek(series, beat_m), partial(look, self.solids))

    def seek(self, series: Series, beat_m: float = -np.inf) -> Seeking[Best]:
        """Search as `best` does, and leave it to others to look at straight lines.

        Most lines turn out to be straight. So the search takes it that they are
        where the place before it in sight was, goes through to the end, and has all
        that it has come to looked at together. Where it was mistaken it goes through
        anew with what is known now, so what it finds hangs on no guess.
        """
        pieces = yield from self._first_pieces(series)
        for guesses in (*[True] * _GUESSES, False):
            run = Run(self, series, self.measured, guesses=guesses)
            best = run.best(pieces, beat_m)
            if not run.guessed:
                break
            yield from self._look_at(run.guessed)
        self.measured |= run.met
        return best

    def place(self, rail: int, along_m: float) -> TiePlace:
        """Return what is at one place, as if a search had come to it."""
        key = rail, along_m
        self.measured[key] = found = self.known(key) or self.measure(key)
        return found

    def _look_at(self, keys: Sequence[Key]) -> Seeking[None]:
        """Measure places from which straight lines are expected to be free."""
        points_m = np.array([self.rails.point_at(*key) for key in keys])
        sights = (Sight(self.held, points_m, seams=True), Sight(self.seated, points_m, seams=True))
        held, seated = yield sights
        for key, sees in zip(keys, zip(held.tolist(), seated.tolist(), strict=True), strict=True):
            self.measure(key, sees)

    def _first_pieces(self, series: Series) -> Seeking[list[Entry]]:
        """Return the pieces searched first, each with what no margin on it can exceed."""
        if self._pieces is None:
            self._pieces = self.rails.cut(self.held.point_m, self.seated.point_m)
        pieces = self._pieces
        to_held_m = self.held.straight_m(pieces.point_m)
        to_seated_m = self.seated.straight_m(pieces.point_m)
        # No line is shorter than straight, and no margin more than half the span.
        hope_m = np.minimum(
            series.extended_m - np.maximum(to_held_m, to_seated_m),
            (series.extended_m - series.cinched_m) / 2,
        )
        some = np.flatnonzero(hope_m + pieces.half_m >= -ROUNDING_M)
        keys = list(zip(pieces.rail[some].tolist(), pieces.along_m[some].tolist(), strict=True))
        ask = [at for at, key in zip(some.tolist(), keys, strict=True) if key not in self.free]
        if ask:
            points_m = pieces.point_m[ask]
            held, seated = yield (
                Sight(self.held, points_m, seams=False),
                Sight(self.seated, points_m, seams=False),
            )
            asked = zip(pieces.rail[ask].tolist(), pieces.along_m[ask].tolist(), strict=True)
            free = zip(held.tolist(), seated.tolist(), strict=True)
            self.free.update(zip(asked, free, strict=True))
        # Where both lines are straight the lengths are known for all places at once.
        # (One through a seam between solids is longer; it may be left out for that.)
        both = np.array([all(self.free[key]) for key in keys], dtype=np.bool_)
        cinched_m = np.minimum(to_held_m, to_seated_m)[some] - series.cinched_m
        upper_m = np.where(both, np.minimum(hope_m[some], cinched_m), hope_m[some])
        heap: list[Entry] = []
        halves_m = pieces.half_m[some]
        for upper, key, half_m in zip(
            (upper_m + halves_m).tolist(), keys, halves_m.tolist(), strict=True
        ):
            push(heap, upper, (*key, half_m))
        return heap
