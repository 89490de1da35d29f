"""Suited bodies as data: where shoulders and eyes are, what hands reach, what room it takes.

The body stands straight on the plate of a foot restraint. Heights are above
the soles along the body's own axis; forward is where the toes point.
"""

from typing import Annotated

from pydantic import Field, model_validator

from structures.elements import Element
from structures.fields import Coordinate, Length, Number, PositiveLength

__all__ = ["Body"]

_Angle = Annotated[Number, Field(gt=0, le=180)]


class Body(Element):
    """A size of suited person.

    One hand reaches what is between ``one_hand_nearest_m`` and
    ``one_hand_farthest_m`` of its shoulder and within ``one_hand_angle_deg`` of
    straight ahead. Both hands together reach what is in a ball in front of the
    chest, and within reach of both shoulders. The eyes see what is within
    ``view_angle_deg`` of straight ahead. The legs fill a capsule of
    ``leg_radius_m`` up to the hips, trunk and helmet with backpack one of
    ``corridor_radius_m`` from there to the top, moved ahead by ``trunk_forward_m``.
    """

    height_m: PositiveLength
    """From the soles to the top of helmet and backpack [m]."""
    hip_height_m: PositiveLength
    """From the soles to the hips [m]."""
    shoulder_height_m: PositiveLength
    """From the soles to the centres of the shoulders [m]."""
    shoulder_out_m: Length
    """From the body's axis to the centre of a shoulder, sideways [m]."""
    shoulder_forward_m: Coordinate = 0.0
    """From the body's axis to the shoulders, ahead; below zero is behind [m]."""
    eye_height_m: PositiveLength
    """From the soles to the eyes [m]."""
    eye_forward_m: Coordinate = 0.0
    """From the body's axis to the eyes, ahead [m]."""
    view_angle_deg: _Angle
    """The eyes see what is within this angle of straight ahead [deg]."""
    one_hand_nearest_m: Length
    """One hand reaches nothing nearer to its shoulder than this [m]."""
    one_hand_farthest_m: PositiveLength
    """One hand reaches nothing farther from its shoulder than this [m]."""
    one_hand_angle_deg: _Angle
    """One hand reaches what is within this angle of straight ahead [deg]."""
    two_hand_forward_m: Length
    """From the body's axis to the middle of the two-hand envelope, ahead [m]."""
    two_hand_height_m: PositiveLength
    """From the soles to the middle of the two-hand envelope [m]."""
    two_hand_radius_m: PositiveLength
    """Radius of the ball that both hands reach together [m]."""
    leg_radius_m: PositiveLength
    """Radius of the capsule that holds the legs [m]."""
    corridor_radius_m: PositiveLength
    """Radius of the capsule that holds trunk, helmet and backpack [m]."""
    trunk_forward_m: Coordinate = 0.0
    """Below zero: the backpack moves the middle of the trunk behind the body's axis [m]."""

    @model_validator(mode="after")
    def _holds_together(self) -> "Body":
        order = ("hip_height", "shoulder_height", "eye_height", "height")
        heights = [getattr(self, f"{name}_m") for name in order]
        for i in range(len(order) - 1):
            if heights[i] >= heights[i + 1]:
                raise ValueError(
                    f"{order[i]} ({heights[i]:.4g} m) is not below {order[i + 1]} "
                    f"({heights[i + 1]:.4g} m); heights go up from hips by shoulders and eyes "
                    "to the top"
                )
        if self.one_hand_nearest_m >= self.one_hand_farthest_m:
            raise ValueError(
                f"one_hand_nearest ({self.one_hand_nearest_m:.4g} m) is not below "
                f"one_hand_farthest ({self.one_hand_farthest_m:.4g} m); give the envelope depth"
            )
        if self.hip_height_m + 2 * self.corridor_radius_m > self.height_m:
            raise ValueError(
                f"a ball of corridor_radius ({self.corridor_radius_m:.4g} m) does not fit between "
                f"the hips ({self.hip_height_m:.4g} m) and the top ({self.height_m:.4g} m); "
                "lower the hips or the radius"
            )
        if 2 * self.leg_radius_m > self.hip_height_m:
            raise ValueError(
                f"a ball of leg_radius ({self.leg_radius_m:.4g} m) does not fit below the hips "
                f"({self.hip_height_m:.4g} m); raise the hips or lower the radius"
            )
        return self
