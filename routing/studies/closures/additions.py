"""What one more handrail in a near miss would repair, and good sets of them, chosen greedily.

The value of a set of additions is exact: the structure is built with them and
searched anew, with nothing closed and with every single closure that cut a goal
off before or put it over the emergency limit on the time home. A way counts as safe
only if that time, the closure known before going out, is in its limit too. Greedy
choice is not optimal in general: two handrails may help only together, and then
neither looks good alone.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final, NamedTuple

import numpy as np

from routing.graph.near_misses import check_near_misses
from routing.graph.parts import find_parts
from routing.graph.reach_graph import Floats, ReachGraph
from routing.paths.answers.results import Result
from routing.studies.closures.answers import Answers, Asked, Trip
from routing.studies.closures.closure import Closure, pieces_of
from routing.studies.closures.ground import Answer
from routing.studies.closures.ranking import Critical
from routing.studies.closures.times_home import TimesHome
from routing.studies.running.run import Watch, run_study
from routing.studies.running.study import Column, Study, case_content
from structures.elements import Element, Handhold, Handrail, Hatch, Socket
from structures.frames import Vector
from structures.model import Structure
from structures.polylines import segment_gaps

__all__ = [
    "Addition",
    "Chosen",
    "Loss",
    "Runner",
    "Value",
    "choose_additions",
    "find_additions",
    "losses_of",
    "value_of",
]

_SHARE: Final = 0.25
"""The new rail leaves this part of the gap free at either end."""


class Addition(Result):
    """A handrail that may be added in a near miss."""

    id: str
    between: tuple[str, str]
    """The elements that it would join."""
    way_m: float
    """The hands' way between them now, over the reach [m]."""
    points_m: tuple[Vector, Vector]
    """Its ends at hand height."""
    normal: Vector


class Value(Result):
    """What additions are worth, more important first; all exact."""

    regained: int = 0
    """Goals that have a safe way with nothing closed, in time home, and had none."""
    kept: int = 0
    """Closures and goals with a safe way, in time home, where the closure had left none."""
    saved_s: float = 0.0
    """Time saved with nothing closed, over all goals that had a safe way [s]."""

    @property
    def rank(self) -> tuple[int, int, float]:
        """What a larger value has more of."""
        return (self.regained, self.kept, self.saved_s)


class Chosen(Result):
    """One addition of the greedy choice."""

    addition: Addition
    alone: Value
    """What it is worth by itself."""
    together: Value
    """What it is worth together with those chosen before it."""


class Loss(NamedTuple):
    """A goal that a closure cuts off, or makes too late home."""

    closure: tuple[str, ...]
    goal: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Runner:
    """How evaluations are run; see `run_study`."""

    workers: int = 1
    cluster: str | None = None
    folder: Path | None = None
    progress: Watch | None = None


def find_additions(graph: ReachGraph) -> tuple[Addition, ...]:
    """Return a straight handrail for each near miss of a reach graph, in the order of `inspect`.

    It lies in the middle of the gap, with its normal half-way between both. Whether
    hands and body find a way over it is told by its value, not here: a straight
    rail does not lead round a sharp edge, and then it is worth nothing.
    """
    structure = graph.structure
    taken = {element.id for _, element in structure.elements()}
    found: list[Addition] = []
    for finding in check_near_misses(graph, find_parts(graph)):
        one, other = finding.elements[:2]
        points_m, normal = _between(structure, one, other)
        number = len(found) + 1
        while f"ADDED{number}" in taken:
            number += 1
        taken.add(f"ADDED{number}")
        found.append(
            Addition(
                id=f"ADDED{number}",
                between=(one, other),
                way_m=float(finding.value or 0.0),
                points_m=points_m,
                normal=normal,
            )
        )
    return tuple(found)


def losses_of(critical: Sequence[Critical]) -> tuple[Loss, ...]:
    """Return what single closures cut off or make too late home, sorted.

    Goals that are closed themselves are left out.
    """
    return tuple(
        sorted(
            Loss(one.closure, site.id)
            for one in critical
            if len(one.closure) == 1
            for site in (*one.lost, *one.unsafe, *one.late)
        )
    )


def value_of(
    asked: Asked, trips: Sequence[Trip], losses: Sequence[Loss], additions: Sequence[Addition]
) -> Value:
    """Return what a set of additions is worth, built and searched anew."""
    return _value(_Basis.of(asked, tuple(trips), tuple(losses)), additions)


def choose_additions(
    asked: Asked,
    trips: Sequence[Trip],
    losses: Sequence[Loss],
    additions: Sequence[Addition],
    *,
    most: int,
    runner: Runner | None = None,
) -> tuple[tuple[Chosen, ...], Mapping[str, Value]]:
    """Choose additions one by one, each time the one that is worth most with those before.

    Ends early when no addition is worth anything more.

    Returns
    -------
    tuple of Chosen
        In the order of choice.
    mapping
        What each addition is worth alone, by its id.
    """
    runner = runner or Runner()
    chosen: list[Chosen] = []
    alone: dict[str, Value] = {}
    while len(chosen) < min(most, len(additions)):
        before = [one.addition for one in chosen]
        left = [one for one in additions if one not in before]
        values = _evaluate(asked, trips, losses, [(*before, one) for one in left], runner)
        if not chosen:
            alone = {one.id: value for one, value in zip(left, values, strict=True)}
        best = max(range(len(left)), key=lambda i: (*values[i].rank, -i))
        if values[best].rank <= (chosen[-1].together if chosen else Value()).rank:
            break
        chosen.append(
            Chosen(addition=left[best], alone=alone[left[best].id], together=values[best])
        )
    return tuple(chosen), alone


