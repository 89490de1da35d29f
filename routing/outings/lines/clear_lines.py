"""The cheapest change to a plan that keeps two people's lines from tangling.

Best first over changes of the plan: waits and other ways, as `ways_out` finds them for
the first crossing that is left. Every change is one that can be written into the plan,
and every plan is planned again.
"""

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from math import inf
from typing import Final

from routing.outings.clock.activity_plan import ActivityPlan, plan_activities
from routing.outings.lines.crossings import LineCrossing
from routing.outings.lines.records import LinesCleared, PlanEdit
from routing.outings.lines.watch import PairOfLines, pairs_of_lines
from routing.outings.lines.ways_out import Edits, WaysOut
from routing.outings.plan import OnClock, PlannedOuting, put_on_clock, work_out_plan
from routing.outings.plan_file.records import Act, Outing
from routing.outings.safety.moments import moments_of
from routing.outings.translations import Ground

__all__ = ["MOST_PLANS", "clear_lines", "with_edits"]

MOST_PLANS: Final = 60
"""So many changed plans are looked at [about half a second each on a station]."""


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
        before = self.planned.answer.totals
        return LinesCleared(
            found=node is not None,
            edits=() if node is None else node.edits,
            total_s=None if node is None else node.on_clock.total_s,
            longer_s=None
            if node is None or before.ways_missing
            else node.on_clock.total_s - before.total_s,
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
        out = WaysOut(self.ground, node.on_clock, pair, crossing)
        yield from (edits for edits in out.waits() if edits)
        yield from out.other_ways()
