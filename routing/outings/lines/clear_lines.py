"""The cheapest change to a plan that keeps two people's lines from tangling.

Best first over changes of the plan: people wait (before the line is laid, so that the
lines never meet; or before it is laid and before it is taken up, so that the crossing
undoes itself for certain), or one of them goes by another grip, found by the exact
search with the place of the crossing barred. Every change is one that can be written
into the plan, and every plan is planned again.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from math import ceil, inf
from typing import Final

import numpy as np

from routing.graph.sites import site_grips
from routing.outings.clock.activity_plan import ACTS_BEGIN, ActivityPlan, plan_activities
from routing.outings.clock.schedule import MINUTE_S
from routing.outings.lines.crossings import LineCrossing
from routing.outings.lines.laid_lines import LaidLines, LaidPiece
from routing.outings.lines.records import LinesCleared, PlanEdit
from routing.outings.lines.sure_order import Happening, SureOrder
from routing.outings.lines.watch import PairOfLines, pairs_of_lines
from routing.outings.plan import OnClock, PlannedOuting, put_on_clock, work_out_plan
from routing.outings.plan_file.acts import ACT_RULES
from routing.outings.plan_file.records import Act, Outing
from routing.outings.safety.moments import moments_of
from routing.outings.translations import Ground, Trip, kit_of
from routing.paths.tethers.outfit import make_outfit
from routing.paths.tethers.reel import reel_ground
from routing.paths.two_people.apart import Ball, Bar, Barred, Traveller
from structures.polylines import segment_gaps

__all__ = ["MOST_PLANS", "clear_lines", "with_edits"]

MOST_PLANS: Final = 60
"""So many changed plans are looked at [about half a second each on a station]."""
CLEAR_AFTER_S: Final = 15.0
"""So much later than the one line is gone the other may be touched, at least [s]."""
_WAIT_STEP_S: Final = 30.0
"""Waits are planned in half minutes."""

Edits = tuple[PlanEdit, ...]


def clear_lines(planned: PlannedOuting, *, most_plans: int = MOST_PLANS) -> LinesCleared | None:
    """Return the cheapest change found that clears a plan's lines; None if they are clear.

    Parameters
    ----------
    most_plans
        So many changed plans are looked at; then the search gives up.

    Notes
    -----
    Plans are looked at in the order of their total length. Waits never make a plan
    shorter, so of waits alone the first clean plan is the cheapest; another way may
    make later ones shorter, so with them it is the cheapest of those looked at.
    """
    search = _Search(planned)
    if not search.blocked(planned):
        return None
    return search.cleared(most_plans)


def with_edits(outing: Outing, edits: Sequence[PlanEdit]) -> Outing:
    """Return a plan with waits put in and ways led by other grips.

    Raises
    ------
    LookupError
        An edit is of an act that the plan does not have.
    """
    for edit in edits:
        at = next((i for i, act in enumerate(outing.acts) if act.id == edit.before), None)
        if at is None:
            raise LookupError(f"the plan has no act {edit.before!r}; edit the plan it was made for")
        acts = list(outing.acts)
        if edit.kind == "wait":
            acts.insert(at, _wait(edit, acts[at]))
        else:
            acts[at] = acts[at].model_copy(update={"via": edit.via})
        outing = outing.model_copy(update={"acts": tuple(acts)})
    return outing


def _wait(edit: PlanEdit, before: Act) -> Act:
    minutes = edit.minutes or 0.0
    return Act(
        id=edit.id,
        who=(edit.person,),
        does="wait",
        after=edit.after,
        minutes=None if not minutes else (minutes, minutes, minutes),
        spare=before.spare,
        may_drop=before.may_drop,
        notes="So that the lines do not tangle",
    )


@dataclass(frozen=True, kw_only=True, eq=False)
class _Node:
    """A changed plan on the clock, with the crossings that block it."""

    edits: Edits
    outing: Outing
    on_clock: OnClock
    blocked: tuple[tuple[PairOfLines, LineCrossing], ...]

    @property
    def rank(self) -> tuple[float, int, int]:
        return (self.on_clock.total_s, len(self.blocked), len(self.edits))


def _mends(node: _Node, changed: _Node) -> bool:
    """Tell whether a change mends what it was made for, and leaves a way for everybody."""
    pair, crossing = node.blocked[0]
    ways = _ways(pair, crossing)
    return changed.on_clock.total_s < inf and all(_ways(*one) != ways for one in changed.blocked)


def _ways(pair: PairOfLines, crossing: LineCrossing) -> tuple[str | None, ...]:
    one, other = pair.pieces(crossing)
    return one.laid_in, one.taken_in, other.laid_in, other.taken_in


class _Search:
    def __init__(self, planned: PlannedOuting) -> None:
        self.planned = planned
        self.ground: Ground = planned.ground
        self.before = {
            (one.code, one.act) for one in planned.answer.findings if one.severity == "blocks"
        }
        self.tried = 0

    def cleared(self, most_plans: int) -> LinesCleared:
        count = itertools.count()
        start = self._node(self.planned.plan.outing, ())
        heap = [(start.rank, next(count), start)]
        seen = {frozenset[PlanEdit]()}
        while heap:
            _, _, node = heappop(heap)
            if not node.blocked:
                if self._nothing_new(node):
                    return self._answer(self._without_needless(node), gave_up=False)
                continue
            for edits in self._ways_out(node):
                key = frozenset((*node.edits, *edits))
                if key in seen:
                    continue
                if self.tried >= most_plans:
                    return self._answer(None, gave_up=True)
                seen.add(key)
                self.tried += 1
                found = self._changed(node, edits)
                if found is not None and _mends(node, found):
                    heappush(heap, (found.rank, next(count), found))
        return self._answer(None, gave_up=False)

    def _without_needless(self, node: _Node) -> _Node:
        """Leave out every edit that a later one makes needless."""
        for edit in node.edits:
            fewer = tuple(one for one in node.edits if one != edit)
            outing = with_edits(self.planned.plan.outing, fewer) if fewer else None
            if outing is None or any(edit.id in one.after for one in fewer):
                continue
            less = self._node(outing, fewer)
            if not less.blocked and less.on_clock.total_s <= node.on_clock.total_s:
                node = less
        return node

    def _answer(self, node: _Node | None, *, gave_up: bool) -> LinesCleared:
        before_s = self.planned.answer.totals.total_s
        return LinesCleared(
            found=node is not None,
            edits=() if node is None else node.edits,
            total_s=None if node is None else node.on_clock.total_s,
            longer_s=None if node is None else node.on_clock.total_s - before_s,
            plans=self.tried,
            gave_up=gave_up,
        )

    def _plan(self, outing: Outing) -> ActivityPlan:
        plan = self.planned.plan
        return plan_activities(
            outing, plan.get_aheads, dropped=plan.dropped, lost_s=dict(plan.lost_s)
        )

    def _changed(self, node: _Node, edits: Edits) -> _Node | None:
        """Return a plan changed further; None where acts would then wait for each other."""
        outing = with_edits(node.outing, edits)
        try:
            self._plan(outing)
        except ValueError:
            return None
        return self._node(outing, (*node.edits, *edits))

    def _node(self, outing: Outing, edits: Edits) -> _Node:
        on_clock = put_on_clock(self._plan(outing), self.ground)
        return _Node(edits=edits, outing=outing, on_clock=on_clock, blocked=self.blocked(on_clock))

    def blocked(
        self, on_clock: OnClock | PlannedOuting
    ) -> tuple[tuple[PairOfLines, LineCrossing], ...]:
        """Return the crossings that block a plan, by time."""
        plan, schedule, stock = on_clock.plan, on_clock.schedule, on_clock.stock
        people = [person.id for person in plan.outing.people]
        moments = {one: moments_of(schedule, self.ground, stock, one) for one in people}
        found = [
            (pair, one)
            for pair in pairs_of_lines(schedule, self.ground, moments)
            for one in pair.crossings
            if one.undoing in {"tangles", "may tangle"}
        ]
        return tuple(sorted(found, key=lambda one: (one[1].start_s, one[1].decides)))

    def _nothing_new(self, node: _Node) -> bool:
        """Tell whether the whole plan, books and safety included, has nothing new that blocks."""
        answer = work_out_plan(self._plan(node.outing), self.ground).answer
        return all(
            (one.code, one.act) in self.before
            for one in answer.findings
            if one.severity == "blocks"
        )

    def _ways_out(self, node: _Node) -> Iterator[Edits]:
        """Yield the changes that mend the first crossing, each by itself."""
        pair, crossing = node.blocked[0]
        out = _WaysOut(self.ground, node, pair, crossing)
        yield from (edits for edits in out.waits() if edits)
        yield from out.other_ways()


class _WaysOut:
    """What mends one crossing of a plan on the clock."""

    def __init__(
        self, ground: Ground, node: _Node, pair: PairOfLines, crossing: LineCrossing
    ) -> None:
        self.ground = ground
        self.node = node
        self.pair = pair
        self.crossing = crossing
        self.schedule = node.on_clock.schedule
        self.order = SureOrder(self.schedule)

    def waits(self) -> Iterator[Edits]:
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
        taken = {act.id for act in self.node.outing.acts} | {g.id for g in self.node.outing.gates}
        free = (one for n in itertools.count(1) if (one := f"line-wait-{n}") not in taken)
        return next(itertools.islice(free, skip, None))

    def other_ways(self) -> Iterator[Edits]:
        for which in (0, 1):
            whole = self._whole(which)
            trip = self.node.on_clock.leg.trips.get(whole.laid_in)
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
        planned = next(one for one in self.node.outing.people if one.id == trip.person)
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
