"""Whether all lines on a payload pull from one side, so that it may drift the other way."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from structures.frames import Vector
from structures.solids.axes import Floats

__all__ = ["OneSide", "one_side"]

_NO_SIDE = 1e-6
"""Shorter than this, the mean of the pulls that is nearest to nothing points nowhere."""


@dataclass(frozen=True, slots=True)
class OneSide:
    """A direction that every line pulls toward, more or less."""

    direction: Vector
    """Of length 1: among all directions the one whose widest angle to a pull is least."""
    within_deg: float
    """That widest angle, below 90 degrees."""


def one_side(pulls: Sequence[Vector]) -> OneSide | None:
    """Tell whether all pulls lie in one open half-space, and which way it looks.

    If they do, moving the payload along the direction slackens every line: no
    line keeps it from drifting that way. If they do not, any way it moves pulls
    at least one line or moves square to all.

    Parameters
    ----------
    pulls
        Directions from the payload along each line, each of length 1.

    Notes
    -----
    Half-space test: there is a direction d with u . d > 0 for every pull u if
    and only if the convex hull of the pulls does not hold the origin; the point
    of the hull nearest to the origin is then such a d. It lies on a corner, an
    edge or a triangle of pulls, so that all of these are tried: exact, up to
    rounding. That nearest point also has the largest least cosine to any pull.

    Examples
    --------
    >>> one_side([(1.0, 0.0, 0.0)])
    OneSide(direction=(1.0, 0.0, 0.0), within_deg=0.0)
    >>> one_side([(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0)]) is None
    True
    """
    units = np.array(pulls, dtype=np.float64).reshape(-1, 3)
    best: tuple[float, Floats] | None = None
    for size in range(1, min(4, len(units)) + 1):
        for picked in combinations(range(len(units)), size):
            point = _nearest_of(units[list(picked)])
            if point is not None and (best is None or point @ point < best[0]):
                best = float(point @ point), point
    if best is None or math.sqrt(best[0]) <= _NO_SIDE:
        return None
    length = math.sqrt(best[0])
    x, y, z = (best[1] / length).tolist()
    least = float((units @ (best[1] / length)).min())
    return OneSide((x, y, z), math.degrees(math.acos(min(1.0, least))))


def _nearest_of(corners: Floats) -> Floats | None:
    """Return the point of the flat through corners nearest to the origin, if between them."""
    count = len(corners)
    # Lagrange: weights w with G w = mu 1 and sum w = 1, G the products of corners.
    system = np.zeros((count + 1, count + 1))
    system[:count, :count] = corners @ corners.T
    system[:count, count] = system[count, :count] = 1.0
    wanted = np.zeros(count + 1)
    wanted[count] = 1.0
    weights = np.linalg.lstsq(system, wanted, rcond=None)[0][:count]
    if (weights < -1e-12).any() or abs(float(weights.sum()) - 1.0) > 1e-9:
        return None
    point: Floats = weights @ corners
    return point
