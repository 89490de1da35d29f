"""How far a payload may drift where all lines pull to one side: at most so far.

Lines are drawn tight, so that each is as long as its way from the handrail. Moved
along a direction that slackens them all, the payload is free until one of them is
straight again, or until a place where a line is made fast to it meets a solid.
The payload itself has no size here: it may be stopped sooner, never later.
"""

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from routing.graph.surroundings import Named
from structures.frames import Vector
from structures.solids.sight import crosses, crosses_any

__all__ = ["Fast", "Room", "room_to_drift"]

_WITHIN_M: Final = 1e-3
"""Where a solid stops it is found to this, and said no less than it is [m]."""


class Fast(NamedTuple):
    """One line, made fast to a handrail and to the payload."""

    place_m: Vector
    attach_m: Vector
    length_m: float


class Room(NamedTuple):
    """How far the payload can go, at most [m], and the solid that it meets then, if any."""

    up_to_m: float
    solid: str | None


def room_to_drift(lines: Sequence[Fast], direction: Vector, solids: Named) -> Room:
    """Return how far a payload can drift in a direction that all lines pull toward.

    Parameters
    ----------
    lines
        At least one, drawn tight: none is shorter than the straight distance.
    direction
        Of length 1.
    solids
        What may stop it.

    Notes
    -----
    A line of length L made fast at p holds the place a at a + t d as long as
    its distance from p is no more than L: t = -v d + sqrt((v d)^2 + L^2 - v^2)
    with v = a - p. Where the line went round solids it may be taut sooner.

    Examples
    --------
    >>> room_to_drift([Fast((0, 0, 0), (0, 0, -1), 1.0)], (0, 0, 1), Named((), ()))
    Room(up_to_m=2.0, solid=None)
    """
    toward = np.asarray(direction, dtype=np.float64)
    at_m = np.array([line.attach_m for line in lines], dtype=np.float64)
    from_m = at_m - np.array([line.place_m for line in lines], dtype=np.float64)
    along_m = from_m @ toward
    slack_m2 = np.array([line.length_m for line in lines]) ** 2 - (from_m * from_m).sum(axis=1)
    taut_m = -along_m + np.sqrt(along_m * along_m + np.maximum(slack_m2, 0.0))
    free_m = float(taut_m.min())

    def stopped(by_m: float) -> bool:
        return bool(crosses_any(solids.tables, at_m, at_m + by_m * toward).any())

    if not stopped(free_m):
        return Room(free_m, None)
    clear_m, met_m = 0.0, free_m
    while met_m - clear_m > _WITHIN_M:
        middle_m = (clear_m + met_m) / 2
        if stopped(middle_m):
            met_m = middle_m
        else:
            clear_m = middle_m
    ends_m = at_m + met_m * toward
    solid = next(
        name
        for shape, name in zip(solids.shapes, solids.ids, strict=True)
        if crosses(shape, at_m, ends_m).any()
    )
    return Room(met_m, solid)
