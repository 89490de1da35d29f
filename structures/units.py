"""Lengths: metres inside, inches, feet or metres in files.

The factors are exact by definition: 1 in = 25.4 mm (international yard and
pound agreement of 1959; NIST SP 811, 2008 edition, appendix B.8).
"""

import math
from typing import Final, Literal, NamedTuple, TypeAlias

__all__ = [
    "FOOT_M",
    "INCH_M",
    "METRES_PER_UNIT",
    "POUND_FORCE_N",
    "LengthUnit",
    "TableUnit",
    "millimetres_down",
    "to_metres",
]

LengthUnit: TypeAlias = Literal["m", "ft", "in"]

INCH_M: Final = 0.0254
FOOT_M: Final = 0.3048
POUND_FORCE_N: Final = 4.4482216152605
"""One pound-force in newtons, exact (NIST SP 811, 2008, appendix B.8)."""

METRES_PER_UNIT: Final[dict[LengthUnit, float]] = {"m": 1.0, "ft": FOOT_M, "in": INCH_M}


class TableUnit(NamedTuple):
    """The file that a list of elements is from, and how its lengths were read."""

    file: str
    unit: LengthUnit
    origin_m: tuple[float, float, float]
    """Where the file's own origin is, in the station frame [m]."""


def to_metres(value: float, unit: LengthUnit) -> float:
    """Convert a length to metres.

    Parameters
    ----------
    value
        Length [unit].
    unit
        ``"m"``, ``"ft"`` or ``"in"``.

    Returns
    -------
    float
        Length [m].

    Examples
    --------
    >>> to_metres(85, "ft")
    25.908
    """
    return value * METRES_PER_UNIT[unit]


def millimetres_down(value_m: float) -> float:
    """Round a length down to whole millimetres: what is written is never more than what is there.

    A nanometre is forgiven, so that 3 mm stay 3 mm. What is not finite stays as it is.

    Examples
    --------
    >>> millimetres_down(0.0049), millimetres_down(0.003), millimetres_down(-0.0001)
    (0.004, 0.003, -0.001)
    """
    return math.floor(value_m * 1000 + 1e-6) / 1000 if math.isfinite(value_m) else value_m
