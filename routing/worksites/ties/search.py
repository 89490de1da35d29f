"""Where on the handrails to tie a chain: the best place, for a given number of tethers.

The place is sought for one series of tethers, of which only the span counts.
Places are continuous along a rail. A piece of rail holds no better margin than
its middle has, plus half the piece's length: a taut line changes by no more
than its end moves. So the best piece is split until nothing can be better by
more than `TIE_WITHIN_M`. Every answer is the margin of a place that was really
measured; what the bound leaves out can only be better.
"""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import dist
from typing import TypeAlias

import numpy as np

from routing.worksites.ties.kit import Series
from routing.worksites.ties.lines import Line, LinesTo
from structures.polylines import Polyline
from structures.solids.axes import Flags, Floats, Indices, norms

__all__ = ["ROUNDING_M", "TIE_WITHIN_M", "Best", "TiePlace", "TieSearch", "margin_m"]

TIE_WITHIN_M = 0.01
"""The margin found may be this much under the best there is [m]; a chain that fits
nowhere by more than this may be missed."""

ROUNDING_M = 1e-9
"""Lengths this much over an end of a span still count as at the end [m]."""

MOST_MEASURED = 600
"""At most so many places more are measured for each series of tethers; then the best so far
stands, and what it may lack is said."""

_PIECE_M = 0.5

_SHORTEST_UNPROVEN_M = 0.125
"""Pieces this short are not split where only a bound of the length is known [m]: the
bound says little about the places beside it, and finding it takes long."""


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


@dataclass(frozen=True, slots=True)
class Best:
    """The best place for a series of tethers, and how much better another might be."""

    place: TiePlace | None
    """Where the margin is 0 or more and the lines keep off zones; ``None`` if nowhere found."""
    margin_m: float
    """Its margin [m]; minus infinity without a place."""
    at_most_m: float
    """No place on any of the rails has a greater margin than this [m]; below 0: none has any."""


_Entry: TypeAlias = tuple[float, int, float, float]
"""Minus what the margin cannot exceed, rail, middle and half length of a piece."""


def _push(heap: list[_Entry], upper_m: float, piece: tuple[int, float, float]) -> None:
    """Put a piece on the heap if it can hold a place; rounded, so that equals go by id."""
    if upper_m >= -ROUNDING_M:
        heapq.heappush(heap, (-round(upper_m, 9), *piece))


@dataclass(frozen=True, slots=True, eq=False)
class _Pieces:
    """Pieces of rails, k of them: half_m is 0 for a single place."""

    rail: Indices
    along_m: Floats
    half_m: Floats
    point_m: Floats


