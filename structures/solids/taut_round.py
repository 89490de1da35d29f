"""The shortest way round one cylinder or one sphere."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise, product

import numpy as np

from structures.shapes import Cylinder, Sphere
from structures.solids.axes import Floats, norms, spine
from structures.solids.sight import crosses

__all__ = ["ARC_STEP_RAD", "way_round_cylinder", "way_round_sphere", "wrapped_m"]

_COARSE = 128
"""Places round a rim that are tried first."""

_FINEST_RAD = 1e-10
"""Places on a rim are found to this angle; the length is then right to about 1e-9 m."""

_NARROWER = 0.4
_BASINS = 4
ARC_STEP_RAD = math.radians(7.5)
"""Points given on a skin are no farther apart than this, seen from the axis or centre [rad]."""

_OFF_SURFACE = 1e-9


def wrapped_m(first_m: Floats, last_m: Floats, angle_rad: Floats, radius_m: float) -> Floats:
    """Compute the length of a taut line round a disc, in its plane.

    Tangent, arc, tangent, or straight where the disc is not in the way.

    Parameters
    ----------
    first_m, last_m
        Distances of the ends from the disc's centre, at least the radius, shape (n,) [m].
    angle_rad
        Angle between the ends seen from the centre, 0 to pi, shape (n,) [rad].
    radius_m
        Radius of the disc [m].

    Returns
    -------
    Floats
        Shape (n,) [m].

    Examples
    --------
    >>> wrapped_m(np.array([2.0]), np.array([2.0]), np.array([np.pi]), 1.0)
    array([4.511299])
    """
    first, last = np.maximum(first_m, radius_m), np.maximum(last_m, radius_m)
    arc = angle_rad - np.arccos(radius_m / first) - np.arccos(radius_m / last)
    tangents = np.sqrt(first**2 - radius_m**2) + np.sqrt(last**2 - radius_m**2)
    # The half angle form keeps its digits where the ends are close together.
    straight = np.sqrt((first - last) ** 2 + 4 * first * last * np.sin(angle_rad / 2) ** 2)
    return np.where(arc > 0, tangents + radius_m * arc, straight)


def way_round_sphere(shape: Sphere, start_m: Floats, end_m: Floats) -> tuple[float, Floats]:
    """Return length [m] and points (k, 3) [m] of the shortest line outside a ball.

    It lies in the plane of both ends and the centre. Between points on the ball
    the line follows the skin. Both ends, each (3,) [m], are outside or on it.
    """
    center = np.asarray(shape.center_m)
    first, last = start_m - center, end_m - center
    x = first / np.sqrt(first @ first)
    across = last - (last @ x) * x
    size = float(np.sqrt(across @ across))
    if size < _OFF_SURFACE * float(np.sqrt(last @ last)):
        # Opposite ends: every plane through both is as good; take one by a fixed rule.
        across = np.cross(x, np.eye(3)[int(np.abs(x).argmin())])
        size = float(np.sqrt(across @ across))
    plane = np.stack([x, across / size])
    flat = np.stack([first, last]) @ plane.T
    length_m, way = _flat_way(flat[0], flat[1], shape.radius_m)
    points = center + way @ plane
    return length_m, np.concatenate([start_m[None], points[1:-1], end_m[None]])


def way_round_cylinder(shape: Cylinder, start_m: Floats, end_m: Floats) -> tuple[float, Floats]:
    """Return length [m] and points (k, 3) [m] of the shortest line outside a capped cylinder.

    The line goes round the side (tangent, helix, tangent), or over one rim, or
    over two: across one end face, or along the side from end to end. More rims
    are never shorter: a chord across a face and a helix down the side can be
    swapped at the same length, after which the chord can be cut short.
    The place on each rim is found by search, to `_FINEST_RAD`. Between points
    on the side the line follows the skin.

    Parameters
    ----------
    shape
        The cylinder.
    start_m, end_m
        Points outside or on it, shape (3,) [m].
    """
    foot, axis, length_m = spine(shape)
    x = np.cross(axis, np.eye(3)[int(np.abs(axis).argmin())])
    x = x / np.sqrt(x @ x)
    axes = np.stack([x, np.cross(axis, x), axis])
    own = (np.stack([start_m, end_m]) - foot) @ axes.T
    drum = _Drum(shape.radius_m, length_m)
    best_m = float(drum.side_m(own[:1], own[1:])[0])
    best_rims: list[Floats] = []
    for heights in [(0.0,), (length_m,), *product((0.0, length_m), repeat=2)]:
        climb = np.array([own[0, 2], *heights, own[1, 2]])
        if float(np.abs(np.diff(climb)).sum()) >= best_m:
            # Going up and down alone is no shorter than what is known.
            continue
        found_m, rims = _over_rims(drum, own, heights, best_m)
        if found_m < best_m:
            best_m, best_rims = found_m, rims
    way = drum.way([own[0], *best_rims, own[1]])
    points = foot + way @ axes
    return best_m, np.concatenate([start_m[None], points[1:-1], end_m[None]])


@dataclass(frozen=True, slots=True)
class _Drum:
    """A cylinder that stands on its own z axis."""

    radius_m: float
    length_m: float

    def rim(self, angles: Floats, height_m: float) -> Floats:
        """Return points on a rim, shape (n, 3) [m]."""
        x, y = self.radius_m * np.cos(angles), self.radius_m * np.sin(angles)
        return np.stack([x, y, np.full(len(angles), height_m)], axis=1)

    def side_m(self, first: Floats, last: Floats) -> Floats:
        """Return lengths round the side, as if it had no ends; inf from over an end face."""
        first_m, last_m = np.hypot(first[:, 0], first[:, 1]), np.hypot(last[:, 0], last[:, 1])
        turn = first[:, 0] * last[:, 1] - first[:, 1] * last[:, 0]
        along = first[:, 0] * last[:, 0] + first[:, 1] * last[:, 1]
        flat = wrapped_m(first_m, last_m, np.abs(np.arctan2(turn, along)), self.radius_m)
        length = np.hypot(flat, last[:, 2] - first[:, 2])
        inner = self.radius_m * (1 - _OFF_SURFACE)
        beside = (first_m >= inner) & (last_m >= inner)
        return np.where(beside, length, np.inf)

    def crosses(self, first: Floats, last: Floats) -> Floats:
        own = Cylinder(
            start_m=(0.0, 0.0, 0.0), end_m=(0.0, 0.0, self.length_m), radius_m=self.radius_m
        )
        return crosses(own, first, last).astype(np.float64)

    def leg_m(self, first: Floats, last: Floats) -> Floats:
        """Return lengths of the pieces from an end of the line to a rim, row by row."""
        first, last = np.broadcast_arrays(first, last)
        blocked = self.crosses(first, last) > 0
        return np.where(blocked, self.side_m(first, last), norms(last - first))

    def between_m(self, first: Floats, last: Floats) -> Floats:
        """Return lengths from each point of one rim to each of another, shape (n, m) [m]."""
        begin, end = (np.arctan2(rim[:, 1], rim[:, 0]) for rim in (first, last))
        turn = begin[:, None] - end
        turn = np.abs(np.arctan2(np.sin(turn), np.cos(turn)))
        rise_m = float(last[0, 2] - first[0, 2])
        chord_m: Floats = 2 * self.radius_m * np.sin(turn / 2)
        helix_m: Floats = np.hypot(self.radius_m * turn, rise_m)
        return chord_m if rise_m == 0 else helix_m

    def way(self, stops: list[Floats]) -> Floats:
        """Return points of the line through some stops, shape (k, 3) [m]."""
        points = [stops[0][None]]
        for first, last in pairwise(stops):
            if self.crosses(first[None], last[None])[0] > 0:
                _, flat = _flat_way(first[:2], last[:2], self.radius_m)
                gone = np.concatenate([[0.0], np.cumsum(norms(np.diff(flat, axis=0)))])
                height = first[2] + gone / gone[-1] * (last[2] - first[2])
                points.append(np.column_stack([flat, height])[1:])
            else:
                points.append(last[None])
        return np.concatenate(points)


def _over_rims(
    drum: _Drum, own: Floats, heights: tuple[float, ...], best_m: float
) -> tuple[float, list[Floats]]:
    """Find the shortest line over one rim, or two; inf where none can beat the best so far."""

    def lengths(angles: tuple[Floats, ...]) -> Floats:
        rims = [drum.rim(some, height) for some, height in zip(angles, heights, strict=True)]
        out, home = drum.leg_m(own[:1], rims[0]), drum.leg_m(rims[-1], own[1:])
        if len(rims) == 1:
            return out + home
        total: Floats = out[:, None] + drum.between_m(*rims) + home
        return total

    found_m, angles = _least(lengths, len(heights), best_m, 4 * drum.radius_m)
    return found_m, [
        drum.rim(np.array([angle]), height)[0]
        for angle, height in zip(angles, heights, strict=False)
    ]


def _least(
    lengths: Callable[[tuple[Floats, ...]], Floats], many: int, best_m: float, steepness_m: float
) -> tuple[float, tuple[float, ...]]:
    """Minimise over one or two angles: a coarse grid, then every promising basin ever finer."""
    coarse = np.linspace(0.0, 2 * np.pi, _COARSE, endpoint=False)
    step = float(coarse[1])
    grid = lengths((coarse,) * many)
    around = np.stack(
        [np.roll(grid, by, axis=range(many)) for by in product((-1, 0, 1), repeat=many)]
    )
    # No value in a cell can be lower than this: a rim place moved by half a step in each angle.
    hopeful = grid - steepness_m * step / 2 * many < min(best_m, float(grid.min()) + step)
    basins = np.argwhere((grid <= around.min(axis=0)) & np.isfinite(grid) & hopeful).tolist()
    basins = sorted(basins, key=lambda at: (float(grid[tuple(at)]), at))[:_BASINS]
    best: tuple[float, tuple[float, ...]] = (np.inf, ())
    for basin in basins:
        center, half = [float(coarse[i]) for i in basin], 1.5 * step
        while half > _FINEST_RAD:
            windows = tuple(at + np.linspace(-half, half, 9) for at in center)
            fine = lengths(windows)
            least = np.unravel_index(int(fine.argmin()), fine.shape)
            center = [float(window[i]) for window, i in zip(windows, least, strict=True)]
            half *= _NARROWER
            if float(fine[least]) < best[0]:
                best = float(fine[least]), tuple(center)
    return best


def _flat_way(first: Floats, last: Floats, radius_m: float) -> tuple[float, Floats]:
    """Return length and points of the taut line round a disc at the origin, in the plane."""
    first_m, last_m = float(np.hypot(*first)), float(np.hypot(*last))
    first_m, last_m = max(first_m, radius_m), max(last_m, radius_m)
    turn = float(
        np.arctan2(first[0] * last[1] - first[1] * last[0], first[0] * last[0] + first[1] * last[1])
    )
    length = wrapped_m(np.array([first_m]), np.array([last_m]), np.array([abs(turn)]), radius_m)
    leave, meet = np.arccos(radius_m / first_m), np.arccos(radius_m / last_m)
    arc = abs(turn) - leave - meet
    if arc <= 0:
        return float(length[0]), np.stack([first, last])
    hand = 1.0 if turn >= 0 else -1.0
    begin = float(np.arctan2(first[1], first[0]))
    pieces = int(np.ceil(arc / ARC_STEP_RAD))
    angles = begin + hand * (leave + np.linspace(0.0, arc, pieces + 1))
    contact = radius_m * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    return float(length[0]), np.concatenate([first[None], contact, last[None]])
