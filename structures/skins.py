"""The skin of a cylinder module, unrolled: along its axis against clock angle, at true scale."""

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np

from structures.frames import DIRECTIONS, Vector
from structures.shapes import Cylinder
from structures.solids.axes import Floats, spine

__all__ = ["Skin", "unrolled_skin"]

_FROM_ZENITH_COSINE: Final = 0.9
"""An axis nearer to the zenith-nadir line than this takes forward as its clock zero."""


@dataclass(frozen=True, slots=True, eq=False)
class Skin:
    """The skin of a cylinder, to be unrolled at true scale.

    Clock angles are measured from ``clock_zero``, positive clockwise for someone who looks
    from the start of the axis to its end. The skin is cut at 180 deg.
    """

    start_m: Floats
    axis: Floats
    clock_zero: Floats
    radius_m: float
    length_m: float

    @property
    def half_m(self) -> float:
        """Half the way round the skin [m]."""
        return float(np.pi * self.radius_m)

    def direction(self, clock_deg: float) -> Vector:
        """Return the outward direction at a clock angle, shape (3,)."""
        angle = np.deg2rad(clock_deg)
        out = np.cos(angle) * self.clock_zero + np.sin(angle) * np.cross(self.axis, self.clock_zero)
        return (float(out[0]), float(out[1]), float(out[2]))

    def unroll(self, points_m: Floats) -> Floats:
        """Return skin coordinates of points (n, 3), shape (n, 3) [m].

        Returns
        -------
        NDArray
            Distance along the axis from its start, distance round the skin from clock zero
            (-half_m to half_m), and height above the skin, negative inside.
        """
        away = np.asarray(points_m, dtype=np.float64) - self.start_m
        across = np.cross(self.axis, self.clock_zero)
        up, side = away @ self.clock_zero, away @ across
        round_m = self.radius_m * np.arctan2(side, up)
        return np.column_stack([away @ self.axis, round_m, np.hypot(up, side) - self.radius_m])

    def lift(self, flat_m: Floats) -> Floats:
        """Return the points (n, 3) of the skin at places along and round it, (n, 2) [m]."""
        angle = flat_m[:, 1:] / self.radius_m
        across = np.cross(self.axis, self.clock_zero)
        out = np.cos(angle) * self.clock_zero + np.sin(angle) * across
        lifted: Floats = self.start_m + flat_m[:, :1] * self.axis + self.radius_m * out
        return lifted

    def unroll_path(self, points_m: Floats, *, step_m: float = 0.1) -> tuple[Floats, ...]:
        """Return the pieces of a line on the unrolled skin, each (k, 2): along, round [m].

        Parameters
        ----------
        points_m
            Corners (k, 3) of a line of straight pieces in space [m].
        step_m
            Straight pieces are followed in steps no longer than this [m].

        Returns
        -------
        tuple
            One piece, or more where the line crosses the cut at 180 deg; a piece then ends
            on the cut and the next one starts on the other side.
        """
        flat = self.unroll(_subdivided(points_m, step_m))[:, :2]
        turn_m = 2.0 * self.half_m
        flat[:, 1] = np.unwrap(flat[:, 1], period=turn_m)
        sheet = np.floor((flat[:, 1] + self.half_m) / turn_m).astype(int)
        pieces: list[list[Floats]] = [[flat[0] - (0.0, sheet[0] * turn_m)]]
        for i in range(1, len(flat)):
            if sheet[i] != sheet[i - 1]:
                cut_m = max(sheet[i], sheet[i - 1]) * turn_m - self.half_m
                share = (cut_m - flat[i - 1, 1]) / (flat[i, 1] - flat[i - 1, 1])
                crossing = flat[i - 1] + share * (flat[i] - flat[i - 1])
                crossing[1] = cut_m
                pieces[-1].append(crossing - (0.0, sheet[i - 1] * turn_m))
                pieces.append([crossing - (0.0, sheet[i] * turn_m)])
            pieces[-1].append(flat[i] - (0.0, sheet[i] * turn_m))
        lines = tuple(np.array(piece) for piece in pieces)
        return tuple(line for line in lines if np.ptp(line, axis=0).any()) or lines[:1]

    def distance_m(self, first_m: Vector, second_m: Vector) -> float:
        """Return the length of the shortest line on the skin under two points [m].

        Notes
        -----
        On the unrolled skin it is straight: ``sqrt(dz^2 + (R dtheta)^2)`` with the angle taken
        the shorter way round.
        """
        flat = self.unroll(np.array([first_m, second_m]))
        round_m = abs(float(flat[1, 1] - flat[0, 1]))
        round_m = min(round_m, 2.0 * self.half_m - round_m)
        return float(np.hypot(flat[1, 0] - flat[0, 0], round_m))


def unrolled_skin(cylinder: Cylinder) -> Skin:
    """Return the skin of a cylinder, its clock zero toward zenith, or forward if it stands upright.

    Examples
    --------
    The geodesic a quarter round and 3 m along is straight on the unrolled skin:

    >>> skin = unrolled_skin(Cylinder(start_m=(0, 0, 0), end_m=(8, 0, 0), radius_m=2.2))
    >>> skin.distance_m((1.0, 0.0, -2.2), (4.0, 2.2, 0.0))
    4.576267182466308
    """
    start_m, axis, length_m = spine(cylinder)
    upright = abs(float(axis[2])) > _FROM_ZENITH_COSINE
    zero = np.array(DIRECTIONS["forward" if upright else "zenith"])
    zero = zero - (zero @ axis) * axis
    return Skin(start_m, axis, zero / np.linalg.norm(zero), cylinder.radius_m, length_m)


def _subdivided(points_m: Floats, step_m: float) -> Floats:
    points = np.asarray(points_m, dtype=np.float64)
    parts = [points[:1]]
    for a, b in itertools.pairwise(points):
        count = max(1, int(np.ceil(np.linalg.norm(b - a) / step_m)))
        parts.append(a + (np.arange(1, count + 1) / count)[:, None] * (b - a))
    return np.vstack(parts)
