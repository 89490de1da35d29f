"""What to drop when time is lost: the set that loses the least worth, each set really planned."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import isfinite
from typing import Final

from routing.errors import RoutingError
from routing.outings.choosing.late_records import (
    BrokenLimit,
    DropKind,
    DropMiss,
    DropRow,
    TimeLost,
    WorthLost,
)
from routing.outings.choosing.least_lengths import LeastLengths, act_seconds, least_budgets_s
from routing.outings.choosing.subset_search import Found, Group, Groups, most_worth
from routing.outings.clock.activity_plan import (
    ACTS_BEGIN,
    ActivityPlan,
    outside,
    plan_activities,
    waits_for_left_out,
    way_id,
)
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import MINUTE_S
from routing.outings.plan import OnClock, PlannedOuting, put_on_clock, work_out_plan
from routing.outings.plan_file.records import Act, OptionalWork, Outing
from routing.outings.told.results import OutingAnswer, OutingFinding
from routing.outings.translations import Ground
from routing.paths.answers.results import InputDigest
from structures.near_names import near_names

__all__ = ["DROP_RULE", "Late", "LossError", "plan_late"]

DROP_RULE: Final = (
    "dropped is what loses the least worth of all that makes the plan clean again, get-aheads "
    "before any group under may_drop; what has begun stays, nothing goes that something else "
    "needs or waits for, and of equal worth the shorter outing counts"
)

_MOST_PLANS: Final = 300
_MISSES_SAID: Final = 3
_LINES_TANGLE: Final = frozenset({"lines-tangle", "lines-may-tangle"})


class LossError(RoutingError, ValueError):
    """What is said to be lost is nothing that a plan can lose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Late:
    """How much is lost, and where.

    Parameters
    ----------
    seconds
        How much longer it takes [s].
    act
        The act that takes longer; None: everything begins later.

    Raises
    ------
    LossError
        The time is not a finite number, or negative.
    """

    seconds: float
    act: str | None = None

    def __post_init__(self) -> None:
        if not isfinite(self.seconds) or self.seconds < 0:
            raise LossError(
                f"a loss of {self.seconds:g} s; give the seconds that are lost, 0 or more"
            )

    @property
    def lost_s(self) -> dict[str, float]:
        """The loss by activity [s]."""
        return {self.act or ACTS_BEGIN: self.seconds}


def plan_late(
    outing: Outing,
    ground: Ground,
    late: Late,
    *,
    get_aheads: Collection[str] = (),
    inputs: tuple[InputDigest, ...] = (),
    most_plans: int = _MOST_PLANS,
) -> PlannedOuting:
    """Plan an outing with time lost, and with what is dropped for that by `DROP_RULE`.

    Parameters
    ----------
    get_aheads
        Ids of those that are planned.
    most_plans
        After so many plans the best set so far is taken, and the answer says what is not proven.

    Returns
    -------
    PlannedOuting
        With ``time_lost`` in its answer. Where no set is enough, or the plan was not clean
        before, nothing is dropped, and the answer is not clean.

    Raises
    ------
    LossError
        The loss is at a gate, at what is no act, or at an act that is not planned.
    """
    _check_place(outing, late, get_aheads)
    return _Dropping(outing, ground, late, frozenset(get_aheads)).planned(inputs, most_plans)


def _check_place(outing: Outing, late: Late, get_aheads: Collection[str]) -> None:
    """Refuse a loss where the plan has no act that could take longer."""
    acts = {act.id: act for act in outing.acts}
    if late.act is None:
        return
    gate = next((one for one in outing.gates if one.id == late.act), None)
    if gate is not None:
        raise LossError(
            f"{late.act!r} is a gate, which takes no time itself; name the act that takes "
            f"longer, for instance one that it needs: {', '.join(gate.needs)}"
        )
    if late.act not in acts:
        raise LossError(f"no act has the id {late.act!r}; {near_names(late.act, acts)}")
    spare = acts[late.act].spare
    if spare is not None and spare not in get_aheads:
        raise LossError(
            f"{late.act!r} is part of the get-ahead {spare}, which is not planned; plan that "
            "too, or name an act that is planned"
        )


