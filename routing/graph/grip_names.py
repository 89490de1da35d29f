"""What to say of a grip that a handrail does not have: the nearest it has, and its length."""

import math
from collections.abc import Iterable

from structures.elements import Handrail
from structures.polylines import Polyline

__all__ = ["nearest_grips", "rail_length_text"]

_OFFERED = 3


def nearest_grips(wanted: str, on_rail: Iterable[str]) -> tuple[str, ...]:
    """Return the grips of a handrail nearest to the one named, the nearest first.

    Examples
    --------
    >>> nearest_grips("H5@0.5", ["H5@0.000", "H5@0.465", "H5@0.659", "H5@0.853"])
    ('H5@0.465', 'H5@0.659', 'H5@0.853')
    >>> nearest_grips("H5@end", ["H5@0.465", "H5@0.000"])
    ('H5@0.000', 'H5@0.465')
    """
    along_m = _along_m(wanted)
    if math.isnan(along_m):
        along_m = 0.0  # no distance is named: from the beginning of the rail
    ranked = sorted(on_rail, key=lambda one: (abs(_along_m(one) - along_m), _along_m(one)))
    return tuple(ranked[:_OFFERED])


def rail_length_text(rail: Handrail) -> str:
    """Say how long a handrail is.

    Examples
    --------
    >>> rail_length_text(Handrail(id="H5", points_m=((0, 0, 0), (2, 0, 0)), normal=(0, 0, 1)))
    'handrail H5 is 2.000 m long'
    """
    length_m = Polyline.through(rail.points_m).length_m
    return f"handrail {rail.id} is {length_m:.3f} m long"


def _along_m(grip: str) -> float:
    """Return the distance that a grip's id names, nan for none."""
    try:
        return float(grip.rpartition("@")[2])
    except ValueError:
        return math.nan
