"""Foot restraints as data: a plate for the boots on joints that are set in steps.

All vectors here are in axes of the restraint, not of the station, so a
document's `frame` does not turn them. In its zero setting x points to the
socket's clock position, z out along the socket's normal, y is z cross x; the
boots stand on the plate with the toes to +x and the head to +z.
"""

import math
from typing import Annotated, TypeAlias

from pydantic import AfterValidator, Field, Strict, model_validator

from structures.elements import Element
from structures.fields import (
    Coordinate,
    Identifier,
    Length,
    Number,
    PositiveLength,
    PositiveNumber,
    Record,
)

__all__ = ["MOST_SETTINGS", "Joint", "Restraint"]

MOST_SETTINGS = 100_000
"""A restraint may have so many settings: each is computed for every body and target."""

_MOST_STEPS = 360
_WHOLE_WITHIN = 1e-6

Offset: TypeAlias = tuple[Coordinate, Coordinate, Coordinate]


def _points_somewhere(axis: tuple[float, float, float]) -> tuple[float, float, float]:
    length = math.hypot(*axis)
    if not 1e-6 < length < 1e6:
        raise ValueError(
            f"an axis of length {length:g} points nowhere; give three numbers that are not all zero"
        )
    return axis


Axis: TypeAlias = Annotated[tuple[Number, Number, Number], AfterValidator(_points_somewhere)]


class Joint(Record):
    """A joint of a restraint: it turns about an axis, in equal steps from lowest to highest.

    ``offset_m`` leads from the joint before (or the socket) to this one, and
    ``axis`` is what it turns about by the right-hand rule; both in the axes of
    the link before it.
    """

    id: Identifier
    """Its name: unique among the joints of its restraint."""
    axis: Axis
    """What it turns about by the right-hand rule, in axes of the link before it; not zero."""
    lowest_deg: Annotated[Number, Field(ge=-360, le=360)]
    """Angle at the lowest step [deg]."""
    highest_deg: Annotated[Number, Field(ge=-360, le=360)]
    """Angle at the highest step; a whole number of steps above the lowest [deg]."""
    step_deg: Annotated[Number, Field(gt=0, le=360)]
    """From one position to the next [deg]."""
    offset_m: Offset = (0.0, 0.0, 0.0)
    """From the joint before (or the socket) to this one, in axes of the link before it [m]."""

    @model_validator(mode="after")
    def _steps_fit(self) -> "Joint":
        span_deg = self.highest_deg - self.lowest_deg
        if span_deg < 0:
            raise ValueError(
                f"it goes from {self.lowest_deg:g} deg down to {self.highest_deg:g} deg; "
                "give the lower angle as lowest_deg"
            )
        steps = span_deg / self.step_deg
        if abs(steps - round(steps)) > _WHOLE_WITHIN:
            raise ValueError(
                f"steps of {self.step_deg:g} deg do not lead from {self.lowest_deg:g} deg to "
                f"{self.highest_deg:g} deg; give a range that is a whole number of steps"
            )
        if steps >= _MOST_STEPS:
            raise ValueError(
                f"the joint has {round(steps) + 1} positions; give it at most {_MOST_STEPS}"
            )
        return self

    @property
    def angles_deg(self) -> tuple[float, ...]:
        """Every position of the joint, ascending [deg]."""
        steps = round((self.highest_deg - self.lowest_deg) / self.step_deg)
        return tuple(self.lowest_deg + self.step_deg * step for step in range(steps + 1))


class Restraint(Element):
    """A type of foot restraint that fits every socket.

    Clock position k of n turns it by k / n of a circle about the socket's
    normal, clockwise as seen by one who looks at the socket.
    """

    clock_positions: Annotated[int, Strict(), Field(ge=1, le=72)] = 12
    """In how many positions it can be plugged into a socket, evenly round the circle."""
    joints: Annotated[tuple[Joint, ...], Field(max_length=6)] = ()
    """From the socket to the plate."""
    plate_offset_m: Offset
    """From the last joint (or the socket) to the plate, midway between the soles [m]."""
    boots_length_m: PositiveLength
    """Both boots from heels to toes [m]."""
    boots_width_m: PositiveLength
    """Both boots side by side [m]."""
    boots_height_m: Length = 0.0
    """How far above the plate's surface the boots' middle is [m]."""
    rating_n: PositiveNumber | None = None
    """Load it is rated for [N]; not given means unknown, which is never taken for enough."""
    rating_nm: PositiveNumber | None = None
    """Moment it is rated for [N m]; not given means unknown."""

    @model_validator(mode="after")
    def _can_be_enumerated(self) -> "Restraint":
        ids = [joint.id for joint in self.joints]
        if len(set(ids)) < len(ids):
            raise ValueError(
                f"two joints have the same id ({', '.join(ids)}); give each its own id"
            )
        if self.settings > MOST_SETTINGS:
            raise ValueError(
                f"the restraint has {self.settings} settings; "
                f"give it at most {MOST_SETTINGS}, by larger steps or fewer joints"
            )
        return self

    @property
    def settings(self) -> int:
        """How many settings there are: clock positions times positions of every joint."""
        return self.clock_positions * math.prod(len(joint.angles_deg) for joint in self.joints)

    @property
    def length_m(self) -> float:
        """How far the plate is from the socket at most [m]."""
        offsets = [joint.offset_m for joint in self.joints]
        return sum(math.hypot(*offset) for offset in (*offsets, self.plate_offset_m))
