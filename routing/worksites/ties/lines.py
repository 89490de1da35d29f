"""Lines from places on handrails to a payload attach point: how long, and past what.

A line is measured as a span: a length it is certainly not under, and one it is
certainly not over. Straight lines and proven ones are both; for the others the
real line found round the solids is the upper end and the straight distance the
lower, so that a chain is never judged by a length that favours it.
"""

from dataclasses import dataclass

import numpy as np

from routing.graph.surroundings import Named
from structures.frames import Vector
from structures.shapes import Box, Cone, Cylinder, Shape, Sphere
from structures.solids.axes import Flags, Floats, Indices, local, norms
from structures.solids.distance import signed_distance
from structures.solids.seams import SEAM_REACH_M, line_blocked
from structures.solids.sight import crosses, crosses_any
from structures.solids.sweep import Sweep, sweep_clears
from structures.solids.taut import NoWayError, Way, shortest_way

__all__ = ["EXACT_WITHIN_M", "Line", "LinesTo"]

EXACT_WITHIN_M = 1e-6
"""What an exact bent way may be off by [m] (see `structures.solids.taut`)."""

_IN_SIGHT = "exact: in sight"

_CONVEX = (Box, Cone, Cylinder, Sphere)

_PLACES = 33
"""So many places of a line are looked at to know that it keeps off a solid."""


@dataclass(frozen=True, slots=True)
class Line:
    """One line from a place on a handrail to an attach point."""

    shortest_m: float
    """The line is not shorter than this [m]."""
    longest_m: float
    """The line need not be longer than this [m]; infinite where no way was found."""
    zone: str | None
    """A keep-out zone that it is not certainly clear of."""

    @property
    def straight(self) -> bool:
        """Whether it is known to the last digit, as only straight lines are."""
        return self.longest_m == self.shortest_m

    @property
    def exact(self) -> bool:
        """Whether its length is known, not only between bounds."""
        return self.longest_m - self.shortest_m <= 2.5 * EXACT_WITHIN_M


