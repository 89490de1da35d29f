"""The exact search for routes on safety tethers that go by via sites in order.

See `find_via_path` for why it is exact.
"""

from collections.abc import Collection, Mapping, Sequence
from heapq import heappop, heappush
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.stack import TetherState, retreats
from routing.paths.tethers.via_excursions import (
    Action,
    Excursions,
    Hulls,
    LabelBudget,
    find_excursions,
)
from routing.paths.tethers.via_walk import follow_actions
from structures.frozen import frozen

__all__ = ["ViaAnswer", "find_via_path"]

_SHRINK: Final = 1 - 1e-12
"""Bounds are taken down by this much, far more than rounding can have added."""


@frozen(kw_only=True)
class ViaAnswer:
    """What the search found out."""

    path: TetheredPath | None
    """The least-cost path that costs less than the upper bound, None if there is none."""
    via_at: tuple[int, ...]
    """Place in the path's nodes at which each via site is met."""
    lower: float
    """No path costs less than this; infinite where there is none below the upper bound."""
    proven: bool
    """Whether nothing cheaper than the path (or, without one, the upper bound) is possible."""
    labels: int


def find_via_path(
    problem: TetherProblem,
    vias: Sequence[Collection[int]],
    goals: Collection[int],
    *,
    upper: float = float("inf"),
    most_labels: int,
) -> ViaAnswer:
    """Return the least-cost path by way of via sites to a goal, under the tether rules.

    Parameters
    ----------
    vias
        Grips of each via site, in order; a socket is entered only on the leg that
        ends there.
    goals
        Grips at which the path may end.
    upper
        Cost of a path that is known: only cheaper ones are looked for.
    most_labels
        After so many labels the search gives up; then ``proven`` is false.

    Notes
    -----
    Exact because: (1) states that differ by going forward and back form a tree,
    since going back along the lay returns to the state before. (2) A walk in
    that tree goes up the lays it starts with to some highest place, then down
    to its last state, and from every place on this way it makes closed
    excursions that go forward and come back along what they laid. (3) A closed
    excursion changes nothing but seconds and via sites met. What it costs and
    asks for depends on grip, line left and tethers left alone, so labels of
    these at one grip and leg can be compared as in the search without via
    sites. (4) Bounds come from moves free of tethers, and never say too much.
    """
    hulls = _hulls(problem, vias, goals)
    budget = LabelBudget(most_labels)
    excursions = find_excursions(problem, vias, hulls, upper, budget)
    lowest = _lowest(problem, hulls)
    if not excursions.complete:
        return ViaAnswer(
            path=None, via_at=(), lower=min(lowest, upper), proven=False, labels=budget.used
        )
    search = _Search(problem, vias, frozenset(goals), hulls, excursions, upper, budget)
    return search.run()


def _hulls(
    problem: TetherProblem, vias: Sequence[Collection[int]], goals: Collection[int]
) -> Hulls:
    """Bound what it costs to be at each grip on each leg, and what remains, without tethers."""
    network = problem.ground.network
    free = network.with_terminal(np.zeros(len(network), dtype=np.int8))
    forward = [_tree(free, {state.grip: 0.0 for state in problem.starts})]
    for grips in vias:
        forward.append(_tree(free, _costs_at(forward[-1], grips)))
    reverse = free.reverse
    backward = [_tree(reverse, dict.fromkeys(sorted(goals), 0.0))]
    for grips in reversed(vias):
        backward.insert(0, _tree(reverse, _costs_at(backward[0], grips)))
    return Hulls(before=np.array(forward) * _SHRINK, after=np.array(backward) * _SHRINK)


def _tree(network: Network, sources: Mapping[int, float]) -> Floats:
    if not sources:
        return np.full(len(network), np.inf)
    return least_time_tree(network, sources).cost


def _costs_at(costs: Floats, grips: Collection[int]) -> dict[int, float]:
    return {grip: float(costs[grip]) for grip in sorted(grips) if np.isfinite(costs[grip])}


