"""The get-aheads that are worth most in the time left, each set of them really planned."""

from collections.abc import Collection
from math import isfinite
from typing import Final

from routing.outings.choosing.errand_order import ErrandOrder
from routing.outings.choosing.get_ahead_records import GetAheadChoice, GetAheadRow
from routing.outings.choosing.least_lengths import LeastLengths, act_seconds, least_budgets_s
from routing.outings.choosing.subset_search import Group, Groups, most_worth
from routing.outings.clock.activity_plan import ActivityPlan, outside, plan_activities
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import MINUTE_S
from routing.outings.plan import PlannedOuting, put_on_clock, work_out_plan
from routing.outings.plan_file.records import Outing
from routing.outings.told.times_said import duration
from routing.outings.translations import Ground

__all__ = ["MOST_PLANS", "choose_get_aheads"]

MOST_PLANS: Final = 300
"""So many sets are planned at most [about a second each on a station]."""


def choose_get_aheads(
    outing: Outing,
    ground: Ground,
    *,
    always: Collection[str] = (),
    arrange: bool = False,
    most_plans: int = MOST_PLANS,
) -> GetAheadChoice:
    """Return the get-aheads of a plan that are worth most while the plan stays clean.

    Every set that is not ruled out by a bound is planned: ways, tethers, clock, books
    and safety over time. Of sets worth the same the one with the shortest outing is
    taken, then the one whose get-aheads come first in the plan.

    Parameters
    ----------
    always
        Ids of get-aheads that are done in any case.
    arrange
        Whether the errands of the plan may be done in any order, by anybody who may: then a set
        can be planned if any order and split of its errands can.
    most_plans
        After so many the best set so far is returned, with what a better one could be worth.

    Returns
    -------
    GetAheadChoice
        Without those done in any case. Nothing is chosen where the plan without any is not
        clean: then ``reason`` says so.
    """
    return _Choice(outing, ground, frozenset(always), arrange=arrange).choice(most_plans)


