"""Many searches for settings in step: what they ask in a round is computed in one go.

All that searches wait for is put together, whatever worksite, socket or body it is about.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias, TypeVar

import numpy as np

from routing.worksites import in_step as steps
from routing.worksites.restraints.checks import Checked, Upto, check_rows
from routing.worksites.restraints.columns import Aim, Aims, Sizes
from routing.worksites.restraints.poses import poses_in
from routing.worksites.restraints.rows import Tried
from structures.bodies import Body
from structures.solids.axes import Indices

__all__ = ["Ask", "Search", "in_step"]

_Found = TypeVar("_Found")

_ROWS = 1 << 15
"""About so many settings are checked together, which bounds the memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Ask:
    """Settings of one body in one socket that a search wants checked."""

    tried: Tried
    body: Body
    some: Indices
    """Numbers of the settings, as in `routing.worksites.restraints.poses.setting_of`."""
    upto: Upto


Search: TypeAlias = steps.Search[Ask, Checked, _Found]
"""Yields what it asks, is sent what `check_rows` finds of it (one body), returns its answer."""


def in_step(searches: Sequence[Search[_Found]], aims: Aims, facing_deg: float) -> list[_Found]:
    """Run searches to their ends, round by round, and return their answers in order.

    Parameters
    ----------
    searches
        Not begun yet.
    aims, facing_deg
        All targets, in what stands round the sockets, and the largest angle as in
        `routing.worksites.restraints.checks.check_settings`.
    """
    return steps.in_step(searches, lambda asked: _check_all(asked, aims, facing_deg))


def _check_all(asked: Sequence[Ask], aims: Aims, facing_deg: float) -> list[Checked]:
    found: dict[int, Checked] = {}
    for part in _alike(asked):
        checked = _check([asked[number] for number in part], aims, facing_deg)
        found.update(zip(part, checked, strict=True))
    return [found[number] for number in range(len(asked))]


def _alike(asked: Sequence[Ask]) -> list[list[int]]:
    """Put together what can be checked together, in parts of a bounded size."""
    parts: list[list[int]] = []
    open_: dict[tuple[str, Upto], tuple[list[int], int]] = {}
    for number, ask in enumerate(asked):
        key = ask.tried.restraint.id, ask.upto
        part, rows = open_.get(key, ([], _ROWS))
        if rows + len(ask.some) > _ROWS:
            part, rows = [], 0
            parts.append(part)
        part.append(number)
        open_[key] = part, rows + len(ask.some)
    return parts


def _check(asks: Sequence[Ask], aims: Aims, facing_deg: float) -> list[Checked]:
    which = np.repeat(np.arange(len(asks)), [len(ask.some) for ask in asks])
    restraint = asks[0].tried.restraint
    sockets = [ask.tried.socket for ask in asks]
    poses = poses_in(restraint, sockets, which, np.concatenate([ask.some for ask in asks]))
    found = check_rows(
        poses,
        restraint,
        [Sizes.rows([ask.body for ask in asks], which)],
        Aim.rows([ask.tried.targets for ask in asks], which, aims),
        (aims.around, facing_deg),
        upto=asks[0].upto,
    )
    ends = np.cumsum([len(ask.some) for ask in asks])[:-1]
    columns = (found.margin_m, found.worst_target, found.nearest)
    parts = zip(*[np.split(one, ends, axis=1) for one in columns], strict=True)
    return [Checked(*part) for part in parts]