@dataclass(frozen=True, slots=True, eq=False)
class LinesTo:
    """All lines to one attach point in one of its positions.

    Only solids and zones that a line within ``farthest_m`` could touch are
    kept: a way from a to b over a point of a solid is not shorter than the
    distances of a and b from that solid together.
    """

    point_m: Floats
    solids: Named
    zones: Named
    farthest_m: float

    @classmethod
    def to(cls, point_m: Vector, solids: Named, zones: Named, farthest_m: float) -> "LinesTo":
        """Keep what is near enough to the point to matter."""
        point = np.asarray(point_m, dtype=np.float64)
        return cls(
            point, _near(solids, point, farthest_m), _near(zones, point, farthest_m), farthest_m
        )

    def inside(self) -> str | None:
        """Return the solid that the attach point is inside of, if it is."""
        return self._inside_of(self.solids)

    def in_zone(self) -> str | None:
        """Return the zone that the attach point is in, if it is: then every line is."""
        return self._inside_of(self.zones)

    def _inside_of(self, named: Named) -> str | None:
        around = named.around(self.point_m[None], 0.0)
        for shape, name in zip(around.shapes, around.ids, strict=True):
            if signed_distance(shape, self.point_m[None])[0] < -EXACT_WITHIN_M:
                return name
        return None

    def barred_between(self, first_m: Floats, last_m: Floats) -> bool:
        """Tell whether all lines from a straight piece of rail are straight and barred for certain.

        Parameters
        ----------
        first_m, last_m
            The ends of the piece, shape (3,) [m].

        Notes
        -----
        The lines fill the triangle of the piece and the point. If both its sides go through a
        convex zone, the zone holds a line from side to side, which all of them cross. They are
        straight if no solid comes into the triangle.
        """
        starts = np.stack([first_m, last_m])
        ends = np.broadcast_to(self.point_m, starts.shape)
        if not any(
            isinstance(zone, _CONVEX) and crosses(zone, starts, ends).all()
            for zone in self.zones.shapes
        ):
            return False
        corners = np.stack([first_m, last_m, self.point_m])
        solids = self.solids.around(corners, 2 * SEAM_REACH_M)
        return all(_apart(shape, corners) for shape in solids.shapes)

    def straight_m(self, places_m: Floats) -> Floats:
        """Return straight distances, shape (n,) [m]: no line is shorter."""
        return norms(places_m - self.point_m)

    def may_see(self, places_m: Floats) -> Flags:
        """Tell from which places the straight line meets no solid, shape (n,).

        A line in the seam between two solids passes here, though nothing gets
        through; `sees` looks at that as well.
        """
        return ~crosses_any(
            self.solids.shapes, places_m, np.broadcast_to(self.point_m, places_m.shape)
        )

    def sees(self, place_m: Floats, straight_m: float) -> bool:
        """Tell whether the straight line from a place (3,) meets no solid and no seam."""
        start, end = place_m[None], self.point_m[None]
        # Only what the straight line could come near to on either side.
        some = _indices(self.solids, place_m, self.point_m, straight_m + 2 * SEAM_REACH_M)
        if _side_by_side(self.solids, some):
            touched = _touched_for_all_we_know(self.solids, some, start, end)
            if _side_by_side(self.solids, touched):
                return not line_blocked(_of(self.solids, some).shapes, start, end)[0]
        shapes = (self.solids.shapes[k] for k in some.tolist())
        return not any(crosses(one, start, end)[0] for one in shapes)

    def way(self, place_m: Floats, *, sees: bool | None = None) -> Way | None:
        """Return the line from one place, shape (3,) [m], with its points; None if there is none.

        Its zone is not looked at; `measure` does that. ``sees`` is what `sees` says of
        the place, if that is known.
        """
        straight_m = float(norms((place_m - self.point_m)[None])[0])
        if self.sees(place_m, straight_m) if sees is None else sees:
            ends_m = np.stack([place_m, self.point_m])
            return Way(straight_m, ends_m, exact=True, bound=_IN_SIGHT)
        solids = _between(self.solids, place_m, self.point_m, self.farthest_m)
        x, y, z = place_m.tolist()
        a, b, c = self.point_m.tolist()
        try:
            return shortest_way(solids.shapes, (x, y, z), (a, b, c))
        except NoWayError:
            return None

    def measure(self, place_m: Floats, *, sees: bool | None = None) -> Line:
        """Measure the line from one place, shape (3,) [m]; ``sees`` as in `way`."""
        straight_m = float(norms((place_m - self.point_m)[None])[0])
        way = self.way(place_m, sees=sees)
        if way is None:
            return Line(straight_m, np.inf, None)
        zone = self._zone_met(way)
        if way.bound == _IN_SIGHT:
            return Line(straight_m, straight_m, zone)
        shortest_m = way.length_m - EXACT_WITHIN_M if way.exact else straight_m
        return Line(shortest_m, way.length_m + EXACT_WITHIN_M, zone)

    def _zone_met(self, way: Way) -> str | None:
        """Return a zone that the taut line is not certainly clear of.

        Where a way is only a bound, the line that is pulled taut may lie
        elsewhere; it is clear of a zone for certain if no line of that length
        can touch it.
        """
        if not self.zones.ids:
            return None
        near = _between(self.zones, way.points_m[0], way.points_m[-1], way.length_m)
        if not near.ids:
            return None
        if not way.exact:
            return near.ids[0]
        starts, ends = way.points_m[:-1], way.points_m[1:]
        still = np.tile([1.0, 0.0, 0.0], (len(starts), 1))
        line = Sweep(starts, ends, still, still, 0.0)
        bulge_m = _bulge_m(way)
        for shape, name in zip(near.shapes, near.ids, strict=True):
            if not sweep_clears((shape,), line, bulge_m).all():
                return name
        return None


def _apart(shape: Shape, corners: Floats) -> bool:
    """Tell whether a solid is certainly apart from a triangle, corners of shape (3, 3) [m].

    A box is if all corners are beyond one of its faces. Of others the distance from the line
    down the middle must be more than half the first side.
    """
    if isinstance(shape, Box):
        off = np.abs(local(corners, shape)) > np.asarray(shape.size_m) / 2 + 2 * SEAM_REACH_M
        return bool((off.all(axis=0) & _one_sided(local(corners, shape))).any())
    first, last, point = corners
    middle = (first + last) / 2
    places = middle + np.linspace(0.0, 1.0, _PLACES)[:, None] * (point - middle)
    between_m = float(norms((point - middle)[None])[0]) / (_PLACES - 1) / 2
    half_m = float(norms((last - first)[None])[0]) / 2
    return float(signed_distance(shape, places).min()) > half_m + between_m + 2 * SEAM_REACH_M


