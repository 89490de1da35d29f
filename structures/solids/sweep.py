"""Clearance of a ball carried along a move: position linear, direction turned evenly.

The answer is a guaranteed lower bound: never larger than the true clearance
(beyond rounding, 1e-9 m), and at most `SWEEP_TOLERANCE_M` below it.
"""

from collections.abc import Iterator

import numpy as np

from structures.frozen import frozen
from structures.solids.axes import Flags, Floats, Indices, points_array, rows_at
from structures.solids.bounds import NO_SHAPE, Best, Stretches
from structures.solids.culling import near_pairs
from structures.solids.tables import Shapes, ShapeTables
from structures.solids.track import Sweep, Track

__all__ = [
    "SWEEP_TOLERANCE_M",
    "Sweep",
    "Verdicts",
    "places_clearance",
    "sweep_clearance",
    "sweep_clears",
    "sweep_touches",
    "sweep_verdicts",
]

SWEEP_TOLERANCE_M = 1e-3
"""How far below the true clearance an answer may lie [m]: a tenth of a hand's play, and fast."""

BLOCK = 1 << 16
"""Moves worked on at a time, which bounds the memory taken."""

PIECE = 1 << 12
"""Intervals of moves measured at a time, for the same reason."""

_NOTHING: Indices = np.empty(0, dtype=np.int64)
_FIRST_RING_M = 1.0
_ROUNDING_M = 1e-12
_SURELY_M = 1e-8
"""By how much a bound must settle a verdict to hold however later sums are rounded [m]."""


@frozen(eq=False)
class Verdicts:
    """Which of n moves `sweep_clears` lets pass, and which of that holds for other balls."""

    clear: Flags
    smaller: Flags
    """Clear, and so for every smaller ball that touches the hands in the same way."""
    larger: Flags
    """Refused, and so for every larger ball that touches the hands in the same way."""


def sweep_clears(shapes: Shapes, sweep: Sweep, radius_m: float) -> Flags:
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
    return sweep_verdicts(shapes, sweep, radius_m).clear


def sweep_verdicts(shapes: Shapes, sweep: Sweep, radius_m: float) -> Verdicts:
    """Tell what `sweep_clears` does, and what follows for other balls.

    Parameters
    ----------
    shapes, sweep, radius_m
        As in `sweep_clears`.

    Notes
    -----
    A ball of radius r whose skin touches the hands at p has its centre at p + r u, where
    u is the lean. If the radius grows by d, the centre moves by d, so its distance to a
    shape grows by no more than d: the clearance of the skin never grows with the ball.
    This needs ``radius_m`` to be the sweep's own offset.
    """
    best = _measure(shapes, sweep, radius_m, SWEEP_TOLERANCE_M, first_refusal=True)
    clear = best.upper_m >= SWEEP_TOLERANCE_M
    own = radius_m == sweep.offset_m
    return Verdicts(
        clear=clear,
        smaller=clear & own & (best.lower_m >= SWEEP_TOLERANCE_M + _SURELY_M),
        larger=own & (best.upper_m < -_SURELY_M),
    )


def sweep_touches(shapes: Shapes, sweep: Sweep, radius_m: float) -> tuple[Indices, Indices]:
    """Find all pairs of a shape and a move on which the ball may touch it.

    These are the moves that `sweep_clears` refuses for each shape by itself,
    found for all shapes in one go.

    Parameters
    ----------
    shapes, sweep, radius_m
        As in `sweep_clears`.

    Returns
    -------
    shape, move : Indices
        Shape (k,) each, ascending by shape, then by move.
    """
    _check_radius(radius_m)
    tables = ShapeTables.of(shapes)
    if not tables.count:
        return _NOTHING, _NOTHING
    found = [(_NOTHING, _NOTHING)]
    for start, track in _tracks(sweep):
        unknown = np.flatnonzero(~track.known)
        every = np.arange(tables.count)
        found.append((np.repeat(every, len(unknown)), np.tile(start + unknown, tables.count)))
        balls = track.middle_m, track.reach_m + radius_m, np.flatnonzero(track.known)
        for shape, move, _ in near_pairs(tables, *balls, SWEEP_TOLERANCE_M):
            # Each pair is looked at like a move of its own.
            best = Best.start(len(move), SWEEP_TOLERANCE_M)
            job = _Job(
                tables=tables,
                track=track.take(move),
                radius_m=radius_m,
                best=best,
                first_refusal=True,
            )
            _bisect(Stretches.whole(shape, np.arange(len(move))), job)
            touching = best.upper_m < SWEEP_TOLERANCE_M
            found.append((shape[touching], start + move[touching]))
    shape, move = (np.concatenate(column) for column in zip(*found, strict=True))
    order = np.lexsort((move, shape))
    return shape[order], move[order]


