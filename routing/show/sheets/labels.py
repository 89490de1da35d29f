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
    """

    kind: str
    text: str
    width_pt: float
    height_pt: float
    anchors: tuple[Spot, ...]
    gaps_pt: tuple[float, ...] = (2.0,)
    inside: bool = False
    leader_pt: float = 46.0


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
    beside = _boxes_beside(label)
    possible = page.sift(beside)
    for ink in (Ink.ANY | Ink.EDGE, Ink.ANY):
        for i in possible:
            box = _as_box(beside[i])
            if page.is_free(box, ink):
                return PlacedLabel(label, box)
    away, ends = _boxes_away(label)
    for i in page.sift(away):
        box = _as_box(away[i])
        if page.is_free(box, Ink.ANY):
            for leader in _leaders(label, ends[i]):
                if page.is_line_free(*leader, Ink.STOPS_LEADER):
                    return PlacedLabel(label, box, leader)
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

_LEADER_LENGTHS_PT: Final = np.array([8.0, 14.0, 22.0, 32.0, 46.0, 66.0, 96.0])

_LEADER_TURNS: Final = np.array(
    [
        (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
        for angle in (45, 135, 315, 225, 20, 160, 340, 200, 70, 110, 290, 250)
    ]
)
"""Slanted first: a leader along a handrail would look like a part of it."""

_OFF_A_SYMBOL_PT: Final = 7.0
"""Where a larger symbol covers the anchor, the leader begins at that symbol's edge."""


def _boxes_beside(label: Label) -> Floats:
    """Return boxes right beside the anchors, or centred on them, best first, shape (n, 4)."""
    half = np.array([label.width_pt, label.height_pt]) / 2
    middles = np.array(label.anchors)
    if not label.inside:
        gaps = np.array(label.gaps_pt)[:, None, None] * _CORNER_REACH[:, None]
        offsets = _SIDES * (half + gaps)
        middles = (middles[:, None, None, :] + offsets).reshape(-1, 2)
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


def _leaders(label: Label, leader: Floats) -> Iterable[tuple[Spot, Spot]]:
    """Return the lines that a leader may be: from close to its anchor, or from further off."""
    x, y, end_x, end_y = leader.tolist()
    length_pt = math.hypot(end_x - x, end_y - y)
    for clear_pt in (0.6 * label.gaps_pt[0], _OFF_A_SYMBOL_PT):
        if clear_pt <= length_pt - 3.0:
            share = clear_pt / length_pt
            yield (x + share * (end_x - x), y + share * (end_y - y)), (end_x, end_y)