class _Dropping:
    def __init__(
        self, outing: Outing, ground: Ground, late: Late, get_aheads: frozenset[str]
    ) -> None:
        self.outing = outing
        self.ground = ground
        self.late = late
        self.get_aheads = get_aheads
        self.least = LeastLengths(ground)
        limits = outing.outing_limits
        self.limit_s = MINUTE_S * min(limits.planned_min, limits.consumables_min)
        self.before = work_out_plan(plan_activities(outing, get_aheads), ground)
        self.nothing = put_on_clock(self._acts(None), ground)
        self.shows_s = self.nothing.schedule.end_s(late.act or ACTS_BEGIN) - late.seconds
        self.kinds: dict[str, DropKind] = {
            **{one.id: "get-ahead" for one in outing.get_aheads if one.id in get_aheads},
            **{one.id: "may be dropped" for one in outing.may_drop},
        }
        optional: tuple[OptionalWork, ...] = (*outing.get_aheads, *outing.may_drop)
        self.named = {one.id: one for one in optional}
        self.free = tuple(one for one in self.kinds if not self._begun(one))
        self.missed: dict[tuple[str, ...], DropMiss] = {}

    def _acts(self, kept: Collection[str] | None) -> ActivityPlan:
        """Return the plan with the loss and only some groups kept of those that may go."""
        dropped = [] if kept is None else [one for one in self.free if one not in kept]
        return plan_activities(
            self.outing,
            self.get_aheads.difference(dropped),
            dropped=[one.id for one in self.outing.may_drop if one.id in dropped],
            lost_s=self.late.lost_s,
        )

    def _of(self, group: str) -> tuple[Act, ...]:
        return tuple(act for act in self.outing.acts if group in (act.spare, act.may_drop))

    def _begun(self, group: str) -> bool:
        """Tell whether anything of a group has begun when the loss shows, ways included."""
        clock = self.nothing.schedule
        starts_s = [clock.start_s(act.id) for act in self._of(group)]
        starts_s += [
            clock.start_s(way_id(act.id, one)) for act in self._of(group) for one in outside(act)
        ]
        return min(starts_s, default=self.shows_s) < self.shows_s - SLACK_ZERO_S

    def planned(self, inputs: tuple[InputDigest, ...], most_plans: int) -> PlannedOuting:
        if not self.before.answer.clean:
            reason = "the plan is not clean without the loss either; mend that first"
            return self._with(None, inputs, reason)
        groups = [
            Group(id=one, worth=self._worth_of(one), takes_s=self._takes_s(one))
            for one in self.free
        ]
        budgets_s = least_budgets_s(self._acts(()), self.least)
        found = most_worth(
            Groups(groups=groups, budgets_s=budgets_s, fits=self.fits, plan=self.plan), most_plans
        )
        return self._with(found, inputs)

    def _worth_of(self, group: str) -> tuple[float, float]:
        worth = self.named[group].worth
        return (worth, 0.0) if self.kinds[group] == "may be dropped" else (0.0, worth)

    def _takes_s(self, group: str) -> tuple[float, ...]:
        return tuple(
            sum(act_seconds(act) for act in self._of(group) if person.id in outside(act))
            for person in self.outing.people
        )

    def fits(self, kept: tuple[str, ...]) -> bool:
        return self.least.total_s(self._acts(kept)) <= self.limit_s + SLACK_ZERO_S

    def plan(self, kept: tuple[str, ...]) -> tuple[float, None] | None:
        """Plan a set that is kept; None where that cannot be done from what has begun."""
        acts = self._acts(kept)
        if waits_for_left_out(acts):
            return None
        on_clock = put_on_clock(acts, self.ground)
        if on_clock.total_s > self.limit_s + SLACK_ZERO_S or not self._same_past(on_clock):
            return None
        answer = work_out_plan(acts, self.ground).answer
        if not answer.clean:
            self.missed[kept] = self._miss(kept, answer)
            return None
        return (answer.totals.total_s, None)

    def _miss(self, kept: tuple[str, ...], answer: OutingAnswer) -> DropMiss:
        """Return what is in the way of a set that is in time."""
        broken = tuple(_broken(one) for one in answer.findings if one.severity == "blocks")
        return DropMiss(
            dropped=tuple(one for one in self.free if one not in kept),
            worth_lost=self._lost(kept),
            total_s=answer.totals.total_s,
            ways_missing=answer.totals.ways_missing,
            broken=broken,
            lines_only=all(one.code in _LINES_TANGLE for one in broken),
        )

    def _best_misses(self) -> tuple[DropMiss, ...]:
        def rank(one: DropMiss) -> tuple[bool, float, float, float, tuple[str, ...]]:
            lost = one.worth_lost
            return (not one.lines_only, lost.may_drop, lost.get_aheads, one.total_s, one.dropped)

        said: list[DropMiss] = []
        for one in sorted(self.missed.values(), key=rank):
            if not any(_as_good(other, one) for other in said):
                said.append(one)
        return tuple(said[:_MISSES_SAID])

    def _same_past(self, plan: OnClock) -> bool:
        """Tell whether all that has begun when the loss shows is as it was."""
        before, after = self.nothing, plan
        for one in after.plan.network.ids:
            start_s = before.schedule.start_s(one)
            if start_s >= self.shows_s - SLACK_ZERO_S:
                continue
            if abs(after.schedule.start_s(one) - start_s) > SLACK_ZERO_S:
                return False
            ways = [leg.leg.trips.get(one) for leg in (before, after)]
            courses = [None if way is None else way.course for way in ways]
            if (courses[0] is None) != (courses[1] is None):
                return False
            if courses[0] and courses[1] and courses[0].grips != courses[1].grips:
                return False
        return True

    def _with(
        self,
        found: Found[None] | None,
        inputs: tuple[InputDigest, ...],
        reason: str = "",
    ) -> PlannedOuting:
        enough = found is not None and found.chosen is not None
        kept = found.chosen if found is not None and found.chosen is not None else self.free
        done = work_out_plan(self._acts(kept), self.ground, inputs=inputs)
        dropped = tuple(one for one in self.free if one not in kept)
        late = work_out_plan(self._acts(None), self.ground).answer if dropped else done.answer
        was = {(one.code, one.act, one.elements) for one in self.before.answer.findings}
        record = TimeLost(
            minutes=self.late.seconds / MINUTE_S,
            at=self.late.act,
            shows_s=self.shows_s,
            total_before_s=self.before.answer.totals.total_s,
            total_late_s=late.totals.total_s,
            total_s=done.answer.totals.total_s,
            missing_before=self.before.answer.totals.ways_missing,
            missing_late=late.totals.ways_missing,
            missing=done.answer.totals.ways_missing,
            broken=tuple(
                _broken(one)
                for one in late.findings
                if one.severity == "blocks" and (one.code, one.act, one.elements) not in was
            ),
            dropped=dropped,
            worth_lost=self._lost(kept),
            worth_lost_at_least=self._lost_at_least(found, kept),
            proven=found is not None and found.proven,
            enough=enough,
            at_least_s=None if enough or reason else self._at_least_s(),
            misses=() if enough or reason else self._best_misses(),
            rule=DROP_RULE,
            plans=0 if found is None else found.planned,
            ruled_out=0 if found is None else found.ruled_out,
            rows=tuple(self._row(one, dropped) for one in self.kinds),
            reason=reason,
        )
        answer = replace(done.answer, time_lost=record)
        return replace(done, answer=answer)

    def _all(self) -> tuple[float, float]:
        worths = [self._worth_of(one) for one in self.free]
        return sum(one[0] for one in worths), sum(one[1] for one in worths)

    def _lost(self, kept: Sequence[str]) -> WorthLost:
        worths = [self._worth_of(one) for one in self.free if one not in kept]
        return WorthLost(
            may_drop=sum(one[0] for one in worths), get_aheads=sum(one[1] for one in worths)
        )

    def _lost_at_least(self, found: Found[None] | None, kept: Sequence[str]) -> WorthLost:
        if found is None or found.chosen is None or found.proven:
            return self._lost(kept)
        whole = self._all()
        return WorthLost(
            may_drop=whole[0] - found.at_most[0], get_aheads=whole[1] - found.at_most[1]
        )

    def _at_least_s(self) -> float | None:
        total_s = self.least.total_s(self._acts(()))
        return total_s if isfinite(total_s) else None

    def _row(self, group: str, dropped: tuple[str, ...]) -> DropRow:
        return DropRow(
            id=group,
            name=self.named[group].name,
            kind=self.kinds[group],
            worth=self.named[group].worth,
            acts=tuple(act.id for act in self._of(group)),
            dropped=group in dropped,
            begun=group not in self.free,
        )


def _as_good(one: DropMiss, other: DropMiss) -> bool:
    """Tell whether a set drops less than another one, and no more is in its way."""
    left = [{(two.code, two.act) for two in miss.broken} for miss in (one, other)]
    return set(one.dropped) <= set(other.dropped) and left[0] <= left[1]


def _broken(one: OutingFinding) -> BrokenLimit:
    return BrokenLimit(code=one.code, act=one.act, at_s=one.at_s, message=one.message)
