"""What mends one crossing of two people's lines: a wait, or another way for one of them.

Each is a change that can be written into the plan: people wait before the line is laid,
so that the lines never meet, or before it is laid and before it is taken up, so that the
crossing undoes itself for certain; or one of them goes by another grip, found by the
exact search with the place of the crossing barred.
"""

import itertools
from collections.abc import Iterator, Sequence
from math import ceil
from typing import Final, TypeAlias

import numpy as np

from routing.graph.sites import site_grips
from routing.outings.clock.activity_plan import ACTS_BEGIN
from routing.outings.clock.schedule import MINUTE_S
from routing.outings.lines.crossings import LineCrossing
from routing.outings.lines.laid_lines import LaidLines, LaidPiece
from routing.outings.lines.records import PlanEdit
from routing.outings.lines.sure_order import Happening, SureOrder
from routing.outings.lines.watch import PairOfLines
from routing.outings.plan import OnClock
from routing.outings.plan_file.acts import ACT_RULES
from routing.outings.plan_file.records import Act
from routing.outings.translations import Ground, Trip, kit_of
from routing.paths.tethers.outfit import make_outfit
from routing.paths.tethers.reel import reel_ground
from routing.paths.two_people.apart import Ball, Bar, Barred, Traveller
from structures.polylines import segment_gaps

__all__ = ["Edits", "WaysOut"]

CLEAR_AFTER_S: Final = 15.0
"""So much later than the one line is gone the other may be touched, at least [s]."""
_WAIT_STEP_S: Final = 30.0
"""Waits are planned in half minutes."""

Edits: TypeAlias = tuple[PlanEdit, ...]
"""Changes of a plan, in the order they are made."""


