"""Where two people's lines cross over the time of an outing, and whether that undoes itself.

Lines lie one over the other where they come nearer than allowed, other than side by
side from the start on (`routing.paths.two_people.crossing`). The line laid later lies over. It
undoes itself where the line over is taken up first; else the line under must be
pulled out from beneath. Both orders are certain only where the order of acts
makes them so; the clock alone may run otherwise.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.lines.laid_lines import LaidLines, LaidPiece
from routing.outings.lines.sure_order import Happening, SureOrder
from structures.polylines import segment_gaps

__all__ = ["Cell", "LineCrossing", "Undoing", "cells_together", "line_crossings"]

Undoing: TypeAlias = Literal["undoes itself", "may tangle", "tangles", "may cross"]
"""How a crossing ends: certain to undo itself; by the clock it does, but the order is
not certain; the line under is taken up first; or there is none by the clock, but
nothing makes that certain."""

Whose: TypeAlias = Literal["first", "second", "unknown"]
Lay: TypeAlias = tuple[int, ...]
Span: TypeAlias = tuple[float, float]
Cell: TypeAlias = tuple[int, int]
"""A piece of the first line and one of the second, by number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LineCrossing:
    """One stretch along which two lines lie one over the other, and for how long."""

    start_s: float
    end_s: float
    undoing: Undoing
    over: Whose
    """Whose line lies over."""
    decides: Cell
    """The pieces told of: where they are nearest; where the time between is least (may cross)."""
    cells: tuple[Cell, ...]
    distance_m: float
    """At the nearest; a lower bound where a line goes round an edge."""
    place_m: tuple[float, float, float]
    """Half way between those two."""


def line_crossings(
    first: LaidLines, second: LaidLines, order: SureOrder, apart_m: float
) -> tuple[LineCrossing, ...]:
    """Return every crossing of two people's lines over the time of an outing, by time.

    Parameters
    ----------
    order
        Of the activities in which the lines are laid and taken up.
    apart_m
        Lines nearer than this may cross or tangle [m].

    Notes
    -----
    While a hand-over is under way its piece counts as lying there. Pieces that are
    crossed at one time and lie next to each other on both lines are one crossing, if
    they are laid and taken up on the same ways and end alike.
    """
    near = _Near(first, second, apart_m)
    judge = _Judge(first, second, order)
    times: dict[Cell, Span] = {}
    for start_s, end_s, lay, other in _meeting_spans(first, second):
        for cell in near.crossed(lay, other):
            times[cell] = (times.get(cell, (start_s,))[0], end_s)
    ends = {cell: judge.ends(cell) for cell in times}
    found = [_crossing(near, ends, cells, times) for cells in _grouped(near, judge, times)]
    gaps = _only_if_late(near, judge, times)
    found += [_late_crossing(near, cells, gaps) for cells in _grouped(near, judge, gaps)]
    return tuple(sorted(found, key=lambda one: (one.start_s, one.decides)))


class _Near:
    """Which pieces of two lines are nearer to each other than allowed."""

    def __init__(self, first: LaidLines, second: LaidLines, apart_m: float) -> None:
        self.first = first
        self.second = second
        self.distance_m: Floats = np.full((len(first.pieces), len(second.pieces)), np.inf)
        rows, columns = _boxes_near(first, second, apart_m)
        gap_m, _, _ = segment_gaps(
            first.start_m[rows], first.end_m[rows], second.start_m[columns], second.end_m[columns]
        )
        self.distance_m[rows, columns] = np.maximum(
            gap_m - first.spare_m[rows] - second.spare_m[columns], 0.0
        )
        self.flags: NDArray[np.bool_] = self.distance_m <= apart_m
        apart_at_start_m = float(np.linalg.norm(first.start_m[0] - second.start_m[0]))
        self.begin_together = apart_at_start_m <= apart_m and bool(self.flags[0, 0])
        self._known: dict[tuple[Lay, Lay], tuple[Cell, ...]] = {}
        # What a line ends with, where nothing is near it, has no part in any answer.
        self._ends = _Ends(self.flags), _Ends(self.flags.T)

    def crossed(self, lay: Lay, other: Lay) -> tuple[Cell, ...]:
        """Return the cells near each other that do not lie together from the start on."""
        key = lay, other = self._ends[0].cut(lay), self._ends[1].cut(other)
        if not lay or not other:
            return ()
        if key not in self._known:
            one, two = np.array(lay), np.array(other)
            flags = self.flags[one[:, None], two]
            if self.begin_together:
                flags &= ~cells_together(flags)
            row, column = flags.nonzero()
            self._known[key] = tuple(zip(one[row].tolist(), two[column].tolist(), strict=True))
        return self._known[key]

    def place_m(self, cell: Cell) -> tuple[float, float, float]:
        """Return the place half way between two pieces where they are nearest."""
        i, j = cell
        a, b = self.first.start_m[i], self.first.end_m[i]
        c, d = self.second.start_m[j], self.second.end_m[j]
        _, share, other = segment_gaps(a, b, c, d)
        x, y, z = ((a + share * (b - a) + c + other * (d - c)) / 2).tolist()
        return (x, y, z)


