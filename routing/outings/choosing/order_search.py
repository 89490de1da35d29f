"""The best order and split of errands between people: branch and bound, best first.

An arrangement is built pool by pool, in each pool person by person: the next errand
of a person is appended, or the person has all of theirs. So every order and split
comes up once. A beginning is followed only while its bound is below the best
arrangement that was really planned.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count
from math import inf
from typing import Final, Generic, TypeVar

from routing.outings.choosing.arrangement import Arrangement, Pool

__all__ = ["Beginning", "Best", "Orders", "best_order"]

Answer = TypeVar("Answer")

SAME_S: Final = 1e-6
"""Lengths that differ by less are equal: rounding only [s]."""


@dataclass(frozen=True, slots=True)
class Beginning:
    """An arrangement that is begun.

    Parameters
    ----------
    pools
        For each pool up to the one being filled what each person does, in order.
    closed
        How many people have all of their errands of that pool.
    left
        Errands of it that nobody has yet, in the plan's order.
    """

    pools: tuple[tuple[tuple[str, ...], ...], ...]
    closed: int
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Orders(Generic[Answer]):
    """What is arranged, and how arrangements are judged.

    Parameters
    ----------
    people
        Ids of all people, in the plan's order.
    may
        Who may do each errand.
    bound
        No arrangement that goes on like this is shorter [s].
    plan
        (length [s], answer) of a whole arrangement, or None where it cannot be done as planned.
        It may also say None where the length is not below the one that is given.
    """

    pools: Sequence[Pool]
    people: tuple[str, ...]
    may: Mapping[str, tuple[str, ...]]
    bound: Callable[[Beginning], float]
    plan: Callable[[Arrangement, float], tuple[float, Answer] | None]


@dataclass(frozen=True, slots=True)
class Best(Generic[Answer]):
    """The best arrangement found, and how far that is proven.

    Parameters
    ----------
    at_least_s
        No arrangement that can be done is shorter [s].
    opened
        How many beginnings were bounded.
    planned
        How many arrangements were planned.
    """

    chosen: Arrangement | None
    answer: Answer | None
    total_s: float
    at_least_s: float
    opened: int
    planned: int

    @property
    def proven(self) -> bool:
        """Whether no other arrangement is shorter."""
        return self.at_least_s >= self.total_s - SAME_S


def best_order(
    asked: Orders[Answer], first: Arrangement, most_opened: int, cutoff_s: float = inf
) -> Best[Answer]:
    """Return the shortest arrangement; of equal ones the first that was planned.

    Parameters
    ----------
    first
        The arrangement that is planned first: it is kept unless another one is shorter.
    most_opened
        After so many beginnings the best one so far is returned, with what remains possible.
    cutoff_s
        Arrangements that are longer do not count [s].
    """
    search = _Search(asked, cutoff_s)
    search.plan(first)
    return search.run(most_opened)


class _Search(Generic[Answer]):
    def __init__(self, asked: Orders[Answer], cutoff_s: float) -> None:
        self.asked = asked
        self.limit_s = cutoff_s + 2 * SAME_S
        """What is not shorter than this is not looked for."""
        self.best: tuple[Arrangement, float, Answer] | None = None
        self.seen: set[tuple[tuple[tuple[str, ...], ...], ...]] = set()
        self.waiting: list[tuple[float, int, int, Beginning]] = []
        self.number = count()
        self.opened = 0
        self.planned = 0

    def plan(self, chosen: Arrangement) -> None:
        key = tuple(tuple(given.get(one, ()) for one in self.asked.people) for given in chosen)
        if key in self.seen:
            return
        self.seen.add(key)
        self.planned += 1
        found = self.asked.plan(chosen, self.limit_s)
        if found is not None and found[0] < self.limit_s - SAME_S:
            self.best = (chosen, *found)
            self.limit_s = found[0]

    def run(self, most_opened: int) -> Best[Answer]:
        self._open(Beginning(pools=(), closed=0, left=()))
        at_least_s = inf
        while self.waiting:
            bound_s, _, _, beginning = heappop(self.waiting)
            if bound_s >= self.limit_s - SAME_S:
                break
            if self.opened >= most_opened:
                at_least_s = bound_s
                break
            for longer in self._longer(beginning):
                self._open(longer)
        total_s = inf if self.best is None else self.best[1]
        return Best(
            chosen=None if self.best is None else self.best[0],
            answer=None if self.best is None else self.best[2],
            total_s=total_s,
            at_least_s=min(at_least_s, total_s),
            opened=self.opened,
            planned=self.planned,
        )

    def _open(self, beginning: Beginning) -> None:
        """Bound a beginning and put it on the list; plan it where it is whole."""
        self.opened += 1
        bound_s = self.asked.bound(beginning)
        if bound_s >= self.limit_s - SAME_S:
            return
        whole = len(beginning.pools) == len(self.asked.pools) and not beginning.left
        if whole:
            self.plan(_arrangement(beginning, self.asked.people))
            return
        depth = sum(len(one) for pool in beginning.pools for one in pool)
        heappush(self.waiting, (bound_s, -depth, next(self.number), beginning))

    def _longer(self, beginning: Beginning) -> Iterator[Beginning]:
        """Yield every way to go on by one step."""
        people, pools = self.asked.people, beginning.pools
        if not beginning.left:  # the next pool: there is one, or this would be whole
            fresh = tuple(() for _ in people)
            yield Beginning((*pools, fresh), 0, self.asked.pools[len(pools)])
            return
        at = beginning.closed
        for errand in beginning.left:
            if people[at] in self.asked.may[errand]:
                longer = (*pools[-1][at], errand)
                filled = (*pools[-1][:at], longer, *pools[-1][at + 1 :])
                left = tuple(one for one in beginning.left if one != errand)
                yield Beginning((*pools[:-1], filled), at, left)
        later = people[at + 1 :]
        if all(set(later) & set(self.asked.may[one]) for one in beginning.left):
            yield Beginning(pools, at + 1, beginning.left)


def _arrangement(beginning: Beginning, people: tuple[str, ...]) -> Arrangement:
    return tuple(dict(zip(people, pool, strict=True)) for pool in beginning.pools)
