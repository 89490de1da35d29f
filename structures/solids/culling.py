"""Which shapes can matter to which balls: a cell grid, so that far pairs cost nothing.

Balls are sorted into cubic cells. Shapes are held against the boxes of cells
first, then against the balls in the cells that are near, all shapes at once;
so the work grows with the pairs that are near, not with all pairs.
"""

from collections.abc import Iterator
from functools import reduce

import numpy as np

from structures.frozen import frozen
from structures.solids.axes import Floats, Indices, beyond, extent, rows_at
from structures.solids.tables import ShapeTables

__all__ = ["Cells", "near_pairs"]

_CELL_M = 2.0
"""Edge of a cell [m]; about the reach of a ball that is moved, measured to be a good size."""

_CELLS_PER_AXIS = 1 << 20
"""Keeps a cell's number inside 64 bits, however far apart the balls are."""

_SLACK_M = 1e-6
"""How much more than asked the look at whole cells lets through [m]: rounding must lose no pair."""

_FEW = 1 << 12
"""So few pairs are all looked at: cells would take longer to make than that."""

_PAIRS = 1 << 17
"""Pairs of shape and ball looked at together, which bounds the memory."""


@frozen(eq=False)
class Cells:
    """Balls sorted into cells, row by row along the axis on which they spread most."""

    order: Indices
    """The balls, shape (n,); cell k holds ``order[first[k]:first[k + 1]]``."""
    first: Indices
    low_m: Floats
    """Box round the balls of each cell, shape (cells, 3) [m]."""
    high_m: Floats
    axis: int
    """The axis along which cells ascend first."""
    slab: Floats
    """Index of each cell along that axis, ascending, shape (cells,)."""
    zero_m: float
    edge_m: float

    @classmethod
    def of(cls, centers_m: Floats, radii_m: Floats) -> "Cells":
        """Sort balls, at least one, with centres of shape (n, 3) [m] into cells."""
        low, high = extent(centers_m)
        extent_m = high - low
        edge_m = max(_CELL_M, float(extent_m.max()) / _CELLS_PER_AXIS)
        corner = ((centers_m - low) / edge_m).astype(np.int64)
        most = (extent_m / edge_m).astype(np.int64) + 1
        axis = int(extent_m.argmax())
        second, third = (axis + 1) % 3, (axis + 2) % 3
        code = (corner[:, axis] * most[second] + corner[:, second]) * most[third]
        code += corner[:, third]
        order = np.argsort(code, kind="stable")
        code = code[order]
        begins = np.flatnonzero(np.append(True, code[1:] != code[:-1]))
        centers, radii = rows_at(centers_m, order), radii_m[order, None]
        return cls(
            order=order,
            first=np.append(begins, len(order)),
            low_m=np.minimum.reduceat((centers - radii).T, begins, axis=1).T,
            high_m=np.maximum.reduceat((centers + radii).T, begins, axis=1).T,
            axis=axis,
            slab=corner[order[begins], axis].astype(np.float64),
            zero_m=float(low[axis]),
            edge_m=edge_m,
        )

    def rows(self, low_m: Floats, high_m: Floats) -> tuple[Indices, Indices]:
        """Return from which cell to which the slabs go that boxes of shape (s, 3) [m] reach."""
        low = np.floor((low_m[:, self.axis] - self.zero_m) / self.edge_m)
        high = np.floor((high_m[:, self.axis] - self.zero_m) / self.edge_m)
        start = np.searchsorted(self.slab, low, side="left")
        return start, np.maximum(np.searchsorted(self.slab, high, side="right"), start)


def near_pairs(
    shapes: ShapeTables, centers_m: Floats, radii_m: Floats, some: Indices, within_m: float
) -> Iterator[tuple[Indices, Indices, Floats]]:
    """Find the balls nearer than a distance to the box of each shape.

    Parameters
    ----------
    shapes
        The shapes, s of them.
    centers_m
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
        Indices of shape and ball of each pair, and the distance of ball and box
        (no more than that of ball and shape) [m]. Pairs come in bounded parts, by
        ascending shape; all of one shape are in one part.
    """
    if not len(some) or not shapes.count:
        return
    centers, radii = rows_at(centers_m, some), radii_m[some]
    if len(some) * shapes.count <= _FEW:
        yield _each_with_each(shapes, centers, radii, some, within_m)
        return
    cells = Cells.of(centers, radii)
    margin_m = float(radii.max()) + within_m + _SLACK_M
    start, stop = cells.rows(shapes.low_m - margin_m, shapes.high_m + margin_m)
    held = np.cumsum(cells.first[stop] - cells.first[start])
    begin = 0
    while begin < shapes.count:
        done = held[begin - 1] if begin else 0
        end = max(int(np.searchsorted(held, done + _PAIRS, side="right")), begin + 1)
        which, cell = _runs(start[begin:end], stop[begin:end])
        shape = which + begin
        past = np.maximum(
            rows_at(shapes.low_m, shape) - rows_at(cells.high_m, cell),
            rows_at(cells.low_m, cell) - rows_at(shapes.high_m, shape),
        )
        near = reduce(np.maximum, past.T) <= within_m + _SLACK_M
        shape, cell = shape[near], cell[near]
        which, place = _runs(cells.first[cell], cells.first[cell + 1])
        shape, ball = shape[which], cells.order[place]
        at_m = rows_at(centers, ball)
        past = np.maximum(rows_at(shapes.low_m, shape) - at_m, at_m - rows_at(shapes.high_m, shape))
        # Signed: inside the box a shape may be entered more deeply than by the ball's radius.
        gap_m = beyond(*past.T) - radii[ball]
        close = np.flatnonzero(gap_m <= within_m)
        yield shape[close], some[ball[close]], gap_m[close]
        begin = end


def _each_with_each(
    shapes: ShapeTables, centers_m: Floats, radii_m: Floats, some: Indices, within_m: float
) -> tuple[Indices, Indices, Floats]:
    """Find near pairs of shapes and few balls, without cells."""
    past = [
        np.maximum(low_m[:, None] - at_m, at_m - high_m[:, None])
        for low_m, high_m, at_m in zip(shapes.low_m.T, shapes.high_m.T, centers_m.T, strict=True)
    ]
    gap_m = beyond(*past) - radii_m
    shape, ball = np.nonzero(gap_m <= within_m)
    return shape, some[ball], gap_m[shape, ball]


def _runs(start: Indices, stop: Indices) -> tuple[Indices, Indices]:
    """Return (i, j) for all j in start[i]:stop[i], i ascending."""
    count = stop - start
    which = np.repeat(np.arange(len(count)), count)
    return which, np.arange(len(which)) + (start - (np.cumsum(count) - count))[which]