_COLUMNS: Final = (
    Column("regained", "count", "goals that have a safe way again"),
    Column("kept", "count", "closures and goals that keep a safe way"),
    Column("saved_s", "number", "time saved with nothing closed [s]"),
)


def _evaluate(
    asked: Asked,
    trips: Sequence[Trip],
    losses: Sequence[Loss],
    sets: Sequence[tuple[Addition, ...]],
    runner: Runner,
) -> list[Value]:
    study = Study(
        name="additions",
        columns=_COLUMNS,
        prepare=_prepare,
        work=_work,
        shared=(asked, tuple(trips), tuple(losses)),
        chunks=[[one.to_row() for one in some] for some in sets],
        content=case_content(asked.structure, asked.situation, asked.kit),
        parameters={
            "protocol": asked.protocol,
            "trips": [[list(trip.starts), trip.goal] for trip in trips],
            "losses": [[list(loss.closure), loss.goal] for loss in losses],
        },
    )
    rows = run_study(
        study,
        workers=runner.workers,
        cluster=runner.cluster,
        folder=runner.folder,
        progress=runner.progress,
    )
    names = [column.name for column in _COLUMNS]
    found: list[dict[str, Any]] = [dict(zip(names, row, strict=True)) for row in rows]
    return [Value(**one) for one in found]


@dataclass(frozen=True, slots=True)
class _Basis:
    """What additions are held against: the answers without them."""

    asked: Asked
    trips: tuple[Trip, ...]
    losses: tuple[Loss, ...]
    seconds: Mapping[str, float]
    """Least time of each goal with a safe way."""

    @classmethod
    def of(cls, asked: Asked, trips: tuple[Trip, ...], losses: tuple[Loss, ...]) -> "_Basis":
        return cls(asked, trips, losses, _safe_seconds(Answers(asked), trips))


def _prepare(shared: tuple[Asked, tuple[Trip, ...], tuple[Loss, ...]]) -> _Basis:
    return _Basis.of(*shared)


def _work(basis: _Basis, additions: list[dict[str, Any]]) -> Iterator[tuple[int, int, float]]:
    yield _value(basis, [Addition.from_document(one) for one in additions]).rank


def _value(basis: _Basis, additions: Sequence[Addition]) -> Value:
    if not additions:
        return Value()
    structure = _with_rails(basis.asked.structure, additions)
    answers = Answers(replace(basis.asked, structure=structure))
    times = TimesHome(answers, {})
    seconds = _safe_seconds(answers, basis.trips)
    trips = {trip.goal: trip for trip in basis.trips}
    kept = 0
    for loss in basis.losses:
        closure = Closure(ids=loss.closure)
        kept += _is_safe(times, answers.best(trips[loss.goal], closure), closure)
    both = sorted({*seconds} & {*basis.seconds})
    return Value(
        regained=len({*seconds} - {*basis.seconds}),
        kept=kept,
        saved_s=float(sum(basis.seconds[goal] - seconds[goal] for goal in both)),
    )


def _safe_seconds(answers: Answers, trips: Sequence[Trip]) -> dict[str, float]:
    times = TimesHome(answers, {})
    found = {trip.goal: answers.best(trip) for trip in trips}
    return {
        goal: best[1].seconds
        for goal, best in found.items()
        if best is not None and _is_safe(times, best)
    }


def _is_safe(
    times: TimesHome, best: tuple[str, Answer] | None, closure: Closure | None = None
) -> bool:
    return best is not None and best[1].safe and not times.before(best[1], closure).fails


def _with_rails(structure: Structure, additions: Sequence[Addition]) -> Structure:
    """Return the structure with the additions; made anew, so that no look-up goes along."""
    rails = [Handrail(id=one.id, points_m=one.points_m, normal=one.normal) for one in additions]
    content = {name: getattr(structure, name) for name in Structure.model_fields}
    return Structure.model_construct(**{**content, "handrails": (*structure.handrails, *rails)})


def _between(structure: Structure, one: str, other: str) -> tuple[tuple[Vector, Vector], Vector]:
    """Return the ends and the normal of a rail in the middle of a gap."""
    kinds = (Handrail, Handhold, Hatch, Socket)
    ends = [structure.find(element_id, kinds) for element_id in (one, other)]
    (a, b), (c, d) = (pieces_of(element) for element in ends)
    gap_m, s, t = segment_gaps(a[:, None], b[:, None], c[None], d[None])
    i, j = np.unravel_index(int(gap_m.argmin()), gap_m.shape)
    p, q = a[i] + s[i, j] * (b[i] - a[i]), c[j] + t[i, j] * (d[j] - c[j])
    mean = np.sum([_unit(element) for element in ends], axis=0)
    return (_vector(p + _SHARE * (q - p)), _vector(q + _SHARE * (p - q))), _vector(mean)


def _unit(element: Element) -> Floats:
    if not isinstance(element, Handrail | Handhold | Hatch | Socket):
        raise TypeError(f"{element.id} has no outward normal")
    normal = np.array(element.normal, dtype=np.float64)
    unit: Floats = normal / np.sqrt((normal * normal).sum())
    return unit


def _vector(values: Any) -> Vector:
    x, y, z = (float(value) for value in values)
    return (x, y, z)
