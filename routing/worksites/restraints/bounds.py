"""What no margin of a setting exceeds: reach, facing and view, cheaply for all settings.

Where eyes, shoulders and chest are on the plate's chain does not depend on the
socket or the target. So it is worked out once for each type of restraint and
body, in the axes of the socket, and each target costs a few products.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from routing.worksites.restraints.columns import Sizes
from routing.worksites.restraints.poses import chain_of, socket_axes
from structures.bodies import Body
from structures.elements import Socket, Target
from structures.restraints import Restraint
from structures.solids.axes import Floats, Indices

__all__ = ["Bounds"]

_SLACK_M: Final = 1e-6
"""By so much bounds are higher than worked out: products lose digits near 0 and near straight."""


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    """A point of the body in every setting, in the axes of the socket."""

    place_m: Floats
    """Shape (s, 3) [m]."""
    square_m2: Floats
    ahead_m: Floats
    """How far ahead the point is of the socket, along the body's own forward, (s,) [m]."""

    def distance_m(self, target_m: Floats, some: Indices | slice) -> Floats:
        """Return how far the point is from a target [m]."""
        return np.asarray(np.sqrt(np.maximum(self.square_to_m2(target_m, some), 0.0)))

    def square_to_m2(self, target_m: Floats, some: Indices | slice) -> Floats:
        """Return the square of that, give or take rounding [m2]."""
        square: Floats = self.square_m2[some] - self.place_m[some] @ (2 * target_m)
        square += target_m @ target_m
        return square


@lru_cache(maxsize=32)
def _points(restraint: Restraint, body: Body) -> tuple[dict[str, _Points], Floats]:
    """Return eyes, shoulders and chest in every setting, and forward, shape (s, 3)."""
    axes, chain_m = chain_of(restraint)
    forward = np.ascontiguousarray(axes[:, :, 0])
    sizes = Sizes.of(body)
    local_m = {
        "eye": sizes.eye_m,
        "left": sizes.shoulder_m(1.0),
        "right": sizes.shoulder_m(-1.0),
        "chest": sizes.chest_m,
    }
    found = {}
    for name, one in local_m.items():
        place_m = chain_m[-1] + axes @ one
        square, ahead = (np.einsum("ij,ij->i", place_m, other) for other in (place_m, forward))
        found[name] = _Points(place_m, square, ahead)
    return found, forward


class Bounds:
    """Upper bounds of the margins of one body in one socket with one type of restraint."""

    def __init__(
        self,
        restraint: Restraint,
        socket: Socket,
        body: Body,
        targets: Sequence[Target],
        facing_deg: float,
    ) -> None:
        self.body, self.facing_rad = body, float(np.deg2rad(facing_deg))
        self.points, self.forward = _points(restraint, body)
        self.axes, self.place_m = axes, place_m = socket_axes(socket), np.asarray(socket.position_m)
        self.targets = [
            (
                (np.asarray(one.position_m) - place_m) @ axes,
                np.asarray(one.facing) @ axes / np.sqrt(np.dot(one.facing, one.facing)),
                one.hands == 2,
            )
            for one in targets
        ]

    def at_m(self, name: str, some: Indices) -> Floats:
        """Return where eye, left or right (shoulder) is in settings, shape (k, 3) [m].

        In the axes of the structure, give or take rounding.
        """
        there: Floats = self.points[name].place_m[some] @ self.axes.T + self.place_m
        return there

    def hopeful(self) -> tuple[Indices, Floats]:
        """Return the settings that reach, facing and view may let pass, ascending.

        Returns
        -------
        some, upper_m
            Their numbers and `upper_m`, shape (k,) each.
        """
        some = self._within_reach()
        for target_m, facing, _ in self.targets:
            # The cheapest of the other checks first: it leaves few.
            some = some[self._seen_m(target_m, some, facing) >= -_SLACK_M]
        upper_m = self.upper_m(some)
        return some[upper_m >= 0], upper_m[upper_m >= 0]

    def _within_reach(self) -> Indices:
        """Return the settings whose shoulders are no nearer and no farther than arms allow."""
        near_m = self.body.one_hand_nearest_m - _SLACK_M
        far_m2 = (self.body.one_hand_farthest_m + _SLACK_M) ** 2
        # Squares near zero may be rounded below it.
        near_m2 = near_m**2 if near_m > 0 else -np.inf
        within = np.ones(len(self.forward), dtype=np.bool_)
        for target_m, _, both in self.targets:
            arms = []
            for side in ("left", "right"):
                square_m2 = self.points[side].square_to_m2(target_m, slice(None))
                arms.append((square_m2 >= near_m2) & (square_m2 <= far_m2))
            within &= arms[0] & arms[1] if both else arms[0] | arms[1]
        return np.flatnonzero(within)

    def upper_m(self, some: Indices | slice = slice(None)) -> Floats:
        """Return bounds by reach, facing and view of settings, shape (k,) [m]."""
        least_m = np.full(len(self.forward[some]), np.inf)
        for target_m, facing, both in self.targets:
            arms_m = [
                self._arm_m(self.points[side], target_m, some, facing) for side in ("left", "right")
            ]
            one_m = np.minimum(*arms_m) if both else np.maximum(*arms_m)
            if both:
                chest_m = self.points["chest"].distance_m(target_m, some)
                one_m = np.minimum(one_m, self.body.two_hand_radius_m - chest_m)
            one_m = np.minimum(one_m, self._seen_m(target_m, some, facing))
            least_m = np.minimum(least_m, one_m)
        higher: Floats = least_m + _SLACK_M
        return higher

    def _seen_m(self, target_m: Floats, some: Indices | slice, facing: Floats) -> Floats:
        eye = self.points["eye"]
        asked = eye, target_m, some, facing, self.body.view_angle_deg
        return self._by_angles_m(eye.distance_m(target_m, some), *asked)

    def _arm_m(
        self, shoulder: _Points, target_m: Floats, some: Indices | slice, facing: Floats
    ) -> Floats:
        body = self.body
        distance_m = shoulder.distance_m(target_m, some)
        reach_m: Floats = np.minimum(
            body.one_hand_farthest_m - distance_m, distance_m - body.one_hand_nearest_m
        )
        asked = shoulder, target_m, some, facing, body.one_hand_angle_deg
        return np.minimum(reach_m, self._by_angles_m(distance_m, *asked))

    def _by_angles_m(
        self,
        distance_m: Floats,
        point: _Points,
        target_m: Floats,
        some: Indices | slice,
        facing: Floats,
        ahead_deg: float,
    ) -> Floats:
        safe_m = np.where(distance_m > 0, distance_m, 1.0)
        ahead = (self.forward[some] @ target_m - point.ahead_m[some]) / safe_m
        toward = (point.place_m[some] @ facing - target_m @ facing) / safe_m
        spare_rad = np.minimum(
            np.deg2rad(ahead_deg) - np.arccos(np.clip(ahead, -1.0, 1.0)),
            self.facing_rad - np.arccos(np.clip(toward, -1.0, 1.0)),
        )
        # Without a distance angles have no meaning; the checks then take them for 0.
        return np.where(distance_m > _SLACK_M, spare_rad * distance_m, np.inf)