class WaysOut:
    """What mends one crossing of a plan on the clock."""

    def __init__(
        self, ground: Ground, on_clock: OnClock, pair: PairOfLines, crossing: LineCrossing
    ) -> None:
        self.ground = ground
        self.on_clock = on_clock
        self.outing = on_clock.plan.outing
        self.pair = pair
        self.crossing = crossing
        self.schedule = on_clock.schedule
        self.order = SureOrder(self.schedule)

    def waits(self) -> Iterator[Edits]:
        """Yield waits after which the lines never meet, or cross and undo themselves."""
        first, second = self._whole(0), self._whole(1)
        for early, late in ((first, second), (second, first)):
            if early.taken_in is not None:
                yield self._both([(early.taken, late.laid, late.person)])
            # Or the late one lies over the early one, and is taken up first.
            steps = [(early.laid, late.laid, late.person)]
            if early.taken_in is not None:
                if late.taken_in is None:
                    continue
                steps.append((late.taken, early.taken, early.person))
            yield self._both(steps)

    def _both(self, steps: Sequence[tuple[Happening, Happening, str]]) -> Edits:
        """Return the waits that bring each first thing before the second one; () if none can."""
        edits: list[PlanEdit] = []
        for first, second, person in steps:
            if self.order.before(first, second):
                continue
            edit = self._wait_for(first, second, person, skip=len(edits))
            if edit is None:
                return ()
            edits.append(edit)
        return tuple(edits)

    def _wait_for(
        self, first: Happening, second: Happening, person: str, *, skip: int
    ) -> PlanEdit | None:
        """Return the shortest wait before the second happening that puts it after the first.

        Either until the act is done on whose way the first happens, or for some minutes
        from when that way begins.
        """
        act = self.schedule.plan.activities[second.activity].act
        if act is None:
            return None
        free_s = self.schedule.start_s(second.activity)
        found = []
        for since, minutes in self._since(first, second):
            after = () if since == ACTS_BEGIN else (since,)
            if self._may_wait_for(after, second.activity, act):
                ends_s = max(free_s, self.schedule.end_s(since)) + MINUTE_S * (minutes or 0.0)
                found.append((ends_s, after, minutes))
        if not found:
            return None
        _, after, minutes = min(found, key=lambda one: one[0])
        return PlanEdit(
            kind="wait",
            id=self._free_id(skip),
            person=person,
            before=act.id,
            after=after,
            minutes=minutes,
        )

    def _since(self, first: Happening, second: Happening) -> Iterator[tuple[str, float | None]]:
        """Yield (what is waited for, minutes from then on), each enough by itself."""
        plan = self.schedule.plan
        done = plan.activities[first.activity].act
        if done is not None:
            yield done.id, None
        since = self.order.begins_with(first.activity)
        at_once = [plan.network.ids[i] for i in self._waits_of(second.activity)]
        if since is None or (since == ACTS_BEGIN and at_once != [since]):
            return
        into_s = first.end_s - self.schedule.start_s(first.activity)
        if plan.activities[second.activity].kind == "way":
            into_s -= second.start_s - self.schedule.start_s(second.activity)
        steps = max(0, ceil((into_s + CLEAR_AFTER_S) / _WAIT_STEP_S))
        if steps or since != ACTS_BEGIN:
            yield since, steps * _WAIT_STEP_S / MINUTE_S or None

    def _waits_of(self, activity: str) -> tuple[int, ...]:
        network = self.schedule.plan.network
        return network.before[network.index[activity]]

    def _may_wait_for(self, after: tuple[str, ...], activity: str, act: Act) -> bool:
        """Tell whether what is waited for is done whenever the act is, and need not wait for it."""
        plan = self.schedule.plan
        groups = {one.id: (one.spare, one.may_drop) for one in plan.acts}
        kinds = {(None, None), (act.spare, act.may_drop)}
        return all(
            groups.get(one, (None, None)) in kinds
            and one != activity
            and not plan.network.comes_before(activity, one)
            for one in after
        )

    def _free_id(self, skip: int) -> str:
        """Return an id that nothing in the plan has, after so many others of the kind."""
        taken = {act.id for act in self.outing.acts} | {g.id for g in self.outing.gates}
        free = (one for n in itertools.count(1) if (one := f"line-wait-{n}") not in taken)
        return next(itertools.islice(free, skip, None))

    def other_ways(self) -> Iterator[Edits]:
        """Yield another way for either person, by a grip that keeps out of the crossing."""
        for which in (0, 1):
            whole = self._whole(which)
            trip = self.on_clock.leg.trips.get(whole.laid_in)
            if trip is not None:
                via = self._by_way_of(trip, which)
                if via is not None:
                    yield (
                        PlanEdit(
                            kind="way", id=trip.act, person=trip.person, before=trip.act, via=(via,)
                        ),
                    )

    def _by_way_of(self, trip: Trip, which: int) -> str | None:
        """Return a grip by which the least-time way keeps out of the place of the crossing."""
        act = self.schedule.plan.activities[self._whole(which).laid_in].act
        if act is None or trip.begins is None or trip.course is None or trip.manner != "best":
            return None
        if act.via or "via" not in ACT_RULES[act.does].takes or not act.at:
            return None
        graph = self.ground.graph(trip.person, trip.carry, trip.when)
        planned = next(one for one in self.outing.people if one.id == trip.person)
        outfit = make_outfit(graph, kit_of(planned, self.ground.limits))
        traveller = Traveller(
            graph=graph,
            outfit=outfit,
            ground=reel_ground(graph),
            starts=trip.begins.tethers,
            goals=tuple(site_grips(graph, trip.to_site).grips.tolist()),
        )
        path = traveller.best(frozenset({self._bar(which)}))
        if path is None:
            return None
        new = [grip for grip in path.nodes[:-1] if grip not in trip.course.grips]
        if not new:
            return None
        away_m = np.linalg.norm(
            graph.grips.position_m[new] - np.array(self.crossing.place_m), axis=1
        )
        return graph.grips.ids[new[int(np.argmax(away_m))]]

    def _bar(self, which: int) -> Bar:
        """Return what the one line must stay out of where the other one does not."""
        i, j = self.crossing.decides
        first, second = self.pair.first, self.pair.second
        gap_m, _, _ = segment_gaps(
            first.start_m[i], first.end_m[i], second.start_m[j], second.end_m[j]
        )
        radius_m = self.ground.limits.line_apart_m / 2 - 1e-9
        if float(gap_m) / 2 <= radius_m:
            return Ball(*self.crossing.place_m, radius_m)
        return Barred((first.pieces[i] if which == 0 else second.pieces[j]).piece)

    def _whole(self, which: int) -> "_Whole":
        lines = self.pair.second if which else self.pair.first
        numbers = {cell[which] for cell in self.crossing.cells}
        return _Whole(lines, [lines.pieces[number] for number in sorted(numbers)])


class _Whole:
    """All pieces of one line in a crossing, which are laid and taken up on the same ways."""

    def __init__(self, lines: LaidLines, pieces: Sequence[LaidPiece]) -> None:
        self.person = lines.person
        self.laid_in = pieces[0].laid_in
        self.taken_in = pieces[0].taken_in
        self.laid = Happening(
            self.laid_in, min(p.laid_s[0] for p in pieces), max(p.laid_s[1] for p in pieces)
        )
        self.taken = Happening(
            self.taken_in or "",
            min(p.taken_s[0] for p in pieces),
            max(p.taken_s[1] for p in pieces),
        )
