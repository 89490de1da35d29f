"""What may hide a strip of a face between its samples: solids thinner than these are apart.

A shadow on a face is no narrower than the solid that throws it. One that holds a ball
of a diameter of the spacing times the square root of two hides at least one sample; of
a thinner one that cannot be known, so it is pointed out.
"""

from collections.abc import Iterator
from math import dist, sqrt

import numpy as np

from routing.graph.surroundings import Named
from routing.worksites.sight.lines import FACE_OFF_M, sample_step_m
from structures.faces import Face
from structures.findings import Finding
from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.axes import Floats
from structures.units import fine_text

__all__ = ["thickness_m", "thin_in_view"]


def thickness_m(shape: Shape) -> float:
    """Return a diameter that a ball in the shape has at least, or less if not known [m]."""
    if isinstance(shape, Sphere):
        return 2 * shape.radius_m
    if isinstance(shape, Box):
        return min(shape.size_m)
    if isinstance(shape, Cylinder):
        return min(2 * shape.radius_m, dist(shape.start_m, shape.end_m))
    if isinstance(shape, Cone):
        thinner = min(shape.start_radius_m, shape.end_radius_m)
        return min(2 * thinner, dist(shape.start_m, shape.end_m))
    return _prism_m(shape)


def thin_in_view(face: Face, cameras_m: Floats, solids: Named) -> Iterator[Finding]:
    """Find solids between cameras and a face that may hide a strip no sample is in.

    Parameters
    ----------
    face
        What is looked at.
    cameras_m
        Where the cameras are whose views count, shape (c, 3) [m].
    solids
        What may stand in the way.
    """
    if not len(cameras_m):
        return
    normal = np.asarray(face.normal) / np.linalg.norm(face.normal)
    across = np.asarray(face.across) / np.linalg.norm(face.across)
    flat = np.array(face.corners_m)
    corners = np.asarray(face.center_m) + flat[:, :1] * across
    corners = corners + flat[:, 1:] * np.cross(normal, across)
    between = solids.around(np.concatenate([cameras_m, corners]), 0.0)
    most_m = sample_step_m(face) * sqrt(2)
    for shape, name in zip(between.shapes, between.ids, strict=True):
        single = Named((shape,), (name,))
        low, high = single.tables.low_m[0], single.tables.high_m[0]
        # The corner of its box that is farthest out before the face.
        out_m = float((np.where(normal > 0, high, low) - np.asarray(face.center_m)) @ normal)
        thick_m = thickness_m(shape)
        if out_m > FACE_OFF_M and thick_m < most_m:
            yield Finding(
                code="thin-solid-in-view",
                severity="warns",
                elements=(face.id, name),
                message=(
                    f"solid {name} stands between cameras and {face.id} and is "
                    f"{fine_text(thick_m)} "
                    f"thin; samples are {fine_text(sample_step_m(face))} apart, so it may hide "
                    "a strip "
                    "that no sample is in; look at it as a face of its own, or as several smaller"
                ),
                value=thick_m,
                limit=most_m,
                unit="m",
            )


def _prism_m(shape: Prism) -> float:
    """Return no more than the shortest edge; an outline with a notch is thinner than its box."""
    corners = shape.outline_m
    edges = [dist(corners[i - 1], corners[i]) for i in range(len(corners))]
    return min(shape.height_m, *edges) / 2
