"""The page of a panel: a raster of what is drawn already, and of what room is left."""

import math
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["CELL_PT", "FARTHEST_PT", "Box", "Ink", "Page", "Rooms", "Spot"]

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
Cells = NDArray[np.uint8]
Box: TypeAlias = tuple[float, float, float, float]
"""Left, bottom, right, top [pt]."""
Spot: TypeAlias = tuple[float, float]

_CELLS_PER_PT: Final = 2
"""Cells are half a point wide; the quick first look takes whole points."""

CELL_PT: Final = 1.0 / _CELLS_PER_PT
FARTHEST_PT: Final = 180.0
"""So far from a place on the page cells can be asked for, beside the page too."""

_BESIDE: Final = math.ceil(FARTHEST_PT * _CELLS_PER_PT) + 1
"""So many cells beside the page are kept, all of them taken."""

_STEP_PT: Final = 0.5 * CELL_PT
"""Lines are entered in places so far apart."""

_STALE_AFTER: Final = 100
"""So many entries may be missing from the table of the quick first look."""


class Ink:
    """What a cell holds, as bits."""

    MARK = 1
    """Route marks and point symbols."""
    LABEL = 2
    LINE = 4
    """Handrails in view: a leader may cross them, a label may not."""
    LEADER = 8
    EDGE = 16
    """Outlines of solids and zones: avoided where there is a choice."""
    PATH = 32
    """Lines of routes and lays: a leader crosses them only where it cannot be led otherwise."""
    ANY = MARK | LABEL | LINE | LEADER | PATH
    STOPS_LEADER = MARK | LABEL | LEADER


class Page:
    """The cells of one panel, from (0, 0) at its lower left [pt].

    Parameters
    ----------
    width_pt, height_pt
        Size of the panel; nothing outside it is ever free.
    """

    def __init__(self, width_pt: float, height_pt: float) -> None:
        self.width_pt = width_pt
        self.height_pt = height_pt
        # One point more than the page: what ends on its very edge has a cell too.
        rows = _CELLS_PER_PT * (math.ceil(height_pt) + 1)
        columns = _CELLS_PER_PT * (math.ceil(width_pt) + 1)
        self._all = np.full((rows + 2 * _BESIDE, columns + 2 * _BESIDE), 0xFF, np.uint8)
        self._cells = self._all[_BESIDE:-_BESIDE, _BESIDE:-_BESIDE]
        self._cells[:] = 0
        self._sums: Indices | None = None
        self._entered_since = 0

    def copy(self) -> "Page":
        """Return a page of its own with the same on it."""
        other = Page(self.width_pt, self.height_pt)
        other._cells[:] = self._cells
        return other

    def take_box(self, box: Box, ink: int) -> None:
        """Enter every cell that a box touches; parts outside the page are passed over."""
        left, bottom, right, top = (value * _CELLS_PER_PT for value in box)
        self._cells[
            max(0, math.floor(bottom)) : max(0, math.ceil(top)),
            max(0, math.floor(left)) : max(0, math.ceil(right)),
        ] |= np.uint8(ink)
        self._entered_since += 1

    def take_lines(self, starts_pt: Floats, ends_pt: Floats, width_pt: float, ink: int) -> None:
        """Enter straight lines of a width, starts and ends (n, 2) [pt]."""
        x, y = _along(starts_pt, ends_pt, _STEP_PT)
        reach = math.ceil(width_pt / 2 * _CELLS_PER_PT)
        for dy in range(-reach, reach + 1):
            for dx in range(-reach, reach + 1):
                column = np.floor(x * _CELLS_PER_PT).astype(np.int64) + dx
                row = np.floor(y * _CELLS_PER_PT).astype(np.int64) + dy
                inside = (row >= 0) & (row < self._cells.shape[0])
                inside &= (column >= 0) & (column < self._cells.shape[1])
                self._cells[row[inside], column[inside]] |= np.uint8(ink)
        self._entered_since += 1

    def sift(self, boxes: Floats) -> list[int]:
        """Return which boxes (n, 4) may still be free, in order.

        A quick first look at all of them in one: it never drops a box that is free, but it may
        keep some that are not, since it looks at whole points inside a box only and its table
        is a little behind.
        """
        if self._sums is None or self._entered_since > _STALE_AFTER:
            self._sums = _summed(self._cells)
            self._entered_since = 0
        sums = self._sums
        left, bottom = np.ceil(boxes[:, 0]), np.ceil(boxes[:, 1])
        right, top = np.floor(boxes[:, 2]), np.floor(boxes[:, 3])
        on_page = (boxes[:, 0] >= 0) & (boxes[:, 1] >= 0)
        on_page &= (boxes[:, 2] <= self.width_pt) & (boxes[:, 3] <= self.height_pt)
        kept = np.flatnonzero(on_page)
        x0, y0, x1, y1 = (side[kept].astype(np.int64) for side in (left, bottom, right, top))
        x1, y1 = np.maximum(x0, x1), np.maximum(y0, y1)
        taken = sums[y1, x1] - sums[y0, x1] - sums[y1, x0] + sums[y0, x0]
        return [int(i) for i in kept[taken == 0]]

    def rooms(self) -> "Rooms":
        """Return the free parts of the page as they are now, outlines left free too."""
        sums = _summed(self._cells, Ink.ANY | Ink.EDGE)
        return Rooms(sums[: math.floor(self.height_pt) + 1, : math.floor(self.width_pt) + 1])

    def is_free(self, box: Box, ink: int) -> bool:
        """Tell whether a box is wholly on the page and touches no cell with this ink."""
        left, bottom, right, top = box
        if left < 0 or bottom < 0 or right > self.width_pt or top > self.height_pt:
            return False
        cells = self._cells[
            math.floor(bottom * _CELLS_PER_PT) : math.ceil(top * _CELLS_PER_PT),
            math.floor(left * _CELLS_PER_PT) : math.ceil(right * _CELLS_PER_PT),
        ]
        return not (cells & ink).any()

    def around(self, places_pt: Floats, rows: Indices, columns: Indices) -> Cells:
        """Return what the cells hold that are so many rows and columns from places.

        Parameters
        ----------
        places_pt
            Places on the page, shape (n, 2).
        rows, columns
            Up and to the right, shape (n, k) each, no more than `FARTHEST_PT`.

        Returns
        -------
        Cells
            Shape (n, k); beside the page is every ink.
        """
        own = (_CELLS_PER_PT * places_pt).astype(np.int64) + _BESIDE
        first = own[:, 1] * self._all.shape[1] + own[:, 0]
        held: Cells = self._all.ravel().take(first[:, None] + rows * self._all.shape[1] + columns)
        return held

    def is_clear(self, line_pt: tuple[Spot, Spot], ink: int) -> bool:
        """Tell whether a straight line is on the page and touches no cell with this ink."""
        start, end = (np.array(spot) for spot in line_pt)
        most = (self.width_pt, self.height_pt)
        if not all((spot >= 0).all() and (spot <= most).all() for spot in (start, end)):
            return False
        x, y = _along(start[None], end[None], _STEP_PT / 2)
        cells = self._cells[
            (_CELLS_PER_PT * y).astype(np.int64), (_CELLS_PER_PT * x).astype(np.int64)
        ]
        return not (cells & ink).any()


