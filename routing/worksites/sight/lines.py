"""Which samples of a face a camera sees from which places: range, slant, nothing in between."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from routing.graph.moves import ANGLE_SLACK_RAD
from routing.graph.surroundings import Named
from routing.graph.ways import LENGTH_SLACK_M
from routing.worksites.covers import covered
from structures.faces import Camera, Face
from structures.solids.axes import Flags, Floats
from structures.solids.seams import SEAM_REACH_M, line_blocked, through_seam
from structures.solids.sight import crosses_any
from structures.solids.tables import outline_distance

__all__ = ["FACE_OFF_M", "FaceViews", "face_samples", "sample_step_m", "view_face"]

FACE_OFF_M: Final = 5e-3
"""Lines of sight end this far off the face along its normal [m].

A face lies on a skin, give or take rounding; one deeper than this below a skin is
hidden, which is the safe side.
"""

SAMPLES_ACROSS: Final = 12
"""Samples along the longer side of a face; along the shorter one as far apart."""


@dataclass(frozen=True, slots=True, eq=False)
class FaceViews:
    """What p places see of q samples of a face."""

    samples_m: Floats
    """Shape (q, 3) [m]."""
    sees: Flags
    """Shape (p, q)."""
    range_m: Floats
    """From place to sample, shape (p, q) [m]."""
    slant_rad: Floats
    """Between the face's normal and the line to the place, shape (p, q) [rad]."""


def face_samples(face: Face) -> Floats:
    """Return the samples of a face, shape (q, 3) [m].

    The middles of equal cells that fill it, row by row. Of a polygon those of the
    cells of its box that are inside, then places on its edges as far apart, so that
    no narrow part is left out.
    """
    normal, across = _unit(face.normal), _unit(face.across)
    up = np.cross(normal, across)
    corners = np.array(face.corners_m)
    low, high = corners.min(axis=0), corners.max(axis=0)
    step_m = sample_step_m(face)
    columns, rows = (max(1, round(side / step_m)) for side in (high - low).tolist())
    x = (np.arange(columns) + 0.5) / columns * (high[0] - low[0]) + low[0]
    y = (np.arange(rows) + 0.5) / rows * (high[1] - low[1]) + low[1]
    flat = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    if face.outline_m:
        closed = np.concatenate([corners, corners[:1]])
        inside = outline_distance(closed[None], flat) < 0
        flat = np.concatenate([flat[inside], *_edge_places(closed, step_m)])
    samples: Floats = np.asarray(face.center_m) + flat[:, :1] * across + flat[:, 1:] * up
    return samples


def sample_step_m(face: Face) -> float:
    """Return how far apart the samples of a face are [m]."""
    corners = np.array(face.corners_m)
    return float((corners.max(axis=0) - corners.min(axis=0)).max()) / SAMPLES_ACROSS


def _edge_places(closed: Floats, step_m: float) -> list[Floats]:
    """Return places no more than a step apart on each edge, with its first corner, (k, 2)."""
    found = []
    for first, last in pairwise(closed):
        count = max(1, int(np.ceil(np.hypot(*(last - first)) / step_m - 1e-9)))
        found.append(first + np.linspace(0.0, 1.0, count, endpoint=False)[:, None] * (last - first))
    return found


def view_face(
    face: Face,
    camera: Camera,
    places_m: Floats,
    solids: Named,
    *,
    bodies_m: Floats | None = None,
) -> FaceViews:
    """Find what a camera at each place sees of a face.

    A sample is seen if it is in range, not too slanting, and no solid and no
    seam between solids stands in the line to it (`FACE_OFF_M`).

    Parameters
    ----------
    face, camera
        What is looked at, and with what.
    places_m
        Where the camera is, shape (p, 3) [m].
    solids
        What may stand in the way.
    bodies_m
        Where the bodies are that hold the camera out, shape (p, 3) [m]: none is held out
        through a solid, and what is has no view.
    """
    samples, normal = face_samples(face), _unit(face.normal)
    line = places_m[:, None, :] - samples[None, :, :]
    range_m = np.sqrt(np.einsum("pqi,pqi->pq", line, line))
    high_m = line @ normal
    slant_rad = np.arccos(
        np.clip(np.divide(high_m, range_m, out=np.zeros_like(high_m), where=range_m > 0), -1, 1)
    )
    sees = range_m >= camera.nearest_m - LENGTH_SLACK_M
    sees &= range_m <= camera.farthest_m + LENGTH_SLACK_M
    sees &= slant_rad <= np.deg2rad(camera.incidence_deg) + ANGLE_SLACK_RAD
    looked_at = samples + FACE_OFF_M * normal
    sees &= ~covered(solids, samples, looked_at)
    if bodies_m is not None and len(places_m):
        sees &= ~line_blocked(solids.tables, bodies_m, places_m)[:, None]
    place, sample = np.nonzero(sees)
    starts, ends = places_m[place], looked_at[sample]
    if len(starts):
        shapes = solids.near(np.concatenate([starts, ends]), SEAM_REACH_M)
        blocked = crosses_any(shapes, starts, ends)
        clear = np.flatnonzero(~blocked)
        blocked[clear] = through_seam(shapes, starts[clear], ends[clear])
        sees[place, sample] = ~blocked
    return FaceViews(samples, sees, range_m, slant_rad)


def _unit(vector: tuple[float, float, float]) -> Floats:
    unit: Floats = np.asarray(vector, dtype=np.float64) / np.linalg.norm(vector)
    return unit
