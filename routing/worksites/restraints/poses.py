"""Every setting of a foot restraint in a socket, and where its plate then is.

The chain from the socket: the clock position turns everything about the
socket's normal, then each joint leads on by its offset and turns about its
axis, then the plate is an offset away. All settings are multiplied out at
once; the order is that of nested loops, clock outermost, last joint innermost.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import prod

import numpy as np

from structures.elements import Socket
from structures.frames import Vector
from structures.restraints import Restraint
from structures.solids.axes import Floats, Indices

__all__ = [
    "Poses",
    "Setting",
    "chain_of",
    "has_clock_zero",
    "links_m",
    "number_of",
    "plate_poses",
    "poses_in",
    "setting_of",
    "socket_axes",
    "turns",
]


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting: the clock position from 0 on, and the angle of every joint [deg]."""

    clock: int
    joints_deg: tuple[float, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Poses:
    """Where the plate is in each of s settings."""

    place_m: Floats
    """Midway between the soles, shape (s, 3) [m]."""
    axes: Floats
    """Forward, left and up of the body as columns, station axes, shape (s, 3, 3)."""
    joints_m: Floats
    """The socket and every joint after it, shape (j + 1, s, 3) [m]."""

    def at_m(self, local_m: Floats) -> Floats:
        """Return one point, shape (3,), or one a setting, (s, 3), in the plate's axes as (s, 3)."""
        turned: Floats = (self.axes @ np.reshape(local_m, (-1, 3, 1)))[..., 0]
        return turned + self.place_m

    def take(self, some: Indices) -> "Poses":
        """Return the poses of some settings."""
        return Poses(self.place_m[some], self.axes[some], self.joints_m[:, some])


def setting_of(restraint: Restraint, number: int) -> Setting:
    """Return the setting that has a number in the order of `plate_poses`."""
    angles = [joint.angles_deg for joint in restraint.joints]
    shape = (restraint.clock_positions, *map(len, angles))
    clock, *positions = (int(one) for one in np.unravel_index(number, shape))
    return Setting(clock, tuple(a[i] for a, i in zip(angles, positions, strict=True)))


def number_of(restraint: Restraint, setting: Setting) -> int:
    """Return the number of a setting in the order of `plate_poses`."""
    angles = [joint.angles_deg for joint in restraint.joints]
    positions = [a.index(one) for a, one in zip(angles, setting.joints_deg, strict=True)]
    shape = (restraint.clock_positions, *map(len, angles))
    return int(np.ravel_multi_index((setting.clock, *positions), shape))


def plate_poses(restraint: Restraint, socket: Socket, some: Indices | None = None) -> Poses:
    """Compute the plate's pose in every setting of a restraint in a socket.

    Parameters
    ----------
    restraint
        The type; see `structures.restraints` for its axes and senses.
    socket
        Where it is put; its clock zero is taken at right angles to its normal.
    some
        Only these settings, by their numbers in the order of `setting_of`.

    Returns
    -------
    Poses
        Of all settings, in the order of `setting_of`, or of those asked for.
    """
    axes, points_m = chain_of(restraint)
    if some is not None:
        axes, points_m = axes[some], points_m[:, some]
    base = socket_axes(socket)
    points_m = np.asarray(socket.position_m) + points_m @ base.T
    return Poses(points_m[-1], base @ axes, points_m[:-1])


def poses_in(
    restraint: Restraint, sockets: Sequence[Socket], which: Indices, some: Indices
) -> Poses:
    """Compute what `plate_poses` does for settings in several sockets.

    Parameters
    ----------
    restraint, sockets
        The type, and where it is put.
    which, some
        The socket by its place in ``sockets``, and the number of the setting, shape (r,) each.
    """
    axes, points_m = chain_of(restraint)
    base = np.stack([socket_axes(socket) for socket in sockets])[which]
    places_m = np.array([socket.position_m for socket in sockets])[which]
    turned_m = np.einsum("rij,krj->kri", base, points_m[:, some]) + places_m
    return Poses(turned_m[-1], base @ axes[some], turned_m[:-1])


@lru_cache(maxsize=8)
def chain_of(restraint: Restraint) -> tuple[Floats, Floats]:
    """Return the plate's axes (s, 3, 3), and socket, joints and plate (j + 2, s, 3) [m].

    Both are in the axes of the socket.
    """
    angles = [np.deg2rad(joint.angles_deg) for joint in restraint.joints]
    counts = (restraint.clock_positions, *map(len, angles))
    clock, *positions = _columns(counts)
    # Clockwise for one who looks at the socket is against the right-hand rule about its normal.
    clocks_rad = -2 * np.pi * np.arange(counts[0]) / counts[0]
    axes = turns((0.0, 0.0, 1.0), clocks_rad)[clock]
    points = [np.zeros((len(axes), 3))]
    for joint, angle, at in zip(restraint.joints, angles, positions, strict=True):
        points.append(points[-1] + axes @ np.asarray(joint.offset_m))
        axes = axes @ turns(joint.axis, angle)[at]
    points.append(points[-1] + axes @ np.asarray(restraint.plate_offset_m))
    points_m = np.stack(points)
    axes.flags.writeable = points_m.flags.writeable = False
    return axes, points_m


def has_clock_zero(socket: Socket) -> bool:
    """Tell whether a socket's clock zero points anywhere at right angles to its normal."""
    across = _across(socket)
    zero = np.asarray(socket.clock_zero)
    return bool(np.sqrt(across @ across) > 1e-6 * np.sqrt(zero @ zero))


@lru_cache(maxsize=256)
def socket_axes(socket: Socket) -> Floats:
    """Return clock zero, its left and the normal as columns, shape (3, 3).

    Raises
    ------
    ValueError
        Clock zero is along the normal, so that no direction is clock zero.
    """
    if not has_clock_zero(socket):
        raise ValueError(
            f"clock zero of socket {socket.id} is along its normal; give one at right angles to it"
        )
    normal, first = _unit(np.asarray(socket.normal, dtype=np.float64)), _unit(_across(socket))
    axes = np.stack([first, np.cross(normal, first), normal], axis=1)
    axes.flags.writeable = False
    return axes


def _across(socket: Socket) -> Floats:
    normal = _unit(np.asarray(socket.normal, dtype=np.float64))
    zero = np.asarray(socket.clock_zero, dtype=np.float64)
    across: Floats = zero - (zero @ normal) * normal
    return across


def turns(axis: Vector, angles_rad: Floats) -> Floats:
    """Return the rotation matrices about an axis, shape (n, 3, 3), by Rodrigues' formula."""
    x, y, z = _unit(np.asarray(axis, dtype=np.float64))
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    sine, rest = np.sin(angles_rad)[:, None, None], (1 - np.cos(angles_rad))[:, None, None]
    matrices: Floats = np.eye(3) + sine * cross + rest * (cross @ cross)
    return matrices


def _columns(counts: tuple[int, ...]) -> list[Indices]:
    grid = np.unravel_index(np.arange(prod(counts)), counts)
    return [np.asarray(column, dtype=np.int64) for column in grid]


def _unit(vector: Floats) -> Floats:
    unit: Floats = vector / np.sqrt(vector @ vector)
    return unit


def links_m(restraint: Restraint, socket: Socket, setting: Setting) -> tuple[Floats, Floats]:
    """Return the chain of one setting, and the axes of its plate.

    Returns
    -------
    points_m : Floats
        Socket, every joint and the plate, shape (joints + 2, 3) [m].
    axes : Floats
        Forward, left and up of the body as columns, shape (3, 3).
    """
    clock_rad = -2 * np.pi * setting.clock / restraint.clock_positions
    axes = socket_axes(socket) @ turns((0.0, 0.0, 1.0), np.array([clock_rad]))[0]
    points = [np.asarray(socket.position_m, dtype=np.float64)]
    for joint, angle_deg in zip(restraint.joints, setting.joints_deg, strict=True):
        points.append(points[-1] + axes @ np.asarray(joint.offset_m))
        axes = axes @ turns(joint.axis, np.deg2rad([angle_deg]))[0]
    points.append(points[-1] + axes @ np.asarray(restraint.plate_offset_m))
    return np.stack(points), axes
