"""What every setting of a restraint is worth for every body and target, all at once.

Each check gives a margin as a length: how far a target (or the body) could be
moved before the check fails; below zero, by how much it fails. An angle counts
as the arc it spans at the target's distance. Lines of sight and of the arm
have no such number: they are clear or not.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal, TypeAlias

import numpy as np

from routing.graph.surroundings import Named, Surroundings
from routing.graph.ways import LENGTH_SLACK_M
from routing.worksites.restraints.columns import Aim, Sizes
from routing.worksites.restraints.poses import Poses
from structures.bodies import Body
from structures.elements import Target
from structures.polylines import segment_gaps
from structures.restraints import Restraint
from structures.solids.axes import Flags, Floats, Indices
from structures.solids.seams import through_seam
from structures.solids.sight import crosses_any
from structures.solids.sweep import SWEEP_TOLERANCE_M, Sweep, sweep_clearance
from structures.solids.tables import ShapeTables

__all__ = [
    "ANGLES",
    "CHECKS",
    "ROOM_SEEN_M",
    "STAGES",
    "Checked",
    "Upto",
    "boots_line",
    "check_rows",
    "check_settings",
]

Upto: TypeAlias = Literal["reach", "lines", "able", "all"]
"""How far a setting is checked: see `check_rows`."""

CHECKS: Final = (
    "too far",
    "too near",
    "too far aside",
    "out of two-hand reach",
    "hands from the wrong side",
    "out of view",
    "seen too obliquely",
    "hidden from the helmet",
    "hidden from the shoulder",
    "body too close",
    "boots too close",
    "restraint in the way",
)
"""The checks, in the order of the columns of `Checked.margin_m`."""

ANGLES: Final = frozenset(
    {"too far aside", "hands from the wrong side", "out of view", "seen too obliquely"}
)
"""Those that are of an angle, whose margin is an arc at the target."""

ROOM_SEEN_M: Final = 0.1
"""Room round the body beyond this is not told apart [m]."""

SOCKET_DEPTH_M: Final = 0.05
"""So much of the first link is in the socket, and what holds the socket is round it (own
assumption) [m]."""

STAGES: Final = CHECKS.index("hidden from the helmet")
"""From this check on it matters what stands in the way."""

_HELMET, _SHOULDER = (
    CHECKS.index("hidden from the helmet"),
    CHECKS.index("hidden from the shoulder"),
)
_BODY = CHECKS.index("body too close")
_SIDES = (1.0, -1.0)


@dataclass(frozen=True, slots=True, eq=False)
class Checked:
    """The margins of s settings for b bodies and t targets."""

    margin_m: Floats
    """By check (`CHECKS`), the worst target of each, shape (b, s, checks) [m]; -inf where a line is
    not clear, inf where the check does not apply."""
    worst_target: Indices
    """Which target is worst for each check, shape (b, s, checks); the first of equals."""
    nearest: Indices
    """Index of the shape (`Surroundings.placed`) nearest to body, boots and restraint, shape
    (b, s, 3); -1: none near."""

    @property
    def passes(self) -> Flags:
        """Tell which checks each setting passes, shape (b, s, checks); rounding is forgiven."""
        least_m = np.full(len(CHECKS), -LENGTH_SLACK_M)
        least_m[_BODY:] = SWEEP_TOLERANCE_M
        return np.asarray(self.margin_m >= least_m, dtype=np.bool_)

    @property
    def works(self) -> Flags:
        """Tell which settings pass all checks, shape (b, s)."""
        return np.asarray(self.passes.all(axis=2), dtype=np.bool_)

    @property
    def overall_m(self) -> Floats:
        """The worst margin of each setting over all checks and targets, shape (b, s) [m]."""
        worst_m: Floats = self.margin_m.min(axis=2)
        return worst_m


def check_settings(
    poses: Poses,
    restraint: Restraint,
    bodies: Sequence[Body],
    targets: Sequence[Target],
    around: tuple[Surroundings, float],
    *,
    upto: Upto = "all",
) -> Checked:
    """Check every setting for every body and target.

    Parameters
    ----------
    poses
        Where the plate is, s settings.
    restraint
        For the size of the boots.
    bodies, targets
        At least one of each.
    around
        What stands round the socket, and the largest angle between a target's
        facing and the line to eye or shoulder [deg] (`Limits.work_facing_deg`).
    upto
        As in `check_rows`.

    Returns
    -------
    Checked
    """
    sizes, aims = [Sizes.of(one) for one in bodies], [Aim.of(one, around[0]) for one in targets]
    return check_rows(poses, restraint, sizes, aims, around, upto=upto)


def check_rows(
    poses: Poses,
    restraint: Restraint,
    bodies: Sequence[Sizes],
    aims: Sequence[Aim],
    around: tuple[Surroundings, float],
    *,
    upto: Upto = "all",
) -> Checked:
    """Check settings as `check_settings` does, where each may have its own body and targets.

    Parameters
    ----------
    poses, restraint, around
        As in `check_settings`; the poses may be in many sockets.
    bodies, aims
        Columns for all settings, or with a row a setting.
    upto
        ``reach``: only what comes before `STAGES`. ``lines``: that and lines. ``able``: all,
        but room only where all else is passed. What is not checked does not apply; a margin
        that is worked out is that of the full check.
    """
    surroundings, facing_deg = around
    margin_m = np.full((len(bodies), len(poses.place_m), len(CHECKS)), np.inf)
    worst = np.zeros(margin_m.shape, dtype=np.int64)
    sight = _Lines(poses, surroundings, float(np.deg2rad(facing_deg)), upto)
    for i, aim in enumerate(aims):
        one = np.stack([sight.look(body, aim) for body in bodies])
        less = (one < margin_m[..., :_BODY]) & np.reshape(aim.there, (1, -1, 1))
        margin_m[..., :_BODY] = np.where(less, one, margin_m[..., :_BODY])
        worst[..., :_BODY] = np.where(less, i, worst[..., :_BODY])
    nearest = np.full((*margin_m.shape[:2], len(CHECKS) - _BODY), -1)
    if upto == "able":
        some = np.flatnonzero((margin_m >= -LENGTH_SLACK_M).all(axis=2).any(axis=0))
        found = _room(poses.take(some), restraint, [one.take(some) for one in bodies], surroundings)
        margin_m[:, some, _BODY:], nearest[:, some] = found
    elif upto == "all":
        margin_m[..., _BODY:], nearest = _room(poses, restraint, bodies, surroundings)
    return Checked(margin_m, worst, nearest)


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Lines from eyes and shoulders to targets."""

    poses: Poses
    around: Surroundings
    facing_rad: float
    upto: Upto

    def look(self, body: Sizes, aim: Aim) -> Floats:
        """Return the margins of all checks of lines, shape (s, checks less three) [m]."""
        found = np.full((len(self.poses.place_m), _BODY), np.inf)
        eye = self.poses.at_m(body.eye_m)
        to_eye = _To(aim, eye, self.poses.axes[:, :, 0])
        found[:, 5] = (np.deg2rad(body.view_angle_deg) - to_eye.ahead_rad) * to_eye.distance_m
        found[:, 6] = (self.facing_rad - to_eye.slant_rad) * to_eye.distance_m
        found[self._blocked(self.around.solids, eye, (aim, aim.unseen), found), _HELMET] = -np.inf
        sides = [self._arm(body, aim, side) for side in _SIDES]
        if aim.both_hands is True:
            return self._both(body, aim, found, sides)
        # The arm that can do it, or else the one that is nearer to it; the left of equals.
        worst_m = [side.min(axis=1) for side in sides]
        short_m = [side[:, [0, 1, 2, 4]].min(axis=1) for side in sides]
        right = (worst_m[1] > worst_m[0]) | ((worst_m[1] == worst_m[0]) & (short_m[1] > short_m[0]))
        better: Floats = np.minimum(found, np.where(right[:, None], sides[1], sides[0]))
        if aim.both_hands is False:
            return better
        both = np.reshape(aim.both_hands, (-1, 1))
        return np.where(both, self._both(body, aim, found, sides), better)

    def _both(self, body: Sizes, aim: Aim, found: Floats, sides: Sequence[Floats]) -> Floats:
        both: Floats = np.minimum(found, np.minimum(*sides))
        off = self.poses.at_m(body.chest_m) - aim.position_m
        both[:, 3] = body.two_hand_radius_m - np.sqrt(np.einsum("ij,ij->i", off, off))
        return both

    def _arm(self, body: Sizes, aim: Aim, side: float) -> Floats:
        shoulder = self.poses.at_m(body.shoulder_m(side))
        found = np.full((len(shoulder), _BODY), np.inf)
        to = _To(aim, shoulder, self.poses.axes[:, :, 0])
        found[:, 0] = body.one_hand_farthest_m - to.distance_m
        found[:, 1] = to.distance_m - body.one_hand_nearest_m
        found[:, 2] = (np.deg2rad(body.one_hand_angle_deg) - to.ahead_rad) * to.distance_m
        found[:, 4] = (self.facing_rad - to.slant_rad) * to.distance_m
        # An arm must not reach through a zone that bodies keep out of.
        found[
            self._blocked(self.around.body, shoulder, (aim, aim.untouched), found), _SHOULDER
        ] = -np.inf
        return found

    def _blocked(
        self, around: Named, starts_m: Floats, to: tuple[Aim, bool | Flags], found: Floats
    ) -> Flags:
        """Tell which lines something stands in, or whose target something lies on.

        Seams between solids are looked for only where the setting is able
        without: they close in few lines, and finding them is slow.
        """
        if self.upto == "reach":
            return np.zeros(len(starts_m), dtype=np.bool_)
        aim, covered = to
        ends_m = np.broadcast_to(aim.looked_at_m, starts_m.shape)
        blocked = crosses_any(around.tables, starts_m, ends_m) | covered
        ask = np.flatnonzero((found >= -LENGTH_SLACK_M).all(axis=1) & ~blocked)
        blocked[ask] = through_seam(around.tables, starts_m[ask], ends_m[ask])
        return blocked


