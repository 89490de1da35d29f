"""The study of closures: every closure against every trip, a row where anything changes."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Final

from routing.paths.answers.results import InputDigest
from routing.studies.closures.answers import Answers, Asked, Trip
from routing.studies.closures.closure import Closure, kind_of
from routing.studies.closures.ground import Answer
from routing.studies.running.study import Column, Study, case_content
from structures.elements import TetherPoint, Worksite

__all__ = ["COLUMNS", "closure_study"]

_A_CHUNK: Final = 16
"""Closures worked out in one go: few enough to be spread and kept, enough to be worth it."""

_SAME_S: Final = 1e-9
"""Times that differ by no more are the same [s]: rounding only."""

COLUMNS: Final = (
    Column("closure", "texts", "what is out of use or in force"),
    Column("kind", "text", "what kind of element that is"),
    Column("worksite", "text", "where the way leads, if that is a worksite"),
    Column("goal", "text", "where it leads, if that is another site"),
    Column("itself", "flag", "whether the goal itself is what is closed"),
    Column("fate", "text", "no way, unsafe, slower, other way or quicker"),
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
    Column("why", "text", "what makes the way unsafe"),
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
    closed: the way is lost, turns unsafe, takes other time or another chain. Trips
    without a way to begin with have none.

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
class _Ready:
    answers: Answers
    trips: tuple[Trip, ...]
    intact: dict[Trip, tuple[str, Answer] | None]


def _prepare(shared: _Shared) -> _Ready:
    answers = Answers(shared.asked, searches=shared.searches)
    return _Ready(
        answers=answers,
        trips=shared.trips,
        intact={trip: answers.best(trip) for trip in shared.trips},
    )


def _work(ready: _Ready, closures: list[list[str]]) -> Iterator[tuple[Any, ...]]:
    structure = ready.answers.asked.structure
    chunk = [Closure(ids=tuple(ids)) for ids in closures]
    changes = ready.answers.changes(ready.trips, chunk)
    for closure in chunk:
        kind = kind_of(structure, closure)
        for trip in ready.trips:
            if (closure, trip) not in changes:
                continue
            before, after = ready.intact[trip], changes[closure, trip]
            if before is None or (after is not None and _told(before) == _told(after)):
                continue
            itself = _is_at(ready, trip, closure)
            is_worksite = isinstance(structure.by_id.get(trip.goal), Worksite)
            goal = (trip.goal, None) if is_worksite else (None, trip.goal)
            yield (closure.ids, kind, *goal, itself, *_change(before, after))


def _told(best: tuple[str, Answer]) -> tuple[object, ...]:
    start, answer = best
    return (start, answer.seconds, answer.transfers, answer.chain, answer.safe)


def _change(before: tuple[str, Answer], after: tuple[str, Answer] | None) -> tuple[Any, ...]:
    start, old = before
    told = (start, old.seconds, old.transfers, old.chain)
    if after is None:
        return ("no way", *told, *[None] * 7)
    new_start, new = after
    extra_s = new.seconds - old.seconds
    return (
        _fate(old, new),
        *told,
        new_start,
        new.seconds,
        new.transfers,
        new.chain,
        extra_s,
        new.transfers - old.transfers,
        "; ".join(new.blocks) or None,
    )


def _fate(old: Answer, new: Answer) -> str:
    if not new.safe:
        return "unsafe"
    extra_s = new.seconds - old.seconds
    if extra_s > _SAME_S:
        return "slower"
    return "quicker" if extra_s < -_SAME_S else "other way"


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
