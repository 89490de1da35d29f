"""Times home under closures: from every hold of a way, and for who is out when it happens.

Two cases differ. Closed *before* going out, both ways avoid what is closed, and
what counts is the longest time home from any hold of the way out. Closed *while*
somebody is at the goal, they went out over what was there then, and have to get
home without it.

Under leapfrog both come from one tree back from the hatches: what hangs on the
closed element in it is worked out anew, all else stays. On reels the way home is
forced back along every lay, so it needs no search where it is closed before; for
who is out with a line over what is closed it is not looked at.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import fsum
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np

from routing.graph.reach_graph import Floats, Indices, ReachGraph
from routing.paths.answers.results import HomeVerdict
from routing.paths.home.ground import HomeGround, NoWayHomeError
from routing.paths.search.engine import Engine
from routing.paths.tethers.kit import Kit, default_kit
from routing.studies.closures.answers import Answers
from routing.studies.closures.closure import Closure
from routing.studies.closures.ground import Answer, Ground
from routing.studies.closures.remaining import Remaining
from structures.elements import Hatch

__all__ = ["FAILS", "NOT_CHECKED", "TimeHome", "TimesHome"]

FAILS: Final = frozenset[HomeVerdict]({"too late", "not known"})
"""Verdicts of a time home that was looked at and is not in time, or of which none is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeHome:
    """A time home, and what it is worth against the limit."""

    verdict: HomeVerdict
    seconds: float | None = None
    """None where no way home is known, and where none was looked for [s]."""

    @property
    def fails(self) -> bool:
        """Whether it is known not to be in time: above the limit, or no way home at all."""
        return self.verdict in FAILS


NOT_CHECKED: Final = TimeHome(verdict="not checked")


class TimesHome:
    """Times home of the ways that some answers give; what is worked out once serves all.

    Parameters
    ----------
    answers
        The ways, with and without closures.
    """

    def __init__(self, answers: Answers) -> None:
        self._answers = answers
        self._structure = answers.asked.structure
        self._limit_s = answers.situation.limits.time_home_limit_s
        self._hatch_points = frozenset(hatch.tether_point for hatch in self._structure.hatches)
        self._short: WeakKeyDictionary[Ground, dict[frozenset[str], _ShortTethers]] = (
            WeakKeyDictionary()
        )
        self._reels: WeakKeyDictionary[Ground, _Reels] = WeakKeyDictionary()
        self._last: tuple[Closure | None, Ground, _ShortTethers, Floats] | None = None

    @property
    def limit_s(self) -> float:
        """The emergency limit on times home [s]."""
        return self._limit_s

    def before(self, answer: Answer, closure: Closure | None = None) -> TimeHome:
        """Return the longest time home from a hold of a way, the closure known before.

        Parameters
        ----------
        answer
            The best way under this very closure.
        """
        if self._answers.asked.protocol == "reel":
            return self._on_reels(answer, closure)
        seconds = self._seconds(closure)[2]
        return self._judged(float(seconds[answer.grips].max()))

    def caught(self, answer: Answer, closure: Closure | None = None) -> TimeHome:
        """Return the time home of who is at the end of a way when the closure happens.

        Parameters
        ----------
        answer
            The way they came by, with nothing closed.
        """
        if self._answers.asked.protocol == "reel":
            return self._caught_on_reels(answer, closure)
        intact = self._answers.ground().graph.grips
        _, short, seconds = self._seconds(closure)
        grip = int(answer.grips[-1])
        return self._judged(float(seconds[short.number_of(intact.ids[grip])]))

    def rests_on(self, answer: Answer) -> frozenset[str]:
        """Return all elements on the ways home from the holds of a way, with nothing closed."""
        if self._answers.asked.protocol == "reel":
            return answer.rests_on
        ground, short, _ = self._seconds(None)
        ids = ground.graph.grips.element_ids
        return frozenset(ids[grip] for grip in short.grips_home(answer.grips.tolist()))

    def may_change(self, closure: Closure, ways: Sequence[frozenset[str]]) -> list[bool]:
        """Tell of ways home, by what they rest on, whether a closure can change their times."""
        when, closed = closure.split(self._structure)
        if self._answers.ground(when) is not self._answers.ground() or self._hooks(closed):
            return [True] * len(ways)
        return [not closed.isdisjoint(one) for one in ways]

    def _judged(self, seconds: float) -> TimeHome:
        if not np.isfinite(seconds):
            return TimeHome(verdict="not known")
        return TimeHome(
            verdict="in time" if seconds <= self._limit_s else "too late", seconds=seconds
        )

    def _hooks(self, closed: frozenset[str]) -> frozenset[str]:
        """Return tether points of hatches that a closure takes away: moves are others then."""
        return (closed & self._hatch_points) - {*self._answers.situation.closed}

    def _seconds(self, closure: Closure | None) -> tuple[Ground, "_ShortTethers", Floats]:
        """Return the ground under a closure, and the seconds home of every grip of it; kept."""
        if self._last is None or self._last[0] != closure:
            when, closed = ((), frozenset[str]()) if closure is None else self._split(closure)
            ground = self._answers.ground(when)
            hooks = self._hooks(closed)
            made = self._short.setdefault(ground, {})
            if hooks not in made:
                made[hooks] = _ShortTethers(_without_hooks(ground.graph, hooks), ground.engine)
            short = made[hooks]
            self._last = (closure, ground, short, short.seconds(ground.closed_grips(closed)))
        return self._last[1:]

    def _split(self, closure: Closure) -> tuple[tuple[str, ...], frozenset[str]]:
        return closure.split(self._structure)

    def _on_reels(self, answer: Answer, closure: Closure | None) -> TimeHome:
        ground = self._answers.ground(() if closure is None else self._split(closure)[0])
        if ground not in self._reels:
            kit = self._answers.asked.kit or default_kit(self._answers.situation.limits)
            self._reels[ground] = _Reels(ground.graph, kit)
        reels = self._reels[ground]
        if reels.home is not None and not reels.begins_at_hatch(answer):
            return NOT_CHECKED
        return self._judged(reels.seconds(answer))

    def _caught_on_reels(self, answer: Answer, closure: Closure | None) -> TimeHome:
        """Return the time back along all lays where they keep off what is closed."""
        if closure is not None and self.may_change(closure, [answer.rests_on])[0]:
            return NOT_CHECKED
        return self._on_reels(answer, None)


