"""The settings of a restraint in one socket: the best, how many work, why the others fail."""

from dataclasses import dataclass

import numpy as np

from routing.graph.surroundings import Surroundings
from routing.worksites.restraint_checks import CHECKS, Checked, check_settings
from routing.worksites.restraint_poses import plate_poses, setting_of
from routing.worksites.restraint_records import BodyReach, FailCount, SettingRow, SocketReach
from structures.bodies import Body
from structures.elements import Socket, Target
from structures.restraints import Restraint
from structures.solids.axes import Floats

__all__ = ["Tried", "reach_of", "setting_row"]

_ALIKE = 9
"""Margins are ranked by so many decimals of a metre, the lower setting first among equals."""

_BODY_CHECKS = 2
"""The last checks are about the body and the boots, not about targets."""


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
    """Check all settings in one computation and sum them up, the best ``most`` of each body."""
    poses = plate_poses(tried.restraint, tried.socket)
    checked = check_settings(
        poses, tried.restraint, tried.bodies, tried.targets, (surroundings, facing_deg)
    )
    ids = surroundings.body.ids
    return SocketReach(
        socket=tried.socket.id,
        own=tried.own,
        restraint=tried.restraint.id,
        rated=tried.rated,
        bodies=tuple(_body_reach(tried, checked, i, ids, most) for i in range(len(tried.bodies))),
    )


def _body_reach(
    tried: Tried, checked: Checked, body: int, ids: tuple[str, ...], most: int
) -> BodyReach:
    works, passes = checked.works[body], checked.passes[body]
    overall_m = checked.overall_m[body]
    able = np.flatnonzero(works)
    best = able[np.lexsort((able, -np.round(overall_m[able], _ALIKE)))][:most]
    fails = (~passes).sum(axis=0).tolist()
    return BodyReach(
        body=tried.bodies[body].id,
        settings=len(works),
        working=len(able),
        best=tuple(setting_row(tried, checked, (body, int(one)), ids) for one in best),
        fails=tuple(
            FailCount(check=check, settings=many)
            for check, many in zip(CHECKS, fails, strict=True)
            if many
        ),
        nearest=None
        if len(able)
        else setting_row(tried, checked, (body, _nearest(checked.margin_m[body])), ids),
    )


def _nearest(margin_m: Floats) -> int:
    """Return the setting with the smallest largest shortfall, by margins (s, checks) [m].

    Where every setting has a blocked line: the one with the fewest, then the
    smallest shortfall of the rest.
    """
    blocked = np.isneginf(margin_m)
    rest_m = np.where(blocked, np.inf, margin_m).min(axis=1)
    order = np.lexsort((np.arange(len(rest_m)), -np.round(rest_m, _ALIKE), blocked.sum(axis=1)))
    return int(order[0])


def setting_row(
    tried: Tried, checked: Checked, at: tuple[int, int], ids: tuple[str, ...]
) -> SettingRow:
    """Describe one setting of one body, and what limits it: the first of the worst checks."""
    margin_m = checked.margin_m[at]
    worst = int(margin_m.argmin())
    setting = setting_of(tried.restraint, at[1])
    line = worst < len(CHECKS) - _BODY_CHECKS
    near = -1 if line else int(checked.nearest[at][worst - len(CHECKS)])
    return SettingRow(
        clock=setting.clock,
        joints_deg={
            joint.id: angle
            for joint, angle in zip(tried.restraint.joints, setting.joints_deg, strict=True)
        },
        margin_m=float(margin_m[worst]) if np.isfinite(margin_m[worst]) else None,
        limited_by=CHECKS[worst],
        target=tried.targets[int(checked.worst_target[at][worst])].id if line else None,
        near=ids[near] if near >= 0 else None,
    )
