"""What a structure is made of, as frozen records in metres and station axes.

Field names end in their unit; in documents the metre is left off and the
document's length unit counts (see `structures.fields`).
"""

import math
from itertools import pairwise
from typing import Annotated, Final, Literal, TypeAlias

from pydantic import Field, model_validator

from structures.fields import (
    FARTHEST_M,
    BodyRadius,
    Direction,
    Flag,
    HandReach,
    Identifier,
    Length,
    Number,
    Point,
    PositiveLength,
    PositiveNumber,
    Record,
    Text,
    TranslationRate,
)
from structures.radio import transmitter_radius_m
from structures.shapes import Shape

__all__ = [
    "AttachPoint",
    "Condition",
    "Handhold",
    "Handrail",
    "Hatch",
    "Item",
    "Person",
    "Socket",
    "Solid",
    "Target",
    "TetherPoint",
    "Transmitter",
    "Worksite",
    "Zone",
]


_LEAST_APART_M: Final = 1e-6
"""Points of a handrail nearer than this are the same point [m]."""


class Element(Record):
    """What all elements have: an id unique across kinds, a name, and where the data is from."""

    id: Identifier
    """Its name in references: unique in the document across all lists."""
    name: Text = ""
    """What people call it; may be empty."""
    notes: Text = ""
    """Remarks for people; nothing is worked out from them."""
    source: Text = ""
    """Where the data is from: a drawing, a survey, its revision."""


class Solid(Element):
    """A solid body of the structure that people, bags and lines must go round."""

    volume: Shape
    """The body itself: a cylinder, cone, sphere, box or prism, told by its ``shape``."""
    kick_sensitive: Flag = False
    """Must not be kicked or bumped (SSP 30256:001 Rev F table 3.1.3-1)."""


class Handrail(Element):
    """A rail to hold: a polyline at hand height, with its outward normal.

    ``standoff_m`` is the height of the rail above what it is mounted on.
    ``tether_hook`` says whether a tether hook may be put on it.
    """

    points_m: Annotated[tuple[Point, ...], Field(min_length=2)]
    """Where the hand closes round the rail: at least two points along it, in order [m]."""
    normal: Direction
    """Outward, away from what the rail is mounted on; any length but zero."""
    standoff_m: Length = 0.0635
    """Height of the rail above what it is mounted on [m]."""
    tether_hook: Flag = True
    """Whether a tether hook may be put on it."""

    @model_validator(mode="after")
    def _has_length(self) -> "Handrail":
        for i, (a, b) in enumerate(pairwise(self.points_m)):
            if math.dist(a, b) < _LEAST_APART_M:
                raise ValueError(
                    f"points {i} and {i + 1} are the same; a handrail needs length between points"
                )
        return self


class Handhold(Element):
    """A single place to hold, for one hand."""

    position_m: Point
    """Where the hand closes round it [m]."""
    normal: Direction
    """Outward, away from what it is mounted on; any length but zero."""
    tether_hook: Flag = False
    """Whether a tether hook may be put on it."""


class Socket(Element):
    """A worksite interface that takes a foot restraint."""

    position_m: Point
    """Where the foot restraint is plugged in [m]."""
    normal: Direction
    """Outward, the way the restraint stands up; any length but zero."""
    clock_zero: Direction
    """Direction of clock position zero, at right angles to the normal."""


class TetherPoint(Element):
    """A place to anchor a tether. ``staged_m`` lists the safety tethers left there [m]."""

    position_m: Point
    """Where the hook is put on [m]."""
    rating_n: PositiveNumber | None = None
    """Rated load [N]; not given means unknown, which is never taken for enough."""
    staged_m: tuple[PositiveLength, ...] = ()
    """Lengths of the safety tethers that have been left there [m]."""


class Hatch(Element):
    """The airlock hatch, where outings begin and end."""

    position_m: Point
    """The middle of the opening [m]."""
    normal: Direction
    """Outward, the way people come out; any length but zero."""
    tether_point: Identifier
    """The tether point at which the first safety tether is anchored."""


class Target(Record):
    """A point that hands must work on."""

    id: Identifier
    """Its name: unique among the targets of its worksite."""
    position_m: Point
    """The point the hands are at [m]."""
    facing: Direction
    """Outward direction of the face that is worked on."""
    hands: Literal[1, 2] = 1
    """How many hands the work takes."""


class AttachPoint(Record):
    """A place on a payload where an equipment tether is hooked, in both payload positions."""

    id: Identifier
    """Its name: unique among the attach points of its worksite."""
    held_m: Point
    """Where it is while the payload is only held [m]."""
    seated_m: Point
    """Where it is once the payload is cinched home [m]."""


