"""Labels that stand off what they name, at the end of a leader."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from routing.show.sheets.page import CELL_PT, FARTHEST_PT, Box, Ink, Page, Spot

__all__ = ["Label", "box_with_leader"]

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]


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


_LENGTHS_PT: Final = np.array([8.0, 14.0, 22.0, 32.0, 46.0, 66.0, 96.0, 130.0, 170.0])

_TURNS: Final = np.array(
    [
        (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
        for angle in (
            *(45, 135, 315, 225, 20, 160, 340, 200, 70, 110, 290, 250),
            *(32, 148, 328, 212, 58, 122, 302, 238, 8, 172, 352, 188, 82, 98, 278, 262),
        )
    ]
)
"""Slanted first: a leader along a handrail would look like a part of it."""

_SHORT_PT: Final = 32.0
"""Leaders no longer than this are looked at before all others."""

_SHORTEST_PT: Final = 3.0
"""Less than this is no leader."""

_OFF_A_SYMBOL_PT: Final = 7.0
"""Where a larger symbol covers the anchor, the leader begins at that symbol's edge."""

_STOPS: Final = (Ink.STOPS_LEADER | Ink.PATH, Ink.STOPS_LEADER)
"""What a leader may not touch, and may not even where there is no better."""

_STEP_PT: Final = 0.5 * CELL_PT
_COLUMNS, _ROWS = (
    np.floor(
        np.multiply.outer(_TURNS[:, axis], np.arange(0.0, FARTHEST_PT, _STEP_PT)) / CELL_PT + 0.5
    ).astype(np.int64)
    for axis in (0, 1)
)
"""Cells along a leader from the one that it begins in, a row for each turn."""


def box_with_leader(page: Page, label: Label) -> tuple[Box, tuple[Spot, Spot]] | None:
    """Return room for a label off its anchors, and its leader; ``None`` where there is none.

    The leader crosses a route only if nothing else is free.
    """
    lengths_pt = _LENGTHS_PT[label.leader_pt >= _LENGTHS_PT]
    # The shortest first: most labels find room there, and long leaders take long to look at.
    for part in (lengths_pt[lengths_pt <= _SHORT_PT], lengths_pt[lengths_pt > _SHORT_PT]):
        found = _first_free(page, label, part) if len(part) else None
        if found is not None:
            return found
    return None


def _first_free(
    page: Page, label: Label, lengths_pt: Floats
) -> tuple[Box, tuple[Spot, Spot]] | None:
    """Return the first free chance: the shortest, then by anchor, then by turn."""
    anchors = np.array(label.anchors).reshape(-1, 2)
    away = _boxes_away(label, anchors, lengths_pt)
    possible = np.array(page.sift(away), dtype=np.int64)
    if not len(possible):
        return None
    length, ray = np.divmod(possible, len(anchors) * len(_TURNS))
    anchor, turn = np.divmod(ray, len(_TURNS))
    starts_pt = (0.6 * label.gaps_pt[0], _OFF_A_SYMBOL_PT)
    clear_pt = _clear_pt(page, anchors, ray, starts_pt, float(lengths_pt[-1]))
    wanted_pt = lengths_pt[length]
    for stops, of_ink in zip(_STOPS, clear_pt, strict=True):
        clear = [
            (of_start[ray] >= wanted_pt) & (wanted_pt >= start_pt + _SHORTEST_PT)
            for start_pt, of_start in zip(starts_pt, of_ink, strict=True)
        ]
        for i in np.flatnonzero(clear[0] | clear[1]):
            (left, bottom, right, top) = away[possible[i]].tolist()
            box = (left, bottom, right, top)
            start_pt = starts_pt[0] if clear[0][i] else starts_pt[1]
            (x, y), (end_x, end_y) = (
                (anchors[anchor[i]] + far_pt * _TURNS[turn[i]]).tolist()
                for far_pt in (start_pt, wanted_pt[i])
            )
            leader = ((x, y), (end_x, end_y))
            # Rays begin in the middle of a cell: the one that is taken is looked at as it is.
            if page.is_free(box, Ink.ANY) and page.is_clear(leader, stops):
                return box, leader
    return None


def _boxes_away(label: Label, anchors: Floats, lengths_pt: Floats) -> Floats:
    """Return boxes at the ends of leaders, by length, anchor and turn, shape (n, 4)."""
    reach = lengths_pt[:, None, None, None] * _TURNS
    ends = (anchors[None, :, None] + reach).reshape(-1, 2)
    to_the_right = np.tile(_TURNS[:, 0] > 0, len(lengths_pt) * len(anchors))
    left = np.where(to_the_right, ends[:, 0], ends[:, 0] - label.width_pt)
    bottom = ends[:, 1] - label.height_pt / 2
    return np.column_stack([left, bottom, left + label.width_pt, bottom + label.height_pt])


def _clear_pt(
    page: Page, anchors: Floats, rays: Indices, starts_pt: tuple[float, ...], longest_pt: float
) -> list[list[Floats]]:
    """Return how far rays are clear, for each ink that stops them and each place they begin at.

    Rays are counted by anchor, then turn; those not asked for are clear nowhere.
    """
    count = len(anchors) * len(_TURNS)
    asked = np.flatnonzero(np.bincount(rays, minlength=count))
    anchor, turn = np.divmod(asked, len(_TURNS))
    steps = math.ceil(longest_pt / _STEP_PT) + 1
    held = page.around(anchors[anchor], _ROWS[turn, :steps], _COLUMNS[turn, :steps])
    clear: list[list[Floats]] = []
    for ink in _STOPS:
        stopped = (held & ink) != 0
        clear.append([])
        for start_pt in starts_pt:
            first = math.ceil(start_pt / _STEP_PT)
            after = stopped[:, first:]
            far = np.full(count, -1.0)
            free = np.where(after.any(axis=1), after.argmax(axis=1), steps - first)
            far[asked] = (first + free - 1) * _STEP_PT
            clear[-1].append(far)
    return clear