class _Ends:
    """Cuts lines after the last piece that is near any of the other person's."""

    def __init__(self, near: NDArray[np.bool_]) -> None:
        self.near = [bool(one.any()) for one in near]
        self._cut: dict[Lay, Lay] = {}

    def cut(self, lay: Lay) -> Lay:
        """Return the line up to there; nothing of it where no piece is near."""
        if lay not in self._cut:
            length = len(lay)
            while length and not self.near[lay[length - 1]]:
                length -= 1
            self._cut[lay] = lay[:length]
        return self._cut[lay]


def _boxes_near(
    first: LaidLines, second: LaidLines, apart_m: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the pairs of pieces whose boxes are near enough, spare line included."""
    near = np.ones((len(first.pieces), len(second.pieces)), dtype=bool)
    low, high = _box(first, apart_m)
    other_low, other_high = _box(second, 0.0)
    for axis in range(3):
        near &= low[:, axis, None] <= other_high[None, :, axis]
        near &= other_low[None, :, axis] <= high[:, axis, None]
    rows, columns = np.nonzero(near)
    return rows, columns


def _box(lines: LaidLines, more_m: float) -> tuple[Floats, Floats]:
    room_m = (lines.spare_m + more_m)[:, None]
    low: Floats = np.minimum(lines.start_m, lines.end_m) - room_m
    high: Floats = np.maximum(lines.start_m, lines.end_m) + room_m
    return low, high


def cells_together(flags: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return the cells that hang together with the first one, side by side or diagonally.

    Each row is the bits of one number: filling goes from row to row and to the
    sides until nothing is added. Rows beyond the last that is filled are not looked
    at: people go apart soon, and their lines are long.

    Parameters
    ----------
    flags
        Which pieces of the two lines are near each other, shape (n, m), both at least 1.

    Returns
    -------
    NDArray[np.bool_]
        Shape (n, m); nothing where the first cell is not one of them.
    """
    packed = np.packbits(flags, 1, "little")
    rows = [int.from_bytes(packed[0].tobytes(), "little")]
    filled = [_spread(1, rows[0])]
    changed = True
    while changed:
        changed = False
        at = 0
        while filled[at] and at + 1 < len(flags):
            at += 1
            if at == len(rows):
                rows.append(int.from_bytes(packed[at].tobytes(), "little"))
                filled.append(0)
            changed |= _fill(filled, rows, at, filled[at - 1])
        for at in range(len(rows) - 2, -1, -1):
            changed |= _fill(filled, rows, at, filled[at + 1])
    width = packed.shape[1]
    bits = np.frombuffer(b"".join(one.to_bytes(width, "little") for one in filled), np.uint8)
    found = np.zeros(flags.shape, dtype=bool)
    found[: len(rows)] = np.unpackbits(
        bits.reshape(len(rows), width), 1, flags.shape[1], "little"
    ).astype(bool)
    return found


def _fill(filled: list[int], rows: list[int], at: int, beside: int) -> bool:
    """Fill a row from the one beside it; tell whether that adds anything."""
    side = beside | beside << 1 | beside >> 1
    more = _spread(filled[at] | (side & rows[at]), rows[at])
    changed = more != filled[at]
    filled[at] = more
    return changed


def _spread(bits: int, within: int) -> int:
    """Return bits and all that hang together with them to the sides, within others."""
    while (more := (bits | bits << 1 | bits >> 1) & within) != bits:
        bits = more
    return bits


def _meeting_spans(first: LaidLines, second: LaidLines) -> Iterator[tuple[float, float, Lay, Lay]]:
    """Yield (start, end, lay, lay) of every stretch of time in which neither line changes."""
    others = list(second.spans())
    at = 0
    for begins_s, ends_s, lays in first.spans():
        while at < len(others) and others[at][1] <= begins_s:
            at += 1
        for start_s, end_s, other_lays in others[at:]:
            if start_s >= ends_s:
                break
            both_s = (max(begins_s, start_s), min(ends_s, end_s))
            if both_s[1] - both_s[0] > SLACK_ZERO_S:
                for lay in lays:
                    for other in other_lays:
                        yield *both_s, lay, other


def _grouped(near: _Near, judge: "_Judge", times: dict[Cell, Span]) -> Iterator[tuple[Cell, ...]]:
    """Yield the cells next to each other on both lines at one time and alike, group by group."""
    alike = {cell: (judge.ends(cell), judge.activities(cell)) for cell in times}
    parent = {cell: cell for cell in times}

    def root(cell: Cell) -> Cell:
        while parent[cell] != cell:
            parent[cell] = parent[parent[cell]]
            cell = parent[cell]
        return cell

    onward = near.second.onward
    for cell in sorted(times):
        i, j = cell
        before, beside = near.first.pieces[i].before, near.second.pieces[j].before
        next_to = [(before, j), (i, beside), (before, beside), *((before, k) for k in onward[j])]
        for other in next_to:
            if other not in times or alike[other] != alike[cell]:
                continue
            if _meet(times[cell], times[other]):
                parent[root(cell)] = root(other)
    groups: dict[Cell, list[Cell]] = {}
    for cell in sorted(times):
        groups.setdefault(root(cell), []).append(cell)
    yield from (tuple(cells) for cells in groups.values())


def _meet(one: Span, other: Span) -> bool:
    return max(one[0], other[0]) <= min(one[1], other[1])


class _Judge:
    """Tells how a crossing of two pieces ends."""

    def __init__(self, first: LaidLines, second: LaidLines, order: SureOrder) -> None:
        self.first = first
        self.second = second
        self.order = order

    def pieces(self, cell: Cell) -> tuple[LaidPiece, LaidPiece]:
        return self.first.pieces[cell[0]], self.second.pieces[cell[1]]

    def activities(self, cell: Cell) -> tuple[str | None, ...]:
        """Return in which activities the two are laid and taken up."""
        one, other = self.pieces(cell)
        return one.laid_in, one.taken_in, other.laid_in, other.taken_in

    def ends(self, cell: Cell) -> tuple[Undoing, Whose]:
        """Return how it ends, and whose line lies over."""
        one, other = self.pieces(cell)
        if one.laid_s[1] <= other.laid_s[0] + SLACK_ZERO_S:
            return self._undone(one, other), "second"
        if other.laid_s[1] <= one.laid_s[0] + SLACK_ZERO_S:
            return self._undone(other, one), "first"
        return "may tangle", "unknown"

    def _undone(self, under: LaidPiece, over: LaidPiece) -> Undoing:
        if under.taken_in is not None and (
            over.taken_in is None or over.taken_s[1] > under.taken_s[0] + SLACK_ZERO_S
        ):
            return "tangles"
        certain = self.order.before(_laid(under), _laid(over)) and (
            under.taken_in is None or self._taken_first(over, _taken(under))
        )
        return "undoes itself" if certain else "may tangle"

    def never_meet(self, cell: Cell) -> bool:
        """Tell whether the one is for certain taken up before the other is laid."""
        one, other = self.pieces(cell)
        return self._taken_first(one, _laid(other)) or self._taken_first(other, _laid(one))

    def _taken_first(self, piece: LaidPiece, second: Happening) -> bool:
        return piece.taken_in is not None and self.order.before(_taken(piece), second)


def _laid(piece: LaidPiece) -> Happening:
    return Happening(piece.laid_in, *piece.laid_s)


def _taken(piece: LaidPiece) -> Happening:
    if piece.taken_in is None:
        raise AssertionError("what stays outside is never taken up")
    return Happening(piece.taken_in, *piece.taken_s)


def _crossing(
    near: _Near,
    ends: dict[Cell, tuple[Undoing, Whose]],
    cells: Sequence[Cell],
    times: dict[Cell, Span],
) -> LineCrossing:
    nearest = min(cells, key=lambda cell: (near.distance_m[cell], cell))
    undoing, over = ends[nearest]
    return LineCrossing(
        start_s=min(times[cell][0] for cell in cells),
        end_s=max(times[cell][1] for cell in cells),
        undoing=undoing,
        over=over,
        decides=nearest,
        cells=tuple(cells),
        distance_m=float(near.distance_m[nearest]),
        place_m=near.place_m(nearest),
    )


def _only_if_late(near: _Near, judge: _Judge, by_clock: Iterable[Cell]) -> dict[Cell, Span]:
    """Return pieces that never lie there together by the clock, but may if it runs otherwise.

    With each, from when till when neither is there by the clock.
    """
    gaps: dict[Cell, Span] = {}
    for i, j in np.argwhere(near.flags).tolist():
        cell = (i, j)
        early, late = sorted(judge.pieces(cell), key=lambda piece: piece.laid_s)
        if cell in by_clock or early.taken_s[1] > late.laid_s[0] + SLACK_ZERO_S:
            continue
        crossed = near.crossed(_lay_to(near.first, i), _lay_to(near.second, j))
        if cell in crossed and not judge.never_meet(cell):
            gaps[cell] = (early.taken_s[1], late.laid_s[0])
    return gaps


def _late_crossing(near: _Near, cells: Sequence[Cell], gaps: dict[Cell, Span]) -> LineCrossing:
    tightest = min(cells, key=lambda one: (gaps[one][1] - gaps[one][0], one))
    gone_s, comes_s = gaps[tightest]
    early_is_first = near.first.pieces[tightest[0]].taken_s[1] == gone_s
    return LineCrossing(
        start_s=gone_s,
        end_s=comes_s,
        undoing="may cross",
        over="second" if early_is_first else "first",
        decides=tightest,
        cells=tuple(cells),
        distance_m=min(float(near.distance_m[cell]) for cell in cells),
        place_m=near.place_m(tightest),
    )


def _lay_to(lines: LaidLines, piece: int) -> Lay:
    lay = [piece]
    while (before := lines.pieces[lay[-1]].before) is not None:
        lay.append(before)
    return tuple(reversed(lay))
