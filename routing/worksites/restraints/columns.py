"""Bodies and targets as columns, so that one computation serves many of them.

Each number is one for all settings, or one a setting; both broadcast alike.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Final, TypeAlias

import numpy as np

from routing.graph.surroundings import Surroundings
from routing.worksites.covers import covered
from structures.bodies import Body
from structures.elements import Target
from structures.solids.axes import Flags, Floats, Indices

__all__ = ["TARGET_OFF_M", "Aim", "Aims", "Sizes", "looked_at_m"]

Column: TypeAlias = float | Floats
"""One number, or one for each of s settings."""

TARGET_OFF_M: Final = 5e-3
"""Lines to a target end this far off it along its facing [m].

A target lies on the skin of what it belongs to, give or take rounding in the
document; a line to the very point would now and then count as going into it.
A target deeper than this below a skin cannot be seen or touched.
"""


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Sizes:
    """The numbers of a body that checks use; see `structures.bodies.Body`."""

    height_m: Column
    hip_height_m: Column
    shoulder_height_m: Column
    shoulder_out_m: Column
    shoulder_forward_m: Column
    eye_height_m: Column
    eye_forward_m: Column
    view_angle_deg: Column
    one_hand_nearest_m: Column
    one_hand_farthest_m: Column
    one_hand_angle_deg: Column
    two_hand_forward_m: Column
    two_hand_height_m: Column
    two_hand_radius_m: Column
    leg_radius_m: Column
    corridor_radius_m: Column
    trunk_forward_m: Column

    @classmethod
    def of(cls, body: Body) -> "Sizes":
        """Return the numbers of one body for all settings."""
        return cls(**{one.name: float(getattr(body, one.name)) for one in fields(cls)})

    @classmethod
    def rows(cls, bodies: Sequence[Body], which: Indices) -> "Sizes":
        """Return the numbers of a body for each setting, shape (s,) each."""
        return cls(
            **{
                one.name: np.array([getattr(body, one.name) for body in bodies])[which]
                for one in fields(cls)
            }
        )

    def take(self, some: Indices) -> "Sizes":
        """Return the numbers for some settings."""
        columns = {one.name: getattr(self, one.name) for one in fields(self)}
        return Sizes(
            **{name: one if isinstance(one, float) else one[some] for name, one in columns.items()}
        )

    @property
    def eye_m(self) -> Floats:
        """Where the eyes are in the plate's axes, shape (3,) or (s, 3) [m]."""
        return _place(self.eye_forward_m, 0.0, self.eye_height_m)

    def shoulder_m(self, side: float) -> Floats:
        """Where the left (1) or right (-1) shoulder is, as `eye_m`."""
        return _place(self.shoulder_forward_m, side * self.shoulder_out_m, self.shoulder_height_m)

    @property
    def chest_m(self) -> Floats:
        """Where the middle of the two-hand envelope is, as `eye_m`."""
        return _place(self.two_hand_forward_m, 0.0, self.two_hand_height_m)

    @property
    def legs_m(self) -> tuple[Floats, Floats]:
        """Ends of the legs' capsule, as `eye_m`."""
        return _place(0.0, 0.0, self.leg_radius_m), _place(0.0, 0.0, self.hip_height_m)

    @property
    def trunk_m(self) -> tuple[Floats, Floats]:
        """Ends of the trunk's capsule, as `eye_m`."""
        ahead, radius = self.trunk_forward_m, self.corridor_radius_m
        return (
            _place(ahead, 0.0, self.hip_height_m + radius),
            _place(ahead, 0.0, self.height_m - radius),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Aim:
    """A target of every setting: the same for all, or one a setting."""

    position_m: Floats
    """Shape (3,) or (s, 3) [m]."""
    facing: Floats
    """Of any length, shaped alike."""
    looked_at_m: Floats
    """Where lines to it end; see `looked_at_m`."""
    both_hands: bool | Flags
    there: bool | Flags
    """Whether there is such a target at all."""
    unseen: bool | Flags
    """Whether a solid lies on it, and whether a solid or zone does that hands keep out of."""
    untouched: bool | Flags

    @classmethod
    def of(cls, target: Target, around: Surroundings) -> "Aim":
        """Return one target for all settings."""
        place_m = np.asarray(target.position_m, dtype=np.float64)
        end_m = looked_at_m(target)
        return cls(
            place_m,
            np.asarray(target.facing, dtype=np.float64),
            end_m,
            target.hands == 2,
            there=True,
            unseen=bool(covered(around.solids, place_m[None], end_m[None])[0]),
            untouched=bool(covered(around.body, place_m[None], end_m[None])[0]),
        )

    @classmethod
    def rows(
        cls, several: Sequence[Sequence[Target]], which: Indices, aims_of: "Aims"
    ) -> list["Aim"]:
        """Return the first, second ... target for each setting out of several lists of targets.

        A list that is too short has its first target again, which is not there.
        """
        aims = []
        for slot in range(max(map(len, several))):
            there = np.array([slot < len(one) for one in several], dtype=np.bool_)
            some = [aims_of[one[slot] if slot < len(one) else one[0]] for one in several]
            both, unseen, untouched = np.array(
                [(one.both_hands, one.unseen, one.untouched) for one in some], dtype=np.bool_
            ).T
            aims.append(
                cls(
                    np.stack([one.position_m for one in some])[which],
                    np.stack([one.facing for one in some])[which],
                    np.stack([one.looked_at_m for one in some])[which],
                    bool(both[0]) if (both == both[0]).all() else both[which],
                    True if there.all() else there[which],
                    unseen[which],
                    untouched[which],
                )
            )
        return aims


class Aims:
    """Targets made ready in some surroundings, each once however often it is asked for."""

    def __init__(self, around: Surroundings) -> None:
        self.around = around
        self._known: dict[int, tuple[Target, Aim]] = {}

    def __getitem__(self, target: Target) -> Aim:
        # Not by id of the target: worksites may share ids. Kept, so that no other takes its place.
        if id(target) not in self._known:
            self._known[id(target)] = target, Aim.of(target, self.around)
        return self._known[id(target)][1]


def looked_at_m(target: Target) -> Floats:
    """Return where lines to a target end: just off it, shape (3,) [m]."""
    facing = np.asarray(target.facing, dtype=np.float64)
    off: Floats = np.asarray(target.position_m) + TARGET_OFF_M * facing / np.sqrt(facing @ facing)
    return off


def _place(ahead: Column, left: Column, up: Column) -> Floats:
    return np.stack(np.broadcast_arrays(ahead, left, up), axis=-1).astype(np.float64)
