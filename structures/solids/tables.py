"""Shapes as arrays, one table a kind: distances of many pairs of shape and point in one go.

Looking at shapes one by one costs a few numpy calls each, which is most of the
time of a small structure. Here all pairs with a box are measured at once, then
all pairs with a cylinder, and so on. Every formula is written for rows of
parameters that broadcast against rows of points, so that it serves one shape
with many points (`structures.solids.distance.signed_distance`) as well.
"""

from collections.abc import Sequence
from typing import Any, Final, Protocol, TypeAlias

import numpy as np

from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.axes import (
    Flags,
    Floats,
    Indices,
    beyond,
    extent,
    is_convex,
    norms,
    rows_at,
    square,
)

__all__ = ["ShapeTable", "ShapeTables", "Shapes", "outline_distance", "table_of"]

Rows: TypeAlias = Indices | slice
"""Which row of a table each point is measured to; a slice of one row serves all points."""


class ShapeTable(Protocol):
    """All shapes of one kind, k of them."""

    def boxes_m(self) -> tuple[Floats, Floats]:
        """Return lowest and highest station coordinates, each of shape (k, 3) [m]."""

    def distance_m(self, rows: Rows, points_m: Floats) -> Floats:
        """Return the signed distance of each point (n, 3) to the shape in its row, shape (n,)."""


class _Spheres:
    def __init__(self, shapes: Sequence[Sphere]) -> None:
        self.center_m = _array([shape.center_m for shape in shapes])
        self.radius_m = _array([shape.radius_m for shape in shapes])

    def boxes_m(self) -> tuple[Floats, Floats]:
        radius_m = self.radius_m[:, None]
        return self.center_m - radius_m, self.center_m + radius_m

    def distance_m(self, rows: Rows, points_m: Floats) -> Floats:
        distance: Floats = norms(points_m - rows_at(self.center_m, rows)) - self.radius_m[rows]
        return distance


class _Boxes:
    def __init__(self, shapes: Sequence[Box]) -> None:
        self.center_m = _array([shape.center_m for shape in shapes])
        self.half_m = _array([shape.size_m for shape in shapes]) / 2
        self.axes = _array([square(shape.x_axis, shape.y_axis) for shape in shapes])

    def boxes_m(self) -> tuple[Floats, Floats]:
        half_m = np.einsum("ij,ijk->ik", self.half_m, np.abs(self.axes))
        return self.center_m - half_m, self.center_m + half_m

    def distance_m(self, rows: Rows, points_m: Floats) -> Floats:
        own = _in_axes(points_m - rows_at(self.center_m, rows), rows_at(self.axes, rows))
        return beyond(*(np.abs(own) - rows_at(self.half_m, rows)).T)


class _Rounds:
    """Cylinders and cones: a frustum between two end faces, its radii alike or not."""

    def __init__(self, shapes: Sequence[Cylinder | Cone]) -> None:
        self.start_m = _array([shape.start_m for shape in shapes])
        along = _array([shape.end_m for shape in shapes]) - self.start_m
        self.length_m = norms(along)
        self.axis = along / self.length_m[:, None]
        radii_m = [
            (shape.radius_m, shape.radius_m)
            if isinstance(shape, Cylinder)
            else (shape.start_radius_m, shape.end_radius_m)
            for shape in shapes
        ]
        self.first_m, self.last_m = _array(radii_m).T

    def boxes_m(self) -> tuple[Floats, Floats]:
        rim = np.sqrt(np.clip(1.0 - self.axis * self.axis, 0.0, 1.0))
        end_m = self.start_m + self.length_m[:, None] * self.axis
        first_m, last_m = self.first_m[:, None] * rim, self.last_m[:, None] * rim
        low = np.minimum(self.start_m - first_m, end_m - last_m)
        return low, np.maximum(self.start_m + first_m, end_m + last_m)

    def _polar(self, rows: Rows, points_m: Floats) -> tuple[Floats, Floats]:
        """Return distance from the axis and place along the axis, each of shape (n,) [m]."""
        axis = rows_at(self.axis, rows)
        own = points_m - rows_at(self.start_m, rows)
        along: Floats = np.einsum("...j,...j->...", own, axis)
        return norms(own - along[:, None] * axis), along


class _Cylinders(_Rounds):
    def distance_m(self, rows: Rows, points_m: Floats) -> Floats:
        out, along = self._polar(rows, points_m)
        half_m = self.length_m[rows] / 2
        return beyond(out - self.first_m[rows], np.abs(along - half_m) - half_m)


class _Cones(_Rounds):
    def distance_m(self, rows: Rows, points_m: Floats) -> Floats:
        """Measure in the half plane through the axis, where a frustum is a trapezium.

        The mirror half of the trapezium is never nearer than this one.
        """
        out, along = self._polar(rows, points_m)
        first_m, last_m, length_m = self.first_m[rows], self.last_m[rows], self.length_m[rows]
        rise_m = last_m - first_m
        slant2 = rise_m * rise_m + length_m * length_m
        share = np.clip(((out - first_m) * rise_m + along * length_m) / slant2, 0.0, 1.0)
        side = np.hypot(out - first_m - share * rise_m, along - share * length_m)
        foot = np.hypot(np.maximum(out - first_m, 0.0), along)
        head = np.hypot(np.maximum(out - last_m, 0.0), along - length_m)
        nearest = np.minimum(side, np.minimum(foot, head))
        within = (along > 0) & (along < length_m) & (out < first_m + along / length_m * rise_m)
        signed: Floats = np.where(within, -nearest, nearest)
        return signed


