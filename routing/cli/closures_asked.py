"""What is asked of `gripway closures`: which trips, and what is taken out of use."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from structures.errors import Problem

if TYPE_CHECKING:
    from routing.cli.question import Question
    from routing.studies.closures.answers import Trip
    from routing.studies.closures.closure import Closure

__all__ = ["Region", "chosen_closures", "chosen_trips", "read_pairs"]

_FARTHEST_M: Final = 100.0


class Region:
    """What is taken out two at a time."""

    def __init__(self, together: Sequence[str], near: str | None, within_m: float) -> None:
        self.together = together
        self.near = near
        self.within_m = within_m


def chosen_closures(
    question: "Question", region: Region, problems: list[Problem]
) -> "tuple[Closure, ...]":
    """Return all singly, and two at a time what was chosen; add what is wrong with the choice."""
    from routing.studies.closures.closure import (
        elements_near,
        single_closures,
        two_at_a_time,
    )

    structure, situation = question.structure, question.situation
    single = single_closures(structure, situation)
    known = [closure.ids[0] for closure in single]
    ids: set[str] = set()
    ids.update(_known("--together", region.together, known, problems))
    if len({*region.together}) == 1:
        problems.append(
            Problem(
                place="option --together",
                message=f"{region.together[0]!r} is only one element",
                remedy="repeat it for each: --together H1 --together H2",
            )
        )
    if not 0 < region.within_m <= _FARTHEST_M:
        problems.append(
            Problem(
                place="option --within",
                message=f"{region.within_m:g} m",
                remedy=f"give more than 0 and at most {_FARTHEST_M:g} m",
            )
        )
    elif region.near is not None and _known("--together-near", [region.near], known, problems):
        if region.near in {condition.id for condition in structure.conditions}:
            problems.append(
                Problem(
                    place="option --together-near",
                    message=f"{region.near!r} is a condition, which is nowhere",
                    remedy="name an element, or list the ids with --together",
                )
            )
        else:
            near = {*elements_near(structure, region.near, region.within_m)} & {*known}
            if len(near | ids) == 1:
                problems.append(
                    Problem(
                        place="option --together-near",
                        message=f"nothing else is within {region.within_m:g} m of {region.near!r}",
                        remedy="give a longer --within, or list the ids with --together",
                    )
                )
            ids |= near
    return (*single, *two_at_a_time(ids, situation))


def _known(
    option: str, named: Sequence[str], known: Sequence[str], problems: list[Problem]
) -> list[str]:
    from routing.cli.near_ids import what_is_near

    missing = [one for one in named if one not in known]
    problems.extend(
        Problem(
            place=f"option {option}",
            message=f"{one!r} is nothing that can be taken out of use",
            remedy=what_is_near(one, known),
        )
        for one in missing
    )
    return [one for one in named if one in known]


def read_pairs(trips: Sequence[str], problems: list[Problem]) -> list[tuple[str, str]]:
    """Return start and goal of each `--trip`; add what is wrong with them."""
    found = []
    for one in trips:
        match one.split():
            case [start, goal]:
                found.append((start, goal))
            case _:
                problems.append(
                    Problem(
                        place="option --trip",
                        message=f"{one!r} is not two ids",
                        remedy='give both in quotes, a blank between: --trip "hatch W12"',
                    )
                )
    goals = [goal for _, goal in found]
    problems.extend(
        Problem(
            place="option --trip",
            message=f"{goal!r} is asked for {goals.count(goal)} times",
            remedy="a goal is counted once: ask for the other ways in a run of their own",
        )
        for goal in sorted({goal for goal in goals if goals.count(goal) > 1})
    )
    return found


def chosen_trips(question: "Question", pairs: Sequence[tuple[str, str]]) -> "tuple[Trip, ...]":
    """Return the trips of these pairs, by default from the hatches to every worksite.

    Raises
    ------
    NoHatchError
        No pair is given, and the structure has no hatch.
    """
    from routing.paths.worksite_routes import NoHatchError
    from routing.studies.closures.answers import Trip, worksite_trips

    if pairs:
        return tuple(Trip(starts=(start,), goal=goal) for start, goal in pairs)
    if not question.structure.hatches:
        raise NoHatchError(question.structure.name)
    return worksite_trips(question.structure)
