"""The best order and split of a plan's errands, each arrangement really planned.

Bounds: a beginning is planned as far as it goes (its ways and tethers are then those of
every arrangement that goes on like this); from there on ways take at least what
`routing.outings.choosing.least_lengths` says. Besides, what is left must be done by somebody: the
people together are busy at least until their work so far, all that is left and the rest of
their acts after it, so the last of them is not done before the average.
"""

from collections.abc import Collection, Sequence
from math import inf, isfinite
from typing import Final

from routing.outings.choosing.arrangement import Arrangement, arranged, as_planned, may_do, pools_of
from routing.outings.choosing.least_lengths import LeastLengths, act_seconds
from routing.outings.choosing.order_records import ErrandRow, OrderChoice
from routing.outings.choosing.order_search import Beginning, Best, Orders, best_order
from routing.outings.clock.activity_plan import ACTS_BEGIN, ActivityPlan, plan_activities, way_id
from routing.outings.clock.schedule import end_s
from routing.outings.plan import OnClock, PlannedOuting, put_on_clock, work_out_plan
from routing.outings.plan_file.records import Act, Outing, OutingPerson
from routing.outings.translations import Ground
from structures.errors import UnknownIdError

__all__ = ["MOST_OPENED", "ErrandOrder", "arrange_errands"]

MOST_OPENED: Final = 20_000
"""So many beginnings are bounded at most [about 20 ms each on a station]."""


def arrange_errands(
    outing: Outing, ground: Ground, get_aheads: Collection[str] = ()
) -> tuple[Outing, OrderChoice]:
    """Return a plan with its errands in the best order, by the best people, and how that is.

    Without an arrangement that is clean the plan is returned as it stands.
    """
    order = ErrandOrder(outing, ground, get_aheads)
    if not order.pools:
        return outing, OrderChoice(
            changed=False, proven=True, opened=0, plans=0, rows=(), reason=_no_errands(outing)
        )
    before = order.plan(order.first, inf)
    found = order.best()
    record = order.record(found, None if before is None else before[0])
    if found.chosen is None:
        return outing, record
    # Errands left out stay in the plan, behind the others: what is asked later may name them.
    return _with_left_out(outing, arranged(outing, order.pools, found.chosen)), record


def _no_errands(outing: Outing) -> str:
    if outing.errands:
        return "all errands of the plan are part of get-aheads that are not planned"
    return "the plan has no errands"


def _with_left_out(outing: Outing, chosen: Outing) -> Outing:
    kept = {act.id for act in chosen.acts}
    rest = tuple(act for act in outing.acts if act.id not in kept)
    return chosen.model_copy(update={"acts": (*chosen.acts, *rest)})