class _Choice:
    def __init__(
        self, outing: Outing, ground: Ground, always: frozenset[str], *, arrange: bool
    ) -> None:
        self.outing = outing
        self.arrange = arrange
        self.fixed = outing
        """The plan without what may be done by anybody, at any time."""
        if arrange:
            acts = tuple(act for act in outing.acts if act.errand is None)
            self.fixed = outing.model_copy(update={"acts": acts})
        self.given_up = 0.0
        """The most worth of the sets of which no arrangement was found, and none was ruled out."""
        self.ground = ground
        self.always = always
        self.free = tuple(one for one in outing.get_aheads if one.id not in always)
        self.least = LeastLengths(ground)
        limits = outing.outing_limits
        self.limit_s = MINUTE_S * min(limits.planned_min, limits.consumables_min)
        self._planned: dict[tuple[str, ...], PlannedOuting] = {}

    def choice(self, most_plans: int) -> GetAheadChoice:
        if not self.free:
            return self._record((), 0.0, 0.0, (0, 0), "the plan has no get-aheads to choose from")
        self.plan(())
        without = self.planned(())
        if not without.answer.clean:
            return self._record(
                (), 0.0, 0.0, (1, 0), "the plan without them is not clean; mend that first"
            )
        groups = [
            Group(id=one.id, worth=(one.worth,), takes_s=self._takes_s(one.id)) for one in self.free
        ]
        budgets_s = least_budgets_s(self._least_acts(()), self.least)
        if self.arrange:
            always = sum(act_seconds(act) for act in without.plan.acts if act.errand is not None)
            budgets_s = (*budgets_s, sum(budgets_s) - always)
        found = most_worth(
            Groups(groups=groups, budgets_s=budgets_s, fits=self.fits, plan=self.plan), most_plans
        )
        chosen = found.chosen or ()
        worth, at_most = sum(found.worth), max(sum(found.at_most), self.given_up)
        return self._record(chosen, worth, at_most, (found.planned, found.ruled_out))

    def _takes_s(self, get_ahead: str) -> tuple[float, ...]:
        acts = [act for act in self.outing.acts if act.spare == get_ahead]
        bound = [act for act in acts if not self.arrange or act.errand is None]
        takes_s = tuple(
            sum(act_seconds(act) for act in bound if person.id in outside(act))
            for person in self.outing.people
        )
        together_s = sum(act_seconds(act) * len(outside(act)) for act in acts)
        return (*takes_s, together_s) if self.arrange else takes_s

    def fits(self, chosen: tuple[str, ...]) -> bool:
        return self.least.total_s(self._least_acts(chosen)) <= self.limit_s + SLACK_ZERO_S

    def plan(self, chosen: tuple[str, ...]) -> tuple[float, None] | None:
        """Plan a set; only where its length is within the limits the books and the rest too."""
        if self.arrange and chosen not in self._planned:
            order = ErrandOrder(self.outing, self.ground, self.always.union(chosen))
            best = order.best(cutoff_s=self.limit_s)
            if best.answer is None:
                if isfinite(best.at_least_s):
                    worth = sum(one.worth for one in self.free if one.id in chosen)
                    self.given_up = max(self.given_up, worth)
                return None
            self._planned[chosen] = best.answer
        if chosen not in self._planned:
            total_s = put_on_clock(self._acts(chosen), self.ground).total_s
            if total_s > self.limit_s + SLACK_ZERO_S:
                return None
        answer = self.planned(chosen).answer
        return (answer.totals.total_s, None) if answer.clean else None

    def planned(self, chosen: tuple[str, ...]) -> PlannedOuting:
        if chosen not in self._planned:
            self._planned[chosen] = work_out_plan(self._acts(chosen), self.ground)
        return self._planned[chosen]

    def _least_acts(self, chosen: tuple[str, ...]) -> ActivityPlan:
        """Return the acts that every arrangement of a set has, in this order."""
        return plan_activities(self.fixed, self.always.union(chosen))

    def _acts(self, chosen: tuple[str, ...]) -> ActivityPlan:
        return plan_activities(self.outing, self.always.union(chosen))

    def _record(
        self,
        chosen: tuple[str, ...],
        worth: float,
        at_most: float,
        counts: tuple[int, int],
        reason: str = "",
    ) -> GetAheadChoice:
        return GetAheadChoice(
            chosen=chosen,
            worth=worth,
            worth_at_most=at_most,
            proven=at_most <= worth and not reason,
            plans=counts[0],
            ruled_out=counts[1],
            rows=() if reason else tuple(self._row(one.id, chosen) for one in self.free),
            reason=reason,
        )

    def _row(self, one: str, chosen: tuple[str, ...]) -> GetAheadRow:
        get_ahead = next(known for known in self.free if known.id == one)
        order = [known.id for known in self.free]
        others = tuple(known for known in chosen if known != one)
        both = tuple(sorted((*others, one), key=order.index))
        longer_s = self._total_s(both) - self._total_s(others)
        return GetAheadRow(
            id=one,
            name=get_ahead.name,
            worth=get_ahead.worth,
            chosen=one in chosen,
            longer_s=longer_s if isfinite(longer_s) else None,
            why_not="" if one in chosen else _against(self.planned(both)),
        )

    def _total_s(self, chosen: tuple[str, ...]) -> float:
        totals = self.planned(chosen).answer.totals
        return float("inf") if totals.ways_missing else totals.total_s


def _against(planned: PlannedOuting) -> str:
    """Say what blocks a plan, the worst first."""
    answer = planned.answer
    blocking = [one for one in answer.findings if one.severity == "blocks"]
    over = [one for one in blocking if one.code in {"over-planned-length", "over-consumables"}]
    for one in (*over, *blocking):
        return one.message
    return f"nothing: with it the outing takes {duration(answer.totals.total_s)}"
