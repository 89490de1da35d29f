"""Exact signed distance from points to shapes: negative inside, zero on the skin."""

from structures.shapes import Shape
from structures.solids.axes import Floats, points_array
from structures.solids.tables import table_of

__all__ = ["bounding_box", "signed_distance"]


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
    >>> import numpy as np
    >>> from structures.shapes import Cylinder
    >>> module = Cylinder(start_m=(0.0, 0.0, 0.0), end_m=(10.0, 0.0, 0.0), radius_m=2.0)
    >>> signed_distance(module, np.array([[5.0, 3.0, 0.0], [5.0, 0.5, 0.0], [13.0, 6.0, 0.0]]))
    array([ 1. , -1.5,  5. ])
    """
    return table_of(type(shape), (shape,)).distance_m(slice(0, 1), points_array(points_m))


def bounding_box(shape: Shape) -> tuple[Floats, Floats]:
    """Return the lowest and highest station coordinates of a shape, each of shape (3,) [m]."""
    low, high = table_of(type(shape), (shape,)).boxes_m()
    return low[0], high[0]
