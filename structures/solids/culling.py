"""Which shapes can matter to which balls: a cell grid, so that far pairs cost nothing.

Balls are sorted into cubic cells. Each shape's box then asks only the cells it
can reach, so the work grows with the pairs that are near, not with all pairs.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from structures.shapes import Shape
from structures.solids.axes import Floats, Indices, norms
from structures.solids.distance import bounding_box

__all__ = ["Cells", "ShapeBoxes", "near_pairs"]

_CELL_M = 2.0
"""Edge of a cell [m]; about the reach of a ball that is moved, measured to be a good size."""

_LARGEST_INDEX = (1 << 20) - 1
"""Cell indices are packed in 21 bits each; 20 hold +-2000 km of 2 m cells."""


@dataclass(frozen=True, slots=True, eq=False)
class ShapeBoxes:
    """Bounding boxes of shapes, each of shape (s, 3) [m]."""

    low_m: Floats
    high_m: Floats

    @classmethod
    def of(cls, shapes: tuple[Shape, ...]) -> "ShapeBoxes":
        """Return the boxes of all shapes, in their order."""
        low = np.empty((len(shapes), 3))
        high = np.empty((len(shapes), 3))
        for i, shape in enumerate(shapes):
            low[i], high[i] = bounding_box(shape)
        return cls(low, high)

    def farthest_m(self, points_m: Floats) -> float:
        """Return a distance that no point is from any box [m]."""
        low = np.minimum(self.low_m.min(axis=0), points_m.min(axis=0))
        high = np.maximum(self.high_m.max(axis=0), points_m.max(axis=0))
        return float(np.sqrt(((high - low) ** 2).sum()))


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Points sorted into cells; cell k holds ``order[first[k]:first[k + 1]]``."""

    order: Indices
    first: Indices
    corner: Indices
    """Indices of each occupied cell, shape (cells, 3)."""
    code: Indices
    """The same packed into one ascending number, shape (cells,)."""

    @classmethod
    def of(cls, points_m: Floats) -> "Cells":
        """Sort points of shape (n, 3) [m] into cells."""
        corner = np.floor(points_m / _CELL_M).astype(np.int64)
        code = _pack(corner)
        order = np.argsort(code, kind="stable")
        ascending = code[order]
        # numpy.unique would load masked arrays for this, which is slow to start.
        new = np.ones(len(ascending), dtype=np.bool_)
        new[1:] = ascending[1:] != ascending[:-1]
        first = np.flatnonzero(new)
        return cls(order, np.append(first, len(order)), corner[order[first]], ascending[first])

    def inside(self, low_m: Floats, high_m: Floats) -> Indices:
        """Return the points in all cells that a box of shape (3,), (3,) [m] reaches into."""
        low = np.floor(low_m / _CELL_M)
        high = np.floor(high_m / _CELL_M)
        low = np.clip(low, -_LARGEST_INDEX, _LARGEST_INDEX).astype(np.int64)
        high = np.clip(high, -_LARGEST_INDEX, _LARGEST_INDEX).astype(np.int64)
        rows = int(np.prod(high[:2] - low[:2] + 1))
        if rows > len(self.code):
            within = ((self.corner >= low) & (self.corner <= high)).all(axis=1)
            return self._gather(self.first[:-1][within], self.first[1:][within])
        # Cells that differ in the last index only have consecutive codes: search whole rows.
        x, y = np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1))
        row = np.stack([x.ravel(), y.ravel(), np.zeros(rows, dtype=np.int64)], axis=1)
        begin, end = row.copy(), row
        begin[:, 2], end[:, 2] = low[2], high[2]
        start = np.searchsorted(self.code, _pack(begin), side="left")
        stop = np.searchsorted(self.code, _pack(end), side="right")
        return self._gather(self.first[start], self.first[stop])

    def _gather(self, start: Indices, stop: Indices) -> Indices:
        """Return the points of runs start:stop of the order."""
        count = stop - start
        total = int(count.sum())
        skip = np.repeat(start - (np.cumsum(count) - count), count)
        found: Indices = self.order[np.arange(total) + skip]
        return found


def near_pairs(
    boxes: ShapeBoxes, points_m: Floats, radii_m: Floats, some: Indices, within_m: float
) -> Iterator[tuple[int, Indices, Floats]]:
    """Find the balls nearer than a distance to the box of each shape.

    Parameters
    ----------
    boxes
        Boxes of the shapes.
    points_m
        Centres of balls, shape (n, 3) [m].
    radii_m
        Their radii, shape (n,) [m].
    some
        The balls to look at, shape (k,), ascending.
    within_m
        Largest distance from ball to box [m]; may be negative or infinite.

    Yields
    ------
    tuple
        Index of the shape, the balls near it, and their distances to its
        box (no more than the distances to the shape) [m]; shapes in order.
    """
    cells = Cells.of(points_m[some])
    points, radii = points_m[some], radii_m[some]
    margin_m = float(radii.max(initial=0.0)) + within_m
    low, high = boxes.low_m - margin_m, boxes.high_m + margin_m
    apart = (low > points.max(axis=0)) | (high < points.min(axis=0))
    for shape in np.flatnonzero(~apart.any(axis=1)).tolist():
        near = cells.inside(low[shape], high[shape])
        place = points[near]
        past = np.maximum(boxes.low_m[shape] - place, place - boxes.high_m[shape])
        # Signed: inside the box a shape may be entered more deeply than by the ball's radius.
        gap_m = norms(np.maximum(past, 0.0)) + np.minimum(past.max(axis=1), 0.0) - radii[near]
        close = gap_m <= within_m
        yield shape, some[near[close]], gap_m[close]


def _pack(corner: Indices) -> Indices:
    shifted = corner + _LARGEST_INDEX + 1
    return (shifted[:, 0] << 42) | (shifted[:, 1] << 21) | shifted[:, 2]
