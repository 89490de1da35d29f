"""Where labels go: a greedy placer on a page of small cells, with no randomness.

A page is a raster finer than any line. What is drawn is entered first; a label
may only take cells that are free, so labels neither overlap each other nor
cover a mark, whatever the picture. What finds no room is left out and counted.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import product
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Ink", "Label", "Page", "PlacedLabel", "place_labels"]

Floats = NDArray[np.float64]
Box: TypeAlias = tuple[float, float, float, float]
"""Left, bottom, right, top [pt]."""
Spot: TypeAlias = tuple[float, float]

_CELLS_PER_PT: Final = 2


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
        rows = math.ceil(height_pt * _CELLS_PER_PT)
        columns = math.ceil(width_pt * _CELLS_PER_PT)
        self._cells = np.zeros((rows, columns), np.uint8)

    def take_box(self, box: Box, ink: int) -> None:
        """Enter every cell that a box touches; parts outside the page are passed over."""
        left, bottom, right, top = (value * _CELLS_PER_PT for value in box)
        self._cells[
            max(0, math.floor(bottom)) : max(0, math.ceil(top)),
            max(0, math.floor(left)) : max(0, math.ceil(right)),
        ] |= np.uint8(ink)

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
        """Tell whether a straight line inside the page touches no cell with this ink."""
        x, y = _along(np.array([start_pt]), np.array([end_pt]), 0.5 / _CELLS_PER_PT)
        row = np.clip((y * _CELLS_PER_PT).astype(np.int64), 0, self._cells.shape[0] - 1)
        column = np.clip((x * _CELLS_PER_PT).astype(np.int64), 0, self._cells.shape[1] - 1)
        return not (self._cells[row, column] & ink).any()


def _along(starts: Floats, ends: Floats, step: float) -> tuple[Floats, Floats]:
    """Return points on lines no more than a step apart, all lines in one."""
    counts = np.ceil(np.hypot(*(ends - starts).T) / step).astype(np.int64) + 1
    line = np.repeat(np.arange(len(starts)), counts)
    first = np.cumsum(counts) - counts
    share = (np.arange(len(line)) - first[line]) / np.maximum(counts[line] - 1, 1)
    points = starts[line] + share[:, None] * (ends[line] - starts[line])
    return points[:, 0], points[:, 1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A text that wants a place.

    Parameters
    ----------
    kind
        What it names, for instance ``handrail``; what is left out is counted by kind.
    text
        As it is to be drawn.
    width_pt, height_pt
        Size of its box.
    anchors
        Places it may stand by, best first [pt].
    gaps_pt
        Distances from anchor to box when it stands beside, best first.
    inside
        Whether it is centred on an anchor rather than beside it (names of modules).
    leader
        Whether it may stand off with a leader line.
    """

    kind: str
    text: str
    width_pt: float
    height_pt: float
    anchors: tuple[Spot, ...]
    gaps_pt: tuple[float, ...] = (2.0,)
    inside: bool = False
    leader: bool = True


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """A label, its box on the page [pt], and its leader line if it has one."""

    label: Label
    box: Box
    leader: tuple[Spot, Spot] | None = None


def place_labels(
    page: Page, labels: Iterable[Label]
) -> tuple[tuple[PlacedLabel, ...], tuple[Label, ...]]:
    """Place labels one after the other, the most important first.

    Parameters
    ----------
    page
        The page with everything already drawn on it; the labels are entered too.
    labels
        In order of importance.

    Returns
    -------
    tuple
        The placed labels and those left out for want of room, each in the order given. No
        two boxes overlap, no box covers anything that was on the page, and no leader
        touches a label or a mark.
    """
    placed: list[PlacedLabel] = []
    left_out: list[Label] = []
    for label in labels:
        found = _place(page, label)
        if found is None:
            left_out.append(label)
            continue
        page.take_box(found.box, Ink.LABEL)
        if found.leader is not None:
            a, b = (np.array([spot]) for spot in found.leader)
            page.take_lines(a, b, 0.5, Ink.LEADER)
        placed.append(found)
    return tuple(placed), tuple(left_out)


def _place(page: Page, label: Label) -> PlacedLabel | None:
    for ink in (Ink.ANY | Ink.EDGE, Ink.ANY):
        for anchor in label.anchors:
            for box in _boxes_by(anchor, label):
                if page.is_free(box, ink):
                    return PlacedLabel(label, box)
    if not label.leader:
        return None
    for length_pt in _LEADER_LENGTHS_PT:
        for anchor in label.anchors:
            for box, leader in _boxes_off(anchor, label, length_pt):
                if page.is_free(box, Ink.ANY) and page.is_line_free(*leader, Ink.STOPS_LEADER):
                    return PlacedLabel(label, box, leader)
    return None


# Right, left, above, below, then the corners: as (x, y) from the anchor.
_SIDES: Final = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1))

_LEADER_LENGTHS_PT: Final = (8.0, 14.0, 22.0, 32.0, 46.0)

_LEADER_TURNS: Final = tuple(
    (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    for angle in (45, 135, 315, 225, 20, 160, 340, 200, 70, 110, 290, 250)
)
"""Slanted first: a leader along a handrail would look like a part of it."""


_OFF_A_SYMBOL_PT: Final = 7.0
"""Where a larger symbol covers the anchor, the leader begins at that symbol's edge."""


def _boxes_by(anchor: Spot, label: Label) -> Iterable[Box]:
    """Return boxes right beside an anchor, or centred on it."""
    x, y = anchor
    w, h = label.width_pt, label.height_pt
    if label.inside:
        yield (x - w / 2, y - h / 2, x + w / 2, y + h / 2)
        return
    for gap, (side_x, side_y) in product(label.gaps_pt, _SIDES):
        reach = gap if side_x == 0 or side_y == 0 else 0.7 * gap
        left = x - w / 2 + side_x * (w / 2 + reach)
        bottom = y - h / 2 + side_y * (h / 2 + reach)
        yield (left, bottom, left + w, bottom + h)


def _boxes_off(
    anchor: Spot, label: Label, length_pt: float
) -> Iterable[tuple[Box, tuple[Spot, Spot]]]:
    """Return boxes at the end of a leader of a length, with the leader."""
    x, y = anchor
    w, h = label.width_pt, label.height_pt
    clears = (0.6 * label.gaps_pt[0], _OFF_A_SYMBOL_PT)
    for clear, (turn_x, turn_y) in product(clears, _LEADER_TURNS):
        if clear > length_pt - 3.0:
            continue
        end = (x + length_pt * turn_x, y + length_pt * turn_y)
        left = end[0] if turn_x > 0 else end[0] - w
        bottom = end[1] - h / 2
        start = (x + clear * turn_x, y + clear * turn_y)
        yield (left, bottom, left + w, bottom + h), (start, end)