class Worksite(Element):
    """Where a person works: in a foot restraint at a socket, or at a place on a handrail."""

    socket: Identifier | None = None
    """The socket in which the foot restraint stands; else name a handrail."""
    handrail: Identifier | None = None
    """The handrail at which the person works, with ``place``; else name a socket."""
    place_m: Point | None = None
    """On a handrail: the worksite is at the nearest point of the rail to this one."""
    targets: tuple[Target, ...] = ()
    """The points that hands must work on there."""
    without_restraint: bool = False
    """On a handrail: the work is done holding on, so no foot restraint is asked about. Whoever
    says so answers for it; else what was not asked is not called safe."""
    attach: tuple[AttachPoint, ...] = ()
    """Places on the payload where equipment tethers are hooked."""
    tie_handrails: tuple[Identifier, ...] = ()
    """Handrails that equipment tethers of this worksite may use; empty: any near by."""

    @model_validator(mode="after")
    def _is_somewhere(self) -> "Worksite":
        if (self.socket is None) == (self.handrail is None):
            raise ValueError("a worksite is at one socket or on one handrail; name just one")
        if (self.handrail is None) != (self.place_m is None):
            raise ValueError("place goes with handrail; give both, or a socket and neither")
        if self.without_restraint and self.socket is not None:
            raise ValueError(
                "without_restraint goes with handrail: at a socket a foot restraint is used; name "
                "a handrail and a place, or leave it out"
            )
        return self


class Transmitter(Record):
    """A radio transmitter: its zone is a ball whose radius follows from the RF limits."""

    shape: Literal["transmitter"] = "transmitter"
    """Says that the zone is that of a radio transmitter."""
    center_m: Point
    """Where the antenna is [m]."""
    power_w: PositiveNumber
    """Power fed to the antenna [W]."""
    gain: PositiveNumber
    """Antenna gain as a plain ratio, not in dB."""
    frequency_mhz: PositiveNumber
    """Frequency it sends on [MHz]."""

    @model_validator(mode="after")
    def _has_radius(self) -> "Transmitter":
        radius_m = transmitter_radius_m(self.power_w, self.gain, self.frequency_mhz)
        if radius_m > FARTHEST_M:
            raise ValueError(
                f"the zone would have a radius of {radius_m:g} m, over {FARTHEST_M:g} m; "
                "check that power is in W and gain is a plain ratio, not in dB"
            )
        return self


ZoneVolume: TypeAlias = Shape | Transmitter


class Zone(Element):
    """A volume to keep out of or to slow down in."""

    kind: Literal["keep-out", "slow-down"] = "keep-out"
    """*keep-out*: what it applies to may not come in; *slow-down*: moves inside take longer."""
    volume: ZoneVolume = Field(discriminator="shape")
    """What it fills: a shape, or a transmitter whose radius follows from the RF limits."""
    applies_to: Annotated[tuple[Literal["body", "tether", "item"], ...], Field(min_length=1)] = (
        "body",
        "tether",
        "item",
    )
    """Who keeps out or slows down: people, their safety tethers, items they carry."""
    when: tuple[Identifier, ...] = ()
    """Conditions under which the zone counts: any one of them; none named means always."""
    slow_factor: Annotated[Number, Field(ge=1, le=1000)] = 2.0
    """How many times longer a move inside takes (slow-down zones only)."""


class Condition(Element):
    """A named state of affairs that switches zones on and closes handrails."""

    closes: tuple[Identifier, ...] = ()
    """Handrails and handholds that are out of use while it is in force; over an outing, all the
    time, if any act begins it."""


class Item(Element):
    """A thing that is carried, and where it is stowed."""

    size_m: tuple[PositiveLength, PositiveLength, PositiveLength]
    """Full edge lengths of the box round it [m]."""
    mass_kg: PositiveNumber
    """Its mass [kg]."""
    stowed_at: Identifier | None = None
    """The element of the structure at which it is stowed."""
    envelope_m: PositiveLength | None = None
    """What it adds to the corridor radius when carried [m]; not given: half its diagonal."""
    kick_sensitive: Flag = False
    """Must not be kicked or bumped."""


class Person(Element):
    """A suited person. What is not given is taken from the limits."""

    reach_m: HandReach | None = None
    """Largest gap from hand to hand on the way [m]."""
    rate_m_per_s: TranslationRate | None = None
    """Translation rate without load [m/s]."""
    corridor_radius_m: BodyRadius | None = None
    """Radius of the ball that holds the suited body [m]."""
    body: Identifier | None = None
    """The size of the body in a foot restraint: one of the structure's bodies, or a built-in one
    where it lists none."""
