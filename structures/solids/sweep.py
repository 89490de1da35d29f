"""Clearance of a ball carried along a move: position linear, direction turned evenly.

The answer is a guaranteed lower bound: never larger than the true clearance
(beyond rounding, 1e-9 m), and at most `SWEEP_TOLERANCE_M` below it.
"""

from dataclasses import dataclass

import numpy as np

from structures.shapes import Shape
from structures.solids.axes import Flags, Floats, Indices, is_convex, points_array
from structures.solids.culling import ShapeBoxes, near_pairs
from structures.solids.distance import signed_distance
from structures.solids.track import Sweep, Track

__all__ = [
    "SWEEP_TOLERANCE_M",
    "Sweep",
    "places_clearance",
    "sweep_clearance",
    "sweep_clears",
]

SWEEP_TOLERANCE_M = 1e-3
"""How far below the true clearance an answer may lie [m]: a tenth of a hand's play, and fast."""

BLOCK = 1 << 16
"""Moves worked on at a time, which bounds the memory taken."""

PIECE = 1 << 14
"""Intervals of moves measured at a time, for the same reason."""

_FIRST_RING_M = 1.0
_ROUNDING_M = 1e-12


def sweep_clears(shapes: tuple[Shape, ...], sweep: Sweep, radius_m: float) -> Flags:
    """Tell which moves carry a ball past all shapes without going into one.

    Touching is allowed. Fails closed: a move whose clearance is below
    `SWEEP_TOLERANCE_M` may be refused, and one whose way is not known (see
    `Sweep`) is always refused.

    Parameters
    ----------
    shapes
        What to keep out of, any number.
    sweep
        The ways of the ball's centre, n of them.
    radius_m
        Radius of the ball [m].

    Returns
    -------
    Flags
        True where the move is certainly clear, shape (n,).
    """
    best = _Best.start(len(sweep), SWEEP_TOLERANCE_M)
    _measure(shapes, sweep, radius_m, best, first_refusal=True)
    return best.upper_m >= SWEEP_TOLERANCE_M


def sweep_clearance(
    shapes: tuple[Shape, ...], sweep: Sweep, radius_m: float, *, cap_m: float = np.inf
) -> tuple[Floats, Indices]:
    """Compute how much room a ball has on each move, and to which shape.

    Parameters
    ----------
    shapes
        What to keep out of, any number.
    sweep
        The ways of the ball's centre, n of them.
    radius_m
        Radius of the ball [m].
    cap_m
        Clearances above this are of no interest: they are given as this, and
        found faster [m].

    Returns
    -------
    clearance_m : Floats
        Lower bound of the least distance from skin to skin, negative where the
        ball goes in, shape (n,) [m]; never above the true value, at most
        `SWEEP_TOLERANCE_M` below the smaller of it and ``cap_m``. It is -inf
        where the way is not known, and ``cap_m`` without shapes.
    nearest : Indices
        Index of the shape it is measured to, shape (n,); the lowest index
        where several measure the same, -1 where no shape is nearer than the cap.
    """
    best = _Best.start(len(sweep), cap_m)
    _measure(shapes, sweep, radius_m, best, first_refusal=False)
    return np.minimum(best.upper_m, best.lower_m), best.nearest


def places_clearance(
    shapes: tuple[Shape, ...], points_m: Floats, radius_m: float, *, cap_m: float = np.inf
) -> tuple[Floats, Indices]:
    """Compute how much room a ball has at rest, as `sweep_clearance` does, but exactly.

    Parameters
    ----------
    shapes
        What to keep out of, any number.
    points_m
        Centres of the balls, shape (n, 3) [m].
    radius_m, cap_m
        As in `sweep_clearance` [m].

    Returns
    -------
    clearance_m : Floats
        Shape (n,) [m].
    nearest : Indices
        Shape (n,).
    """
    points = points_array(points_m)
    still = np.zeros_like(points)
    still[:, 0] = 1.0
    sweep = Sweep(points, points, still, still, 0.0)
    return sweep_clearance(shapes, sweep, radius_m, cap_m=cap_m)


class _Best:
    """What is known of each move so far: between which bounds its clearance lies."""

    __slots__ = ("lower_m", "nearest", "upper_m")

    def __init__(self, upper_m: Floats, lower_m: Floats, nearest: Indices) -> None:
        self.upper_m = upper_m
        self.lower_m = lower_m
        self.nearest = nearest

    @classmethod
    def start(cls, moves: int, cap_m: float) -> "_Best":
        return cls(
            np.full(moves, cap_m),
            np.full(moves, cap_m),
            np.full(moves, -1, dtype=np.int64),
        )

    def part(self, start: int, stop: int) -> "_Best":
        """Return a window on some moves; writing to it writes to the whole."""
        return _Best(self.upper_m[start:stop], self.lower_m[start:stop], self.nearest[start:stop])

    def see(self, moves: Indices, clearance_m: Floats, shape: int) -> None:
        """Take in clearances measured at places on the way to one shape."""
        before = self.upper_m[moves]
        np.minimum.at(self.upper_m, moves, clearance_m)
        nearer = self.upper_m[moves] < before
        self.nearest[moves[nearer]] = shape

    def rest(self, moves: Indices, bound_m: Floats) -> None:
        """Take in lower bounds of stretches that need no closer look."""
        np.minimum.at(self.lower_m, moves, bound_m)