class _To:
    """Distance and angles of the lines from points (s, 3) to a target."""

    def __init__(self, aim: Aim, starts_m: Floats, forward: Floats) -> None:
        line = aim.position_m - starts_m
        self.distance_m: Floats = np.sqrt(np.einsum("ij,ij->i", line, line))
        self.ahead_rad = _angle(line, forward)
        self.slant_rad = _angle(-line, np.broadcast_to(aim.facing, line.shape))


def _angle(a: Floats, b: Floats) -> Floats:
    """Return the angle between rows, shape (n,) [rad]; exact near 0 and pi, 0 for no length."""
    (ax, ay, az), (bx, by, bz) = a.T, b.T
    x, y, z = ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx
    angle: Floats = np.arctan2(np.sqrt(x * x + y * y + z * z), ax * bx + ay * by + az * bz)
    return angle


def _room(
    poses: Poses, restraint: Restraint, bodies: Sequence[Sizes], surroundings: Surroundings
) -> tuple[Floats, Indices]:
    """Return room of body, boots and restraint, (b, s, 3) [m], and the nearest shape of each."""
    shapes = surroundings.body.tables
    # Links and plate are an item that is put there, so zones for items bar them too.
    placed = surroundings.placed.tables
    boots_m, boots_radius_m = boots_line(restraint)
    boots = _capsule_room(placed, np.stack([poses.at_m(end) for end in boots_m]), boots_radius_m)
    links = _links_room(placed, poses)
    room, nearest = [], []
    for body in bodies:
        legs_m = np.stack([poses.at_m(end) for end in body.legs_m])
        trunk_m = np.stack([poses.at_m(end) for end in body.trunk_m])
        legs = _capsule_room(shapes, legs_m, body.leg_radius_m)
        trunk = _capsule_room(shapes, trunk_m, body.corridor_radius_m)
        beside_m = np.minimum(
            _beside_m(poses, legs_m) - body.leg_radius_m,
            _beside_m(poses, trunk_m) - body.corridor_radius_m,
        )
        parts = [
            _closer(legs, trunk),
            boots,
            _closer(links, (beside_m, np.full(len(beside_m), -1))),
        ]
        room.append(np.stack([part[0] for part in parts], axis=1))
        nearest.append(np.stack([part[1] for part in parts], axis=1))
    return np.stack(room), np.stack(nearest)


