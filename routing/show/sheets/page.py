"""The page of a panel: a raster of what is drawn already, and of what room is left."""

import math
from functools import cache
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Box", "Ink", "Page", "Spot"]

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]
Cells = NDArray[np.uint8]
Box: TypeAlias = tuple[float, float, float, float]
"""Left, bottom, right, top [pt]."""
Spot: TypeAlias = tuple[float, float]

_CELLS_PER_PT: Final = 2
"""Cells are half a point wide; the quick first look takes whole points."""

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
    ANY = MARK | LABEL | LINE | LEADER
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
        self._cells = np.zeros((rows, columns), np.uint8)
        self._sums: Indices | None = None
        self._entered_since = 0

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
        x, y = _along(starts_pt, ends_pt, 0.5 / _CELLS_PER_PT)
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

    def is_line_free(self, start_pt: Spot, end_pt: Spot, ink: int) -> bool:
        """Tell whether a straight line, all of it on the page, touches no cell with this ink."""
        (x0, y0), (x1, y1) = start_pt, end_pt
        count = 2 + int(2 * _CELLS_PER_PT * math.hypot(x1 - x0, y1 - y0))
        share = _shares(count)
        column = (x0 * _CELLS_PER_PT + share * (x1 - x0)).astype(np.int64)
        row = (y0 * _CELLS_PER_PT + share * (y1 - y0)).astype(np.int64)
        return not (self._cells[row, column] & ink).any()


@cache
def _shares(count: int) -> Floats:
    """Return shares of a line in cells; leaders have few lengths, and a sheet tries thousands."""
    shares = np.linspace(0.0, float(_CELLS_PER_PT), count)
    shares.flags.writeable = False
    return shares


def _summed(cells: Cells) -> Indices:
    """Return for every corner of the grid of points how many taken points are left of and below."""
    taken = cells[::2, ::2] | cells[1::2, ::2] | cells[::2, 1::2] | cells[1::2, 1::2]
    sums = np.zeros((taken.shape[0] + 1, taken.shape[1] + 1), np.int64)
    np.cumsum((taken & Ink.ANY) != 0, axis=0, out=sums[1:, 1:])
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