class ErrandOrder:
    """Orders of the errands of one plan; ways that are found serve all of them.

    Parameters
    ----------
    outing, ground
        The plan, and reach graphs and ways of it.
    get_aheads
        Ids of those that are done.
    dropped
        Ids of groups under ``may_drop`` that are not done.
    """

    def __init__(
        self,
        outing: Outing,
        ground: Ground,
        get_aheads: Collection[str] = (),
        dropped: Collection[str] = (),
    ) -> None:
        self.outing = outing
        self.ground = ground
        self.get_aheads, self.dropped = frozenset(get_aheads), frozenset(dropped)
        self.pools = pools_of(outing, get_aheads, dropped)
        self.least = LeastLengths(ground)
        self.people = {one.id: one for one in outing.people}
        self.may = {one: may_do(outing, one) for pool in self.pools for one in pool}
        self.acts_of: dict[str, tuple[Act, ...]] = {
            one: tuple(act for act in outing.acts if act.errand == one) for one in self.may
        }
        # While conditions change, what is in force on a way depends on what comes later too.
        self.steady = not any(act.sets or act.clears for act in outing.acts)
        self.first = as_planned(outing, self.pools)
        self._bounds: dict[tuple[tuple[tuple[str, ...], ...], ...], _Bounded | None] = {}

    def best(self, most_opened: int = MOST_OPENED, cutoff_s: float = inf) -> Best[PlannedOuting]:
        """Return the arrangement with which the outing is shortest, and clean.

        Parameters
        ----------
        most_opened
            After so many beginnings of arrangements the best one so far is returned.
        cutoff_s
            Longer arrangements do not count [s].
        """
        orders = Orders(
            pools=self.pools,
            people=tuple(self.people),
            may=self.may,
            bound=self.bound,
            plan=self.plan,
        )
        return best_order(orders, self.first, most_opened, cutoff_s)

    def acts(self, chosen: Arrangement) -> ActivityPlan | None:
        """Return the plan of an arrangement; None where acts would wait for each other."""
        outing = arranged(self.outing, self.pools, chosen)
        try:
            return plan_activities(outing, self.get_aheads, dropped=self.dropped)
        except ValueError:
            return None

    def plan(self, chosen: Arrangement, below_s: float) -> tuple[float, PlannedOuting] | None:
        """Plan an arrangement; the books and checks only where it is short enough."""
        acts = self.acts(chosen)
        if acts is None:
            return None
        try:
            total_s = put_on_clock(acts, self.ground).total_s
        except UnknownIdError:  # a grip that is there for one person need not be for another
            return None
        if total_s >= below_s:
            return None
        done = work_out_plan(acts, self.ground)
        return (total_s, done) if done.answer.clean else None

    def bound(self, beginning: Beginning) -> float:
        """Return what an arrangement that goes on like this takes at least [s]."""
        known = self._bounded(beginning.pools)
        if known is None:
            return inf
        later = [one for pool in self.pools[len(beginning.pools) :] for one in pool]
        open_people = list(self.people)[beginning.closed :]
        found = [known.total_s]
        if beginning.left:
            found.append(known.shared_s(open_people, beginning.left))
        if beginning.left or later:
            found.append(known.shared_s(list(self.people), beginning.left, later))
        return max(found)

    def _bounded(self, pools: tuple[tuple[tuple[str, ...], ...], ...]) -> "_Bounded | None":
        if pools not in self._bounds:
            self._bounds[pools] = self._bound_of(pools)
        return self._bounds[pools]

    def _bound_of(self, pools: tuple[tuple[tuple[str, ...], ...], ...]) -> "_Bounded | None":
        chosen = tuple(dict(zip(self.people, pool, strict=True)) for pool in pools)
        acts = self.acts(chosen)
        if acts is None:
            return None
        behind = self._behind(len(pools))
        known = None
        if self.steady:
            known = self._beginning(acts, behind)
            if known is None:
                return None
        return _Bounded(self, acts, behind, known)

    def _behind(self, pools: int) -> frozenset[str]:
        """Return the acts that stand behind the pool being filled."""
        pool = set(self.pools[max(0, pools - 1)]) if self.pools else set()
        numbers = [i for i, act in enumerate(self.outing.acts) if act.errand in pool]
        first = 0 if not numbers else numbers[-1] + 1 if pools else numbers[0]
        return frozenset(act.id for act in self.outing.acts[first:])

    def _beginning(self, acts: ActivityPlan, behind: frozenset[str]) -> OnClock | None:
        """Plan what stands before, as it will be; None where a way is missing already."""
        outing = acts.outing
        kept = tuple(act for act in outing.acts if act.id not in behind)
        short = outing.model_copy(update={"acts": kept, "gates": ()})
        plan = plan_activities(short, self.get_aheads, dropped=self.dropped)
        try:
            known = put_on_clock(plan, self.ground)
        except UnknownIdError:
            return None
        return known if isfinite(known.total_s) else None

    def record(self, found: Best[PlannedOuting], total_before_s: float | None) -> OrderChoice:
        """Return what was found as a record."""
        chosen = self.first if found.chosen is None else found.chosen
        before, after = _places(self.first), _places(chosen)
        named = {one.id: one.name for one in self.outing.errands}
        return OrderChoice(
            changed=before != after,
            total_before_s=total_before_s,
            total_s=found.total_s if isfinite(found.total_s) else None,
            at_least_s=found.at_least_s if isfinite(found.at_least_s) else None,
            proven=found.proven,
            opened=found.opened,
            plans=found.planned,
            rows=tuple(
                ErrandRow(
                    id=one,
                    name=named[one],
                    pool=after[one][0],
                    person=after[one][1],
                    place=after[one][2],
                    planned_person=before[one][1],
                    planned_place=before[one][2],
                    acts=tuple(act.id for act in self.acts_of[one]),
                )
                for pool in self.pools
                for one in pool
            ),
        )


