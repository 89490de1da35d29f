"""Cables on the outside: what they are plugged into, tied to, and how long they are."""

from structures.elements import Element
from structures.fields import Direction, Identifier, Length, Point, PositiveLength

__all__ = ["Cable", "CableTie", "Connector"]


class Connector(Element):
    """A place that a cable is plugged into."""

    position_m: Point
    """Where the plug goes in [m]."""
    normal: Direction
    """The way in which the cable leaves it."""


class CableTie(Element):
    """A place where a cable can be tied down."""

    position_m: Point
    """Where the cable lies [m]."""
    stow_m: Length = 0.0
    """How much spare cable can be stowed there in loops [m]."""


class Cable(Element):
    """A cable that people lay."""

    length_m: PositiveLength
    """From plug to plug [m]."""
    bend_radius_m: PositiveLength
    """It may not be bent more tightly than this [m]."""
    service_loop_m: Length = 0.0
    """Cable left in a loop at each of its two ends, so that it can be plugged in [m]."""
    spacing_m: PositiveLength | None = None
    """Longest way between two ties; not given: as in the limits [m]."""
    item: Identifier | None = None
    """The item that it is carried as."""
