"""Lines of straight pieces in space: lengths, points along them, gaps between them."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from structures.frames import Vector
from structures.frozen import frozen

__all__ = ["Polyline", "segment_gaps"]

Floats = NDArray[np.float64]


@frozen(eq=False)
class Polyline:
    """Corner points (k, 3) and the distance along the line of each, shape (k,) [m].

    Examples
    --------
    >>> rail = Polyline.through([(0.0, 0.0, 0.0), (3.0, 0.0, 0.0), (3.0, 4.0, 0.0)])
    >>> rail.length_m
    7.0
    >>> rail.points_at(np.array([0.0, 5.0])).tolist()
    [[0.0, 0.0, 0.0], [3.0, 2.0, 0.0]]
    """

    points_m: Floats
    along_m: Floats

    @classmethod
    def through(cls, points_m: Sequence[Vector]) -> "Polyline":
        """Make the line through points in order; one point alone is a line of no length."""
        points = np.asarray(points_m, dtype=np.float64).reshape(-1, 3)
        steps = np.sqrt(((points[1:] - points[:-1]) ** 2).sum(axis=1))
        return cls(points, np.concatenate([[0.0], np.cumsum(steps)]))

    @property
    def length_m(self) -> float:
        """Length from the first point to the last [m]."""
        return float(self.along_m[-1])

    @cached_property
    def box_m(self) -> Floats:
        """Lowest and highest coordinates, shape (2, 3) [m]."""
        return np.stack([self.points_m.min(axis=0), self.points_m.max(axis=0)])

    def points_at(self, along_m: Floats) -> Floats:
        """Return the points at distances along the line, shape (n, 3) [m]."""
        if len(self.points_m) == 1:
            return np.repeat(self.points_m, len(along_m), axis=0)
        piece = np.clip(
            np.searchsorted(self.along_m, along_m, side="right") - 1, 0, len(self.points_m) - 2
        )
        start = self.along_m[piece]
        share = ((along_m - start) / (self.along_m[piece + 1] - start))[:, None]
        first, last = self.points_m[piece], self.points_m[piece + 1]
        # Exactly the corner at a corner, so that what is met there is met exactly.
        return np.where(share >= 1.0, last, first + share * (last - first))

    def samples_m(self, step_m: float) -> Floats:
        """Return distances along the line no more than a step apart, with every corner, (n,)."""
        parts = [
            np.linspace(a, b, max(1, int(np.ceil((b - a) / step_m - 1e-9))), endpoint=False)
            for a, b in zip(self.along_m[:-1], self.along_m[1:], strict=True)
        ]
        return np.concatenate([*parts, self.along_m[-1:]])

    def segments(self) -> tuple[Floats, Floats]:
        """Return starts and ends of the straight pieces, each (k, 3); one point is one piece."""
        if len(self.points_m) == 1:
            return self.points_m, self.points_m
        return self.points_m[:-1], self.points_m[1:]

    def gap_to_m(self, points_m: Floats) -> Floats:
        """Return the distance from each point to the line, shape (n,) [m]."""
        starts, ends = self.segments()
        gap = segment_gaps(
            points_m[:, None, :], points_m[:, None, :], starts[None, :, :], ends[None, :, :]
        )[0]
        nearest: Floats = gap.min(axis=1)
        return nearest


def segment_gaps(
    first_starts: Floats, first_ends: Floats, second_starts: Floats, second_ends: Floats
) -> tuple[Floats, Floats, Floats]:
    """Return how near segments come to each other, and where.

    Parameters
    ----------
    first_starts, first_ends, second_starts, second_ends
        End points, shapes (..., 3) that broadcast with each other [m]. A
        segment may have no length.

    Returns
    -------
    tuple
        Smallest distance, and the share (0..1) along the first and the second
        segment where it is found, each of shape (...).

    Notes
    -----
    The closest pair of two segments is either inside both, where it is that of
    their lines, or has an end of one of them in it: all five are tried.
    """
    first_starts, first_ends, second_starts, second_ends = np.broadcast_arrays(
        first_starts, first_ends, second_starts, second_ends
    )
    d1, d2 = first_ends - first_starts, second_ends - second_starts
    between = first_starts - second_starts
    a, e, b = _dot(d1, d1), _dot(d2, d2), _dot(d1, d2)
    c, f = _dot(d1, between), _dot(d2, between)
    zero, one = np.zeros_like(a), np.ones_like(a)
    denominator = a * e - b * b
    inner = np.clip(_ratio(b * f - c * e, denominator), 0.0, 1.0)
    pairs = (
        (inner, np.clip(_ratio(b * inner + f, e), 0.0, 1.0)),
        (zero, np.clip(_ratio(f, e), 0.0, 1.0)),
        (one, np.clip(_ratio(b + f, e), 0.0, 1.0)),
        (np.clip(_ratio(-c, a), 0.0, 1.0), zero),
        (np.clip(_ratio(b - c, a), 0.0, 1.0), one),
    )
    best = np.full_like(a, np.inf)
    where_first, where_second = zero.copy(), zero.copy()
    for s, t in pairs:
        apart = between + s[..., None] * d1 - t[..., None] * d2
        gap2 = _dot(apart, apart)
        nearer = gap2 < best
        best = np.where(nearer, gap2, best)
        where_first = np.where(nearer, s, where_first)
        where_second = np.where(nearer, t, where_second)
    return np.sqrt(best), where_first, where_second


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = (a * b).sum(axis=-1)
    return product


def _ratio(top: Floats, bottom: Floats) -> Floats:
    """Divide; 0 where the bottom is 0 (a segment of no length, or parallel ones)."""
    return np.divide(top, bottom, out=np.zeros_like(top), where=bottom > 1e-300)
