"""What must not be kicked near the boots of a person in a foot restraint."""

from collections.abc import Iterator, Sequence

import numpy as np

from routing.worksites.restraints.checks import boots_line
from routing.worksites.restraints.choice import restraints_of
from routing.worksites.restraints.poses import Setting, number_of, plate_poses
from routing.worksites.restraints.records import SettingRow, SocketReach, WorksiteRestraint
from routing.worksites.restraints.verdict import setting_text
from structures.elements import Socket
from structures.findings import Finding
from structures.inspection.hardware import kick_sensitive, nearest_along
from structures.model import Structure
from structures.polylines import Polyline
from structures.units import fine_text

__all__ = ["check_kicks"]

_NEAREST_WITHIN_M = 1e-4


def check_kicks(
    structure: Structure,
    found: WorksiteRestraint,
    tried: Sequence[SocketReach],
    kick_distance_m: float,
) -> Iterator[Finding]:
    """Find what must not be kicked near the boots in the best setting of each able body.

    Parameters
    ----------
    structure
        Says of solids and items whether they must not be kicked.
    found, tried
        The verdict, and what it was made from: the socket and restraint it names count.
    kick_distance_m
        How near hardware must bear a kick (`Limits.kick_distance_m`).

    References
    ----------
    SSP 30256:001 Rev F (1997-02-07) table 3.1.3-1 sheet 2 (page 3-5): the kick load applies
    to hardware within 24 in (0.6096 m) of a translation path or worksite.
    """
    named = (one for one in tried if (one.socket, one.restraint) == (found.socket, found.restraint))
    reach = next(named, None)
    if reach is None:
        return
    rows = [body.best[0] for body in reach.bodies if body.best]
    if not rows:
        return
    lines = [(row, *_boots(structure, reach, row)) for row in rows]
    middles_m = np.array([np.mean(line.points_m, axis=0) for _, line, _ in lines])
    # By the middle of a line alone most hardware is known to be too far from it.
    most_m = np.array([line.length_m / 2 + radius_m for _, line, radius_m in lines])
    most_m += kick_distance_m + _NEAREST_WITHIN_M
    for hardware, word, distance in kick_sensitive(structure):
        may_be_within = distance(middles_m) <= most_m
        gaps_m = [
            nearest_along(line, distance, within_m=_NEAREST_WITHIN_M) - radius_m if may else np.inf
            for may, (_, line, radius_m) in zip(may_be_within.tolist(), lines, strict=True)
        ]
        near = min(range(len(gaps_m)), key=lambda at: gaps_m[at], default=None)
        if near is None or gaps_m[near] - _NEAREST_WITHIN_M > kick_distance_m:
            continue
        gap_m = max(gaps_m[near], 0.0)
        yield Finding(
            code="kick-sensitive-near-boots",
            severity="warns",
            elements=(hardware, reach.socket),
            message=(
                f"{word} {hardware} must not be kicked and is {fine_text(gap_m, 'down')} from "
                "the boots in "
                f"{reach.socket} ({reach.restraint}, {setting_text(lines[near][0])}); hardware "
                f"within {kick_distance_m:.4g} m of where people work must bear a kick of 556 N "
                "(SSP 30256:001 Rev F table 3.1.3-1); cover it, show that it bears that, or take "
                "another setting"
            ),
            value=gap_m,
            limit=kick_distance_m,
            unit="m",
        )


def _boots(structure: Structure, reach: SocketReach, row: SettingRow) -> tuple[Polyline, float]:
    """Return the middle line of the boots in a setting, and their radius [m]."""
    restraint = next(one for one in restraints_of(structure) if one.id == reach.restraint)
    socket = structure.find(reach.socket, (Socket,))
    setting = Setting(row.clock, tuple(row.joints_deg.values()))
    pose = plate_poses(restraint, socket, np.array([number_of(restraint, setting)]))
    local_m, radius_m = boots_line(restraint)
    ends_m = np.concatenate([pose.at_m(end) for end in local_m])
    first, last = (tuple(end) for end in ends_m.tolist())
    return Polyline.through([first, last]), radius_m
