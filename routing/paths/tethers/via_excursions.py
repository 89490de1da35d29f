"""Excursions: out to via sites and back along the very line that was laid on the way.

Whoever leaves a place, meets via sites and comes back along the lay is in the
same state as before: same grip, same line out, same tethers. So an excursion
is a closed walk that costs seconds and asks for line and tethers, but uses
nothing up. Which ones are worth making depends on the place alone; they are
found backwards from the via sites, once for the whole search.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from heapq import heappop, heappush
from typing import Final, NamedTuple

import numpy as np

from routing.graph.reach_graph import Floats
from routing.paths.search.arrays import Network
from routing.paths.tethers.problem import TetherProblem

__all__ = ["Action", "Excursion", "Excursions", "LabelBudget", "find_excursions"]


class Action(NamedTuple):
    """One thing a person does on a walk with via sites."""

    kind: str
    """move, take, back, pop or advance (the via site is met here)."""
    step: int = -1
    """Step of the problem's steps, for move and take."""


class Excursion(NamedTuple):
    """One closed walk from a grip that meets via sites on the way."""

    seconds: float
    need_m: float
    """Line that must be left at the grip."""
    tethers: int
    """Tethers that must be there to be taken, packed."""


@dataclass(slots=True)
class LabelBudget:
    """How many labels a search may still make; it says so where it stops for want of them."""

    left: int
    used: int = 0

    def take(self) -> bool:
        """Take one, and tell whether there was one."""
        self.used += 1
        self.left -= 1
        return self.left >= 0


_BASE: Final = -1
_JOIN: Final = -2
_FREE: Final = 1
"""Begins with the via site at the grip itself: a socket may be entered for it."""


@dataclass(slots=True, eq=False)
class Excursions:
    """The excursions worth making from each grip.

    ``at[leg, later, grip]`` are the numbers of those that begin on a leg and
    end on a later one, in order of seconds.
    """

    listed: list[Excursion] = field(default_factory=list)
    made_of: list[tuple[int, int, int]] = field(default_factory=list)
    """(step, inner, -) or (join, first, second) or (base, -, -)."""
    at: dict[tuple[int, int, int], list[int]] = field(default_factory=dict)
    complete: bool = True
    """Whether none is missing for want of labels."""

    def actions(self, number: int) -> list[Action]:
        """Return what is done on one excursion, in order."""
        done: list[Action] = []
        todo: list[Action | int] = [number]
        while todo:
            top = todo.pop()
            if isinstance(top, Action):
                done.append(top)
                continue
            step, first, second = self.made_of[top]
            if step == _BASE:
                done.append(Action("advance"))
            elif step == _JOIN:
                todo += [second, first]
            else:
                out, home = ("move", "back") if second == 0 else ("take", "pop")
                todo += [Action(home), first, Action(out, step)]
        return done


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hulls:
    """Lower bounds by leg and grip, each shape (legs, n) [s]."""

    before: Floats
    """Least cost at which one can be there at all."""
    after: Floats
    """Least cost that then remains."""


