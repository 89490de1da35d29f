"""Where labels go: a greedy placer on a page of small cells, with no randomness.

What is drawn is entered on the page first; a label may only take cells that are
free, so labels neither overlap each other nor cover a mark, whatever the
picture. What finds no room is left out and counted.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from routing.show.sheets.leaders import Label, box_with_leader
from routing.show.sheets.page import Box, Ink, Page, Spot

__all__ = ["Label", "PlacedLabel", "place_labels"]

Floats = NDArray[np.float64]


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
    away = box_with_leader(page, label)
    return None if away is None else PlacedLabel(label, *away)


def _as_box(row: Floats) -> Box:
    left, bottom, right, top = row.tolist()
    return (left, bottom, right, top)


# Right, left, above, below, then the corners: as (x, y) from the anchor.
_SIDES: Final = np.array(
    [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)], dtype=np.float64
)
_CORNER_REACH: Final = np.where(_SIDES.all(axis=1), 0.7, 1.0)
"""Diagonally a box stands nearer, for its corner to be as far away as a side would be."""


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
