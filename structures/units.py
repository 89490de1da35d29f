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
    "Side",
    "TableUnit",
    "fine_text",
    "length_text",
    "millimetres_down",
    "number_text",
    "unit_of",
]

LengthUnit: TypeAlias = Literal["m", "ft", "in"]

Side: TypeAlias = Literal["near", "down", "up"]
"""How to round: to the nearest, what is left never up, what is missing never down."""

SMALL_M: Final = 0.1
"""Lengths below this are said in millimetres and inches [m]: two decimals would leave nothing."""

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
    document: LengthUnit
    """How the lengths of the document that names the file were read."""


def millimetres_down(value_m: float) -> float:
    """Round a length down to whole millimetres: what is written is never more than what is there.

    A nanometre is forgiven, so that 3 mm stay 3 mm. What is not finite stays as it is.

    Examples
    --------
    >>> millimetres_down(0.0049), millimetres_down(0.003), millimetres_down(-0.0001)
    (0.004, 0.003, -0.001)
    """
    return math.floor(value_m * 1000 + 1e-6) / 1000 if math.isfinite(value_m) else value_m


def length_text(value_m: float, side: Side = "near", *, feet: bool = False) -> str:
    """Say a length for people: in metres, below 0.1 m in whole millimetres.

    Parameters
    ----------
    value_m
        Length [m], finite.
    side
        Where it is rounded to: ``"down"`` for what is left, ``"up"`` for what is missing.
    feet
        Whether to say it in feet as well, below 0.1 m in inches.

    Examples
    --------
    >>> length_text(0.0048, "down", feet=True)
    '4 mm (0.1 in)'
    >>> length_text(0.0041, "up"), length_text(2.5, feet=True), length_text(0.619, "down")
    ('5 mm', '2.50 m (8.2 ft)', '0.61 m')
    """
    small = abs(value_m) < SMALL_M
    metric = f"{_rounded(value_m * 1000, side, 0):.0f} mm" if small else ""
    metric = metric or f"{_rounded(value_m, side, 2):.2f} m"
    if not feet:
        return metric
    per_unit_m, unit = (INCH_M, "in") if small else (FOOT_M, "ft")
    return f"{metric} ({_rounded(value_m / per_unit_m, side, 1):.1f} {unit})"


def fine_text(value_m: float, side: Side = "near") -> str:
    """Say a length for people to the millimetre and in feet, below 0.1 m in inches.

    For gaps, margins and what is over a limit, where a centimetre decides.

    Parameters
    ----------
    value_m
        Length [m].
    side
        Where it is rounded to: ``"down"`` for what is left, ``"up"`` for what is needed or missing.

    Examples
    --------
    >>> fine_text(0.60845, "up"), fine_text(0.0041, "down"), fine_text(0.0002, "up")
    ('0.609 m (2.00 ft)', '4 mm (0.1 in)', '1 mm (0.1 in)')
    """
    if abs(value_m) < SMALL_M:
        return length_text(value_m, side, feet=True)
    feet = _rounded(value_m / FOOT_M, side, 2)
    return f"{_rounded(value_m, side, 3):.3f} m ({feet:.2f} ft)"


_ENDINGS: Final = (
    ("_m_per_s", "{}/s"),
    ("_s_per_rad", "s/rad"),
    ("_min", "min"),
    ("_deg", "deg"),
    ("_mhz", "MHz"),
    ("_nm", "N m"),
    ("_kg", "kg"),
    ("_m", "{}"),
    ("_s", "s"),
    ("_n", "N"),
    ("_l", "l"),
    ("_w", "W"),
)
"""How dimensioned names end, the longer of two that fit first, and the unit; {} is a length's."""


def unit_of(name: str, length: str = "m") -> str:
    """Return the unit that a name ends in, an empty text if it has none.

    Parameters
    ----------
    name
        Of a field or column.
    length
        What lengths are in: ``m`` in memory, another unit in documents.

    Examples
    --------
    >>> unit_of("reach_m"), unit_of("rate_m_per_s", "in"), unit_of("load_rate_factor")
    ('m', 'in/s', '')
    """
    fits = (unit.format(length) for ending, unit in _ENDINGS if name.endswith(ending))
    return next(fits, "")


def number_text(value: float, side: Side, decimals: int) -> str:
    """Say a number for a column whose head has the unit.

    Parameters
    ----------
    value
        In the unit of the head.
    side
        Where it is rounded to: ``"down"`` for what is left, ``"up"`` for what is used or missing.
    decimals
        So many digits behind the point.

    Examples
    --------
    >>> number_text(7.0866, "down", 2), number_text(-0.001, "down", 2), number_text(378.8, "up", 0)
    ('7.08', '-0.01', '379')
    """
    return f"{_rounded(value, side, decimals):.{decimals}f}"


def _rounded(value: float, side: Side, decimals: int) -> float:
    """Round to a side; a millionth of the last place is forgiven, so that 3 mm stay 3 mm."""
    if not math.isfinite(value):
        return value
    scale = 10.0**decimals
    scaled = value * scale
    if side == "near":
        whole = round(scaled)
    else:
        whole = math.floor(scaled + 1e-6) if side == "down" else math.ceil(scaled - 1e-6)
    return whole / scale
