"""The own axes of a shape, as arrays: what every other computation on shapes starts from."""

import math
from functools import reduce
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from structures.frames import Vector
from structures.shapes import Box, Cone, Cylinder, Prism

__all__ = [
    "Flags",
    "Floats",
    "Indices",
    "beyond",
    "extent",
    "is_convex",
    "local",
    "norms",
    "points_array",
    "rows_at",
    "spine",
    "square",
]

Floats: TypeAlias = NDArray[np.float64]
Flags: TypeAlias = NDArray[np.bool_]
Indices: TypeAlias = NDArray[np.int64]


def points_array(points_m: Floats, name: str = "points_m") -> Floats:
    """Return points as float64 of shape (n, 3), or say what is wrong with them.

    Raises
    ------
    ValueError
        They are not of shape (n, 3), or one is NaN or infinite. A NaN compares
        false with everything, so it would pass for clear; it is refused here.
    """
    points = np.asarray(points_m, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 3:
        raise ValueError(f"{name} has shape {points.shape}; give points as an array (n, 3) [m]")
    if not np.isfinite(points).all():
        worst = int(np.flatnonzero(~np.isfinite(points).all(axis=1))[0])
        raise ValueError(f"{name}[{worst}] is {points[worst]}; coordinates must be finite numbers")
    return points


def rows_at(rows: Floats, some: Indices | Flags | slice) -> Floats:
    """Return some rows of an array of shape (n, ...), by number, in that order, or by mark.

    As ``rows[some]``, which numpy takes ten times as long for where a row is more
    than one number.
    """
    if isinstance(some, slice):
        return rows[some]
    return rows.take(some.nonzero()[0] if some.dtype == np.bool_ else some, axis=0)


def norms(vectors: Floats) -> Floats:
    """Return the length of each row, shape (n,)."""
    lengths: Floats = np.sqrt(np.einsum("ij,ij->i", vectors, vectors))
    return lengths


def beyond(*past_m: Floats) -> Floats:
    """Combine how far points are past several perpendicular bounds, each of shape (n,) [m].

    Outside it is the distance to the nearest place inside all bounds, inside
    minus the distance to the nearest bound. (Column by column: numpy takes the
    largest of each short row many times more slowly.)
    """
    outside = [np.maximum(one, 0.0) for one in past_m]
    distance: Floats = np.sqrt(reduce(np.add, [one * one for one in outside]))
    return distance + np.minimum(reduce(np.maximum, past_m), 0.0)


def extent(points_m: Floats) -> tuple[Floats, Floats]:
    """Return the lowest and highest coordinates of points (n, 3), at least one, each (3,) [m]."""
    columns = np.ascontiguousarray(points_m.T)
    return columns.min(axis=1), columns.max(axis=1)


def spine(shape: Cylinder | Cone) -> tuple[Floats, Floats, float]:
    """Return the centre of the start face (3,) [m], the unit axis (3,) and the length [m]."""
    start_m = np.asarray(shape.start_m, dtype=np.float64)
    along = np.asarray(shape.end_m, dtype=np.float64) - start_m
    length_m = float(np.sqrt(along @ along))
    return start_m, along / length_m, length_m


def square(x_axis: Vector, y_axis: Vector) -> Floats:
    """Return right-handed unit axes as rows, shape (3, 3): x as given, z along x cross y."""
    x = _unit(x_axis)
    z = _unit(_cross(x, y_axis))
    return np.array([x, _cross(z, x), z])


def _unit(vector: Vector) -> Vector:
    x, y, z = vector
    length = math.sqrt(x * x + y * y + z * z)
    return x / length, y / length, z / length


def _cross(a: Vector, b: Vector) -> Vector:
    # Plain numbers: for single vectors numpy takes many times as long.
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def is_convex(shape: object) -> bool:
    """Tell whether a shape is convex; of the five kinds only a prism can fail to be."""
    if not isinstance(shape, Prism):
        return True
    # Plain numbers: outlines have few corners.
    corners = shape.outline_m
    edges = [
        (bx - ax, by - ay)
        for (ax, ay), (bx, by) in zip(corners, (*corners[1:], corners[0]), strict=True)
    ]
    turns = [
        ax * by - ay * bx for (ax, ay), (bx, by) in zip(edges, (*edges[1:], edges[0]), strict=True)
    ]
    return min(turns) >= 0 or max(turns) <= 0


def local(points_m: Floats, shape: Box | Prism) -> Floats:
    """Return points in the shape's own axes, from its centre or origin, shape (n, 3) [m]."""
    zero = shape.center_m if isinstance(shape, Box) else shape.origin_m
    own: Floats = (points_m - np.asarray(zero)) @ square(shape.x_axis, shape.y_axis).T
    return own
