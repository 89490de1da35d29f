"""Faces that must be seen, and cameras to see them with, as data."""

import math
from typing import Annotated, TypeAlias

from pydantic import Field, model_validator

from structures.elements import Element
from structures.fields import Coordinate, Direction, Length, Number, Point, PositiveLength
from structures.shapes import check_outline

__all__ = ["Camera", "Face"]

Corner: TypeAlias = tuple[Coordinate, Coordinate]

_SQUARE_WITHIN = 1e-6
"""Largest cosine between directions that are meant to be at right angles."""


class Face(Element):
    """A flat rectangle or polygon that is to be inspected, seen from where its normal points to.

    ``across`` runs along its width, at right angles to the normal; up is normal x across.
    It has either a size, with the centre in the middle, or an outline.
    """

    center_m: Point
    """Its middle, or the zero of its outline [m]."""
    normal: Direction
    """The side it is seen from; any length but zero."""
    across: Direction
    """Along its width, at right angles to the normal; up is normal x across."""
    size_m: tuple[PositiveLength, PositiveLength] | None = None
    """Width (along ``across``) and height [m]."""
    outline_m: Annotated[tuple[Corner, ...], Field(max_length=100)] = ()
    """Corners of a simple polygon in order, each across and up from the centre [m]."""

    @property
    def corners_m(self) -> tuple[tuple[float, float], ...]:
        """The corners in order, across and up from the centre [m]."""
        if self.size_m is None:
            return self.outline_m
        x, y = self.size_m[0] / 2, self.size_m[1] / 2
        return (-x, -y), (x, -y), (x, y), (-x, y)

    @model_validator(mode="after")
    def _has_one_form(self) -> "Face":
        if (self.size_m is None) == (not self.outline_m):
            given = "neither a size nor an outline" if self.size_m is None else "both"
            raise ValueError(
                f"the face has {given}; give a rectangle its size, or a polygon its outline"
            )
        if self.outline_m:
            check_outline(self.outline_m)
        return self

    @model_validator(mode="after")
    def _is_square(self) -> "Face":
        along = sum(a * b for a, b in zip(self.normal, self.across, strict=True))
        cosine = along / (math.hypot(*self.normal) * math.hypot(*self.across))
        if abs(cosine) > _SQUARE_WITHIN:
            angle_deg = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
            raise ValueError(
                f"normal and across are {angle_deg:.3f} deg apart; they must be at right angles"
            )
        return self


class Camera(Element):
    """A hand-held camera: how near and far, and how slantingly, it still shows what is asked."""

    nearest_m: Length
    """It shows nothing sharply that is nearer than this [m]."""
    farthest_m: PositiveLength
    """It shows nothing in detail that is farther than this [m]."""
    incidence_deg: Annotated[Number, Field(gt=0, lt=90)]
    """Largest angle between a face's normal and the line to the camera."""
    held_out_m: Length = 0.0
    """How far it is held out beyond the body's place at a grip, away from the grip [m]."""

    @model_validator(mode="after")
    def _has_depth(self) -> "Camera":
        if self.nearest_m >= self.farthest_m:
            raise ValueError(
                f"nearest ({self.nearest_m:.4g} m) is not below farthest "
                f"({self.farthest_m:.4g} m); give the range that is in focus"
            )
        return self
