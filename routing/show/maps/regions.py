"""The part of space round chosen elements, for a map of no more than that."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.rails_points import point_elements
from routing.show.sheets.inputs import DrawingError, Region
from structures.elements import Handrail, Solid, Zone
from structures.model import Structure
from structures.solids.distance import bounding_box
from structures.zones import zone_shape

__all__ = ["placed_ids", "region_near"]

Floats = NDArray[np.float64]


def placed_ids(structure: Structure) -> tuple[str, ...]:
    """Return the ids of all that has a place in space, sorted."""
    return tuple(sorted(element_id for element_id, _ in _places(structure)))


def region_near(structure: Structure, ids: Sequence[str], within_m: float) -> Region:
    """Return the box that holds all of these elements, and so much more on every side.

    Parameters
    ----------
    structure
        The structure.
    ids
        Handrails, handholds, hatches, sockets, tether points, worksites, solids, zones.
    within_m
        How far the box goes beyond them [m].

    Raises
    ------
    DrawingError
        No element is named, or one that has no place; the distance is not above 0.
    """
    if not within_m > 0:
        raise DrawingError(f"a region within {within_m:g} m of elements; give more than 0 m")
    places = dict(_places(structure))
    lost = [one for one in ids if one not in places]
    if lost or not ids:
        raise DrawingError(f"no element with a place has the id {', '.join(lost) or 'of nothing'}")
    corners = np.vstack([places[one] for one in ids])
    low, high = corners.min(axis=0) - within_m, corners.max(axis=0) + within_m
    return Region(
        low_m=(float(low[0]), float(low[1]), float(low[2])),
        high_m=(float(high[0]), float(high[1]), float(high[2])),
    )


def _places(structure: Structure) -> Iterator[tuple[str, Floats]]:
    """Yield every element that has a place, with points (n, 3) whose box holds it [m]."""
    elements: tuple[Handrail | Solid | Zone, ...] = (
        *structure.handrails, *structure.solids, *structure.zones,
    )  # fmt: skip
    for one in elements:
        if isinstance(one, Handrail):
            yield one.id, np.array(one.points_m)
        else:
            shape = zone_shape(one) if isinstance(one, Zone) else one.volume
            yield one.id, np.array(bounding_box(shape))
    for point in point_elements(structure):
        yield point.id, np.array([point.position_m])