def _lowest(problem: TetherProblem, hulls: Hulls) -> float:
    return min(float(hulls.after[0][state.grip]) for state in problem.starts)


class _Search:
    """The forward search over (leg, grip, cost, line left, tethers left)."""

    def __init__(  # noqa: PLR0913, PLR0917 - made in one place
        self,
        problem: TetherProblem,
        vias: Sequence[Collection[int]],
        goals: frozenset[int],
        hulls: Hulls,
        excursions: Excursions,
        upper: float,
        budget: LabelBudget,
    ) -> None:
        self.problem = problem
        self.vias = [frozenset(grips) for grips in vias]
        self.goals = goals
        self.after = hulls.after.tolist()
        self.excursions = excursions
        self.upper = upper
        self.budget = budget
        self.socket = problem.ground.network.terminal.tolist()
        self.guard = problem.groups.guard
        self.heap: list[tuple[float, int]] = []
        self.labels: list[tuple[int, int, float, float, int, bool]] = []
        """(leg, grip, cost, line left, tethers left, ends)"""
        self.origin: list[tuple[int, tuple[Action, ...] | int]] = []
        """(parent, actions that lead from it) or (-1 - start, actions)."""
        self.kept: dict[tuple[int, int], list[int]] = {}
        self.alive: list[bool] = []
        self.dropped = upper
        """Least bound of a label that was not made for want of labels."""

    def run(self) -> ViaAnswer:
        for number, state in enumerate(self.problem.starts):
            self._start(number, state)
        steps = self.problem.steps.lists
        indptr, head, step_cost = steps.indptr, steps.head, steps.cost
        need, renewed, group, unit = steps.need, steps.renewed, steps.group, steps.unit
        last = len(self.vias)
        while self.heap and self.budget.left >= 0:
            bound, label = heappop(self.heap)
            if not self.alive[label]:
                continue
            leg, grip, cost, slack, left, ends = self.labels[label]
            if leg == last and grip in self.goals:
                return self._answer(label, bound)
            if ends:
                continue
            self._jump(label)
            for step in range(indptr[grip], indptr[grip + 1]):
                slack_after = slack - need[step]
                if slack_after < 0.0:
                    continue
                if group[step]:
                    if not left & group[step] or renewed[step] <= slack:
                        continue
                    made = (Action("take", step),)
                    self._push(
                        leg, grip, cost + step_cost[step], renewed[step], left - unit[step],
                        label, made,
                    )  # fmt: skip
                else:
                    self._move(label, step, head[step], cost + step_cost[step], slack_after)
        stopped = self.budget.left < 0
        left_over = (bound for bound, label in self.heap if self.alive[label])
        lower = min(left_over, default=self.upper)
        return ViaAnswer(
            path=None,
            via_at=(),
            lower=min(lower, self.dropped) if stopped else self.upper,
            proven=not stopped,
            labels=self.budget.used,
        )

    def _start(self, number: int, state: TetherState) -> None:
        """Go back over the lays there are, with excursions on the way, and start forward there."""
        rules, network = self.problem.rules, self.problem.ground.network
        reached: dict[int, tuple[float, tuple[Action, ...]]] = {0: (0.0, ())}
        gone, popped, spent = 0, 0, 0.0
        for place in retreats(state, network, rules.transfer_s):
            pops = len(place.pops) - popped
            backs = len(place.grips) - 1 - gone
            gone, popped = len(place.grips) - 1, len(place.pops)
            step = tuple(Action("pop") for _ in range(pops)) + tuple(
                Action("back") for _ in range(backs)
            )
            extra, spent = place.cost - spent, place.cost
            reached = {leg: (cost + extra, (*done, *step)) for leg, (cost, done) in reached.items()}
            here = place.state
            slack = rules.usable_m(here.stack[-1].tether) - here.payout_m
            left = self.problem.groups.pack(here)
            for leg in range(len(self.vias)):
                if leg not in reached:
                    continue
                cost, done = reached[leg]
                for later, seconds, number_of in self._open(leg, here.grip, slack, left):
                    if later not in reached or cost + seconds < reached[later][0]:
                        actions = tuple(self.excursions.actions(number_of))
                        reached[later] = (cost + seconds, (*done, *actions))
            for leg, (cost, done) in sorted(reached.items()):
                self._push(leg, here.grip, cost, slack, left, -1 - number, done)

    def _open(self, leg: int, grip: int, slack: float, left: int) -> list[tuple[int, float, int]]:
        """Return (later leg, seconds, number) of the excursions that can be made in a state.

        Of those to one leg the first is the cheapest.
        """
        found = []
        for later in range(leg + 1, len(self.vias) + 1):
            for number in self.excursions.at.get((leg, later, grip), ()):
                one = self.excursions.listed[number]
                if one.need_m <= slack and self._has(left, one.tethers):
                    found.append((later, one.seconds, number))
                    break
        return found

    def _has(self, left: int, wanted: int) -> bool:
        return ((left | self.guard) - wanted) & self.guard == self.guard

    def _jump(self, label: int) -> None:
        leg, grip, cost, slack, left, _ = self.labels[label]
        for later, seconds, number in self._open(leg, grip, slack, left):
            self._push(later, grip, cost + seconds, slack, left, label, number)

    def _move(self, label: int, step: int, grip: int, cost: float, slack: float) -> None:
        """Go forward; a socket is entered only where the leg ends, and then the next one begins."""
        leg, _, _, _, left, _ = self.labels[label]
        made = (Action("move", step),)
        if not self.socket[grip]:
            self._push(leg, grip, cost, slack, left, label, made)
        elif leg == len(self.vias):
            if grip in self.goals:
                self._push(leg, grip, cost, slack, left, label, made, ends=True)
        elif grip in self.vias[leg]:
            actions = (*made, Action("advance"))
            self._push(leg + 1, grip, cost, slack, left, label, actions)

    def _push(  # noqa: PLR0913, PLR0917 - the fields of a label
        self,
        leg: int,
        grip: int,
        cost: float,
        slack: float,
        left: int,
        parent: int,
        made: tuple[Action, ...] | int,
        *,
        ends: bool = False,
    ) -> None:
        bound = cost + self.after[leg][grip]
        if bound >= self.upper or slack < 0.0:
            return
        kept = self.kept.setdefault((leg, grip), [])
        still = []
        for other in kept:
            _, _, other_cost, other_slack, other_left, other_ends = self.labels[other]
            if (
                other_cost <= cost
                and other_slack >= slack
                and self._has(other_left, left)
                and (ends or not other_ends)
            ):
                return
            if (
                cost <= other_cost
                and slack >= other_slack
                and self._has(left, other_left)
                and (other_ends or not ends)
            ):
                self.alive[other] = False
            else:
                still.append(other)
        if not self.budget.take():
            self.dropped = min(self.dropped, bound)
            return
        number = len(self.labels)
        still.append(number)
        self.kept[leg, grip] = still
        self.labels.append((leg, grip, cost, slack, left, ends))
        self.origin.append((parent, made))
        self.alive.append(True)
        heappush(self.heap, (bound, number))

    def _answer(self, label: int, bound: float) -> ViaAnswer:
        parts: list[tuple[Action, ...]] = []
        at = label
        while at >= 0:
            parent, made = self.origin[at]
            parts.append(tuple(self.excursions.actions(made)) if isinstance(made, int) else made)
            at = parent
        actions = [action for part in reversed(parts) for action in part]
        path, via_at = follow_actions(self.problem, self.problem.starts[-1 - at], actions)
        return ViaAnswer(
            path=path, via_at=via_at, lower=bound, proven=True, labels=self.budget.used
        )
