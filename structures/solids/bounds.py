"""What is known of moves while they are measured: bounds of each, and stretches still open."""

import numpy as np

from structures.frozen import frozen
from structures.solids.axes import Flags, Floats, Indices

__all__ = ["NO_SHAPE", "Best", "Stretches"]

NO_SHAPE = int(np.iinfo(np.int64).max)
"""Stands for no shape; larger than every index, so that the lowest index of equals is the least."""


class Best:
    """What is known of each move so far: between which bounds its clearance lies."""

    __slots__ = ("cap_m", "lower_m", "nearest", "upper_m")

    def __init__(self, cap_m: float, upper_m: Floats, lower_m: Floats, nearest: Indices) -> None:
        self.cap_m = cap_m
        self.upper_m = upper_m
        self.lower_m = lower_m
        self.nearest = nearest

    @classmethod
    def start(cls, moves: int, cap_m: float) -> "Best":
        """Return what is known of moves before anything is measured."""
        return cls(cap_m, np.full(moves, cap_m), np.full(moves, np.inf), np.full(moves, NO_SHAPE))

    def part(self, start: int, stop: int) -> "Best":
        """Return a window on some moves; writing to it writes to the whole."""
        some = slice(start, stop)
        return Best(self.cap_m, self.upper_m[some], self.lower_m[some], self.nearest[some])

    def see(self, shape: Indices, moves: Indices, clearance_m: Floats) -> None:
        """Take in clearances measured at places on the way, each to one shape."""
        before_m = self.upper_m[moves]
        np.minimum.at(self.upper_m, moves, clearance_m)
        least_m = self.upper_m[moves]
        self.nearest[moves[least_m < before_m]] = NO_SHAPE
        named = np.flatnonzero((clearance_m == least_m) & (least_m < self.cap_m))
        np.minimum.at(self.nearest, moves[named], shape[named])

    def rest(self, moves: Indices, bound_m: Floats) -> None:
        """Take in lower bounds of stretches that need no closer look."""
        np.minimum.at(self.lower_m, moves, bound_m)


@frozen(eq=False)
class Stretches:
    """Stretches of moves, each being measured against one shape."""

    shape: Indices
    move: Indices
    start: Floats
    stop: Floats
    start_m: Floats
    """Clearance at the start [m]; NaN where it is not measured yet."""
    stop_m: Floats

    @classmethod
    def whole(cls, shape: Indices, move: Indices) -> "Stretches":
        """Return whole moves."""
        start, stop, open_m = np.zeros(len(move)), np.ones(len(move)), np.full(len(move), np.nan)
        return cls(shape, move, start, stop, open_m, open_m)

    def take(self, some: Indices | Flags | slice) -> "Stretches":
        """Return some of them."""
        return Stretches(
            self.shape[some],
            self.move[some],
            self.start[some],
            self.stop[some],
            self.start_m[some],
            self.stop_m[some],
        )

    def pieces(self, size: int) -> "list[Stretches]":
        """Return them in pieces of bounded size, none if there are none."""
        return [self.take(slice(i, i + size)) for i in range(0, len(self.move), size)]

    def halves(self, middle: Floats, mid_m: Floats) -> "Stretches":
        """Return the first halves, then the second halves."""
        return Stretches(
            np.concatenate([self.shape, self.shape]),
            np.concatenate([self.move, self.move]),
            np.concatenate([self.start, middle]),
            np.concatenate([middle, self.stop]),
            np.concatenate([self.start_m, mid_m]),
            np.concatenate([mid_m, self.stop_m]),
        )
