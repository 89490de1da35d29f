"""Hatching as lines of our own: the same spacing and weight in every format and at any scale."""

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

__all__ = ["hatch_lines"]

Floats = NDArray[np.float64]


def hatch_lines(area: "BaseGeometry", *, angle_deg: float, spacing_m: float) -> tuple[Floats, ...]:
    """Return the parts of parallel lines inside an area.

    Parameters
    ----------
    area
        A polygon of the sheet plane [m].
    angle_deg
        Direction of the lines, counter-clockwise from right.
    spacing_m
        Distance between lines [m]. Lines run through the plane's origin and its multiples, so
        that overlapping areas are hatched in step.

    Returns
    -------
    tuple
        Straight lines, each (2, 2) [m], ordered across the hatching.

    Examples
    --------
    >>> import shapely
    >>> lines = hatch_lines(shapely.box(0, 0, 4, 2.5), angle_deg=0, spacing_m=1.0)
    >>> [line.tolist() for line in lines][1]
    [[0.0, 1.0], [4.0, 1.0]]
    """
    import shapely

    if area.is_empty:
        return ()
    along = np.array([np.cos(np.deg2rad(angle_deg)), np.sin(np.deg2rad(angle_deg))])
    across = np.array([-along[1], along[0]])
    left, bottom, right, top = area.bounds
    corners = np.array([(left, bottom), (left, top), (right, bottom), (right, top)])
    offsets, reaches = corners @ across, corners @ along
    steps = np.arange(np.ceil(offsets.min() / spacing_m), np.floor(offsets.max() / spacing_m) + 1)
    middle = (steps * spacing_m)[:, None] * across
    ends = np.stack(
        [middle + (reaches.min() - 1.0) * along, middle + (reaches.max() + 1.0) * along], axis=1
    )
    cut = shapely.get_parts(shapely.intersection(shapely.linestrings(ends), area))
    lines = [shapely.get_coordinates(part) for part in cut if part.length > 0]
    return tuple(line[[0, -1]] for line in lines)
