"""Exact signed distance from points to shapes: negative inside, zero on the skin."""

from itertools import pairwise

import numpy as np

from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.axes import Floats, local, norms, points_array, spine, square

__all__ = ["bounding_box", "outline_distance", "signed_distance"]


def signed_distance(shape: Shape, points_m: Floats) -> Floats:
    """Compute the distance from each point to the skin of a shape.

    Parameters
    ----------
    shape
        Any of the five shapes.
    points_m
        Points in the station frame, shape (n, 3) [m].

    Returns
    -------
    Floats
        Distance to the nearest point of the skin, negative inside, shape (n,)
        [m]. It is exact up to rounding, so it changes by no more than a point
        moves (1-Lipschitz), which is what `structures.solids.sweep` rests on.

    Raises
    ------
    ValueError
        The points are not of shape (n, 3) or not finite.

    Examples
    --------
    >>> module = Cylinder(start_m=(0.0, 0.0, 0.0), end_m=(10.0, 0.0, 0.0), radius_m=2.0)
    >>> signed_distance(module, np.array([[5.0, 3.0, 0.0], [5.0, 0.5, 0.0], [13.0, 6.0, 0.0]]))
    array([ 1. , -1.5,  5. ])
    """
    points = points_array(points_m)
    if isinstance(shape, Sphere):
        return norms(points - np.asarray(shape.center_m)) - shape.radius_m
    if isinstance(shape, Box):
        return _beyond(np.abs(local(points, shape)) - np.asarray(shape.size_m) / 2)
    if isinstance(shape, Cylinder):
        return _cylinder(shape, points)
    if isinstance(shape, Cone):
        return _cone(shape, points)
    own = local(points, shape)
    across = outline_distance(np.asarray(shape.outline_m, dtype=np.float64), own[:, :2])
    half_m = shape.height_m / 2
    return _beyond(np.stack([across, np.abs(own[:, 2] - half_m) - half_m], axis=1))


def bounding_box(shape: Shape) -> tuple[Floats, Floats]:
    """Return the lowest and highest station coordinates of a shape, each of shape (3,) [m]."""
    if isinstance(shape, Sphere):
        center = np.asarray(shape.center_m)
        return center - shape.radius_m, center + shape.radius_m
    if isinstance(shape, Box):
        center = np.asarray(shape.center_m)
        half = np.asarray(shape.size_m) / 2 @ np.abs(square(shape.x_axis, shape.y_axis))
        return center - half, center + half
    if isinstance(shape, Prism):
        axes = square(shape.x_axis, shape.y_axis)
        foot = np.asarray(shape.origin_m) + np.asarray(shape.outline_m) @ axes[:2]
        corners = np.concatenate([foot, foot + shape.height_m * axes[2]])
        return corners.min(axis=0), corners.max(axis=0)
    start_m, axis, length_m = spine(shape)
    end_m = start_m + length_m * axis
    rim = np.sqrt(np.clip(1.0 - axis * axis, 0.0, 1.0))
    first_m, last_m = _end_radii(shape)
    low = np.minimum(start_m - first_m * rim, end_m - last_m * rim)
    return low, np.maximum(start_m + first_m * rim, end_m + last_m * rim)


def outline_distance(corners: Floats, points: Floats) -> Floats:
    """Compute the signed distance in the plane to a simple polygon, negative inside.

    Works for polygons that are not convex and for either direction round.

    Parameters
    ----------
    corners
        Shape (k, 2) [m].
    points
        Shape (n, 2) [m].

    Returns
    -------
    Floats
        Shape (n,) [m].
    """
    nearest = np.full(len(points), np.inf)
    inside = np.zeros(len(points), dtype=np.bool_)
    x, y = points[:, 0], points[:, 1]
    # Edge by edge, so that memory does not grow with the number of corners.
    for (ax, ay), (bx, by) in pairwise([*corners.tolist(), corners[0].tolist()]):
        ex, ey = bx - ax, by - ay
        px, py = x - ax, y - ay
        share = np.clip((px * ex + py * ey) / (ex * ex + ey * ey), 0.0, 1.0)
        dx, dy = px - share * ex, py - share * ey
        np.minimum(nearest, dx * dx + dy * dy, out=nearest)
        if ay != by:
            inside ^= ((ay > y) != (by > y)) & (px < ex * py / ey)
    distance: Floats = np.sqrt(nearest)
    return np.where(inside, -distance, distance)


def _beyond(past: Floats) -> Floats:
    """Combine how far a point is past each of several perpendicular bounds, shape (n, k)."""
    beyond: Floats = norms(np.maximum(past, 0.0)) + np.minimum(past.max(axis=1), 0.0)
    return beyond


def _polar(shape: Cylinder | Cone, points: Floats) -> tuple[Floats, Floats, float]:
    """Return distance from the axis, place along the axis, and the length of the axis."""
    start_m, axis, length_m = spine(shape)
    own = points - start_m
    along = own @ axis
    return norms(own - along[:, None] * axis), along, length_m


def _cylinder(shape: Cylinder, points: Floats) -> Floats:
    out, along, length_m = _polar(shape, points)
    half_m = length_m / 2
    return _beyond(np.stack([out - shape.radius_m, np.abs(along - half_m) - half_m], axis=1))


def _cone(shape: Cone, points: Floats) -> Floats:
    """Measure in the half plane through the axis, where a frustum is a trapezium.

    The mirror half of the trapezium is never nearer than this one.
    """
    out, along, length_m = _polar(shape, points)
    first_m, last_m = shape.start_radius_m, shape.end_radius_m
    rise_m = last_m - first_m
    slant2 = rise_m * rise_m + length_m * length_m
    share = np.clip(((out - first_m) * rise_m + along * length_m) / slant2, 0.0, 1.0)
    side = np.hypot(out - first_m - share * rise_m, along - share * length_m)
    foot = np.hypot(np.maximum(out - first_m, 0.0), along)
    head = np.hypot(np.maximum(out - last_m, 0.0), along - length_m)
    nearest = np.minimum(side, np.minimum(foot, head))
    within = (along > 0) & (along < length_m) & (out < first_m + along / length_m * rise_m)
    return np.where(within, -nearest, nearest)


def _end_radii(shape: Cylinder | Cone) -> tuple[float, float]:
    if isinstance(shape, Cylinder):
        return shape.radius_m, shape.radius_m
    return shape.start_radius_m, shape.end_radius_m
