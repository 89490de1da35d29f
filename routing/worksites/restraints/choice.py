"""Which restraints, bodies and sockets a question about a worksite is about."""

from collections.abc import Iterable, Iterator
from math import dist, hypot

import numpy as np

from routing.graph.situation import Situation
from routing.limits import Limits
from structures.bodies import Body
from structures.built_in import built_in_bodies, built_in_restraints
from structures.elements import Person, Socket, Worksite
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.restraints import Restraint
from structures.solids.distance import signed_distance
from structures.zones import active_zones, zone_shape

__all__ = ["bodies_asked", "bodies_of", "is_rated", "restraints_of", "sockets_near", "why_barred"]

_TOUCH_M = 1e-6
"""On the skin of a zone is not in it, give or take rounding [m]."""


def restraints_of(structure: Structure) -> tuple[Restraint, ...]:
    """Return the types of restraint that count, in id order: the structure's, or the built-in."""
    return tuple(sorted(structure.restraints or built_in_restraints(), key=lambda one: one.id))


def bodies_of(structure: Structure) -> tuple[Body, ...]:
    """Return the bodies that count, in id order: the structure's, or the built-in ones."""
    return tuple(sorted(structure.bodies or built_in_bodies(), key=lambda one: one.id))


def bodies_asked(
    structure: Structure, person: Person | None, body: str | None = None
) -> tuple[Body, ...]:
    """Return the body named, else the person's, else all that count.

    Raises
    ------
    UnknownIdError
        No body that counts has the id.
    """
    bodies = bodies_of(structure)
    named = body if body is not None else None if person is None else person.body
    if named is None:
        return bodies
    found = tuple(one for one in bodies if one.id == named)
    if not found:
        raise UnknownIdError(named, wanted="body", nearest=tuple(one.id for one in bodies[:3]))
    return found


def is_rated(restraint: Restraint, limits: Limits) -> bool:
    """Tell whether a restraint is rated for the loads of the limits; unknown is never enough."""
    return (
        restraint.rating_n is not None
        and restraint.rating_nm is not None
        and restraint.rating_n >= limits.restraint_load_n
        and restraint.rating_nm >= limits.restraint_moment_nm
    )


def why_barred(structure: Structure, situation: Situation, socket: Socket) -> str | None:
    """Return why no restraint may be put into a socket, if so: it is closed, or in a zone.

    People go to it and the restraint is an item, so that zones for either count.
    """
    if socket.id in situation.closed:
        return f"socket {socket.id} is closed"
    place_m = np.asarray(socket.position_m, dtype=np.float64)[None]
    for zone in sorted(active_zones(structure, situation.when), key=lambda one: one.id):
        kept_out = [one for one in zone.applies_to if one in {"body", "item"}]
        if zone.kind != "keep-out" or not kept_out:
            continue
        if signed_distance(zone_shape(zone), place_m)[0] < -_TOUCH_M:
            return (
                f"socket {socket.id} is in keep-out zone {zone.id} (for {' and '.join(kept_out)})"
            )
    return None


def sockets_near(
    structure: Structure, worksite: Worksite, situation: Situation, bodies: Iterable[Body]
) -> Iterator[tuple[Socket, float]]:
    """Yield the open sockets that may serve all targets, nearest first, with what is to spare.

    What is to spare is the largest reach of any restraint and body less the
    distance to the farthest target [m]; a socket with less than nothing cannot
    serve.
    """
    reach_m = max(
        restraint.length_m
        + hypot(body.shoulder_height_m, body.shoulder_out_m, body.shoulder_forward_m)
        + body.one_hand_farthest_m
        for restraint in restraints_of(structure)
        for body in bodies
    )
    found = []
    for socket in structure.sockets:
        if why_barred(structure, situation, socket) is not None:
            continue
        farthest_m = max(dist(socket.position_m, one.position_m) for one in worksite.targets)
        found.append((farthest_m, socket.id, socket))
    for farthest_m, _, socket in sorted(found, key=lambda one: one[:2]):
        yield socket, reach_m - farthest_m