def _places(chosen: Arrangement) -> dict[str, tuple[int, str, int]]:
    """Return (pool, person, place) of each errand, counted from 1."""
    return {
        one: (number, person, place)
        for number, pool in enumerate(chosen, start=1)
        for person, errands in pool.items()
        for place, one in enumerate(errands, start=1)
    }


class _Bounded:
    """The least length of one beginning, and what is left before and behind its open places."""

    def __init__(
        self, order: ErrandOrder, plan: ActivityPlan, behind: frozenset[str], known: OnClock | None
    ) -> None:
        self.order = order
        self.plan = plan
        self.behind = behind
        least, network = order.least, plan.network
        times = least.times(plan, known)
        done_s = float(times.finish_s)
        self.after_s = end_s(plan.outing)
        self.total_s = done_s + self.after_s
        self.free_s: dict[str, float] = {}
        """When each person is done with the errands so far."""
        self.rest_s: dict[str, float] = {}
        """What must follow for each person after the way to the next act, that way not counted."""
        self.at: dict[str, str] = {}
        """Where each person is then."""
        self.next: dict[str, Act | None] = {}
        for person in order.people.values():
            acts = plan.acts_of(person.id)
            before = [act for act in acts if act.id not in behind]
            later = [act for act in acts if act.id in behind]
            last = network.index[before[-1].id if before else ACTS_BEGIN]
            self.free_s[person.id] = float(times.earliest_finish_s[last])
            self.at[person.id] = least.end_of(person, before, person.start)
            self.next[person.id] = later[0] if later else None
            # Not from the last errand on: somebody may wait for that, but not for one after it.
            way = network.index[way_id(later[0].id, person.id)] if later else None
            rest_s = 0.0 if way is None else done_s - float(times.latest_finish_s[way])
            self.rest_s[person.id] = rest_s

    def shared_s(
        self, people: Sequence[str], left: Sequence[str], later: Sequence[str] = ()
    ) -> float:
        """Return the least length when these people do what is left among them [s].

        Of errands of later pools only the minutes count: the ways there may be on the way.
        """
        work_s = sum(self._errand_s(one, people, left) for one in left)
        work_s += sum(act_seconds(act) for one in later for act in self.order.acts_of[one])
        if not isfinite(work_s):
            return inf
        busy_s = sum(self.free_s[one] + self._rest_s(one, left) for one in people)
        return (busy_s + work_s) / len(people) + self.after_s

    def _places(self, person: str, left: Sequence[str], without: str = "") -> list[str]:
        """Return where a person may come from: the place now, or the end of any errand left."""
        least, acts_of = self.order.least, self.order.acts_of
        one = self.order.people[person]
        ends = [least.end_of(one, _by(acts_of[e], person), "") for e in left if e != without]
        return [self.at[person], *ends]

    def _errand_s(self, errand: str, people: Sequence[str], left: Sequence[str]) -> float:
        """Return what an errand takes at least, with the way to it [s]."""
        least = self.order.least
        found = [inf]
        for person in people:
            if person not in self.order.may[errand]:
                continue
            one, acts = self.order.people[person], _by(self.order.acts_of[errand], person)
            way_s = min(
                least.first_way_s(one, place, acts[0])
                for place in self._places(person, left, without=errand)
            )
            found.append(way_s + least.acts_s(one, acts))
        return min(found)

    def _rest_s(self, person: str, left: Sequence[str]) -> float:
        """Return what follows for a person at least, from wherever the errands end [s]."""
        following = self.next[person]
        if following is None:
            return self.rest_s[person]
        one: OutingPerson = self.order.people[person]
        places = self._places(person, left)
        return self.rest_s[person] + min(
            self.order.least.first_way_s(one, place, following) for place in places
        )


def _by(acts: Sequence[Act], person: str) -> tuple[Act, ...]:
    return tuple(act.model_copy(update={"who": (person,)}) for act in acts)