class _Prisms:
    def __init__(self, shapes: Sequence[Prism]) -> None:
        self.origin_m = _array([shape.origin_m for shape in shapes])
        self.height_m = _array([shape.height_m for shape in shapes])
        self.axes = _array([square(shape.x_axis, shape.y_axis) for shape in shapes])
        most = max(len(shape.outline_m) for shape in shapes)
        # Outlines end where they began, and stay there up to the longest one's number of corners.
        self.corners_m = _array(
            [
                [*shape.outline_m, *[shape.outline_m[0]] * (most + 1 - len(shape.outline_m))]
                for shape in shapes
            ]
        )

    def boxes_m(self) -> tuple[Floats, Floats]:
        foot = self.origin_m[:, None] + self.corners_m @ self.axes[:, :2]
        up = (self.height_m[:, None] * self.axes[:, 2])[:, None]
        corners = np.concatenate([foot, foot + up], axis=1)
        return corners.min(axis=1), corners.max(axis=1)

    def distance_m(self, rows: Rows, points_m: Floats) -> Floats:
        own = _in_axes(points_m - rows_at(self.origin_m, rows), rows_at(self.axes, rows))
        across = outline_distance(rows_at(self.corners_m, rows), own[:, :2])
        half_m = self.height_m[rows] / 2
        return beyond(across, np.abs(own[:, 2] - half_m) - half_m)


_TABLES: Final[dict[type, Any]] = {
    Sphere: _Spheres,
    Box: _Boxes,
    Cylinder: _Cylinders,
    Cone: _Cones,
    Prism: _Prisms,
}
_KINDS: Final = tuple(_TABLES)


def table_of(kind: type, shapes: Sequence[Shape]) -> ShapeTable:
    """Return the table of shapes that are all of one kind."""
    table: ShapeTable = _TABLES[kind](shapes)
    return table


class ShapeTables:
    """Any shapes, s of them, each in the table of its kind."""

    @classmethod
    def of(cls, shapes: "Shapes") -> "ShapeTables":
        """Return the tables of shapes; tables that are made already, as they are."""
        return shapes if isinstance(shapes, ShapeTables) else cls(shapes)

    def __init__(self, shapes: Sequence[Shape]) -> None:
        self.shapes = tuple(shapes)
        self.count = len(shapes)
        self.convex: Flags = np.array([is_convex(shape) for shape in shapes], dtype=np.bool_)
        self.low_m, self.high_m = np.empty((2, len(shapes), 3))
        """Bounding boxes, each of shape (s, 3) [m]."""
        kinds = np.array([_KINDS.index(type(shape)) for shape in shapes], dtype=np.int64)
        self._kind: Indices = kinds
        self._row: Indices = np.zeros(len(shapes), dtype=np.int64)
        self._tables: dict[int, ShapeTable] = {}
        for kind in sorted(set(kinds.tolist())):
            some = np.flatnonzero(kinds == kind)
            table = table_of(_KINDS[kind], [shapes[i] for i in some.tolist()])
            self._row[some] = np.arange(len(some))
            self.low_m[some], self.high_m[some] = table.boxes_m()
            self._tables[kind] = table

    def farthest_m(self, points_m: Floats) -> float:
        """Return a distance that no point (n, 3) is from any box [m]; -inf without both."""
        if not self.count or not len(points_m):
            return -np.inf
        low, high = extent(points_m)
        low = np.minimum(self.low_m.min(axis=0), low)
        high = np.maximum(self.high_m.max(axis=0), high)
        return float(np.sqrt(((high - low) ** 2).sum()))

    def distance_m(self, shape: Indices, points_m: Floats) -> Floats:
        """Return the signed distance of each point (n, 3) to its shape, shape (n,) [m]."""
        if len(self._tables) == 1:
            (table,) = self._tables.values()
            return table.distance_m(self._row[shape], points_m)
        distance = np.empty(len(points_m))
        kind, row = self._kind[shape], self._row[shape]
        for number, table in self._tables.items():
            some = np.flatnonzero(kind == number)
            if len(some):
                distance[some] = table.distance_m(row[some], rows_at(points_m, some))
        return distance


Shapes: TypeAlias = tuple[Shape, ...] | ShapeTables
"""Shapes, or what was made ready of them where they are asked about more than once."""


def outline_distance(corners: Floats, points: Floats) -> Floats:
    """Compute the signed distance in the plane to simple polygons, negative inside.

    Works for polygons that are not convex and for either direction round.

    Parameters
    ----------
    corners
        The first one again at the end, once or more often; shape (n, k, 2), or
        (1, k, 2) for the same polygon at every point [m].
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
    for edge in range(corners.shape[1] - 1):
        ax, ay = corners[:, edge, 0], corners[:, edge, 1]
        bx, by = corners[:, edge + 1, 0], corners[:, edge + 1, 1]
        ex, ey = bx - ax, by - ay
        px, py = x - ax, y - ay
        length2 = ex * ex + ey * ey
        share = np.clip((px * ex + py * ey) / np.where(length2 > 0, length2, 1.0), 0.0, 1.0)
        dx, dy = px - share * ex, py - share * ey
        np.minimum(nearest, dx * dx + dy * dy, out=nearest)
        # A level edge, or one without length, is never passed.
        passed = (ay > y) != (by > y)
        inside ^= passed & (px < ex * py / np.where(ey == 0, 1.0, ey))
    distance: Floats = np.sqrt(nearest)
    return np.where(inside, -distance, distance)


def _array(rows: Sequence[Any]) -> Floats:
    return np.array(rows, dtype=np.float64)


def _in_axes(vectors: Floats, axes: Floats) -> Floats:
    """Return vectors (n, 3) in axes given as rows, shape (n, 3, 3) or (1, 3, 3)."""
    own: Floats = np.einsum("...j,...kj->...k", vectors, axes)
    return own