def find_excursions(  # noqa: C901, PLR0912, PLR0915 - one loop over labels
    problem: TetherProblem,
    vias: Sequence[Collection[int]],
    hulls: Hulls,
    upper: float,
    budget: LabelBudget,
) -> Excursions:
    """Find every excursion that can be part of a walk cheaper than ``upper``.

    Labels (seconds, line needed, tethers needed) of each (leg, later leg, grip)
    are settled in order of seconds; one is useless if another asks for no more
    of anything. Excursions grow backwards over a move, over a transfer, and by
    doing one after the other from the same grip.

    Parameters
    ----------
    vias
        Grips of each via site, in order.
    hulls
        What costs at least to be somewhere, and to go on from there.
    upper
        Only walks that cost less are of interest.
    budget
        Labels that may be made; without more the excursions are not complete.
    """
    network, steps, groups = problem.ground.network, problem.steps, problem.groups
    into = _moves_into(network)
    cost, way = network.cost.tolist(), problem.ground.way_m.tolist()
    back = _cost_back(network)
    takes = _takes(problem)
    step_of = _step_of_move(problem)
    socket = network.terminal.tolist()
    before, after = hulls.before.tolist(), hulls.after.tolist()
    longest_m = max(problem.rules.usable_m(t) for t in range(len(problem.rules.tethers)))
    guard, fields = groups.guard, groups.field
    double_transfer = 2 * problem.rules.transfer_s
    renewed, need_of = steps.lists.renewed, steps.lists.need
    group_of, unit_of = steps.lists.group, steps.lists.unit
    found = Excursions()
    settled: dict[tuple[int, int, int], list[tuple[float, int, int, int]]] = {}
    heap: list[tuple[float, int, int, int, int, float, int, int, tuple[int, int, int]]] = []
    pushed = 0

    def useless(key: tuple[int, int, int], need_m: float, tethers: int, free: int) -> bool:
        return any(
            other_m <= need_m
            and ((tethers | guard) - others) & guard == guard
            and other_free >= free
            for other_m, others, other_free, _ in settled.get(key, ())
        )

    def push(
        leg: int, later: int, grip: int, label: Excursion, free: int, made: tuple[int, int, int]
    ) -> None:
        nonlocal pushed
        if before[leg][grip] + label.seconds + after[later][grip] >= upper:
            return
        if label.need_m > longest_m or useless(
            (leg, later, grip), label.need_m, label.tethers, free
        ):
            return
        if not budget.take():
            found.complete = False
            return
        entry = (label.seconds, pushed, leg, later, grip, label.need_m, label.tethers, free, made)
        heappush(heap, entry)
        pushed += 1

    for leg, grips in enumerate(vias):
        for grip in sorted(grips):
            push(leg, leg + 1, grip, Excursion(0.0, 0.0, 0), _FREE, (_BASE, -1, -1))
    while heap and found.complete:
        seconds, _, leg, later, grip, need_m, tethers, free, made = heappop(heap)
        if useless((leg, later, grip), need_m, tethers, free):
            continue
        number = len(found.listed)
        found.listed.append(Excursion(seconds, need_m, tethers))
        found.made_of.append(made)
        settled.setdefault((leg, later, grip), []).append((need_m, tethers, free, number))
        found.at.setdefault((leg, later, grip), []).append(number)
        inside = not socket[grip] or free
        if inside:
            for move, tail in into[grip]:
                if back[move] is not None:
                    label = Excursion(
                        seconds + cost[move] + back[move], need_m + way[move], tethers
                    )
                    push(leg, later, tail, label, 1 - socket[tail], (step_of[move], number, 0))
        for step in takes.get(grip, ()):
            if need_m > renewed[step]:
                continue
            if (tethers & group_of[step]) == group_of[step]:
                continue  # more than there are of that group
            label = Excursion(seconds + double_transfer, need_of[step], tethers + unit_of[step])
            push(leg, later, grip, label, 1 - socket[grip], (step, number, 1))
        for end in range(later + 1, len(vias) + 1):
            for other_m, others, _, other in list(settled.get((later, end, grip), ())):
                label = Excursion(
                    seconds + found.listed[other].seconds,
                    max(need_m, other_m),
                    _most(tethers, others, fields),
                )
                push(leg, end, grip, label, free, (_JOIN, number, other))
        for begin in range(leg):
            for other_m, others, other_free, other in list(settled.get((begin, leg, grip), ())):
                label = Excursion(
                    seconds + found.listed[other].seconds,
                    max(need_m, other_m),
                    _most(tethers, others, fields),
                )
                push(begin, later, grip, label, other_free, (_JOIN, other, number))
    return found


def _most(one: int, other: int, fields: Sequence[tuple[int, int]]) -> int:
    """Return the larger number of tethers of each group: both are put back in between."""
    return sum(max(one & mask, other & mask) for _, mask in fields)


def _moves_into(network: Network) -> list[list[tuple[int, int]]]:
    """Return for each node the (move, tail) of each move into it, tails ascending."""
    into: list[list[tuple[int, int]]] = [[] for _ in range(len(network))]
    for move, (tail, head) in enumerate(
        zip(network.tail.tolist(), network.head.tolist(), strict=True)
    ):
        into[head].append((move, tail))
    return into


def _cost_back(network: Network) -> list[float | None]:
    """Return for each move the cost of the move the other way round, None if there is none."""
    cheapest: dict[tuple[int, int], float] = {}
    tails, heads = network.tail.tolist(), network.head.tolist()
    for tail, head, cost in zip(tails, heads, network.cost.tolist(), strict=True):
        cheapest[tail, head] = min(cost, cheapest.get((tail, head), cost))
    return [cheapest.get((head, tail)) for tail, head in zip(tails, heads, strict=True)]


def _takes(problem: TetherProblem) -> dict[int, list[int]]:
    """Return for each grip the steps that take another tether there."""
    steps = problem.steps
    found: dict[int, list[int]] = {}
    for step in np.flatnonzero(steps.hook >= 0).tolist():
        found.setdefault(int(steps.arrays.head[step]), []).append(step)
    return found


def _step_of_move(problem: TetherProblem) -> list[int]:
    """Return the step that stands for each move."""
    moves = problem.steps.move
    steps = np.flatnonzero(moves >= 0)
    order: list[int] = steps[np.argsort(moves[steps], kind="stable")].tolist()
    return order
