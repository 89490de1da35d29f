"""Rails as one table, so that all of them are cut into pieces and measured in one go."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from structures.frames import Vector
from structures.polylines import Polyline
from structures.solids.axes import Floats, Indices, norms

__all__ = ["Pieces", "Rails"]

_PIECE_M = 0.5
"""Rails are cut into pieces no longer than this first [m]."""


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """Pieces of rails, k of them: half_m is 0 for a single place."""

    rail: Indices
    along_m: Floats
    """Of their middles."""
    half_m: Floats
    point_m: Floats


@dataclass(frozen=True, eq=False)
class Rails:
    """Lines, r of them, in the order in which places on them are preferred."""

    lines: Sequence[Polyline]

    @cached_property
    def _corners(self) -> tuple[Floats, Floats, Indices]:
        """Where along each rail its corners are, (r, c) [m], the corners (r, c, 3), their number.

        Short rows are filled up: beyond the last corner is infinitely far along.
        """
        count = np.array([len(line.points_m) for line in self.lines], dtype=np.int64)
        most = max(int(count.max(initial=0)), 2)
        along_m = np.full((len(self.lines), most), np.inf)
        points_m = np.zeros((len(self.lines), most, 3))
        for rail, line in enumerate(self.lines):
            along_m[rail, : count[rail]] = line.along_m
            points_m[rail, : count[rail]] = line.points_m
            points_m[rail, count[rail] :] = line.points_m[-1]
        return along_m, points_m, count

    @cached_property
    def _edges(self) -> tuple[Indices, Floats]:
        """Return rail and place along it where each rail is cut in any case, (e,) each."""
        along = [line.samples_m(_PIECE_M) for line in self.lines]
        rail = np.repeat(np.arange(len(along)), [len(one) for one in along])
        return rail, np.concatenate(along)

    def take(self, some: Indices) -> "Rails":
        """Return some of the rails, what is known of them included."""
        taken = Rails([self.lines[k] for k in some.tolist()])
        along_m, points_m, count = self._corners
        rail, edge_m = self._edges
        number = np.full(len(self.lines), -1)
        number[some] = np.arange(len(some))
        kept = np.flatnonzero(number[rail] >= 0)
        vars(taken).update(
            _corners=(along_m[some], points_m[some], count[some]),
            _edges=(number[rail[kept]], edge_m[kept]),
            _plain=[self._plain[k] for k in some.tolist()],
        )
        return taken

    def points_at(self, rail: Indices, along_m: Floats) -> Floats:
        """Return places on rails, shape (n, 3) [m]; as `Polyline.points_at`, to the last bit."""
        corner_m, points_m, count = self._corners
        piece = (corner_m[rail] <= along_m[:, None]).sum(axis=1) - 1
        piece = np.clip(piece, 0, np.maximum(count[rail] - 2, 0))
        start = corner_m[rail, piece]
        share = ((along_m - start) / (corner_m[rail, piece + 1] - start))[:, None]
        first, last = points_m[rail, piece], points_m[rail, piece + 1]
        points: Floats = np.where(share >= 1.0, last, first + share * (last - first))
        return points

    def point_at(self, rail: int, along_m: float) -> Vector:
        """Return one place on a rail, as `points_at`: in plain numbers, which is much faster."""
        line, corners = self._plain[rail]
        if len(line) == 1:
            return corners[0]
        piece = min(max(bisect_right(line, along_m) - 1, 0), len(line) - 2)
        share = (along_m - line[piece]) / (line[piece + 1] - line[piece])
        first, last = corners[piece], corners[piece + 1]
        if share >= 1.0:
            return last
        x, y, z = (a + share * (b - a) for a, b in zip(first, last, strict=True))
        return x, y, z

    @cached_property
    def _plain(self) -> list[tuple[list[float], list[Vector]]]:
        """Where along each rail its corners are, and the corners, in plain numbers."""
        return [
            (line.along_m.tolist(), [(x, y, z) for x, y, z in line.points_m.tolist()])
            for line in self.lines
        ]

    def cut(self, *points_m: Floats) -> Pieces:
        """Cut rails into pieces: at corners and at the places nearest to some points (3,) [m].

        The ends of all pieces are among the pieces, as single places.
        """
        rail, along_m = self._edges
        each = np.arange(len(self.lines))
        rail = np.concatenate([rail, *[each for _ in points_m]])
        along_m = np.concatenate([along_m, *[self._nearest_m(one) for one in points_m]])
        order = np.lexsort((along_m, rail))
        rail, along_m = rail[order], along_m[order]
        first = np.append(True, (rail[1:] != rail[:-1]) | (along_m[1:] != along_m[:-1]))
        rail, along_m = rail[first], along_m[first]
        begin = np.flatnonzero(rail[1:] == rail[:-1])
        middle_m = (along_m[begin + 1] + along_m[begin]) / 2
        half_m = (along_m[begin + 1] - along_m[begin]) / 2
        rails = np.concatenate([rail, rail[begin]])
        alongs_m = np.concatenate([along_m, middle_m])
        halves_m = np.concatenate([np.zeros(len(rail)), half_m])
        return Pieces(rails, alongs_m, halves_m, self.points_at(rails, alongs_m))

    def _nearest_m(self, point_m: Floats) -> Floats:
        """Return where along each line it is nearest to a point, the first of equals, (r,) [m]."""
        corner_m, points_m, count = self._corners
        begin_m, end_m = corner_m[:, :-1], corner_m[:, 1:]
        shape = begin_m.shape
        starts, ends = points_m[:, :-1], points_m[:, 1:]
        along = ends - starts
        flat, off = along.reshape(-1, 3), (point_m - starts).reshape(-1, 3)
        length2 = np.einsum("ij,ij->i", flat, flat)
        share = np.einsum("ij,ij->i", off, flat) / np.where(length2 > 0, length2, 1.0)
        share = np.clip(share, 0.0, 1.0)
        gap_m = norms(starts.reshape(-1, 3) + share[:, None] * flat - point_m).reshape(shape)
        there = np.arange(shape[1]) < np.maximum(count - 1, 1)[:, None]
        piece = np.where(there, gap_m, np.inf).argmin(axis=1)
        each = np.arange(len(piece))
        at_m, share = begin_m[each, piece], share.reshape(shape)[each, piece]
        # A line of one point is a piece without length.
        length_m = np.where(share > 0, end_m[each, piece] - at_m, 0.0)
        nearest: Floats = at_m + share * length_m
        return nearest
