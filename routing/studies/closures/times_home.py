"""Times home under closures: from every hold of a way, and for who is out when it happens.

Two cases differ. Closed *before* going out, both ways avoid what is closed, and
what counts is the longest time home from any hold of the way out. Closed *while*
somebody is at the goal, they went out over what was there then, and have to get
home without it.

Under leapfrog both come from one tree back from the hatches: what hangs on the
closed element in it is worked out anew, all else stays. On reels the way home is
forced back along every lay, so it needs no search where it is closed before. Who is
out then with a line over what is closed cannot go back along it: they take the
quickest way with tethers left outside. Where a zone is switched on that their line
may lie in, no time home is known.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final
from weakref import WeakKeyDictionary

import numpy as np

from routing.graph.reach_graph import Floats, ReachGraph
from routing.paths.answers.results import HomeVerdict
from routing.paths.home.ground import NoWayHomeError
from routing.paths.home.report import home_ground
from routing.paths.tethers.kit import default_kit
from routing.studies.closures.answers import Answers, Trip
from routing.studies.closures.closure import Closure
from routing.studies.closures.ground import Answer, Ground
from routing.studies.closures.reel_homes import ReelHomes
from routing.studies.closures.short_homes import ShortTetherHomes
from structures.elements import Zone
from structures.zones import active_zones

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
_NOT_KNOWN: Final = TimeHome(verdict="not known")


class TimesHome:
    """Times home of the ways that some answers give; what is worked out once serves all.

    Parameters
    ----------
    answers
        The ways, with and without closures.
    ways
        Where the best way of each trip begins and that way, with nothing closed.
    """

    def __init__(self, answers: Answers, ways: Mapping[Trip, tuple[str, Answer]]) -> None:
        self._answers = answers
        self._ways = ways
        self._as_ever: dict[Trip, TimeHome] = {}
        self._structure = answers.asked.structure
        self._limit_s = answers.situation.limits.time_home_limit_s
        self._hatch_points = frozenset(hatch.tether_point for hatch in self._structure.hatches)
        self._short: WeakKeyDictionary[Ground, dict[frozenset[str], ShortTetherHomes]] = (
            WeakKeyDictionary()
        )
        self._reels: WeakKeyDictionary[Ground, ReelHomes | None] = WeakKeyDictionary()
        self._last: tuple[Closure | None, Ground, ShortTetherHomes, Floats] | None = None

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

    def caught(self, trip: Trip, closure: Closure | None = None) -> TimeHome:
        """Return the time home of who has come to a goal when the closure happens."""
        answer = self._ways[trip][1]
        if self._answers.asked.protocol == "reel":
            return self._caught_on_reels(trip, closure)
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
        if self._switches_zones(when) or self._hooks(closed):
            return [True] * len(ways)
        return [not closed.isdisjoint(one) for one in ways]

    def _judged(self, seconds: float) -> TimeHome:
        if not np.isfinite(seconds):
            return _NOT_KNOWN
        return TimeHome(
            verdict="in time" if seconds <= self._limit_s else "too late", seconds=seconds
        )

    def _hooks(self, closed: frozenset[str]) -> frozenset[str]:
        """Return tether points of hatches that a closure takes away: moves are others then."""
        return (closed & self._hatch_points) - {*self._answers.situation.closed}

    def _seconds(self, closure: Closure | None) -> tuple[Ground, ShortTetherHomes, Floats]:
        """Return the ground under a closure, and the seconds home of every grip of it; kept."""
        if self._last is None or self._last[0] != closure:
            when, closed = ((), frozenset[str]()) if closure is None else self._split(closure)
            ground = self._answers.ground(when)
            hooks = self._hooks(closed)
            made = self._short.setdefault(ground, {})
            if hooks not in made:
                made[hooks] = ShortTetherHomes(_without_hooks(ground.graph, hooks), ground.engine)
            short = made[hooks]
            self._last = (closure, ground, short, short.seconds(ground.closed_grips(closed)))
        return self._last[1:]

    def _split(self, closure: Closure) -> tuple[tuple[str, ...], frozenset[str]]:
        return closure.split(self._structure)

    def _on_reels(self, answer: Answer, closure: Closure | None) -> TimeHome:
        reels = self._reels_of(() if closure is None else self._split(closure)[0])
        if reels is None:
            return _NOT_KNOWN
        return self._judged(reels.seconds(answer)) if reels.begins_at_hatch(answer) else NOT_CHECKED

    def _caught_on_reels(self, trip: Trip, closure: Closure | None) -> TimeHome:
        """Return the time home along all lays, or where they are closed with tethers left."""
        answer = self._ways[trip][1]
        if trip not in self._as_ever:
            self._as_ever[trip] = self._on_reels(answer, None)
        as_ever = self._as_ever[trip]
        reels = self._reels_of(())
        if closure is None or reels is None or as_ever.verdict == "not checked":
            return as_ever
        if not self.may_change(closure, [answer.rests_on])[0]:
            return as_ever
        when, closed = self._split(closure)
        if self._switches_zones(when):
            return self._caught_by_zones(trip, closure)
        seconds = reels.caught_s(trip, closed)
        return NOT_CHECKED if seconds is None else self._judged(seconds)

    def _caught_by_zones(self, trip: Trip, closure: Closure) -> TimeHome:
        """Return the time home on a reel as zones are switched on while people are out.

        Zones that lines keep out of must not touch theirs: that is certain only if the way
        back along it is allowed and all its hooks and first line are; else nothing is known.
        """
        when, closed = self._split(closure)
        answer, reels = self._ways[trip][1], self._reels_of(when)
        if reels is None:
            return _NOT_KNOWN
        back_s = reels.seconds(answer)
        if self._bars_lines(when):
            clear = self._first_line_holds(trip, closure) and reels.holds(trip)
            if not clear or not np.isfinite(back_s):
                return _NOT_KNOWN
        if closed.isdisjoint(answer.rests_on) and np.isfinite(back_s):
            return self._judged(back_s)
        seconds = reels.caught_s(trip, closed)
        return NOT_CHECKED if seconds is None else self._judged(seconds)

    def _first_line_holds(self, trip: Trip, closure: Closure) -> bool:
        """Tell whether a safe way begins under a closure as the one out did: by the same line.

        A safe way that begins elsewhere says nothing of the first line of who is out.
        """
        start, answer = self._ways[trip]
        best = self._answers.best(trip, closure)
        if best is None or not best[1].safe:
            return False
        return (best[0], best[1].chain[0], int(best[1].grips[0])) == (
            start,
            answer.chain[0],
            int(answer.grips[0]),
        )

    def _bars_lines(self, when: tuple[str, ...]) -> bool:
        """Tell whether conditions switch zones on that lines must keep out of."""
        there = {*self._answers.situation.when}
        before, after = (
            {
                zone.id
                for zone in active_zones(self._structure, tuple(sorted(some)))
                if _bars_lines(zone)
            }
            for some in (there, there | {*when})
        )
        return bool(after - before)

    def _switches_zones(self, when: tuple[str, ...]) -> bool:
        return bool(when) and self._answers.ground(when) is not self._answers.ground()

    def _reels_of(self, when: tuple[str, ...]) -> ReelHomes | None:
        """Return the homes on a ground, None where there is no hatch to go home to."""
        ground, intact = self._answers.ground(when), self._answers.ground()
        if ground not in self._reels:
            if ground.graph.grips.ids != intact.graph.grips.ids:
                raise AssertionError("zones take moves away, and no grip")
            out = None if ground is intact else self._reels_of(())
            kit = self._answers.asked.kit or default_kit(self._answers.situation.limits)
            home = home_ground(ground.graph, "reel", kit, leave=False)
            self._reels[ground] = (
                None
                if isinstance(home, NoWayHomeError)
                else ReelHomes(home, self._ways, ground.engine, out)
            )
        return self._reels[ground]


def _bars_lines(zone: Zone) -> bool:
    return zone.kind == "keep-out" and "tether" in zone.applies_to


def _without_hooks(graph: ReachGraph, hooks: frozenset[str]) -> ReachGraph:
    if not hooks:
        return graph
    situation = graph.situation
    shut = replace(situation, closed=tuple(sorted({*situation.closed, *hooks})))
    return replace(graph, situation=shut)