def _without_hooks(graph: ReachGraph, hooks: frozenset[str]) -> ReachGraph:
    if not hooks:
        return graph
    situation = graph.situation
    shut = replace(situation, closed=tuple(sorted({*situation.closed, *hooks})))
    return replace(graph, situation=shut)


class _ShortTethers:
    """Seconds home of every grip under leapfrog.

    A hatch of which the tether point is closed is no home: nothing would hold
    people there.
    """

    def __init__(self, graph: ReachGraph, engine: Engine) -> None:
        self._graph = graph
        shut = {*graph.situation.closed}
        open_ = {one.id for one in graph.structure.hatches if one.tether_point not in shut}
        self._home: HomeGround | None = None
        self._goals: Indices = np.zeros(0, dtype=np.int64)
        try:
            self._home = HomeGround(graph=graph, protocol="leapfrog")
        except NoWayHomeError:  # there is no hatch, and so no time home that is known
            return
        hatches = self._home.hatches.items()
        self._goals = np.array([grip for grip, hatch in hatches if hatch in open_], dtype=np.int64)
        if len(self._goals):
            self._remaining = Remaining(self._home.network, engine=engine)

    def seconds(self, closed: Sequence[int]) -> Floats:
        """Return the seconds home of every grip with some closed, shape (n,)."""
        if not len(self._goals):
            return np.full(len(self._graph.grips), np.inf)
        return self._remaining.without(closed, self._goals)

    def grips_home(self, grips: Sequence[int]) -> set[int]:
        """Return all grips on the ways home from some, these too, with nothing more closed."""
        found: set[int] = set()
        parent = None if self._home is None else self._home.tree.parent
        for grip in grips:
            at = grip
            while at >= 0 and at not in found:
                found.add(at)
                at = -1 if parent is None else int(parent[at])
        return found

    def number_of(self, grip_id: str) -> int:
        """Return the number of a grip: it need not be that of another ground."""
        return self._numbers[grip_id]

    @cached_property
    def _numbers(self) -> dict[str, int]:
        return {one: number for number, one in enumerate(self._graph.grips.ids)}


class _Reels:
    """Seconds home on reels, every tether recovered: back along every lay.

    Whoever goes out by a best way never goes back along it, so the lays together
    are the way itself, and wherever lines are hooked on, home is the way back.
    """

    def __init__(self, graph: ReachGraph, kit: Kit) -> None:
        self.home: HomeGround | None = None
        self._known: dict[tuple[int, int], float] = {}
        try:
            self.home = HomeGround(graph=graph, protocol="reel", kit=kit)
        except NoWayHomeError:  # there is no hatch, and so no time home that is known
            return

    def begins_at_hatch(self, answer: Answer) -> bool:
        """Tell whether a way begins at a hatch, on its own tether point."""
        if self.home is None:
            return False
        hatch_id = self.home.hatches.get(int(answer.grips[0]))
        if hatch_id is None:
            return False
        return self.home.graph.structure.find(hatch_id, (Hatch,)).tether_point == answer.chain[0]

    def seconds(self, answer: Answer) -> float:
        """Return the seconds home from the end of a way, infinite where a move back is missing.

        From no hold of the way does it take longer.
        """
        if self.home is None:
            return float("inf")
        back = [self._move_s(*move) for move in pairwise(answer.grips[::-1].tolist())]
        return fsum([*back, *[self.home.outfit.rules.transfer_s] * answer.transfers])

    def _move_s(self, tail: int, head: int) -> float:
        if self.home is None:
            raise AssertionError("asked only where there is a home")
        if (tail, head) not in self._known:
            network = self.home.ground.network
            move = network.find_move(tail, head)
            cost = float("inf") if move is None else float(network.cost[move])
            self._known[tail, head] = cost
        return self._known[tail, head]
