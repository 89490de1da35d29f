"""What a move costs: seconds, in five parts that are kept apart."""

import numpy as np

from routing.graph.reach_graph import Flags, Floats
from routing.graph.situation import Situation
from structures.frozen import frozen

__all__ = ["Prices", "price_moves", "turn_between"]

_ANGLE_SLACK_RAD = 1e-9
"""Angles this much off a limit count as at the limit [rad]: rounding only."""


@frozen(eq=False)
class Prices:
    """Seconds of moves by part, each of shape (m,) [s]."""

    seconds: Floats
    travel_s: Floats
    gap_s: Floats
    turn_s: Floats
    face_s: Floats
    slow_s: Floats
    exposure_s: Floats


def price_moves(
    way_m: Floats, turn_rad: Floats, changes_rail: Flags, slow_factor: Floats, situation: Situation
) -> Prices:
    """Price moves: travel, change of rail, turn, change of face, and slow-down zones.

    Parameters
    ----------
    way_m
        Length of the hands' way, shape (m,) [m].
    turn_rad
        Turn between the outward normals, shape (m,) [rad].
    changes_rail
        Whether the hands go from one element to another, shape (m,).
    slow_factor
        How many times longer the move takes: the largest factor of the slow-down
        zones it is in, NaN-free, and 0 outside of all, shape (m,).
    situation
        Gives rate and allowances.

    Notes
    -----
    The seconds are the sum of the five parts, exactly as numpy adds them from
    left to right. Exposure is all seconds of a move that is in a slow-down zone.
    """
    limits = situation.limits
    travel_s = way_m / situation.ability.rate_m_per_s
    gap_s = np.where(changes_rail, limits.gap_s, 0.0)
    turn_s = limits.turn_s_per_rad * turn_rad
    face_rad = np.deg2rad(limits.face_change_deg) - _ANGLE_SLACK_RAD
    face_s = np.where(turn_rad >= face_rad, limits.face_change_s, 0.0)
    base_s = travel_s + gap_s + turn_s + face_s
    inside = slow_factor > 0
    slow_s = np.where(inside, slow_factor - 1.0, 0.0) * base_s
    seconds = base_s + slow_s
    exposure_s = np.where(inside, seconds, 0.0)
    return Prices(seconds, travel_s, gap_s, turn_s, face_s, slow_s, exposure_s)


def turn_between(one: Floats, other: Floats) -> Floats:
    """Return the angle between unit vectors, shape (m,) [rad]; exactly 0 between equal ones."""
    ax, ay, az = one.T
    bx, by, bz = other.T
    cross = np.sqrt((ay * bz - az * by) ** 2 + (az * bx - ax * bz) ** 2 + (ax * by - ay * bx) ** 2)
    angle: Floats = np.arctan2(cross, ax * bx + ay * by + az * bz)
    return angle
