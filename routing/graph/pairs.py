"""Pairs of points within reach of one another.

A cell list in plain numpy: importing a tree for one answer would cost more than
the answer. Cells are as wide as the radius and stand in rows along z, so that
the three cells of a neighbouring row are one range of the sorted points.
"""

from collections.abc import Iterator

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from structures.solids.axes import extent

__all__ = ["pairs_within", "run_starts"]

_CANDIDATES = 1 << 17
"""How many candidate pairs are held at once: it bounds the memory."""

_CELLS_PER_AXIS = 1 << 20
"""Keeps a cell's number inside 64 bits, however small the radius."""


def pairs_within(points_m: Floats, radius_m: float) -> tuple[Indices, Indices]:
    """Find all pairs of points at most a radius apart.

    Parameters
    ----------
    points_m
        Shape (n, 3) [m].
    radius_m
        Above 0 [m]; a pair exactly this far apart belongs to the answer.

    Returns
    -------
    first, second
        Shape (p,) each, first < second, in ascending order of (first, second).

    Examples
    --------
    >>> first, second = pairs_within(np.array([[0.0, 0, 0], [0.5, 0, 0], [2, 0, 0]]), 0.5)
    >>> first.tolist(), second.tolist()
    ([0], [1])
    """
    count = len(points_m)
    if count < 2:
        nothing = np.empty(0, dtype=np.int64)
        return nothing, nothing
    keys = np.concatenate([*_pair_keys(points_m, radius_m)])
    keys.sort()
    first = keys // count
    keys -= first * count
    return first, keys


def _pair_keys(points_m: Floats, radius_m: float) -> Iterator[Indices]:
    """Yield first * n + second for the pairs found, part by part, in no order."""
    count = len(points_m)
    cell_of, rows = _cells(points_m, radius_m)
    order = np.argsort(cell_of, kind="stable")
    cells = cell_of[order]
    x, y, z = (np.ascontiguousarray(points_m[order, axis]) for axis in range(3))
    yield np.empty(0, dtype=np.int64)
    itself = np.arange(count)
    for row in rows:
        # A point's own row: only what comes after it, so that each pair is met once.
        lower = np.searchsorted(cells, cells + (row - 1), side="left") if row else itself + 1
        upper = np.searchsorted(cells, cells + (row + 1), side="right")
        for one, other in _expand(lower, upper):
            apart = (x[one] - x[other]) ** 2
            apart += (y[one] - y[other]) ** 2
            apart += (z[one] - z[other]) ** 2
            near = apart <= radius_m * radius_m
            p, q = order[one[near]], order[other[near]]
            yield np.minimum(p, q) * count + np.maximum(p, q)


def _cells(points_m: Floats, radius_m: float) -> tuple[Indices, tuple[int, ...]]:
    """Return each point's cell number, and how far apart half the neighbour rows are."""
    low, high = extent(points_m)
    extent_m = float((high - low).max())
    width_m = max(radius_m, extent_m / _CELLS_PER_AXIS)
    # One empty cell at each end of a row, so that rows do not run into one another.
    cell = ((points_m - low) / width_m).astype(np.int64) + 1
    _, rows_y, cells_z = (int(c) + 3 for c in (high - low) / width_m)
    numbers = (cell[:, 0] * rows_y + cell[:, 1]) * cells_z + cell[:, 2]
    plane = rows_y * cells_z
    return numbers, (0, cells_z, plane - cells_z, plane, plane + cells_z)


def _expand(lower: Indices, upper: Indices) -> Iterator[tuple[Indices, Indices]]:
    """Yield (i, j) for all j in lower[i]:upper[i], in parts of bounded size."""
    counts = np.maximum(upper - lower, 0)
    ends = np.cumsum(counts)
    total = int(ends[-1])
    begin = 0
    while begin < len(counts):
        done = int(ends[begin - 1]) if begin else 0
        if done == total:
            return
        stop = int(np.searchsorted(ends, done + _CANDIDATES, side="right"))
        stop = max(stop, begin + 1)
        part = counts[begin:stop]
        one = np.repeat(np.arange(begin, stop), part)
        # Position within the run of each i, moved to where the run starts.
        other = np.arange(len(one)) + np.repeat(
            lower[begin:stop] - (ends[begin:stop] - part - done), part
        )
        yield one, other
        begin = stop


def run_starts(ascending: Indices) -> Indices:
    """Return where each value first stands in sorted values, shape (n,) to shape (distinct,).

    As ``numpy.unique`` would, which loads masked arrays for it and is slow to start.

    Examples
    --------
    >>> run_starts(np.array([3, 3, 5, 9, 9])).tolist()
    [0, 2, 3]
    """
    new = np.ones(len(ascending), dtype=np.bool_)
    new[1:] = ascending[1:] != ascending[:-1]
    return np.flatnonzero(new)
