"""The least extra of something with which goals are reached: one search tries it for many goals."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import TypeAlias

from routing.paths.course import Course

__all__ = ["Enough", "Search", "least_extra"]

Search: TypeAlias = Callable[[float, Iterable[str]], Mapping[str, Course]]
"""With so much extra, the course to each of these goals that is then reached."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Enough:
    """An extra that is enough for one goal, and the course that it opens."""

    extra_m: float
    """What the course needs [m]."""
    course: Course
    fails_m: float = 0.0
    """With this much there is none [m]."""


def least_extra(
    known: Mapping[str, Enough],
    search: Search,
    needs: Callable[[Course, float], float],
    *,
    within_m: float,
) -> dict[str, Enough]:
    """Return for each goal the least extra, to a tolerance, from an extra that is enough.

    More extra must never close a course: then halving finds the least. Every
    search is asked about all goals that it can tell something new about, so
    that many goals cost little more than one. What is known is tried first:
    where nothing a little below it is enough, one search is all.

    Parameters
    ----------
    known
        For each goal an extra that is enough, and its course.
    search
        What is reached with an extra.
    needs
        What a course found with an extra really needs of it [m], never more.
    within_m
        How far above the least an answer may be [m].
    """
    works = dict(sorted(known.items()))
    fails = {goal: one.fails_m for goal, one in works.items()}
    tried: set[str] = set()
    while True:
        still = [goal for goal in works if works[goal].extra_m - fails[goal] > within_m]
        if not still:
            break
        first = next((goal for goal in still if goal not in tried), still[0])
        high_m, low_m = works[first].extra_m, fails[first]
        extra_m = (high_m + low_m) / 2 if first in tried else high_m - 0.9 * within_m
        tried.add(first)
        asked = [goal for goal in still if fails[goal] < extra_m < works[goal].extra_m]
        found = search(extra_m, asked)
        for goal in asked:
            if goal in found:
                needed_m = min(needs(found[goal], extra_m), extra_m)
                works[goal] = replace(works[goal], extra_m=needed_m, course=found[goal])
            else:
                fails[goal] = extra_m
    return {goal: replace(one, fails_m=fails[goal]) for goal, one in works.items()}
