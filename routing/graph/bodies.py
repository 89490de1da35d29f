"""Body places: how a person at each grip leans so that the body has room.

The body is a ball of the corridor radius whose skin touches the grip. People
stand off along the grip's outward normal where there is room for that, and
lean where there is not: the best of a fan of directions round the normal.

The lean is chosen for room to solids alone; zones then only take places away.
So a zone that is added, or switched on by a condition, never opens a way.
"""

from typing import TYPE_CHECKING

import numpy as np

from routing.graph.grips import Places
from routing.graph.reach_graph import Flags, Floats, Indices
from routing.graph.situation import Situation
from routing.graph.surroundings import Named, Surroundings
from structures.frozen import frozen
from structures.solids.axes import rows_at
from structures.solids.sweep import SWEEP_TOLERANCE_M, places_clearance

if TYPE_CHECKING:
    from routing.graph.known_room import KnownBody

__all__ = ["UPRIGHT_MARGIN_M", "Bodies", "fit_bodies", "lean_fan"]

UPRIGHT_MARGIN_M = 0.05
"""People stand upright where that leaves this much room [m]; own planning assumption."""

_ROOM_ENOUGH_M = 0.25
"""For more room than this nobody leans more [m]; own planning assumption."""

_ROOM_SEEN_M = 1.0
"""Room beyond this is not told apart [m]."""

_ALIKE_M = 1e-6
"""Places whose room differs by less than this are alike [m]."""

_AZIMUTHS = 8
_TILTS = 2
_TILT_OF = np.repeat(np.arange(_TILTS + 1), [1] + _TILTS * [_AZIMUTHS])
"""Steps of tilt of each direction of a fan."""

_BLOCK = 4096
"""Grips whose fans are looked at together, which bounds the memory."""


@frozen(eq=False)
class Bodies:
    """Where the body is at each of n grips."""

    lean: Floats
    body_m: Floats
    usable: Flags


def fit_bodies(
    places: Places,
    situation: Situation,
    surroundings: Surroundings,
    known: "KnownBody | None" = None,
) -> Bodies:
    """Choose the lean at every grip: upright if that leaves room, else the clearest of the fan.

    Beyond some room nobody leans more for more room. A grip is usable if its body
    place is certainly clear (by `SWEEP_TOLERANCE_M`) of every solid and every
    keep-out zone that applies.

    Parameters
    ----------
    places, situation, surroundings
        What decides.
    known
        What is known from larger bodies; it takes in what is found.
    """
    radius_m = situation.ability.corridor_radius_m
    solids, zones = surroundings.solids, _zones(surroundings)
    lean = places.normal.copy()
    room_m = _upright_room_m(places, situation, solids, known)
    tight = np.flatnonzero(room_m < UPRIGHT_MARGIN_M)
    if situation.limits.max_lean_deg > 0:
        tilt_rad = float(np.deg2rad(situation.limits.max_lean_deg))
        for begin in range(0, len(tight), _BLOCK):
            some = tight[begin : begin + _BLOCK]
            fan = lean_fan(places.normal[some], places.sideways[some], tilt_rad)
            bodies_m = places.position_m[some][:, None, :] + radius_m * fan
            fan_room_m = _fan_room_m(solids, bodies_m, radius_m)
            chosen = np.arange(len(some)), _best_lean(fan_room_m)
            lean[some], room_m[some] = fan[chosen], fan_room_m[chosen]
    body_m = places.position_m + radius_m * lean
    near = np.flatnonzero(_near_boxes(zones, body_m, radius_m + UPRIGHT_MARGIN_M))
    if len(near):
        zone_room_m = _room_m(zones, rows_at(body_m, near), radius_m, UPRIGHT_MARGIN_M)
        room_m[near] = np.minimum(room_m[near], zone_room_m)
    return Bodies(lean, body_m, room_m >= SWEEP_TOLERANCE_M)


def _upright_room_m(
    places: Places, situation: Situation, solids: Named, known: "KnownBody | None"
) -> Floats:
    """Return the room of bodies that stand upright, shape (n,) [m].

    It is seen up to a little more than is asked for, so that what is known of it holds
    for other bodies however sums are rounded. It is -inf where nobody has room to stand
    upright and the room does not matter, because people lean.
    """
    radius_m = situation.ability.corridor_radius_m
    roomy_m = UPRIGHT_MARGIN_M + _ALIKE_M
    room_m = np.full(len(places.normal), roomy_m)
    if known is None:
        upright_m = places.position_m + radius_m * places.normal
        return _room_m(solids, upright_m, radius_m, roomy_m)
    upright, tight = known.stance()
    if situation.limits.max_lean_deg > 0:
        room_m[tight] = -np.inf
        ask = np.flatnonzero(~(upright | tight))
    else:
        ask = np.flatnonzero(~upright)
    upright_m = rows_at(places.position_m, ask) + radius_m * rows_at(places.normal, ask)
    room_m[ask] = _room_m(solids, upright_m, radius_m, roomy_m)
    known.keep_stance(room_m >= roomy_m, room_m < UPRIGHT_MARGIN_M - _ALIKE_M)
    return room_m


