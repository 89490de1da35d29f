"""The study of closures: every closure against every trip, a row where anything changes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from routing.paths.answers.results import InputDigest
from routing.studies.closures.answers import Answers, Asked, Trip
from routing.studies.closures.closure import Closure, kind_of
from routing.studies.closures.ground import Answer
from routing.studies.closures.times_home import NOT_CHECKED, TimeHome, TimesHome
from routing.studies.running.study import Column, Study, case_content
from structures.elements import TetherPoint, Worksite
from structures.units import number_text

__all__ = ["COLUMNS", "SAME_S", "closure_study"]

_A_CHUNK: Final = 16
"""Closures worked out in one go: few enough to be spread and kept, enough to be worth it."""

SAME_S: Final = 1e-9
"""Times that differ by no more are the same [s]: rounding only."""

COLUMNS: Final = (
    Column("closure", "texts", "what is out of use or in force"),
    Column("kind", "text", "what kind of element that is"),
    Column("worksite", "text", "where the way leads, if that is a worksite"),
    Column("goal", "text", "where it leads, if that is another site"),
    Column("itself", "flag", "whether the goal itself is what is closed"),
    Column("fate", "text", "no way, unsafe, too late, slower, other way, same way or quicker"),
    Column("before_start", "text", "where the way begins with nothing closed"),
    Column("before_s", "number", "least time with nothing closed [s]"),
    Column("before_transfers", "count", "tether transfers on it"),
    Column("before_chain", "texts", "its stays (reel) or elements held (leapfrog)"),
    Column("after_start", "text", "where the way begins with the closure"),
    Column("after_s", "number", "least time with the closure [s]"),
    Column("after_transfers", "count", "tether transfers on it"),
    Column("after_chain", "texts", "its stays or elements held"),
    Column("extra_s", "number", "time that the closure costs [s]"),
    Column("extra_transfers", "count", "transfers that it costs"),
    Column("before_home", "text", "time home with nothing closed: in time, too late, not known"),
    Column(
        "before_home_s", "number", "longest time home from a hold of the way, nothing closed [s]"
    ),
    Column("after_home", "text", "time home with the closure; empty: no safe way out"),
    Column("after_home_s", "number", "longest time home from a hold of the way left [s]"),
    Column("caught", "text", "time home of who is at the goal when it closes"),
    Column("caught_s", "number", "that time [s]; empty: not known or not checked"),
    Column("why", "text", "what makes the way, or the time home from it, unsafe"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shared:
    asked: Asked
    trips: tuple[Trip, ...]
    searches: int


def closure_study(
    asked: Asked,
    trips: Sequence[Trip],
    closures: Sequence[Closure],
    inputs: tuple[InputDigest, ...] = (),
) -> Study:
    """Return the study of some closures, for `routing.studies.running.run.run_study`.

    A trip and a closure have a row if the answer differs from that with nothing
    closed: the way is lost, turns unsafe, takes other time or another chain, or a
    time home is another one. Trips without a way to begin with have none.

    Parameters
    ----------
    asked
        Structure, situation and tether rules.
    trips
        See `worksite_trips`.
    closures
        In the order of the rows.
    inputs
        Digests of the files that were read.
    """
    situation = asked.situation
    # A closure hits a small part of the ways; one in ten is on the safe side.
    searches = max(len(closures) * len(trips) // 10, len(trips))
    return Study(
        name="closures",
        columns=COLUMNS,
        prepare=_prepare,
        work=_work,
        shared=_Shared(asked=asked, trips=tuple(trips), searches=searches),
        chunks=[
            [list(one.ids) for one in closures[begin : begin + _A_CHUNK]]
            for begin in range(0, len(closures), _A_CHUNK)
        ],
        content=case_content(asked.structure, situation, asked.kit),
        inputs=inputs,
        parameters={
            "protocol": asked.protocol,
            "when": list(situation.when),
            "closed": list(situation.closed),
            "trips": [[list(trip.starts), trip.goal] for trip in trips],
        },
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Homes:
    """The times home of a trip: closed before, and closed while somebody is at the goal."""

    before: TimeHome
    caught: TimeHome


@dataclass(frozen=True, slots=True, kw_only=True)
class _Intact:
    """A trip with nothing closed."""

    trip: Trip
    start: str
    answer: Answer
    homes: _Homes
    homes_rest_on: frozenset[str]

    @property
    def best(self) -> tuple[str, Answer]:
        return (self.start, self.answer)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Ready:
    answers: Answers
    times: TimesHome
    trips: tuple[_Intact, ...]
    """Those that have a way with nothing closed."""


def _prepare(shared: _Shared) -> _Ready:
    answers = Answers(shared.asked, searches=shared.searches)
    best = {trip: answers.best(trip) for trip in shared.trips}
    ways = {trip: way for trip, way in best.items() if way is not None}
    times = TimesHome(answers, ways)
    found = [
        _Intact(
            trip=trip,
            start=start,
            answer=answer,
            homes=_Homes(before=times.before(answer), caught=times.caught(trip)),
            homes_rest_on=times.rests_on(answer),
        )
        for trip, (start, answer) in ways.items()
    ]
    return _Ready(answers=answers, times=times, trips=tuple(found))


def _work(ready: _Ready, closures: list[list[str]]) -> Iterator[tuple[Any, ...]]:
    structure = ready.answers.asked.structure
    chunk = [Closure(ids=tuple(ids)) for ids in closures]
    trips = [one.trip for one in ready.trips]
    plain = [one for one in chunk if not one.split(structure)[0]]
    changes = ready.answers.changes(trips, plain)
    for closure in chunk:
        if closure not in plain:  # just before it is read: few grounds of other zones are kept
            changes.update(ready.answers.changes(trips, [closure]))
        kind = kind_of(structure, closure)
        homes_change = ready.times.may_change(closure, [one.homes_rest_on for one in ready.trips])
        for intact, home_changes in zip(ready.trips, homes_change, strict=True):
            trip = intact.trip
            after = changes.get((closure, trip), intact.best)
            is_other = after is None or _told(intact.best) != _told(after)
            if not is_other and not home_changes:
                continue
            itself = _is_at(ready, trip, closure)
            homes = _homes(ready.times, intact, after, closure, itself=itself)
            if not is_other and _are_same(intact.homes, homes):
                continue
            is_worksite = isinstance(structure.by_id.get(trip.goal), Worksite)
            goal = (trip.goal, None) if is_worksite else (None, trip.goal)
            yield (closure.ids, kind, *goal, itself, *_change(ready, intact, after, homes))


def _told(best: tuple[str, Answer]) -> tuple[object, ...]:
    start, answer = best
    return (start, answer.seconds, answer.transfers, answer.chain, answer.safe)


def _homes(
    times: TimesHome,
    intact: _Intact,
    after: tuple[str, Answer] | None,
    closure: Closure,
    *,
    itself: bool,
) -> _Homes:
    """Return the times home under a closure; who holds what is closed is not looked at."""
    return _Homes(
        before=NOT_CHECKED if after is None else times.before(after[1], closure),
        caught=NOT_CHECKED if itself else times.caught(intact.trip, closure),
    )


def _are_same(one: _Homes, other: _Homes) -> bool:
    """Tell whether times home are as with nothing closed; one not looked at is not the same."""
    return all(
        a.verdict == b.verdict and abs((a.seconds or 0.0) - (b.seconds or 0.0)) <= SAME_S
        for a, b in ((one.before, other.before), (one.caught, other.caught))
    )


def _change(
    ready: _Ready, intact: _Intact, after: tuple[str, Answer] | None, homes: _Homes
) -> tuple[Any, ...]:
    old = intact.answer
    told = (intact.start, old.seconds, old.transfers, old.chain)
    was = (intact.homes.before.verdict, intact.homes.before.seconds)
    caught = (homes.caught.verdict, homes.caught.seconds)
    if after is None:
        return ("no way", *told, *[None] * 6, *was, None, None, *caught, None)
    start, new = after
    home = homes.before
    why = new.blocks if new.blocks or not home.fails else (_too_late(home, ready.times.limit_s),)
    return (
        _fate(intact, after, home),
        *told,
        start,
        new.seconds,
        new.transfers,
        new.chain,
        new.seconds - old.seconds,
        new.transfers - old.transfers,
        *was,
        *((home.verdict, home.seconds) if new.safe else (None, None)),
        *caught,
        "; ".join(why) or None,
    )


def _too_late(home: TimeHome, limit_s: float) -> str:
    if home.seconds is None:
        return "from a hold of the way no way home is known"
    return (
        f"from a hold of the way it takes {number_text(home.seconds, 'up', 0)} s home, and no more "
        f"than {limit_s:.0f} s are allowed"
    )


def _fate(intact: _Intact, after: tuple[str, Answer], home: TimeHome) -> str:
    old, (start, new) = intact.answer, after
    if not new.safe:
        return "unsafe"
    if home.fails:
        return "too late"
    extra_s = new.seconds - old.seconds
    if extra_s > SAME_S:
        return "slower"
    if extra_s < -SAME_S:
        return "quicker"
    return "same way" if (start, new.chain) == (intact.start, old.chain) else "other way"


def _is_at(ready: _Ready, trip: Trip, closure: Closure) -> bool:
    """Tell whether what a trip leads to is itself closed, so that no way could help."""
    structure = ready.answers.asked.structure
    _, closed = closure.split(structure)
    site = structure.by_id.get(trip.goal)
    if isinstance(site, TetherPoint):
        return site.id in closed
    if isinstance(site, Worksite):
        return bool({site.socket, site.handrail} & closed)
    return trip.goal.rpartition("@")[0] in closed or trip.goal in closed
