"""The settings of a restraint in one socket: the best, how many work, why the others fail."""

from dataclasses import dataclass

import numpy as np

from routing.graph.surroundings import Surroundings
from routing.worksites.restraints.checks import CHECKS, Checked
from routing.worksites.restraints.poses import plate_poses, setting_of
from routing.worksites.restraints.records import BodyReach, FailCount, SettingRow, SocketReach
from routing.worksites.restraints.stages import ALIKE, Sifted, sift
from structures.bodies import Body
from structures.elements import Socket, Target
from structures.restraints import Restraint

__all__ = ["Tried", "reach_of", "setting_row"]

_BODY_CHECKS = 3
"""The last checks are about body, boots and restraint, not about targets."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """A restraint in a socket, for some bodies and targets."""

    socket: Socket
    own: bool
    restraint: Restraint
    rated: bool
    bodies: tuple[Body, ...]
    targets: tuple[Target, ...]


def reach_of(tried: Tried, surroundings: Surroundings, facing_deg: float, most: int) -> SocketReach:
    """Check all settings and sum them up, the best ``most`` of each body."""
    poses = plate_poses(tried.restraint, tried.socket)
    around = surroundings, facing_deg
    sifted = sift(poses, tried.restraint, tried.bodies, tried.targets, around)
    return SocketReach(
        socket=tried.socket.id,
        own=tried.own,
        restraint=tried.restraint.id,
        rated=tried.rated,
        bodies=tuple(
            _body_reach(tried, body, one, surroundings.placed.ids, most)
            for body, one in zip(tried.bodies, sifted, strict=True)
        ),
    )


def _body_reach(
    tried: Tried, body: Body, sifted: Sifted, ids: tuple[str, ...], most: int
) -> BodyReach:
    able = sifted.working
    margin_m = np.round(sifted.checked.overall_m[0][able], ALIKE)
    best = able[np.lexsort((able, -margin_m))][:most].tolist()
    return BodyReach(
        body=body.id,
        settings=len(sifted.reach.margin_m[0]),
        working=len(able),
        best=tuple(_row(tried, sifted, one, ids) for one in best),
        fails=tuple(
            FailCount(check=check, settings=many, of=of) for check, many, of in sifted.fails()
        ),
        # Where none works the nearest is looked at last.
        nearest=None if len(able) else _row(tried, sifted, len(sifted.looked) - 1, ids),
    )


def _row(tried: Tried, sifted: Sifted, at: int, ids: tuple[str, ...]) -> SettingRow:
    return setting_row(tried, int(sifted.looked[at]), sifted.checked, at, ids)


def setting_row(
    tried: Tried, number: int, checked: Checked, at: int, ids: tuple[str, ...]
) -> SettingRow:
    """Describe one setting that was looked at, and what limits it: the first of the worst.

    Parameters
    ----------
    number
        Of the setting, as in `setting_of`.
    checked, at
        All that was looked at for one body, and the setting's place in it.
    ids
        Of the shapes that bodies keep clear of.
    """
    margin_m = checked.margin_m[0, at]
    worst = int(margin_m.argmin())
    setting = setting_of(tried.restraint, number)
    line = worst < len(CHECKS) - _BODY_CHECKS
    near = -1 if line else int(checked.nearest[0, at][worst - len(CHECKS)])
    target = int(checked.worst_target[0, at, worst])
    return SettingRow(
        clock=setting.clock,
        joints_deg={
            joint.id: angle
            for joint, angle in zip(tried.restraint.joints, setting.joints_deg, strict=True)
        },
        margin_m=float(margin_m[worst]) if np.isfinite(margin_m[worst]) else None,
        limited_by=CHECKS[worst],
        target=tried.targets[target].id if line else None,
        near=ids[near] if near >= 0 else None,
    )
