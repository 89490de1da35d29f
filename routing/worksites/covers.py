"""Thin covers: solids that lie on a target or a face, under where lines of sight end.

Lines end a few millimetres off what is looked at, as that lies on a skin give or
take rounding. What is thinner than that and lies on it would be missed. The way
from the place itself to the end of the line is looked at here: any solid on it
covers the place, unless the place is inside of that solid, which is then taken
for the one whose skin it lies on.
"""

import numpy as np

from routing.graph.surroundings import Named
from structures.solids.axes import Flags, Floats
from structures.solids.distance import signed_distance
from structures.solids.sight import SIGHT_TOLERANCE_M, crosses

__all__ = ["covered"]


def covered(named: Named, places_m: Floats, ends_m: Floats) -> Flags:
    """Tell which places a shape lies on, shape (n,).

    Parameters
    ----------
    named
        Solids, or solids and zones.
    places_m, ends_m
        Places that are looked at, and where lines to them end, shape (n, 3) each [m].
    """
    found = np.zeros(len(places_m), dtype=np.bool_)
    for shape in named.near(np.concatenate([places_m, ends_m]), 0.0):
        outside = np.flatnonzero(signed_distance(shape, places_m) >= -SIGHT_TOLERANCE_M)
        found[outside] |= crosses(shape, places_m[outside], ends_m[outside])
    return found
