"""What the picture of a foot restraint shows: a person in it, in station coordinates."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from routing.show.sheets.inputs import DrawingError
from routing.worksites.restraints.choice import bodies_of, restraints_of
from routing.worksites.restraints.poses import Setting, links_m
from routing.worksites.restraints.records import WorksiteRestraint
from structures.bodies import Body
from structures.elements import Socket, Target, Worksite
from structures.model import Structure
from structures.restraints import Restraint
from structures.solids.axes import Floats
from structures.views import View

__all__ = ["Scene", "extent_in_space", "extent_on_sheet", "scene_of"]

_AROUND_M: Final = 0.35
"""Left free round all that is shown."""


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A person in a restraint, in station coordinates."""

    links_m: Floats
    axes: Floats
    body: Body
    restraint: Restraint
    targets: tuple[Target, ...]

    def at(self, forward_m: float, left_m: float, up_m: float) -> Floats:
        """Return a place given from the plate on, shape (3,) [m]."""
        place: Floats = self.links_m[-1] + self.axes @ np.array([forward_m, left_m, up_m])
        return place

    @property
    def shoulders_m(self) -> tuple[Floats, Floats]:
        """The left and the right shoulder."""
        body = self.body
        ahead, out, high = body.shoulder_forward_m, body.shoulder_out_m, body.shoulder_height_m
        return self.at(ahead, out, high), self.at(ahead, -out, high)

    @property
    def eye_m(self) -> Floats:
        """The eyes, taken as one point."""
        return self.at(self.body.eye_forward_m, 0.0, self.body.eye_height_m)

    def flat(self, view: View, points_m: Floats) -> Floats:
        """Return points on the sheet, measured from the plate, shape (2,) or (k, 2) [m]."""
        on_sheet: Floats = view.project(points_m - self.links_m[-1])
        return on_sheet

    def capsules(self) -> tuple[tuple[Floats, float], ...]:
        """Return the ends (2, 3) and radius of legs, trunk and boots [m]."""
        body, radius_m = self.body, self.body.corridor_radius_m
        back_m, boot_m = body.trunk_forward_m, self.restraint.boots_width_m / 2
        half_m = max(self.restraint.boots_length_m / 2 - boot_m, 0.0)
        high_m = self.restraint.boots_height_m
        legs = (self.at(0, 0, body.leg_radius_m), self.at(0, 0, body.hip_height_m))
        trunk = (
            self.at(back_m, 0, body.hip_height_m + radius_m),
            self.at(back_m, 0, body.height_m - radius_m),
        )
        boots = self.at(-half_m, 0, high_m), self.at(half_m, 0, high_m)
        return (
            (np.stack(legs), body.leg_radius_m),
            (np.stack(trunk), radius_m),
            (np.stack(boots), boot_m),
        )


def scene_of(structure: Structure, found: WorksiteRestraint) -> Scene:
    """Put the person into the setting that decides at a worksite.

    Raises
    ------
    DrawingError
        No socket was tried there, so there is no setting.
    """
    worksite = structure.by_id.get(found.worksite)
    socket = structure.by_id.get(found.socket or "")
    row = found.setting
    if row is None or not isinstance(worksite, Worksite) or not isinstance(socket, Socket):
        raise DrawingError(
            f"there is no setting to draw at worksite {found.worksite}: "
            f"{found.reason or found.verdict}"
        )
    restraint = next(one for one in restraints_of(structure) if one.id == found.restraint)
    body = next(one for one in bodies_of(structure) if one.id == found.body)
    setting = Setting(row.clock, tuple(row.joints_deg.values()))
    points_m, axes = links_m(restraint, socket, setting)
    return Scene(points_m, axes, body, restraint, worksite.targets)


def extent_on_sheet(scene: Scene, view: View) -> tuple[Floats, Floats]:
    """Return the low and the high corner of what a view shows, shape (2,) each [m]."""
    flat = scene.flat(view, _points(scene))
    low: Floats = flat.min(axis=0) - _AROUND_M
    high: Floats = flat.max(axis=0) + _AROUND_M
    return low, high


def extent_in_space(scene: Scene) -> tuple[Floats, Floats]:
    """Return the low and the high corner of all that is shown, shape (3,) each [m]."""
    points = _points(scene)
    return points.min(axis=0) - _AROUND_M, points.max(axis=0) + _AROUND_M


def _points(scene: Scene) -> Floats:
    """Return the corners of all that must be on the sheet, shape (k, 3) [m]."""
    found = [*scene.links_m, *(np.asarray(one.position_m) for one in scene.targets)]
    for ends, radius_m in scene.capsules():
        for axis in scene.axes.T:
            found += [end + sign * radius_m * axis for end in ends for sign in (1.0, -1.0)]
    farthest_m = scene.body.one_hand_farthest_m
    wide = math.radians(min(scene.body.one_hand_angle_deg, 90.0))
    ahead, aside = farthest_m * math.cos(wide), farthest_m * math.sin(wide)
    for shoulder in scene.shoulders_m:
        found.append(shoulder + farthest_m * scene.axes[:, 0])
        found += [
            shoulder + ahead * scene.axes[:, 0] + sign * aside * scene.axes[:, axis]
            for axis in (1, 2)
            for sign in (1.0, -1.0)
        ]
    return np.stack(found)