@dataclass(frozen=True, slots=True, eq=False)
class Rooms:
    """How many points of a page are taken left of and below each corner of its grid."""

    sums: Indices

    def find(self, width_pt: float, height_pt: float) -> Spot | None:
        """Return the lower left corner of the lowest free box of a size, leftmost of these [pt]."""
        wide, high = math.ceil(width_pt), math.ceil(height_pt)
        if wide >= self.sums.shape[1] or high >= self.sums.shape[0]:
            return None
        above, below = self.sums[high:], self.sums[:-high]
        free = above[:, wide:] - above[:, :-wide] - below[:, wide:] + below[:, :-wide] == 0
        first = int(np.argmax(free))
        if not free.flat[first]:
            return None
        row, column = divmod(first, free.shape[1])
        return float(column), float(row)


def _summed(cells: Cells, ink: int = Ink.ANY) -> Indices:
    """Return for every corner of the grid of points how many taken points are left of and below."""
    taken = cells[::2, ::2] | cells[1::2, ::2] | cells[::2, 1::2] | cells[1::2, 1::2]
    sums = np.zeros((taken.shape[0] + 1, taken.shape[1] + 1), np.int64)
    np.cumsum((taken & ink) != 0, axis=0, out=sums[1:, 1:])
    np.cumsum(sums[1:, 1:], axis=1, out=sums[1:, 1:])
    return sums


def _along(starts: Floats, ends: Floats, step: float) -> tuple[Floats, Floats]:
    """Return points on lines no more than a step apart, all lines in one."""
    counts = np.ceil(np.hypot(*(ends - starts).T) / step).astype(np.int64) + 1
    line = np.repeat(np.arange(len(starts)), counts)
    first = np.cumsum(counts) - counts
    share = (np.arange(len(line)) - first[line]) / np.maximum(counts[line] - 1, 1)
    points = starts[line] + share[:, None] * (ends[line] - starts[line])
    return points[:, 0], points[:, 1]
