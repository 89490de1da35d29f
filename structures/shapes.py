"""Shapes of solids and zones, as records. What is computed on them is in `structures.solids`."""

import math
from typing import Annotated, Literal, TypeAlias

from pydantic import Field, model_validator

from structures.fields import Coordinate, Direction, Length, Point, PositiveLength, Record
from structures.frames import Vector

__all__ = ["Box", "Cone", "Cylinder", "Prism", "Shape", "Sphere"]


class Cylinder(Record):
    """A capped cylinder between the centres of its two end faces."""

    shape: Literal["cylinder"] = "cylinder"
    """Says that this is a cylinder."""
    start_m: Point
    """Centre of the first end face [m]."""
    end_m: Point
    """Centre of the other end face [m]."""
    radius_m: PositiveLength
    """Its radius [m]."""

    @model_validator(mode="after")
    def _has_length(self) -> "Cylinder":
        _distinct(self.start_m, self.end_m)
        return self


class Cone(Record):
    """A capped cone or frustum; one of the two radii may be zero."""

    shape: Literal["cone"] = "cone"
    """Says that this is a cone."""
    start_m: Point
    """Centre of the first end face, or the tip [m]."""
    end_m: Point
    """Centre of the other end face, or the tip [m]."""
    start_radius_m: Length
    """Radius at the start; zero is a tip [m]."""
    end_radius_m: Length
    """Radius at the end; zero is a tip [m]."""

    @model_validator(mode="after")
    def _has_volume(self) -> "Cone":
        _distinct(self.start_m, self.end_m)
        if self.start_radius_m == 0 and self.end_radius_m == 0:
            raise ValueError("both radii are 0; give at least one end a radius above 0")
        return self


class Sphere(Record):
    """A ball."""

    shape: Literal["sphere"] = "sphere"
    """Says that this is a sphere."""
    center_m: Point
    """Its centre [m]."""
    radius_m: PositiveLength
    """Its radius [m]."""


class Box(Record):
    """A box by its centre and full edge lengths along its own x, y and z.

    ``x_axis`` and ``y_axis`` turn it; they must be at right angles.
    """

    shape: Literal["box"] = "box"
    """Says that this is a box."""
    center_m: Point
    """Its centre [m]."""
    size_m: tuple[PositiveLength, PositiveLength, PositiveLength]
    """Full edge lengths along its own x, y and z [m]."""
    x_axis: Direction = Field((1.0, 0.0, 0.0), validate_default=True)
    """The way its own x runs; any length but zero."""
    y_axis: Direction = Field((0.0, 1.0, 0.0), validate_default=True)
    """The way its own y runs, at right angles to ``x_axis``."""

    @model_validator(mode="after")
    def _axes_square(self) -> "Box":
        _square(self.x_axis, self.y_axis)
        return self


class Prism(Record):
    """An extruded polygon.

    ``outline_m`` is a simple polygon, in order, in the plane through
    ``origin_m`` spanned by ``x_axis`` and ``y_axis``; it is swept by
    ``height_m`` along x_axis x y_axis.
    """

    shape: Literal["prism"] = "prism"
    """Says that this is a prism."""
    origin_m: Point
    """Where the plane of the outline has its zero [m]."""
    outline_m: Annotated[tuple[tuple[Coordinate, Coordinate], ...], Field(min_length=3)]
    """Corners of a simple polygon in order, each along ``x_axis`` and ``y_axis`` from the origin
    [m]."""
    height_m: PositiveLength
    """How far the outline is swept, along x_axis x y_axis [m]."""
    x_axis: Direction = Field((1.0, 0.0, 0.0), validate_default=True)
    """The way the outline's first coordinate runs; any length but zero."""
    y_axis: Direction = Field((0.0, 1.0, 0.0), validate_default=True)
    """The way its second coordinate runs, at right angles to ``x_axis``."""

    @model_validator(mode="after")
    def _simple(self) -> "Prism":
        _square(self.x_axis, self.y_axis)
        check_outline(self.outline_m)
        return self


Shape: TypeAlias = Annotated[Cylinder | Cone | Sphere | Box | Prism, Field(discriminator="shape")]

_SQUARE_WITHIN = 1e-6
"""Largest cosine between axes that are meant to be at right angles."""


def _distinct(start_m: Vector, end_m: Vector) -> None:
    if math.dist(start_m, end_m) < 1e-6:
        raise ValueError("start and end are the same point; give them a distance above 0")


def _square(x_axis: Vector, y_axis: Vector) -> None:
    along = sum(a * b for a, b in zip(x_axis, y_axis, strict=True))
    cosine = along / (math.hypot(*x_axis) * math.hypot(*y_axis))
    if abs(cosine) > _SQUARE_WITHIN:
        angle_deg = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
        raise ValueError(
            f"x_axis and y_axis are {angle_deg:.3f} deg apart; they must be at right angles"
        )


Corner: TypeAlias = tuple[float, float]


def check_outline(outline_m: tuple[Corner, ...]) -> None:
    """Refuse an outline that is no simple polygon.

    Parameters
    ----------
    outline_m
        Corners in order round it, each (x, y) in its own plane [m].

    Raises
    ------
    ValueError
        Two corners in a row are the same point, edges cross, or it has no area.
    """
    corners = len(outline_m)
    edges = [(outline_m[i], outline_m[(i + 1) % corners]) for i in range(corners)]
    for i, (a, b) in enumerate(edges):
        if math.dist(a, b) < 1e-6:
            raise ValueError(f"corners {i} and {(i + 1) % corners} are the same point; drop one")
        for j in range(i + 1, corners):
            next_to = j == i + 1 or (i == 0 and j == corners - 1)
            if not next_to and _edges_meet(a, b, *edges[j]):
                raise ValueError(
                    f"the outline crosses itself: edge {i} meets edge {j}; "
                    "list the corners in order round the polygon"
                )
    twice_area = sum(a[0] * b[1] - b[0] * a[1] for a, b in edges)
    if abs(twice_area) < 1e-9:
        raise ValueError("the outline encloses no area; give at least three corners not in line")


def _turn(a: Corner, b: Corner, c: Corner) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _edges_meet(a: Corner, b: Corner, c: Corner, d: Corner) -> bool:
    turns = (_turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    touches = ((turns[0], a, b, c), (turns[1], a, b, d), (turns[2], c, d, a), (turns[3], c, d, b))
    return any(
        turn == 0
        and min(p[0], q[0]) <= r[0] <= max(p[0], q[0])
        and min(p[1], q[1]) <= r[1] <= max(p[1], q[1])
        for turn, p, q, r in touches
    )
