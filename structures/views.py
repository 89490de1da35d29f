"""Three dimensions to two: plan, elevations and silhouettes.

All in metres; what is drawn of it, and how, is `routing.show`. Shapely sees only
points that are already in a named plane. The unrolled skin of a module, the other
projection there is, is `structures.skins`.
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from structures.frames import DIRECTIONS, Vector
from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.axes import Flags, Floats, spine, square

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["CIRCLE_CORNERS", "VIEWS", "View", "named_direction", "silhouette"]

CIRCLE_CORNERS: Final = 72
"""A circle is drawn as the polygon round it with so many corners: at most 0.1 % of its radius
outside the circle and never inside it, so that a zone looks no smaller than it is."""

EDGE_ON_COSINE: Final = -0.1
"""What faces away from the viewer by no more than this (6 deg) is edge-on, and still seen."""


@dataclass(frozen=True, slots=True)
class View:
    """A parallel projection: which directions run right and up, and where the viewer is.

    Parameters
    ----------
    name
        What the view is called.
    right, up
        Unit directions in the station frame that run right and up on the sheet.

    Examples
    --------
    Seen from starboard, forward is to the right and zenith is up:

    >>> VIEWS["starboard"].project(np.array([[3.0, 9.0, -2.0]])).tolist()
    [[3.0, 2.0]]
    >>> VIEWS["starboard"].toward
    (0.0, 1.0, 0.0)
    """

    name: str
    right: Vector
    up: Vector

    @property
    def toward(self) -> Vector:
        """Unit direction from the structure to the viewer: right x up."""
        (a, b, c), (d, e, f) = self.right, self.up
        return (b * f - c * e, c * d - a * f, a * e - b * d)

    @property
    def seen_from(self) -> str:
        """Trade word for where the viewer is."""
        return named_direction(self.toward)

    def project(self, points_m: Floats) -> Floats:
        """Return sheet coordinates (right, up) of points (n, 3), shape (n, 2) [m]."""
        flat: Floats = np.asarray(points_m, dtype=np.float64) @ np.array([self.right, self.up]).T
        return flat

    def depth_m(self, points_m: Floats) -> Floats:
        """Return how near to the viewer points (n, 3) are, larger is nearer, shape (n,) [m]."""
        depth: Floats = np.asarray(points_m, dtype=np.float64) @ np.array(self.toward)
        return depth

    def faces_viewer(self, normals: Floats) -> Flags:
        """Tell which outward normals (n, 3) of any length point at the viewer, or nearly.

        What is edge-on counts as seen.
        """
        normals = np.asarray(normals, dtype=np.float64)
        lengths = np.sqrt((normals**2).sum(axis=1))
        faces: Flags = normals @ np.array(self.toward) >= EDGE_ON_COSINE * lengths
        return faces


def _view(name: str, right: str, up: str) -> View:
    return View(name, DIRECTIONS[right], DIRECTIONS[up])


VIEWS: Final[dict[str, View]] = {
    view.name: view
    for view in (
        _view("plan", "forward", "port"),
        _view("starboard", "forward", "zenith"),
        _view("port", "aft", "zenith"),
        _view("forward", "port", "zenith"),
        _view("aft", "starboard", "zenith"),
        _view("zenith", "starboard", "forward"),
        _view("nadir", "forward", "starboard"),
    )
}
"""The views by name: each elevation is named for where the viewer is. *plan* and *zenith* both
look down from zenith; plan has forward to the right, zenith has forward up."""


def named_direction(vector: Vector) -> str:
    """Return the trade word for the direction that is nearest to a vector.

    Examples
    --------
    >>> named_direction((0.1, 0.0, -2.0))
    'zenith'
    """
    return max(
        DIRECTIONS,
        key=lambda name: sum(a * b for a, b in zip(vector, DIRECTIONS[name], strict=True)),
    )


def silhouette(shape: Shape, view: View) -> "BaseGeometry":
    """Return the outline of a shape in the plane of a view, as a shapely polygon in metres.

    Parameters
    ----------
    shape
        Any shape; round ones become polygons that hold the true outline (`CIRCLE_CORNERS`).
    view
        The projection; the polygon's x runs right and its y up.

    Returns
    -------
    shapely.geometry.base.BaseGeometry
        One polygon without overlaps; that of a prism with a notch may have holes.
    """
    import shapely

    if isinstance(shape, Prism):
        return _swept_outline(shape, view)
    flat = view.project(_hull_points(shape, view))
    return shapely.MultiPoint(flat).convex_hull


def _circle(center_m: Floats, normal: Floats, radius_m: float) -> Floats:
    """Return corners of the regular polygon round a circle in space, (CIRCLE_CORNERS, 3)."""
    first = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    first /= np.linalg.norm(first)
    second = np.cross(normal, first)
    angle = 2.0 * np.pi * np.arange(CIRCLE_CORNERS) / CIRCLE_CORNERS
    outside_m = radius_m / np.cos(np.pi / CIRCLE_CORNERS)
    corners: Floats = center_m + outside_m * (
        np.cos(angle)[:, None] * first + np.sin(angle)[:, None] * second
    )
    return corners


def _hull_points(shape: Cylinder | Cone | Sphere | Box, view: View) -> Floats:
    """Return points whose hull has the shape's outline in this view."""
    if isinstance(shape, Sphere):
        return _circle(np.array(shape.center_m), np.array(view.toward), shape.radius_m)
    if isinstance(shape, Box):
        corners = np.array(
            [(x, y, z) for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)]
        )
        turned = corners * np.array(shape.size_m) @ square(shape.x_axis, shape.y_axis)
        placed: Floats = turned + np.array(shape.center_m)
        return placed
    start_m, axis, length_m = spine(shape)
    if isinstance(shape, Cylinder):
        radii = (shape.radius_m, shape.radius_m)
    else:
        radii = (shape.start_radius_m, shape.end_radius_m)
    return np.vstack(
        [_circle(start_m, axis, radii[0]), _circle(start_m + length_m * axis, axis, radii[1])]
    )


def _swept_outline(shape: Prism, view: View) -> "BaseGeometry":
    """Return the outline of an extruded polygon: both ends and every side, in one."""
    import shapely

    axes = square(shape.x_axis, shape.y_axis)
    base = np.array(shape.origin_m) + np.array(shape.outline_m) @ axes[:2]
    low = view.project(base)
    high = view.project(base + shape.height_m * axes[2])
    after_low, after_high = np.roll(low, -1, axis=0), np.roll(high, -1, axis=0)
    sides = shapely.polygons(np.stack([low, after_low, after_high, high], axis=1))
    ends = shapely.polygons(np.stack([low, high]))
    faces = shapely.make_valid(np.concatenate([sides, ends]))
    # Faces seen edge-on have no area; what is left of them are lines, which are dropped.
    outline: BaseGeometry = shapely.union_all(faces[shapely.area(faces) > 1e-12])
    return outline