def _fan_room_m(solids: Named, bodies_m: Floats, radius_m: float) -> Floats:
    """Return the room of bodies of shape (n, 17, 3), shape (n, 17) [m].

    It is seen up to `_ROOM_ENOUGH_M`, and farther only where that decides nothing yet.
    """
    count, leans, _ = bodies_m.shape
    capped_m = _ROOM_ENOUGH_M + _ALIKE_M
    room_m = _room_m(solids, bodies_m.reshape(-1, 3), radius_m, capped_m).reshape(count, leans)
    open_to = np.flatnonzero((room_m >= _ROOM_ENOUGH_M).any(axis=1))
    if len(open_to):
        seen_m = _room_m(solids, bodies_m[open_to].reshape(-1, 3), radius_m, _ROOM_SEEN_M)
        room_m[open_to] = seen_m.reshape(-1, leans)
    return room_m


def _best_lean(room_m: Floats) -> Indices:
    """Return the best direction of each fan by its room, shape (n, 17) [m].

    Most room up to `_ROOM_ENOUGH_M`, then the least lean, then most room at
    all, then the lowest index: on a flat face all azimuths may be alike.
    """
    seen = np.rint(room_m / _ALIKE_M)
    enough = np.minimum(seen, np.rint(_ROOM_ENOUGH_M / _ALIKE_M))
    tilt = np.where(enough == enough.max(axis=1, keepdims=True), _TILT_OF, _TILTS + 1)
    seen[tilt > tilt.min(axis=1, keepdims=True)] = -np.inf
    best: Indices = seen.argmax(axis=1)
    return best


def _zones(surroundings: Surroundings) -> Named:
    solids = len(surroundings.solids.shapes)
    return Named(surroundings.body.shapes[solids:], surroundings.body.ids[solids:])


def _near_boxes(few: Named, points_m: Floats, within_m: float) -> Flags:
    """Tell which points are as near as that to the box of any of a few shapes, shape (n,)."""
    near = np.zeros(len(points_m), dtype=bool)
    columns = np.ascontiguousarray(points_m.T)
    margin_m = within_m + _ALIKE_M
    for low, high in zip(few.tables.low_m - margin_m, few.tables.high_m + margin_m, strict=True):
        inside = (columns >= low[:, None]) & (columns <= high[:, None])
        near |= inside[0] & inside[1] & inside[2]
    return near


def _room_m(around: Named, bodies_m: Floats, radius_m: float, cap_m: float) -> Floats:
    return places_clearance(around.tables, bodies_m, radius_m, cap_m=cap_m)[0]


def lean_fan(normal: Floats, sideways: Floats, tilt_rad: float) -> Floats:
    """Return the directions a person can lean in, shape (n, 17, 3).

    First the normal itself, then eight directions at half the tilt and eight at
    the full tilt, evenly round the normal from ``sideways`` on.

    Parameters
    ----------
    normal
        Outward unit normals, shape (n, 3).
    sideways
        Where azimuth zero is, shape (n, 3); where it is along the normal or zero, the
        coordinate axis farthest from the normal is taken.
    tilt_rad
        The largest lean [rad].
    """
    first = _across(normal, sideways)
    second = np.cross(normal, first)
    azimuth = np.arange(_AZIMUTHS) * (2 * np.pi / _AZIMUTHS)
    round_normal = (
        np.cos(azimuth)[None, :, None] * first[:, None, :]
        + np.sin(azimuth)[None, :, None] * second[:, None, :]
    )
    fan = [normal[:, None, :]]
    for step in range(1, _TILTS + 1):
        tilt = tilt_rad * step / _TILTS
        fan.append(np.cos(tilt) * normal[:, None, :] + np.sin(tilt) * round_normal)
    directions: Floats = np.concatenate(fan, axis=1)
    directions /= np.sqrt((directions * directions).sum(axis=2, keepdims=True))
    return directions


def _across(normal: Floats, sideways: Floats) -> Floats:
    """Return unit vectors at right angles to the normals, towards ``sideways``."""
    axis: Indices = np.abs(normal).argmin(axis=1)
    spare = np.eye(3)[axis]
    across = sideways - (sideways * normal).sum(axis=1, keepdims=True) * normal
    length = np.sqrt((across * across).sum(axis=1, keepdims=True))
    instead = spare - (spare * normal).sum(axis=1, keepdims=True) * normal
    across = np.where(length > 1e-6, across, instead)
    unit: Floats = across / np.sqrt((across * across).sum(axis=1, keepdims=True))
    return unit
