"""The one setting of each body that decides a verdict, without looking at all the others.

Reach, facing and view bound the margin of a setting from above and cost little
(`restraint_bounds`), so they are worked out for all settings. The dear checks
are made best first, until nothing left can be better. What is found is what
`restraint_stages.sift` finds. All worksites are searched in step
(`restraint_rounds`).
"""

from collections.abc import Generator, Sequence
from dataclasses import dataclass

import numpy as np

from routing.graph.surroundings import Surroundings
from routing.worksites.restraints.bounds import Bounds
from routing.worksites.restraints.checks import CHECKS, Checked, Upto
from routing.worksites.restraints.columns import Aims
from routing.worksites.restraints.crossed import crossed_lines
from routing.worksites.restraints.records import BodyReach, SettingRow, SocketReach
from routing.worksites.restraints.rounds import Ask, Search, in_step
from routing.worksites.restraints.rows import Tried, setting_row
from routing.worksites.restraints.stages import ALIKE, nearest_of
from structures.bodies import Body
from structures.solids.axes import Flags, Floats, Indices

__all__ = ["able_bodies", "deciding_reaches"]

_SAME_M = 10.0**-ALIKE
_CHUNK, _MORE = 16, 8
"""So many settings are looked at together at first; then ever more, so many times faster."""


def deciding_reaches(
    asked: Sequence[Sequence[Tried]], surroundings: Surroundings, facing_deg: float
) -> list[list[SocketReach]]:
    """Look for what decides at worksites: whether each body is able, and its best setting.

    Parameters
    ----------
    asked
        For each worksite one for each type of restraint, all in the same socket and with
        the same bodies and targets.
    surroundings, facing_deg
        As in `routing.worksites.restraints.checks.check_settings`.

    Returns
    -------
    list of list of SocketReach
        One for each. ``working`` is 1 or 0: whether any setting works. How many fail
        is not counted, and the nearest setting is looked for only of those types of
        restraint that may decide.
    """
    aims = Aims(surroundings)
    sockets = [[_Socket(one, aims, facing_deg) for one in tried] for tried in asked]
    every = [one for some in sockets for one in some]
    best = iter(in_step([body.working() for one in every for body in one.bodies], aims, facing_deg))
    for one in every:
        one.best = [next(best) for _ in one.bodies]
    nearest = in_step([_nearest_rows(some) for some in sockets], aims, facing_deg)
    return [
        [one.reach(rows) for one, rows in zip(some, found, strict=True)]
        for some, found in zip(sockets, nearest, strict=True)
    ]


def able_bodies(tried: Tried, surroundings: Surroundings, facing_deg: float) -> list[bool]:
    """Tell of each body whether any setting of one restraint works for it.

    Parameters as in `deciding_reaches`.
    """
    aims = Aims(surroundings)
    bodies = _Socket(tried, aims, facing_deg).bodies
    best = in_step([body.working() for body in bodies], aims, facing_deg)
    return [row is not None for row in best]


def _nearest_rows(sockets: Sequence["_Socket"]) -> Search[list[list[SettingRow | None]]]:
    """Return the nearest settings of each type of restraint, as far as they may decide.

    The types with most bodies able count, and among them the one whose worst body is
    nearest, the first of equals. So a later one must come nearer than those before.
    """
    found: list[list[SettingRow | None]] = []
    least: float | None = None
    most = max((one.rank for one in sockets), default=(False, 0))
    for one in sockets:
        rows: list[SettingRow | None] = [None] * len(one.bodies)
        if one.rank == most and not all(one.best):
            rows, worst_m = yield from one.nearest(least)
            least = worst_m if least is None else max(least, worst_m)
        found.append(rows)
    return found