@dataclass(slots=True, eq=False)
class TieSearch:
    """The search for one attach point; what it has measured serves every series of tethers.

    Rails are given in id order, so that ties go to the lower id.
    """

    lines: Sequence[Polyline]
    held: LinesTo
    seated: LinesTo
    measured: dict[tuple[int, float], TiePlace] = field(default_factory=dict)
    _pieces: _Pieces | None = None
    _seen: tuple[Flags, Flags] | None = None
    _seen_from: dict[tuple[int, float], tuple[bool | None, bool | None]] = field(
        default_factory=dict
    )

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
        heap = self._first_pieces(series)
        found, best_m = None, -np.inf
        left_out_m = -np.inf
        allowed = len(self.measured) + MOST_MEASURED
        while heap:
            enough_m = max(beat_m, best_m)
            if np.isfinite(enough_m) and -heap[0][0] <= enough_m + TIE_WITHIN_M:
                break
            known = self.measured.get(heap[0][1:3])
            if known is None and len(self.measured) >= allowed:
                break
            minus_upper, rail, along_m, half_m = heapq.heappop(heap)
            known = known or self.place(rail, along_m)
            here_m = margin_m(known, series)
            better = here_m >= -ROUNDING_M if found is None else here_m > best_m + ROUNDING_M
            if better and known.zone is None:
                found, best_m = known, here_m
            halves = self._halves((rail, along_m, half_m), known, -minus_upper, series)
            if not halves and (half_m > 0 or self.lines[rail].length_m == 0):
                left_out_m = max(left_out_m, self._whole_m(known, -minus_upper, half_m, series))
            for upper, piece in halves:
                _push(heap, upper, piece)
        rest_m = -heap[0][0] if heap else -np.inf
        # What is not on the heap any more cannot reach 0, or was measured, or left out.
        at_most_m = max(best_m, rest_m, left_out_m)
        return Best(found, best_m, at_most_m)

    def _first_pieces(self, series: Series) -> list[_Entry]:
        pieces, upper_m = self._start(series)
        heap: list[_Entry] = []
        rails, along, halves = (a.tolist() for a in (pieces.rail, pieces.along_m, pieces.half_m))
        for hope_m, rail, along_m, half_m in zip(
            upper_m.tolist(), rails, along, halves, strict=True
        ):
            _push(heap, hope_m, (rail, along_m, half_m))
        return heap

    def _whole_m(self, known: TiePlace, upper_m: float, half_m: float, series: Series) -> float:
        """Return what no margin on a piece exceeds, from the measured middle if it is proven."""
        if known.held.exact and known.seated.exact:
            return min(upper_m, margin_m(known, series) + half_m)
        return upper_m

    def _halves(
        self,
        piece: tuple[int, float, float],
        known: TiePlace,
        upper_m: float,
        series: Series,
    ) -> list[tuple[float, tuple[int, float, float]]]:
        """Return the two halves of a piece, each with what no margin on it can exceed."""
        rail, along_m, half_m = piece
        proven = known.held.exact and known.seated.exact
        if half_m < (TIE_WITHIN_M if proven else _SHORTEST_UNPROVEN_M) / 2:
            return []
        upper_m = self._whole_m(known, upper_m, half_m, series)
        quarter_m = half_m / 2
        middles = np.array([along_m - quarter_m, along_m + quarter_m])
        points = self.lines[rail].points_at(middles).tolist()
        most_m = (series.extended_m - series.cinched_m) / 2
        ends = self.held.point_m.tolist(), self.seated.point_m.tolist()
        hopes = [
            min(series.extended_m - max(dist(point, end) for end in ends), most_m)
            for point in points
        ]
        return [
            (min(upper_m, hope_m + quarter_m), (rail, middle_m, quarter_m))
            for middle_m, hope_m in zip(middles.tolist(), hopes, strict=True)
        ]

    def place(self, rail: int, along_m: float) -> TiePlace:
        """Measure one place, and remember it."""
        point_m = self.lines[rail].points_at(np.array([along_m]))[0]
        # What was found out about the first pieces is not worked out anew.
        seen = self._seen_from.get((rail, along_m), (None, None))
        found = TiePlace(
            rail,
            along_m,
            self.held.measure(point_m, may_see=seen[0]),
            self.seated.measure(point_m, may_see=seen[1]),
        )
        self.measured[rail, along_m] = found
        return found

    def _hope_m(self, points_m: Floats, series: Series) -> Floats:
        """Return what the margin at places cannot exceed, from straight distances, shape (n,).

        No line is shorter than straight, and no margin more than half the span.
        """
        least_m, most_m = series.cinched_m, series.extended_m
        farther = np.maximum(self.held.straight_m(points_m), self.seated.straight_m(points_m))
        hope: Floats = np.minimum(most_m - farther, (most_m - least_m) / 2)
        return hope

    def _start(self, series: Series) -> tuple[_Pieces, Floats]:
        """Return the pieces searched first, and what no margin on each can exceed."""
        if self._pieces is None:
            self._pieces = self._cut()
            points_m = self._pieces.point_m
            self._seen = self.held.may_see(points_m), self.seated.may_see(points_m)
            places = zip(self._pieces.rail.tolist(), self._pieces.along_m.tolist(), strict=True)
            seen = zip(*[some.tolist() for some in self._seen], strict=True)
            self._seen_from = dict(zip(places, seen, strict=True))
        pieces = self._pieces
        upper_m = self._hope_m(pieces.point_m, series)
        if self._seen is not None:
            # Where both lines are straight the lengths are known for all places at once.
            # (One through a seam between solids is longer; it may be left out for that.)
            both = self._seen[0] & self._seen[1]
            nearer = np.minimum(
                self.held.straight_m(pieces.point_m), self.seated.straight_m(pieces.point_m)
            )
            cinched = nearer - series.cinched_m
            upper_m = np.where(both, np.minimum(upper_m, cinched), upper_m)
        return pieces, upper_m + pieces.half_m

    def _cut(self) -> _Pieces:
        """Cut rails into pieces at corners and at the places nearest to the attach point."""
        rails, middles, halves, points = [], [], [], []
        nearest = np.stack([self._nearest_m(to.point_m) for to in (self.held, self.seated)], axis=1)
        for rail, line in enumerate(self.lines):
            edges = np.unique(np.concatenate([line.samples_m(_PIECE_M), nearest[rail]]))
            middle = (edges[1:] + edges[:-1]) / 2
            half = (edges[1:] - edges[:-1]) / 2
            along = np.concatenate([edges, middle])
            rails.append(np.full(len(along), rail))
            middles.append(along)
            halves.append(np.concatenate([np.zeros(len(edges)), half]))
            points.append(line.points_at(along))
        return _Pieces(
            np.concatenate(rails),
            np.concatenate(middles),
            np.concatenate(halves),
            np.concatenate(points),
        )

    def _nearest_m(self, point_m: Floats) -> Floats:
        """Return where along each line it is nearest to a point, the first of equals, (rails,)."""
        pieces = [line.segments() for line in self.lines]
        starts, ends = (np.concatenate(some) for some in zip(*pieces, strict=True))
        steps_m = [(line.along_m[:-1], line.along_m[1:]) for line in self.lines]
        # A line of one point is one piece without length.
        begin_m, end_m = (
            np.concatenate([one if len(one) else np.zeros(1) for one in some])
            for some in zip(*steps_m, strict=True)
        )
        along = ends - starts
        length2 = np.einsum("ij,ij->i", along, along)
        share = np.einsum("ij,ij->i", point_m - starts, along) / np.where(length2 > 0, length2, 1.0)
        share = np.clip(share, 0.0, 1.0)
        gap_m = norms(starts + share[:, None] * along - point_m)
        first = np.concatenate([[0], np.cumsum([len(one) for one, _ in pieces])[:-1]])
        rail = np.repeat(np.arange(len(pieces)), [len(one) for one, _ in pieces])
        best = np.flatnonzero(gap_m == np.minimum.reduceat(gap_m, first)[rail])
        best = best[np.unique(rail[best], return_index=True)[1]]
        nearest: Floats = begin_m[best] + share[best] * (end_m[best] - begin_m[best])
        return nearest