_Room: TypeAlias = tuple[Floats, Indices]


def _closer(one: _Room, other: _Room) -> _Room:
    """Return the smaller room of the two, and what it is measured to; the second of equals."""
    first = one[0] < other[0]
    return np.where(first, one[0], other[0]), np.where(first, one[1], other[1])


def _links_room(shapes: ShapeTables, poses: Poses) -> _Room:
    """Return the room between solids or zones and the links from the socket to the plate.

    The first link stands on the structure and the last ends between the boots, so
    of these it counts only whether something cuts through them.
    """
    points_m = np.concatenate([poses.joints_m, poses.place_m[None]])
    rooms = _through(shapes, _beyond_socket(points_m[:2]))
    if len(points_m) > 2:
        rooms = _closer(_through(shapes, points_m[-2:]), rooms)
    for i in range(1, len(points_m) - 2):
        rooms = _closer(_capsule_room(shapes, points_m[i : i + 2], 0.0), rooms)
    return rooms


def _beyond_socket(link_m: Floats) -> Floats:
    """Return the part of links (2, s, 3) that is out of the socket [m]."""
    along_m = link_m[1] - link_m[0]
    length_m = np.linalg.norm(along_m, axis=1, keepdims=True)
    inside = np.minimum(SOCKET_DEPTH_M, length_m) / np.maximum(length_m, SOCKET_DEPTH_M)
    return np.stack([link_m[0] + inside * along_m, link_m[1]])