class _Socket:
    """One type of restraint in the socket, all bodies."""

    def __init__(self, tried: Tried, aims: Aims, facing_deg: float) -> None:
        self.tried = tried
        self.bodies = [_Best(tried, body, aims, facing_deg) for body in tried.bodies]
        self.best: list[SettingRow | None] = []

    @property
    def rank(self) -> tuple[bool, int]:
        """What counts before all margins: rated, and how many bodies are able."""
        return self.tried.rated, sum(row is not None for row in self.best)

    def reach(self, nearest: Sequence[SettingRow | None]) -> SocketReach:
        return SocketReach(
            socket=self.tried.socket.id,
            own=self.tried.own,
            restraint=self.tried.restraint.id,
            rated=self.tried.rated,
            bodies=tuple(
                BodyReach(
                    body=one.body.id,
                    settings=self.tried.restraint.settings,
                    working=int(row is not None),
                    best=() if row is None else (row,),
                    fails=(),
                    nearest=near,
                )
                for one, row, near in zip(self.bodies, self.best, nearest, strict=True)
            ),
        )

    def nearest(self, beat_m: float | None) -> Search[tuple[list[SettingRow | None], float]]:
        """Return for each body the nearest setting, if it may be the one that decides.

        The worst of the bodies decides, the first of equals. So no more is asked of a later
        body than to come nearer, and nothing once one has no number for what is missing.

        Parameters
        ----------
        beat_m
            What another type of restraint lacks at its worst [m]: nothing is asked any more
            once this one cannot come nearer. ``None`` if there is no other.

        Returns
        -------
        rows, worst_m
            And the worst margin; -inf where that has no number, or it is given up.
        """
        worst_m = np.inf
        rows: list[SettingRow | None] = [None] * len(self.bodies)
        for i, (one, best) in enumerate(zip(self.bodies, self.best, strict=True)):
            if best is not None or np.isneginf(worst_m):
                continue
            row = yield from one.nearest(worst_m, beat_m)
            missing = None if row is None else row.margin_m
            worst_m = min(worst_m, -np.inf if missing is None else missing)
            rows[i] = row
        return rows, worst_m


class _Best:
    """The search for the best setting of one body."""

    def __init__(self, tried: Tried, body: Body, aims: Aims, facing_deg: float) -> None:
        self.tried, self.body, self.aims = tried, body, aims
        self.bounds = Bounds(tried.restraint, tried.socket, body, tried.targets, facing_deg)

    def working(self) -> Search[SettingRow | None]:
        """Return the best setting that works, the first of equals."""
        some, upper_m = self.bounds.hopeful()
        order = np.lexsort((some, -upper_m))
        looked, begin, best_m = list[tuple[Indices, Checked]](), 0, -np.inf
        while begin < len(order) and upper_m[order[begin]] > best_m - _SAME_M:
            part = order[begin : begin + max(_CHUNK, begin)]
            checked = yield from self._check(some[part], "able")
            looked.append((some[part], checked))
            best_m = max(best_m, float(checked.overall_m[0][checked.works[0]].max(initial=best_m)))
            begin += len(part)
        numbers, checked = _joined(looked)
        able = np.flatnonzero(checked.works[0])
        if not len(able):
            return None
        margin_m = np.round(checked.overall_m[0][able], ALIKE)
        return self._row(numbers, checked, int(able[np.lexsort((numbers[able], -margin_m))[0]]))

    def nearest(
        self, enough_m: float = np.inf, beat_m: float | None = None
    ) -> Search[SettingRow | None]:
        """Return the setting with the smallest largest shortfall, where none works.

        One with fewer lines that are not clear is always nearer; see `nearest_of`.
        The first that is certainly nearer than ``enough_m`` does as well [m]. If given, one
        is sought that is nearer than ``beat_m`` with all lines clear; ``None`` if none is.
        """
        bound_m = self.bounds.upper_m()
        order = np.lexsort((np.arange(len(bound_m)), -bound_m))
        begin, best = 0, _Nearness(len(CHECKS), -np.inf)
        if beat_m is not None:
            best = _Nearness(0, beat_m)
        looked: list[tuple[Indices, Checked]] = []
        while (
            begin < len(order)
            and best.may_be(0, float(bound_m[order[begin]]))
            and not (looked and best.is_above(enough_m))
        ):
            some = order[begin : begin + (_MORE * begin or _CHUNK)]
            begin += len(some)
            if looked or beat_m is not None:
                # Lines that shapes stand in for certain tell most of what cannot be nearer.
                count = best.blocked + 1
                crossed = crossed_lines(self.bounds, self.tried.targets, some, self.aims, count)
                some = some[best.beaten_by(crossed, bound_m[some])]
            best = yield from self._look(some, best, looked, enough_m)
        if not looked:
            return None
        numbers, checked = _joined(looked)
        by_number = np.argsort(numbers, kind="stable")
        at = by_number[nearest_of(checked.margin_m[0][by_number])]
        return self._row(numbers, checked, int(at))

    def _look(
        self,
        some: Indices,
        best: "_Nearness",
        looked: list[tuple[Indices, Checked]],
        enough_m: float,
    ) -> Search["_Nearness"]:
        """Check settings in full, the hopeful first, while one may be nearer than the best."""
        if not len(some):
            return best
        if len(some) > _CHUNK:
            blocked, rest_m = _blocked_and_rest((yield from self._check(some, "lines")))
        else:
            # So few cost no more in full.
            blocked, rest_m = np.zeros(len(some), dtype=np.int64), np.full(len(some), np.inf)
        order = np.lexsort((some, -rest_m, blocked))
        begin = 0
        while begin < len(order) and not best.is_above(enough_m):
            at = order[begin]
            if not best.may_be(int(blocked[at]), float(rest_m[at])):
                break
            part = some[order[begin : begin + max(_CHUNK, begin)]]
            begin += len(part)
            looked.append((part, (yield from self._check(part))))
            counts, found_m = _blocked_and_rest(looked[-1][1])
            first = int(np.lexsort((-found_m, counts))[0])
            best = best.better(_Nearness(int(counts[first]), float(found_m[first])))
        return best

    def _check(self, some: Indices, upto: Upto = "all") -> Generator[Ask, Checked, Checked]:
        return (yield Ask(self.tried, self.body, some, upto))

    def _row(self, numbers: Indices, checked: Checked, at: int) -> SettingRow:
        return setting_row(self.tried, int(numbers[at]), checked, at, self.aims.around.placed.ids)


