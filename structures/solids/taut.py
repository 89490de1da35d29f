"""The shortest line from one point to another round solids, for tethers and cables.

The safe side for a line that must be long enough is too long: where the exact
length is not known, a real line is measured that touches no solid.
"""

import math
from dataclasses import dataclass

import numpy as np

from structures.errors import StructureError
from structures.frames import Vector
from structures.shapes import Box, Cylinder, Shape, Sphere
from structures.solids.axes import Floats, norms, points_array
from structures.solids.distance import signed_distance
from structures.solids.seams import through_seam
from structures.solids.sight import SIGHT_TOLERANCE_M, crosses, crosses_any
from structures.solids.sweep import Sweep, sweep_clears
from structures.solids.taut_box import way_round_box
from structures.solids.taut_graph import bends_on, way_round_many
from structures.solids.taut_round import ARC_STEP_RAD, way_round_cylinder, way_round_sphere
from structures.units import fine_text

__all__ = ["NoWayError", "Way", "shortest_way"]


class NoWayError(StructureError, ValueError):
    """No line leads from start to end outside the solids."""


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """A line round solids, pulled taut.

    Parameters
    ----------
    length_m
        Its length: exact, or an upper bound of the shortest [m].
    points_m
        Points on it from start to end, shape (k, 3) [m]. Between two points on a
        round skin the line follows the skin; elsewhere it is straight.
    exact
        Whether the length is proven to be the shortest, to 1e-6 m.
    bound
        How the length was found and what it is worth, in words.
    """

    length_m: float
    points_m: Floats
    exact: bool
    bound: str


def shortest_way(shapes: tuple[Shape, ...], start_m: Vector, end_m: Vector) -> Way:
    """Find the shortest line from start to end that goes through no solid.

    Touching is allowed: a taut line lies on edges and skins.

    Parameters
    ----------
    shapes
        The solids to go round.
    start_m, end_m
        The ends, in the station frame, shape (3,) [m].

    Returns
    -------
    Way
        Exact where nothing is in the way, and where the shortest way round the
        one box, cylinder or ball in the way meets no other solid (going round
        more solids is never shorter). Otherwise an upper bound.

    Raises
    ------
    NoWayError
        An end is inside a solid, or no way round was found.
    ValueError
        A coordinate is not a finite number.

    Notes
    -----
    Box: unfolding of faces. Cylinder: tangent, helix, tangent round the side,
    L3 = sqrt(L^2 + dz^2) with L the plane taut length, or over its rims. Ball:
    tangent, arc, tangent. Otherwise: A* over sampled edges with every piece
    checked, then slid taut along the edges.

    Examples
    --------
    >>> module = Cylinder(start_m=(0.0, 0.0, -50.0), end_m=(0.0, 0.0, 50.0), radius_m=1.0)
    >>> shortest_way((module,), (-2.0, 0.0, 0.0), (2.0, 0.0, 0.0)).length_m
    4.511299
    """
    ends = points_array(np.array([start_m, end_m], dtype=np.float64), "ends of a line")
    _check_outside(shapes, ends)
    start, end = ends
    blocking = [i for i, shape in enumerate(shapes) if crosses(shape, ends[:1], ends[1:]).any()]
    if not blocking and not through_seam(shapes, ends[:1], ends[1:])[0]:
        length_m = math.dist(start.tolist(), end.tolist())
        return Way(length_m, ends, exact=True, bound="exact: nothing is in the straight line")
    if len(blocking) == 1:
        way = _round_one(shapes, blocking[0], start, end)
        if way is not None:
            return way
    points = way_round_many(shapes, start, end)
    if points is None:
        raise NoWayError(
            f"no line found from {_shown(start)} to {_shown(end)} m round {len(shapes)} solids; "
            "one end may be closed in: check the solids about it"
        )
    length_m = float(norms(np.diff(points, axis=0)).sum())
    straight_m = math.dist(start.tolist(), end.tolist())
    bound = (
        f"upper bound: a real line that goes through no solid, over their edges and round "
        f"24-sided outlines of what is round; how much shorter the shortest is, is not known, but "
        f"it is no less than the straight {fine_text(straight_m)}"
    )
    return Way(length_m, points, exact=False, bound=bound)


def _check_outside(shapes: tuple[Shape, ...], ends: Floats) -> None:
    for i, shape in enumerate(shapes):
        depth_m = -signed_distance(shape, ends)
        for name, end, inside_m in zip(("start", "end"), ends, depth_m, strict=True):
            if inside_m > SIGHT_TOLERANCE_M:
                raise NoWayError(
                    f"the {name} of the line, {_shown(end)} m, is {fine_text(inside_m, 'up')} "
                    "inside solid "
                    f"number {i} (a {shape.shape}); move it outside, or leave that solid out"
                )


def _round_one(shapes: tuple[Shape, ...], index: int, start: Floats, end: Floats) -> Way | None:
    """Go round the only solid in the way; None if that line is not known or not free."""
    shape = shapes[index]
    if isinstance(shape, Box):
        points = way_round_box(shape, start, end)
        if points is None:
            return None
        length_m = float(norms(np.diff(points, axis=0)).sum())
    elif isinstance(shape, Cylinder):
        length_m, points = way_round_cylinder(shape, start, end)
    elif isinstance(shape, Sphere):
        length_m, points = way_round_sphere(shape, start, end)
    else:
        return None
    if not _is_free(shape, shapes[:index] + shapes[index + 1 :], points):
        return None
    return Way(length_m, points, exact=True, bound=f"exact: taut round one {shape.shape}")


def _is_free(shape: Box | Cylinder | Sphere, others: tuple[Shape, ...], points: Floats) -> bool:
    """Tell whether a line that lies round one shape certainly meets no other."""
    tails, heads = points[:-1], points[1:]
    if crosses_any(others, tails, heads).any():
        return False
    skin = crosses(shape, tails, heads)
    on = bends_on(tails[~skin], heads[~skin], points[[0, -1]])
    if through_seam((shape, *others), tails[~skin], heads[~skin], on).any():
        return False
    if isinstance(shape, Box):
        return True
    # On the skin the line bulges out from the chords between its points by no more than this.
    bulge_m = shape.radius_m * (1 - math.cos(ARC_STEP_RAD / 2))
    still = np.tile([1.0, 0.0, 0.0], (int(skin.sum()), 1))
    chords = Sweep(tails[skin], heads[skin], still, still, 0.0)
    return bool(sweep_clears(others, chords, bulge_m).all())


def _shown(point: Floats) -> str:
    x, y, z = point.tolist()
    return f"({x:.3f}, {y:.3f}, {z:.3f})"
