"""What ties things down on the outside: equipment tethers."""

from typing import Annotated, Literal, TypeAlias

from pydantic import Field, model_validator

from structures.elements import Element
from structures.fields import PositiveLength, PositiveNumber

__all__ = ["EquipmentTether", "Hook"]

Hook: TypeAlias = Literal["large", "small"]
"""*large* closes round a handrail, a handhold or a ring; *small* takes a ring only.

Attach points of payloads and the ends of other tethers are rings.
"""


class EquipmentTether(Element):
    """A kind of retractable tether for equipment, which can be pulled out and cinched.

    A chain of some of them in series spans every length from the sum of their
    cinched lengths to the sum of their extended ones.
    """

    cinched_m: PositiveLength
    """Hook to hook when cinched as far as it goes [m]."""
    extended_m: PositiveLength
    """Hook to hook when pulled out as far as it goes [m]."""
    hooks: tuple[Hook, Hook] = ("large", "large")
    """The hooks at its two ends; either end may be put either way round."""
    rating_n: PositiveNumber | None = None
    """Rated load [N]; not given means unknown, which is never taken for enough."""
    count: Annotated[int, Field(strict=True, ge=0, le=1000)] | None = None
    """How many there are; not given means as many as are needed."""

    @model_validator(mode="after")
    def _can_be_cinched(self) -> "EquipmentTether":
        if self.cinched_m > self.extended_m:
            raise ValueError(
                f"cinched to {self.cinched_m:g} m is longer than extended to "
                f"{self.extended_m:g} m; check the two lengths, they may be swapped"
            )
        return self