@dataclass(frozen=True, slots=True)
class _Nearness:
    """How near a setting comes to working: lines that are not clear, least of other margins."""

    blocked: int
    rest_m: float

    def may_be(self, blocked: int, rest_m: float) -> bool:
        """Tell whether one with so many lines and at most so much margin may be as near."""
        return bool(self.beaten_by(np.array([blocked]), np.array([rest_m]))[0])

    def beaten_by(self, blocked: Indices | Floats, rest_m: Floats) -> Flags:
        """Tell the same for many, shape (k,)."""
        fewer, as_many = blocked < self.blocked, blocked == self.blocked
        return np.asarray(fewer | (as_many & (rest_m > self.rest_m - _SAME_M)), dtype=np.bool_)

    def is_above(self, margin_m: float) -> bool:
        """Tell whether it is certainly nearer than one with a margin and no line blocked."""
        return not self.blocked and self.rest_m > margin_m + _SAME_M

    def better(self, other: "_Nearness") -> "_Nearness":
        """Return the nearer of the two."""
        return min(self, other, key=lambda one: (one.blocked, -one.rest_m))


def _blocked_and_rest(checked: Checked) -> tuple[Indices, Floats]:
    """Return how many lines of each setting are not clear, and its least other margin [m]."""
    blocked = np.isneginf(checked.margin_m[0])
    rest_m: Floats = np.where(blocked, np.inf, checked.margin_m[0]).min(axis=1)
    return blocked.sum(axis=1), rest_m


def _joined(looked: Sequence[tuple[Indices, Checked]]) -> tuple[Indices, Checked]:
    """Return the numbers of all settings that were looked at, and what was found."""
    if not looked:
        nothing = np.zeros((1, 0, len(CHECKS)))
        none = np.zeros(nothing.shape, dtype=np.int64)
        return np.zeros(0, dtype=np.int64), Checked(nothing, none, none)
    found = [checked for _, checked in looked]
    return np.concatenate([some for some, _ in looked]), Checked(
        np.concatenate([one.margin_m for one in found], axis=1),
        np.concatenate([one.worst_target for one in found], axis=1),
        np.concatenate([one.nearest for one in found], axis=1),
    )