def _one_sided(values: Floats) -> Flags:
    """Tell of which columns all rows have one sign."""
    return np.asarray((values > 0).all(axis=0) | (values < 0).all(axis=0), dtype=np.bool_)


def _bulge_m(way: Way) -> float:
    """Return how far the line can be off the straight pieces between its points [m].

    A curve of length l over a chord of length c is off it by no more than
    sqrt(l^2 - c^2) / 2; all that the line is longer than its chords is taken
    to be in the worst piece.
    """
    chords_m = norms(np.diff(way.points_m, axis=0))
    extra_m = max(way.length_m - float(chords_m.sum()), 0.0)
    if len(chords_m) == 1 or extra_m < 1e-12:
        return 0.0
    longest_m = float(chords_m.max())
    return float(np.sqrt(extra_m * (extra_m + 2 * longest_m)) / 2)


def _touched_for_all_we_know(
    named: Named, some: Indices, start_m: Floats, end_m: Floats
) -> Indices:
    """Keep what a straight line, ends of shape (1, 3), may come within `SEAM_REACH_M` of.

    A distance changes by no more than one moves, so a few places on the line bound it.
    """
    places_m = start_m + np.linspace(0.0, 1.0, _PLACES)[:, None] * (end_m - start_m)
    most_m = float(norms(end_m - start_m)[0]) / (_PLACES - 1) / 2 + 2 * SEAM_REACH_M
    kept: Indices = some[_distances_m(named, some, places_m).min(axis=1) <= most_m]
    return kept


def _side_by_side(named: Named, some: Indices) -> bool:
    """Tell whether any two stand so near to each other that there may be a seam between them."""
    if len(some) < 2:
        return False
    low_m, high_m = named.tables.low_m[some] - SEAM_REACH_M, named.tables.high_m[some]
    beside = ((low_m[:, None] <= high_m) & (low_m <= high_m[:, None])).all(axis=2)
    return int(beside.sum()) > len(some)


def _near(named: Named, point_m: Floats, farthest_m: float) -> Named:
    return _between(named, point_m, point_m, 2 * farthest_m)


def _between(named: Named, start_m: Floats, end_m: Floats, length_m: float) -> Named:
    """Keep what a line of a length from start to end could touch."""
    return _of(named, _indices(named, start_m, end_m, length_m))


def _indices(named: Named, start_m: Floats, end_m: Floats, length_m: float) -> Indices:
    """Return the indices of what a line of a length from start to end could touch."""
    if not named.shapes:
        return np.zeros(0, dtype=np.int64)
    ends, most_m = np.stack([start_m, end_m]), length_m + 1e-9
    low_m, high_m = named.tables.low_m, named.tables.high_m
    # No shape is nearer than its box, which is looked at for all at once.
    past_m = np.maximum(low_m - ends[:, None], ends[:, None] - high_m)
    near = np.sqrt((np.maximum(past_m, 0.0) ** 2).sum(axis=2)).sum(axis=0) <= most_m
    some = np.flatnonzero(near)
    if not len(some):
        return some
    apart_m = np.maximum(_distances_m(named, some, ends), 0.0).sum(axis=1)
    kept: Indices = some[apart_m <= most_m]
    return kept


def _distances_m(named: Named, some: Indices, places_m: Floats) -> Floats:
    """Return the signed distances of shapes from places, shape (shapes, places) [m]."""
    shape = np.repeat(some, len(places_m))
    apart_m = named.tables.distance_m(shape, np.tile(places_m, (len(some), 1)))
    return apart_m.reshape(len(some), len(places_m))


def _of(named: Named, some: Indices) -> Named:
    kept = some.tolist()
    return Named(tuple(named.shapes[k] for k in kept), tuple(named.ids[k] for k in kept))