def _through(shapes: ShapeTables, link_m: Floats) -> _Room:
    """Return the room of links (2, s, 3), `ROOM_SEEN_M` wherever nothing cuts through them."""
    room_m, nearest = _capsule_room(shapes, link_m, 0.0)
    cut = room_m < 0
    return np.where(cut, room_m, ROOM_SEEN_M), np.where(cut, nearest, -1)


def _beside_m(poses: Poses, ends_m: Floats) -> Floats:
    """Return how near the links up to the last joint come to a line of the body, (s,) [m]."""
    near_m = np.full(len(poses.place_m), np.inf)
    for first, last in pairwise(poses.joints_m):
        near_m = np.minimum(near_m, segment_gaps(first, last, *ends_m)[0])
    return near_m


def boots_line(restraint: Restraint) -> tuple[Floats, float]:
    """Return the ends (2, 3) of the boots' middle line in the plate's axes, and a radius [m]."""
    radius_m = restraint.boots_width_m / 2
    half_m = max(restraint.boots_length_m / 2 - radius_m, 0.0)
    high_m = restraint.boots_height_m
    return np.array([[-half_m, 0.0, high_m], [half_m, 0.0, high_m]]), radius_m


def _capsule_room(shapes: ShapeTables, ends_m: Floats, radius_m: float | Floats) -> _Room:
    """Return the room of capsules between ends (2, s, 3) [m]."""
    first_m, last_m = ends_m
    still = np.zeros_like(first_m)
    still[:, 0] = 1.0
    line = Sweep(first_m, last_m, still, still, 0.0)
    return sweep_clearance(shapes, line, radius_m, cap_m=ROOM_SEEN_M)