def sweep_clearance(
    shapes: Shapes, sweep: Sweep, radius_m: float | Floats, *, cap_m: float = np.inf
) -> tuple[Floats, Indices]:
    """Compute how much room a ball has on each move, and to which shape.

    Parameters
    ----------
    shapes
        What to keep out of, any number.
    sweep
        The ways of the ball's centre, n of them.
    radius_m
        Radius of the ball, or of that of each way, shape (n,) [m].
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
    best = _measure(shapes, sweep, radius_m, cap_m, first_refusal=False)
    return np.minimum(best.upper_m, best.lower_m), _named(best)


def _named(best: Best) -> Indices:
    """Return the shape that each clearance is measured to, -1 for none."""
    return np.where(best.nearest == NO_SHAPE, -1, best.nearest)


def places_clearance(
    shapes: Shapes, points_m: Floats, radius_m: float, *, cap_m: float = np.inf
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
    _check_radius(radius_m)
    _check_cap(cap_m)
    points = points_array(points_m)
    tables = ShapeTables.of(shapes)
    whole = Best.start(len(points), cap_m)
    for start in range(0, len(points), BLOCK):
        at_m = points[start : start + BLOCK]
        best = whole.part(start, start + len(at_m))
        every = np.arange(len(at_m))
        for shape, place in _ring_pairs(tables, at_m, np.full(len(at_m), radius_m), every, best):
            best.see(shape, place, tables.distance_m(shape, rows_at(at_m, place)) - radius_m)
    return whole.upper_m, _named(whole)


@frozen(kw_only=True, eq=False)
class _Job:
    """Moves being measured against shapes."""

    tables: ShapeTables
    track: Track
    radius_m: float | Floats
    best: Best
    first_refusal: bool
    """Whether a move is done with as soon as it is known not to be clear."""

    def clearance_m(self, shape: Indices, moves: Indices, at: Floats) -> Floats:
        """Measure the clearance of each move to a shape at a time on its way."""
        radius_m = self.radius_m
        if isinstance(radius_m, np.ndarray):
            radius_m = radius_m[moves]
        return self.tables.distance_m(shape, self.track.centers(moves, at)) - radius_m

    def unsure(self, moves: Indices, bound_m: Floats) -> Flags:
        """Tell which lower bounds are too far below what was measured on the move."""
        upper_m = self.best.upper_m[moves]
        unsure: Flags = bound_m < upper_m - SWEEP_TOLERANCE_M + _ROUNDING_M
        if self.first_refusal:
            unsure &= upper_m >= SWEEP_TOLERANCE_M
        return unsure


def _measure(
    shapes: Shapes, sweep: Sweep, radius_m: float | Floats, cap_m: float, *, first_refusal: bool
) -> Best:
    """Bound the clearance of every move, a block at a time."""
    _check_radius(radius_m)
    _check_cap(cap_m)
    tables = ShapeTables.of(shapes)
    whole = Best.start(len(sweep), cap_m)
    for start, track in _tracks(sweep):
        stop = start + len(track.known)
        best = whole.part(start, stop)
        best.upper_m[~track.known] = -np.inf
        best.lower_m[~track.known] = -np.inf
        _measure_block(
            _Job(
                tables=tables,
                track=track,
                radius_m=radius_m[start:stop] if isinstance(radius_m, np.ndarray) else radius_m,
                best=best,
                first_refusal=first_refusal,
            )
        )
    return whole


def _check_radius(radius_m: float | Floats) -> None:
    if not (np.isfinite(radius_m) & (np.asarray(radius_m) >= 0)).all():
        raise ValueError(f"ball radius {radius_m} m; give a finite radius of 0 m or more")


def _check_cap(cap_m: float) -> None:
    if np.isnan(cap_m):
        raise ValueError("the clearance cap is not a number; give metres, or leave it out")


def _tracks(sweep: Sweep) -> Iterator[tuple[int, Track]]:
    """Yield the moves in blocks, each with the index of its first move."""
    for start in range(0, len(sweep), BLOCK):
        yield start, Track.of(sweep, start, min(start + BLOCK, len(sweep)))


def _measure_block(job: _Job) -> None:
    track = job.track
    known, radii_m = np.flatnonzero(track.known), track.reach_m + job.radius_m
    for shape, move in _ring_pairs(job.tables, track.middle_m, radii_m, known, job.best):
        _bisect(Stretches.whole(shape, move), job)


def _ring_pairs(
    tables: ShapeTables, middle_m: Floats, radii_m: Floats, some: Indices, best: Best
) -> Iterator[tuple[Indices, Indices]]:
    """Yield the shapes that may matter to some balls, in ever wider rings round each.

    What is measured of one part must be in ``best`` before the next is asked
    for: a shape whose box is farther from a ball than its best clearance so far
    cannot matter to it. Rings keep the first guess of that from being endless.
    """
    inner_m = -np.inf
    ring_m = min(_FIRST_RING_M, best.cap_m)
    farthest_m = tables.farthest_m(middle_m)
    while len(some) and inner_m <= farthest_m:
        last = ring_m >= best.cap_m
        # In the last ring a little beyond the cap too: see `sweep_verdicts`.
        within_m = ring_m + _SURELY_M if last else ring_m
        for shape, ball, gap_m in near_pairs(tables, middle_m, radii_m, some, within_m):
            wanted = (gap_m > inner_m) & (gap_m < best.upper_m[ball])
            if last:
                past = gap_m >= best.upper_m[ball]
                best.rest(ball[past], gap_m[past])
            yield shape[wanted], ball[wanted]
        some = some[best.upper_m[some] > ring_m]
        inner_m, ring_m = ring_m, 4.0 * ring_m


def _bisect(stretches: Stretches, job: _Job) -> None:
    """Halve stretches until each is certain, depth first in bounded pieces.

    So memory does not grow with the number of stretches.
    """
    waiting = stretches.pieces(PIECE)
    while waiting:
        waiting += _split(waiting.pop(), job).pieces(PIECE)


def _split(some: Stretches, job: _Job) -> Stretches:
    """Measure stretches in their middle; return the halves of those that are not certain yet."""
    best, track = job.best, job.track
    width = some.stop - some.start
    middle = some.start + width / 2
    mid_m = job.clearance_m(some.shape, some.move, middle)
    best.see(some.shape, some.move, mid_m)
    bound_m = mid_m - track.speed_m[some.move] * width / 2
    unsure = job.unsure(some.move, bound_m)
    best.rest(some.move[~unsure], bound_m[~unsure])
    some, middle, mid_m, bound_m = some.take(unsure), middle[unsure], mid_m[unsure], bound_m[unsure]
    convex = np.flatnonzero(job.tables.convex[some.shape])
    if len(convex):
        bound_m[convex] = np.maximum(bound_m[convex], _chord_bound(some, convex, mid_m, job))
        unsure = job.unsure(some.move, bound_m)
        best.rest(some.move[~unsure], bound_m[~unsure])
        some, middle, mid_m = some.take(unsure), middle[unsure], mid_m[unsure]
    return some.halves(middle, mid_m)


def _chord_bound(some: Stretches, convex: Indices, mid_m: Floats, job: _Job) -> Floats:
    """Bound from below the clearance of stretches to convex shapes, by their ends and middle.

    The chord's distance to a convex shape is a convex function of the place on
    it, so it rises to no less on one side than it falls on the other. The way
    strays from the chord by no more than bend * width^2 / 8 (both halves of the
    argument pay that once).
    """
    ask = convex[np.isnan(some.start_m[convex])]
    if len(ask):
        both, at = np.concatenate([ask, ask]), np.concatenate([some.start[ask], some.stop[ask]])
        shape, move = some.shape[both], some.move[both]
        ends_m = job.clearance_m(shape, move, at)
        job.best.see(shape, move, ends_m)
        some.start_m[ask], some.stop_m[ask] = np.split(ends_m, 2)
    width = some.stop[convex] - some.start[convex]
    stray_m = job.track.bend_m[some.move[convex]] * width * width / 8
    floor_m = mid_m[convex] - stray_m
    most_m = np.maximum(some.start_m[convex], some.stop_m[convex])
    bound_m: Floats = floor_m - np.maximum(most_m - floor_m, 0.0) - stray_m
    return bound_m
