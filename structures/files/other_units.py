"""Keys and columns that name a force, torque or mass in another unit than documents do."""

from collections.abc import Collection
from typing import Final

__all__ = ["key_in_si"]

_LBF: Final = ("_n", "in newtons: 1 lbf = 4.4482216152605 N")
_LB: Final = ("_kg", "in kilograms: 1 lb = 0.45359237 kg")

# The first suffix counts under which there is such a key. Exact factors: NIST SP 811 (2008),
# appendix B.8: the pound and the inch by definition, forces by 9.80665 m/s2.
_OTHER_UNITS: Final = (
    ("_in_lbf", ("_nm", "in newton metres: 1 in-lbf = 0.1129848290276167 N m")),
    ("_ft_lbf", ("_nm", "in newton metres: 1 ft-lbf = 1.3558179483314004 N m")),
    ("_lbf", _LBF),
    ("_lbs", _LB),
    ("_lbm", _LB),
    ("_lb", _LB),
    ("_lb", _LBF),
)


def key_in_si(key: str, known: Collection[str]) -> str | None:
    """Return which key was meant and how values become its unit, None if there is none such.

    Examples
    --------
    >>> key_in_si("rating_lbf", ["id", "rating_n"])
    'did you mean rating_n? it is in newtons: 1 lbf = 4.4482216152605 N'
    >>> key_in_si("mass_lb", ["id", "mass_kg"])
    'did you mean mass_kg? it is in kilograms: 1 lb = 0.45359237 kg'
    >>> key_in_si("mass_g", ["id", "mass_kg"])
    """
    for suffix, (unit, factor) in _OTHER_UNITS:
        meant = key.removesuffix(suffix) + unit
        if key.endswith(suffix) and meant in known:
            return f"did you mean {meant}? it is {factor}"
    return None
