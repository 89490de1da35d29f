"""The set of groups that is worth most and can be planned: branch and bound, best first.

What a set really takes only planning it can tell, and a larger set is not always
harder than a smaller one: a stop on the way may leave tethers better placed. So
nothing is ruled out but by a bound: each person needs at least the minutes of the
acts in a set (a knapsack for each person), and a plan takes at least its least length.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Final, Generic, TypeAlias, TypeVar

__all__ = ["Found", "Group", "Groups", "Worth", "most_worth"]

Worth: TypeAlias = tuple[float, ...]
"""What counts first, then what counts where that is equal, ..."""

Answer = TypeVar("Answer")

WORTH_SAME: Final = 1e-9
"""Sums of worth that differ by less are equal: rounding only."""
_TIME_SAME_S: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Acts that are planned together or not at all.

    Parameters
    ----------
    takes_s
        What they take of each person's time at least [s].
    """

    id: str
    worth: Worth
    takes_s: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Found(Generic[Answer]):
    """The best set, and how far that is proven.

    Parameters
    ----------
    chosen
        Ids of the groups, in the order they were given in; None if no set can be planned.
    at_most
        No set that can be planned is worth more.
    planned
        How many sets were planned.
    ruled_out
        How many sets, or beginnings of sets, the bounds ruled out.
    """

    chosen: tuple[str, ...] | None
    answer: Answer | None
    worth: Worth
    at_most: Worth
    planned: int
    ruled_out: int

    @property
    def proven(self) -> bool:
        """Whether no other set is worth more."""
        return not _more(self.at_most, self.worth)


@dataclass(frozen=True, slots=True, kw_only=True)
class Groups(Generic[Answer]):
    """What is chosen from, and how sets are judged.

    Parameters
    ----------
    groups
        In the plan's order.
    budgets_s
        The time that each person has for them at most [s].
    fits
        Whether a set and all that has more in it may be planned, by a bound of its length.
    plan
        Plan a set: (length [s], answer), or None where it cannot be done as planned.
    """

    groups: Sequence[Group]
    budgets_s: tuple[float, ...]
    fits: Callable[[tuple[str, ...]], bool]
    plan: Callable[[tuple[str, ...]], tuple[float, Answer] | None]


def most_worth(asked: Groups[Answer], most_plans: int) -> Found[Answer]:
    """Return the set of groups that is worth most; of equal ones the shortest, then the first.

    Parameters
    ----------
    most_plans
        After so many plans the best set so far is returned, with what a better one could
        be worth. Without any, groups are then taken one after the other while that goes well.

    Notes
    -----
    Sets are opened in the order of what they can still come to, so the first one that can
    be planned is the best. Those of equal worth are planned too, for the shortest of them.
    """
    return _Search(asked).run(most_plans)


class _Search(Generic[Answer]):
    def __init__(self, asked: Groups[Answer]) -> None:
        self.asked = asked
        self.groups = sorted(asked.groups, key=lambda one: tuple(-w for w in one.worth))
        self.places = {one.id: i for i, one in enumerate(asked.groups)}
        # Deeper first where sets can come to the same: that finishes one before opening more.
        self.waiting: list[tuple[Worth, int, tuple[int, ...]]] = []
        self.planned = 0
        self.ruled_out = 0
        self.best: tuple[tuple[str, ...], float, Answer] | None = None
        self.best_worth = tuple(float("-inf") for _ in self._worth(()))

    def run(self, most_plans: int) -> Found[Answer]:
        self._open(0, ())
        at_most = self.best_worth
        while self.waiting:
            minus, minus_depth, chosen = self.waiting[0]
            depth, could = -minus_depth, tuple(-w for w in minus)
            if self.best is not None and _more(self.best_worth, could):
                break
            if self.planned >= most_plans:
                at_most = could
                if self.best is None:
                    self._one_after_the_other()
                break
            heappop(self.waiting)
            if depth == len(self.groups):
                self._try(chosen)
                continue
            self._open(depth + 1, (*chosen, depth))
            self._open(depth + 1, chosen)
        ids = None if self.best is None else self.best[0]
        return Found(
            chosen=ids,
            answer=None if self.best is None else self.best[2],
            worth=self.best_worth,
            at_most=at_most if _more(at_most, self.best_worth) else self.best_worth,
            planned=self.planned,
            ruled_out=self.ruled_out,
        )

    def _ids(self, chosen: tuple[int, ...]) -> tuple[str, ...]:
        return tuple(sorted((self.groups[i].id for i in chosen), key=self.places.__getitem__))

    def _worth(self, chosen: tuple[int, ...]) -> Worth:
        """Add up what groups are worth; nothing where there are no groups at all."""
        levels = len(self.groups[0].worth) if self.groups else 0
        return tuple(sum(self.groups[i].worth[at] for i in chosen) for at in range(levels))

    def _open(self, depth: int, chosen: tuple[int, ...]) -> None:
        """Put a set on the list whose first ``depth`` groups are decided, unless it cannot fit."""
        left_s = [
            budget_s - sum(self.groups[i].takes_s[person] for i in chosen)
            for person, budget_s in enumerate(self.asked.budgets_s)
        ]
        if min(left_s, default=0.0) < -_TIME_SAME_S or (
            chosen and chosen[-1] == depth - 1 and not self.asked.fits(self._ids(chosen))
        ):
            self.ruled_out += 1
            return
        worth = self._worth(chosen)
        rest = self.groups[depth:]
        could = tuple(
            worth[at]
            + min(
                (_knapsack_bound(rest, at, person, s) for person, s in enumerate(left_s)),
                default=sum(one.worth[at] for one in rest),
            )
            for at in range(len(worth))
        )
        heappush(self.waiting, (tuple(-w for w in could), -depth, chosen))

    def _one_after_the_other(self) -> None:
        """Take each group that can still be planned: an answer where the search gave up."""
        chosen: tuple[int, ...] = ()
        self._try(chosen)
        for i in range(len(self.groups)):
            before = self.best
            if self.asked.fits(self._ids((*chosen, i))):
                self._try((*chosen, i))
            if self.best is not before:
                chosen = (*chosen, i)

    def _try(self, chosen: tuple[int, ...]) -> None:
        ids = self._ids(chosen)
        self.planned += 1
        done = self.asked.plan(ids)
        if done is None:
            return
        length_s, answer = done
        worth = self._worth(chosen)
        numbers = tuple(self.places[one] for one in ids)
        if self.best is not None and not _more(worth, self.best_worth):
            shorter_s = self.best[1] - length_s
            before = numbers < tuple(self.places[one] for one in self.best[0])
            if shorter_s < -_TIME_SAME_S or (shorter_s <= _TIME_SAME_S and not before):
                return
        self.best, self.best_worth = (ids, length_s, answer), worth


def _knapsack_bound(groups: Sequence[Group], level: int, person: int, left_s: float) -> float:
    """Return what groups are worth at most in the time left, the last one in part (Dantzig)."""
    worth = sum(one.worth[level] for one in groups if one.takes_s[person] <= 0)
    paid = [one for one in groups if one.takes_s[person] > 0]
    for one in sorted(paid, key=lambda one: -one.worth[level] / one.takes_s[person]):
        share = min(1.0, max(0.0, left_s) / one.takes_s[person])
        worth += share * one.worth[level]
        left_s -= one.takes_s[person]
        if share < 1.0:
            break
    return worth


def _more(one: Worth, other: Worth) -> bool:
    """Tell whether a worth is more than another one, beyond rounding."""
    for a, b in zip(one, other, strict=True):
        if abs(a - b) > WORTH_SAME:
            return a > b
    return False