def _measure(
    shapes: tuple[Shape, ...], sweep: Sweep, radius_m: float, best: _Best, *, first_refusal: bool
) -> None:
    if not (np.isfinite(radius_m) and radius_m >= 0):
        raise ValueError(f"ball radius {radius_m} m; give a finite radius of 0 m or more")
    if np.isnan(best.upper_m).any():
        raise ValueError("the clearance cap is not a number; give metres, or leave it out")
    boxes = ShapeBoxes.of(shapes)
    for start in range(0, len(sweep), BLOCK):
        stop = min(start + BLOCK, len(sweep))
        part = best.part(start, stop)
        track = Track.of(sweep, start, stop)
        part.upper_m[~track.known] = -np.inf
        part.lower_m[~track.known] = -np.inf
        if shapes:
            job = _Job(track=track, radius_m=radius_m, best=part, first_refusal=first_refusal)
            _measure_block(shapes, boxes, job)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Job:
    """One block of moves being measured."""

    track: Track
    radius_m: float
    best: _Best
    first_refusal: bool
    """Whether a move is done with as soon as it is known not to be clear."""


def _measure_block(shapes: tuple[Shape, ...], boxes: ShapeBoxes, job: _Job) -> None:
    """Look at ever wider rings of shapes round each move, until the nearest is certain.

    A shape whose box is farther from a move than its best clearance so far
    cannot matter to it. Rings keep the first guess of that from being endless.
    """
    best, track = job.best, job.track
    inner_m = -np.inf
    ring_m = min(_FIRST_RING_M, float(best.upper_m.max(initial=-np.inf)))
    open_moves = np.flatnonzero(track.known)
    while len(open_moves):
        for shape, moves, gap_m in near_pairs(
            boxes, track.middle_m, track.reach_m + job.radius_m, open_moves, ring_m
        ):
            wanted = (gap_m > inner_m) & (gap_m < best.upper_m[moves])
            if job.first_refusal:
                wanted &= best.upper_m[moves] >= SWEEP_TOLERANCE_M
            if wanted.any():
                _measure_shape(shapes[shape], shape, moves[wanted], job)
        open_moves = open_moves[best.upper_m[open_moves] > ring_m]
        inner_m, ring_m = ring_m, 4.0 * ring_m
        if inner_m > boxes.farthest_m(track.middle_m):
            break


def _measure_shape(shape: Shape, index: int, moves: Indices, job: _Job) -> None:
    """Bisect the ways of some moves until each stretch is certain against one shape."""
    convex = is_convex(shape)
    whole = np.stack([np.zeros(len(moves)), np.ones(len(moves))])
    # Depth first, in bounded pieces, so that memory does not grow with the number of stretches.
    waiting = [(moves[i : i + PIECE], whole[:, i : i + PIECE]) for i in range(0, len(moves), PIECE)]
    while waiting:
        some, stretch = waiting.pop()
        some, stretch = _split(shape, index, (some, stretch), job, convex=convex)
        waiting += [
            (some[i : i + PIECE], stretch[:, i : i + PIECE]) for i in range(0, len(some), PIECE)
        ]


def _split(
    shape: Shape, index: int, stretches: tuple[Indices, Floats], job: _Job, *, convex: bool
) -> tuple[Indices, Floats]:
    """Measure stretches of moves in their middle; return the halves that are not certain yet."""
    moves, (start, stop) = stretches
    best, track = job.best, job.track
    width = stop - start
    middle = start + width / 2

    def clearance_m(at: Floats, of: Indices) -> Floats:
        return signed_distance(shape, track.centers(of, at)) - job.radius_m

    mid_m = clearance_m(middle, moves)
    best.see(moves, mid_m, index)
    bound_m = mid_m - track.speed_m[moves] * width / 2
    unsure = _unsure(best, moves, bound_m)
    if convex and unsure.any():
        ask = np.flatnonzero(unsure)
        some, wide = moves[ask], width[ask]
        first_m, last_m = clearance_m(start[ask], some), clearance_m(stop[ask], some)
        best.see(some, first_m, index)
        best.see(some, last_m, index)
        # The chord's distance to a convex shape is a convex function of the place on it, so it
        # rises to no less on one side than it falls on the other. The way strays from the chord
        # by no more than bend * width^2 / 8 (both halves of the argument pay that once).
        stray_m = track.bend_m[some] * wide * wide / 8
        floor_m = mid_m[ask] - stray_m
        chord_m = floor_m - np.maximum(np.maximum(first_m, last_m) - floor_m, 0.0) - stray_m
        bound_m[ask] = np.maximum(bound_m[ask], chord_m)
        unsure = _unsure(best, moves, bound_m)
    best.rest(moves[~unsure], bound_m[~unsure])
    if job.first_refusal:
        unsure &= best.upper_m[moves] >= SWEEP_TOLERANCE_M
    halves = np.stack(
        [
            np.concatenate([start[unsure], middle[unsure]]),
            np.concatenate([middle[unsure], stop[unsure]]),
        ]
    )
    return np.concatenate([moves[unsure], moves[unsure]]), halves


def _unsure(best: _Best, moves: Indices, bound_m: Floats) -> Flags:
    return bound_m < best.upper_m[moves] - SWEEP_TOLERANCE_M + _ROUNDING_M
