"""Equipment tethers: what a chain is made of."""

from collections.abc import Iterable
from typing import Final

from pydantic import Field, model_validator

from structures.fields import PositiveLength, PositiveNumber, Record, Text
from structures.units import FOOT_M, POUND_FORCE_N

__all__ = ["DEFAULT_TETHER", "EquipmentTether", "weakest_rating_n"]


class EquipmentTether(Record):
    """A retractable tether for equipment, which can be pulled out and cinched.

    A chain of n of them spans every length from n times cinched to n times
    extended.
    """

    name: Text
    cinched_m: PositiveLength
    """Hook to hook when cinched as far as it goes [m]."""
    extended_m: PositiveLength
    """Hook to hook when pulled out as far as it goes [m]."""
    rating_n: PositiveNumber | None = None
    """Rated load [N]; not given means unknown, which is never taken for enough."""
    source: Text = Field("")

    @model_validator(mode="after")
    def _can_be_cinched(self) -> "EquipmentTether":
        if self.cinched_m > self.extended_m:
            raise ValueError(
                f"cinched to {self.cinched_m:g} m is longer than extended to "
                f"{self.extended_m:g} m; check the two lengths, they may be swapped"
            )
        return self


DEFAULT_TETHER: Final = EquipmentTether(
    name="retractable equipment tether",
    cinched_m=1 * FOOT_M,
    extended_m=6 * FOOT_M,
    rating_n=75 * POUND_FORCE_N,
    source=(
        "extended about 6 ft, JSC-20466, from memory; rating 75 lbf as of the tool-tether attach "
        "point, SSP 30256:001 Rev F table 3.1.3-1; cinched 1 ft, own planning assumption, no source"
    ),
)


def weakest_rating_n(chain: Iterable[EquipmentTether]) -> float | None:
    """Return the rating of a chain: that of its weakest link [N], ``None`` if one is unknown.

    Examples
    --------
    >>> weak = DEFAULT_TETHER.model_copy(update={"rating_n": 200.0})
    >>> weakest_rating_n([DEFAULT_TETHER, weak, DEFAULT_TETHER])
    200.0
    """
    ratings = [tether.rating_n for tether in chain]
    if not ratings:
        raise ValueError("a chain has at least one tether; give it one")
    known = [rating for rating in ratings if rating is not None]
    return min(known) if len(known) == len(ratings) else None
