"""Where labels go: a greedy placer on a page of small cells, with no randomness.

What is drawn is entered on the page first; a label may only take cells that are
free, so labels neither overlap each other nor cover a mark, whatever the
picture. What finds no room is left out and counted.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from routing.show.sheets.page import Box, Ink, Page, Spot

__all__ = ["Label", "PlacedLabel", "place_labels"]

Floats = NDArray[np.float64]


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
    leader_pt
        How far it may stand off with a leader line; 0 means not at all.
    over_line
        Whether it may stand on an anchor, over a handrail's line, before it takes a leader.
    """

    kind: str
    text: str
    width_pt: float
    height_pt: float
    anchors: tuple[Spot, ...]
    gaps_pt: tuple[float, ...] = (2.0,)
    inside: bool = False
    leader_pt: float = 46.0
    over_line: bool = False


@dataclass(frozen=True, slots=True)
class PlacedLabel:
    """A label, its box on the page [pt], its leader line, and whether it stands on a line."""

    label: Label
    box: Box
    leader: tuple[Spot, Spot] | None = None
    on_line: bool = False


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
    beside = _boxes_beside(label)
    possible = page.sift(beside)
    for ink in (Ink.ANY | Ink.EDGE, Ink.ANY):
        for i in possible:
            box = _as_box(beside[i])
            if page.is_free(box, ink):
                return PlacedLabel(label, box)
    if label.over_line:
        for row in _boxes_on(label):
            box = _as_box(row)
            if page.is_free(box, Ink.ANY & ~Ink.LINE):
                return PlacedLabel(label, box, on_line=True)
    return _place_away(page, label)


def _place_away(page: Page, label: Label) -> PlacedLabel | None:
    """Place a label at the end of a leader; it crosses a route only if nothing else is free."""
    away, ends = _boxes_away(label)
    possible = page.sift(away)
    starts = _leader_starts(label, ends[possible])
    for stops in (Ink.STOPS_LEADER | Ink.PATH, Ink.STOPS_LEADER):
        # The shortest first; most labels find their place among these.
        for first in range(0, len(possible), _AT_ONCE):
            part = possible[first : first + _AT_ONCE]
            begins = [begin[first : first + _AT_ONCE] for begin in starts]
            clear = [page.lines_free(begin, ends[part, 2:], stops) for begin in begins]
            for place in np.flatnonzero(clear[0] | clear[1]):
                box = _as_box(away[part[place]])
                if page.is_free(box, Ink.ANY):
                    x, y = begins[0 if clear[0][place] else 1][place].tolist()
                    end_x, end_y = ends[part[place], 2:].tolist()
                    return PlacedLabel(label, box, ((x, y), (end_x, end_y)))
    return None


def _as_box(row: Floats) -> Box:
    left, bottom, right, top = row.tolist()
    return (left, bottom, right, top)


# Right, left, above, below, then the corners: as (x, y) from the anchor.
_SIDES: Final = np.array(
    [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)], dtype=np.float64
)
_CORNER_REACH: Final = np.where(_SIDES.all(axis=1), 0.7, 1.0)
"""Diagonally a box stands nearer, for its corner to be as far away as a side would be."""

_LEADER_LENGTHS_PT: Final = np.array([8.0, 14.0, 22.0, 32.0, 46.0, 66.0, 96.0, 130.0, 170.0])

_LEADER_TURNS: Final = np.array(
    [
        (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
        for angle in (
            *(45, 135, 315, 225, 20, 160, 340, 200, 70, 110, 290, 250),
            *(32, 148, 328, 212, 58, 122, 302, 238, 8, 172, 352, 188, 82, 98, 278, 262),
        )
    ]
)
"""Slanted first: a leader along a handrail would look like a part of it."""

_AT_ONCE: Final = 96
"""So many leaders are looked at together."""

_OFF_A_SYMBOL_PT: Final = 7.0
"""Where a larger symbol covers the anchor, the leader begins at that symbol's edge."""


def _boxes_beside(label: Label) -> Floats:
    """Return boxes right beside the anchors, or centred on them, best first, shape (n, 4)."""
    if label.inside:
        return _boxes_on(label)
    half = np.array([label.width_pt, label.height_pt]) / 2
    gaps = np.array(label.gaps_pt)[:, None, None] * _CORNER_REACH[:, None]
    offsets = _SIDES * (half + gaps)
    middles = (np.array(label.anchors)[:, None, None, :] + offsets).reshape(-1, 2)
    return np.hstack([middles - half, middles + half])


def _boxes_on(label: Label) -> Floats:
    """Return boxes centred on the anchors, shape (n, 4)."""
    half = np.array([label.width_pt, label.height_pt]) / 2
    middles = np.array(label.anchors)
    return np.hstack([middles - half, middles + half])


def _boxes_away(label: Label) -> tuple[Floats, Floats]:
    """Return boxes at the ends of leaders, the nearest first, shape (n, 4).

    With each goes its leader: anchor and end, shape (n, 4).
    """
    lengths = _LEADER_LENGTHS_PT[label.leader_pt >= _LEADER_LENGTHS_PT]
    anchors = np.array(label.anchors)[None, :, None, :]
    ends = anchors + lengths[:, None, None, None] * _LEADER_TURNS
    leaders = np.concatenate([np.broadcast_to(anchors, ends.shape), ends], axis=-1).reshape(-1, 4)
    turns = np.broadcast_to(_LEADER_TURNS, ends.shape).reshape(-1, 2)
    left = np.where(turns[:, 0] > 0, leaders[:, 2], leaders[:, 2] - label.width_pt)
    bottom = leaders[:, 3] - label.height_pt / 2
    boxes = np.column_stack([left, bottom, left + label.width_pt, bottom + label.height_pt])
    return boxes, leaders


def _leader_starts(label: Label, leaders: Floats) -> tuple[Floats, Floats]:
    """Return where leaders (n, 4) may begin: close to the anchor, or further off, (n, 2) each.

    NaN where that would leave next to nothing of the leader.
    """
    along = leaders[:, 2:] - leaders[:, :2]
    length_pt = np.hypot(*along.T)
    near, far = (
        leaders[:, :2]
        + along * np.where(clear_pt <= length_pt - 3.0, clear_pt / length_pt, np.nan)[:, None]
        for clear_pt in (0.6 * label.gaps_pt[0], _OFF_A_SYMBOL_PT)
    )
    return near, far
