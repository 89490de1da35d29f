"""The one setting of each body that decides a verdict, without looking at all the others.

Distances bound the margin of a setting from above and cost little, so they are
worked out for all settings. The dear checks are made best first, until nothing
left can be better. What is found is what `restraint_stages.sift` finds.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot

import numpy as np

from routing.graph.surroundings import Surroundings
from routing.worksites.restraint_checks import CHECKS, ROOM_SEEN_M, Checked, Upto, check_settings
from routing.worksites.restraint_poses import Poses, plate_poses, points_on_plate_m
from routing.worksites.restraint_records import BodyReach, SettingRow, SocketReach
from routing.worksites.restraint_rows import Tried, setting_row
from routing.worksites.restraint_stages import ALIKE, nearest_of
from structures.bodies import Body
from structures.elements import Target
from structures.solids.axes import Flags, Floats, Indices
from structures.solids.seams import SEAM_PROBE_M

__all__ = ["deciding_reaches"]

_SAME_M = 10.0**-ALIKE
_CHUNK, _FIRST = 32, 1024
"""So many settings are looked at together, in full and for their reach; then ever more."""


def deciding_reaches(
    tried: Sequence[Tried], surroundings: Surroundings, facing_deg: float
) -> list[SocketReach]:
    """Look for what decides in one socket: whether each body is able, and its best setting.

    Parameters
    ----------
    tried
        One for each type of restraint, with the same socket, bodies and targets.
    surroundings, facing_deg
        As in `routing.worksites.restraint_checks.check_settings`.

    Returns
    -------
    list of SocketReach
        One for each. ``working`` is 1 or 0: whether any setting works. How many fail
        is not counted, and the nearest setting is looked for only of those types of
        restraint that may decide.
    """
    found = [_Socket(one, surroundings, facing_deg) for one in tried]
    most = max((one.rank for one in found), default=(False, 0))
    return [one.reach(nearest=one.rank == most) for one in found]


class _Socket:
    """One type of restraint in the socket, all bodies."""

    def __init__(self, tried: Tried, surroundings: Surroundings, facing_deg: float) -> None:
        self.tried = tried
        local = surroundings.around(*_room_m(tried))
        to_m = points_on_plate_m(
            tried.restraint, tried.socket, np.array([one.position_m for one in tried.targets])
        )
        self.bodies = [_Best(tried, body, (local, facing_deg), to_m) for body in tried.bodies]
        self.best = [one.working() for one in self.bodies]

    @property
    def rank(self) -> tuple[bool, int]:
        """What counts before all margins: rated, and how many bodies are able."""
        return self.tried.rated, sum(row is not None for row in self.best)

    def reach(self, *, nearest: bool) -> SocketReach:
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
                for one, row, near in zip(
                    self.bodies, self.best, self._nearest(wanted=nearest), strict=True
                )
            ),
        )

    def _nearest(self, *, wanted: bool) -> Iterator[SettingRow | None]:
        """Yield for each body the nearest setting, if it may be the one that decides.

        The worst of the bodies decides, the first of equals. So no more is asked of a later
        body than to come nearer, and nothing once one has no number for what is missing.
        """
        worst_m = np.inf
        for one, best in zip(self.bodies, self.best, strict=True):
            if not wanted or best is not None or np.isneginf(worst_m):
                yield None
                continue
            row = one.nearest(worst_m)
            worst_m = min(worst_m, -np.inf if row.margin_m is None else row.margin_m)
            yield row


def _room_m(tried: Tried) -> tuple[Floats, float]:
    """Return points, and how far from their common box anything may matter [m]."""
    boots = tried.restraint
    body_m = max(
        hypot(
            body.height_m,
            max(abs(body.eye_forward_m), abs(body.shoulder_forward_m), abs(body.trunk_forward_m))
            + body.corridor_radius_m
            + body.leg_radius_m,
            body.shoulder_out_m,
        )
        for body in tried.bodies
    )
    boots_m = hypot(boots.boots_length_m, boots.boots_width_m, boots.boots_height_m)
    points_m = np.array([tried.socket.position_m, *(one.position_m for one in tried.targets)])
    return points_m, boots.length_m + body_m + boots_m + ROOM_SEEN_M + 2 * SEAM_PROBE_M


class _Best:
    """The search for the best setting of one body."""

    def __init__(
        self, tried: Tried, body: Body, around: tuple[Surroundings, float], to_m: Floats
    ) -> None:
        self.tried, self.body, self.around = tried, body, around
        self.bound_m = _reach_bound_m(body, tried.targets, to_m)

    def working(self) -> SettingRow | None:
        """Return the best setting that works, the first of equals."""
        some = np.flatnonzero(self.bound_m >= 0)
        if not len(some):
            return None
        reach = self._check(some, "reach")
        passing = reach.works[0]
        some, upper_m = some[passing], reach.overall_m[0][passing]
        order = np.lexsort((some, -upper_m))
        looked, begin, best_m = [], 0, -np.inf
        while begin < len(order) and upper_m[order[begin]] > best_m - _SAME_M:
            part = order[begin : begin + max(_CHUNK, begin)]
            looked.append((some[part], self._check(some[part])))
            checked = looked[-1][1]
            best_m = max(best_m, float(checked.overall_m[0][checked.works[0]].max(initial=best_m)))
            begin += len(part)
        numbers, checked = _joined(looked)
        able = np.flatnonzero(checked.works[0])
        if not len(able):
            return None
        margin_m = np.round(checked.overall_m[0][able], ALIKE)
        return self._row(numbers, checked, int(able[np.lexsort((numbers[able], -margin_m))[0]]))

    def nearest(self, enough_m: float = np.inf) -> SettingRow:
        """Return the setting with the smallest largest shortfall, where none works.

        One with fewer lines that are not clear is always nearer; see `nearest_of`.
        The first that is certainly nearer than ``enough_m`` does as well [m].
        """
        order = np.lexsort((np.arange(len(self.bound_m)), -self.bound_m))
        begin, best = 0, _Nearness(len(CHECKS), -np.inf)
        looked: list[tuple[Indices, Checked]] = []
        while (
            begin < len(order)
            and best.may_be(0, float(self.bound_m[order[begin]]))
            and not best.is_above(enough_m)
        ):
            some = order[begin : begin + max(_FIRST, begin)]
            begin += len(some)
            upper_m = self._check(some, "reach").overall_m[0]
            some = some[best.beaten_by(np.zeros(len(some)), upper_m)]
            best = self._look(some, best, looked, enough_m)
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
    ) -> "_Nearness":
        """Check settings in full, the hopeful first, while one may be nearer than the best."""
        blocked, rest_m = _blocked_and_rest(self._check(some, "lines"))
        order = np.lexsort((some, -rest_m, blocked))
        begin = 0
        while begin < len(order) and not best.is_above(enough_m):
            at = order[begin]
            if not best.may_be(int(blocked[at]), float(rest_m[at])):
                break
            part = some[order[begin : begin + max(_CHUNK, begin)]]
            begin += len(part)
            looked.append((part, self._check(part)))
            counts, found_m = _blocked_and_rest(looked[-1][1])
            first = int(np.lexsort((-found_m, counts))[0])
            best = best.better(_Nearness(int(counts[first]), float(found_m[first])))
        return best

    def _check(self, some: Indices, upto: Upto = "all") -> Checked:
        poses: Poses = plate_poses(self.tried.restraint, self.tried.socket, some)
        return check_settings(
            poses,
            self.tried.restraint,
            [self.body],
            self.tried.targets,
            self.around,
            upto=upto,
        )

    def _row(self, numbers: Indices, checked: Checked, at: int) -> SettingRow:
        ids = self.around[0].body.ids
        return setting_row(self.tried, int(numbers[at]), checked, at, ids)


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


def _reach_bound_m(body: Body, targets: Sequence[Target], to_m: Floats) -> Floats:
    """Return what no margin of a setting exceeds, by distances to targets alone, shape (s,) [m].

    Targets are given in the axes of the plate, shape (t, s, 3) [m].
    """
    bound_m = np.full(to_m.shape[1], np.inf)
    for target, at_m in zip(targets, to_m, strict=True):
        sides = [
            _distance_m(
                at_m, (body.shoulder_forward_m, side * body.shoulder_out_m, body.shoulder_height_m)
            )
            for side in (1.0, -1.0)
        ]
        margins = [
            np.minimum(body.one_hand_farthest_m - one, one - body.one_hand_nearest_m)
            for one in sides
        ]
        if target.hands == 2:
            chest = (body.two_hand_forward_m, 0.0, body.two_hand_height_m)
            before_m = body.two_hand_radius_m - _distance_m(at_m, chest)
            one_m = np.minimum(before_m, np.minimum(*margins))
        else:
            one_m = np.maximum(*margins)
        bound_m = np.minimum(bound_m, one_m)
    # Rounding here must not leave out what the checks themselves would let pass.
    higher: Floats = bound_m + _SAME_M
    return higher


def _distance_m(points_m: Floats, place_m: tuple[float, float, float]) -> Floats:
    x, y, z = points_m.T
    return np.asarray(
        np.sqrt((x - place_m[0]) ** 2 + (y - place_m[1]) ** 2 + (z - place_m[2]) ** 2)
    )
