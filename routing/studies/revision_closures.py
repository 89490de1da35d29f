"""What worksites hang on in a new revision that they did not hang on before."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TypeAlias

from routing.paths.answers.results import InputDigest, Protocol, Result
from routing.studies.closures.answers import Answers, Asked, worksite_trips
from routing.studies.closures.closure import single_closures
from routing.studies.closures.ranking import count_rows
from routing.studies.closures.reached import reached_goals
from routing.studies.closures.sweep import closure_study
from routing.studies.revision_study import Revisions
from routing.studies.running.study import Row, Study

__all__ = ["HangsOn", "compare_hanging", "hanging_of"]

Hanging: TypeAlias = Mapping[str, frozenset[str]]
"""For each worksite with a safe way: what need only be lost singly for it to have none in time.

In time: with everybody home within the emergency limit who goes out once it is lost.
"""


class HangsOn(Result):
    """What one worksite hangs on in one revision only.

    Lost singly, it has no safe way left, or none in time home.
    """

    worksite: str
    protocol: Protocol
    now: tuple[str, ...] = ()
    """Elements, and conditions in force, that leave it none in the new revision only."""
    no_longer: tuple[str, ...] = ()
    """Those that did so in the old one only."""


def hanging_of(
    asked: Revisions,
    side: int,
    protocol: Protocol,
    inputs: tuple[InputDigest, ...],
    run: Callable[[Study], Iterable[Row]],
) -> Hanging:
    """Return what each worksite of a revision hangs on; those without a safe way are left out.

    Parameters
    ----------
    side
        0: the old revision, 1: the new one.
    run
        Runs a study of closures.
    """
    structure = asked.structures[side]
    trips = worksite_trips(structure)
    if not trips:
        return {}
    one = Asked(
        structure=structure,
        situation=asked.situations[side],
        protocol=protocol,
        kit=asked.kit if protocol == "reel" else None,
    )
    closures = single_closures(structure, one.situation)
    tally = count_rows(structure, run(closure_study(one, trips, closures, inputs)))
    on = {
        point.goal.id: {*point.elements, *point.conditions, *point.late_with}
        for point in tally.single_points
    }
    reached = reached_goals(Answers(one, searches=len(trips)), trips)
    return {goal.goal.id: frozenset(on.get(goal.goal.id, ())) for goal in reached if goal.safe}


def compare_hanging(
    old: Mapping[Protocol, Hanging], new: Mapping[Protocol, Hanging]
) -> tuple[HangsOn, ...]:
    """Return what worksites hang on in one revision only, most of what is new first.

    A worksite without a safe way in the new revision is told as lost or unsafe, and not here.
    """
    found = (one for protocol in new for one in _of(protocol, old[protocol], new[protocol]))
    return tuple(sorted(found, key=_rank))


def _of(protocol: Protocol, old: Hanging, new: Hanging) -> Iterator[HangsOn]:
    for worksite, on in new.items():
        before = old.get(worksite, frozenset())
        if on != before:
            yield HangsOn(
                worksite=worksite,
                protocol=protocol,
                now=tuple(sorted(on - before)),
                no_longer=tuple(sorted(before - on)),
            )


def _rank(one: HangsOn) -> tuple[int, int, str, Sequence[str]]:
    return (-len(one.now), -len(one.no_longer), one.worksite, one.protocol)
