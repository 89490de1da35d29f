"""Settings sifted in two stages, so that dear checks are made where they matter only.

Reach, facing and view cost little and are checked for all settings. What
stands in the way of lines, body and boots is looked at only for settings that
pass these. Where none works, the setting with the smallest largest shortfall is
found best first: a setting is no better than its margins of the first stage, so
the search ends as soon as no other can be better.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.graph.surroundings import Surroundings
from routing.worksites.restraints.checks import CHECKS, STAGES, Checked, check_settings
from routing.worksites.restraints.poses import Poses
from structures.bodies import Body
from structures.elements import Target
from structures.restraints import Restraint
from structures.solids.axes import Floats, Indices

__all__ = ["ALIKE", "Sifted", "nearest_of", "sift"]

ALIKE = 9
"""Margins are ranked by so many decimals of a metre, the lower setting first among equals."""

_FIRST = 64
"""So many settings are looked at first when the nearest is sought; then ever more."""


@dataclass(frozen=True, slots=True, eq=False)
class Sifted:
    """The settings of one body in one socket with one restraint."""

    reach: Checked
    """The first stage, of all settings."""
    looked: Indices
    """Settings that pass it, shape (k,), ascending; where none works, also the nearest."""
    checked: Checked
    """Everything about these, shape (1, k)."""
    passed: int
    """How many pass the first stage."""

    @property
    def working(self) -> Indices:
        """Places in ``looked`` of the settings that work."""
        return np.flatnonzero(self.checked.works[0])

    def fails(self) -> list[tuple[str, int, int]]:
        """Return (check, settings that fail it, settings it was made for), those above zero."""
        first = (~self.reach.passes[0]).sum(axis=0)
        second = (~self.checked.passes[0][: self.passed]).sum(axis=0)
        many = [*first[:STAGES].tolist(), *second[STAGES:].tolist()]
        of = [len(self.reach.margin_m[0])] * STAGES + [self.passed] * (len(CHECKS) - STAGES)
        return [one for one in zip(CHECKS, many, of, strict=True) if one[1]]


def sift(
    poses: Poses,
    restraint: Restraint,
    bodies: Sequence[Body],
    targets: Sequence[Target],
    around: tuple[Surroundings, float],
) -> tuple[Sifted, ...]:
    """Check all settings for each body, in two stages.

    Parameters as in `check_settings`; what works, its margins and the nearest
    setting are the same as there.

    Returns
    -------
    tuple of Sifted
        One for each body.
    """
    return tuple(_sift_one(poses, restraint, body, targets, around) for body in bodies)


def nearest_of(margin_m: Floats) -> int:
    """Return the setting with the smallest largest shortfall, by margins (s, checks) [m].

    Where every setting has a blocked line: the one with the fewest, then the
    smallest shortfall of the rest.
    """
    blocked = np.isneginf(margin_m)
    rest_m = np.where(blocked, np.inf, margin_m).min(axis=1)
    order = np.lexsort((np.arange(len(rest_m)), -np.round(rest_m, ALIKE), blocked.sum(axis=1)))
    return int(order[0])


def _sift_one(
    poses: Poses,
    restraint: Restraint,
    body: Body,
    targets: Sequence[Target],
    around: tuple[Surroundings, float],
) -> Sifted:
    def look(some: Indices) -> Checked:
        return check_settings(poses.take(some), restraint, [body], targets, around)

    reach = check_settings(poses, restraint, [body], targets, around, upto="reach")
    looked = np.flatnonzero(reach.works[0])
    checked = look(looked)
    if checked.works.any():
        return Sifted(reach, looked, checked, len(looked))
    bound_m = reach.overall_m[0]
    # Those of the first stage that fail later come first: none is better than they may be.
    order = np.lexsort((np.arange(len(bound_m)), -bound_m))
    begin, best_m, found = 0, -np.inf, [checked]
    while begin < len(order) and bound_m[order[begin]] > best_m - 10.0**-ALIKE:
        some = order[begin : begin + max(_FIRST, begin)]
        found.append(look(some))
        best_m = max(best_m, float(found[-1].overall_m.max()))
        begin += len(some)
    seen = np.concatenate([looked, order[:begin]])
    margin_m, worst, shapes = (
        np.concatenate([getattr(one, name) for one in found], axis=1)
        for name in ("margin_m", "worst_target", "nearest")
    )
    # By number, so that the first of equals is the same as in the full check.
    place = len(looked) + np.argsort(order[:begin], kind="stable")
    nearest = place[nearest_of(margin_m[0, place])]
    keep = np.append(np.arange(len(looked)), nearest)
    return Sifted(
        reach,
        seen[keep],
        Checked(margin_m[:, keep], worst[:, keep], shapes[:, keep]),
        len(looked),
    )
