"""Staged safety tethers over the whole outing: no more people on them than there are tethers.

Each person's router knows of that person's own tethers only, and takes every staged
one for free.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import Schedule
from routing.outings.safety.moments import Moment
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground, kit_of
from routing.paths.tethers.outfit import make_outfit

__all__ = ["check_staged"]


class _Use(NamedTuple):
    """One person on one staged tether, from hooking on until it is let go again."""

    start_s: float
    end_s: float
    person: str
    act: str | None
    point: str
    length_m: float


def check_staged(
    schedule: Schedule, ground: Ground, moments: Mapping[str, Sequence[Moment]]
) -> Iterator[OutingFinding]:
    """Yield who takes a staged tether when all of that length there are in use.

    Parameters
    ----------
    moments
        Of each person, by time.

    Yields
    ------
    OutingFinding
        One for each person and tether point, at the first time.

    Notes
    -----
    By the clock. A transfer takes its time: until the next hold is reached, the person
    counts as being on the tether that is let go.
    """
    uses = sorted(use for one in moments for use in _uses(schedule, ground, one, moments[one]))
    there = {
        (point.id, length_m): count
        for point in ground.tether_points
        for length_m, count in Counter(point.staged_m).items()
    }
    said: set[tuple[str, str]] = set()
    for i, use in enumerate(uses):
        others = [
            other.person
            for other in uses[:i]
            if (other.point, other.length_m) == (use.point, use.length_m)
            and other.end_s > use.start_s + SLACK_ZERO_S
        ]
        if len(others) < there[use.point, use.length_m] or (use.person, use.point) in said:
            continue
        said.add((use.person, use.point))
        yield OutingFinding(
            code="tether-used-twice",
            severity="blocks",
            act=use.act,
            person=use.person,
            at_s=use.start_s,
            elements=(use.point,),
            message=f"{use.person} takes the safety tether of {use.length_m:.2f} m staged at "
            f"{use.point} while {' and '.join(sorted(set(others)))} "
            f"{'is' if len(set(others)) == 1 else 'are'} on it (at {clock(use.start_s)})",
            remedy="stage another one, give one of them one reel more, or let one wait",
        )


def _uses(
    schedule: Schedule, ground: Ground, person: str, moments: Sequence[Moment]
) -> Iterator[_Use]:
    """Yield when one person is on which staged tether."""
    if not moments or moments[0].state is None:
        return
    planned = next(one for one in schedule.plan.outing.people if one.id == person)
    graph = ground.graph(person, None, ())
    tethers = make_outfit(graph, kit_of(planned, ground.limits)).rules.tethers
    open_: dict[tuple[str, float, int], Moment] = {}
    last_s = schedule.acts_end_s
    for moment in moments:
        stack = () if moment.state is None else moment.state.stack
        count = Counter(
            (ground.tether_points[stay.point].id, tethers[stay.tether].length_m)
            for stay in stack
            if stay.staged
        )
        held = {(*one, number) for one, most in count.items() for number in range(most)}
        for one in sorted(open_.keys() - held):
            since = open_.pop(one)
            yield _Use(since.at_s, _next_s(moments, moment, last_s), person, since.act, *one[:2])
        for one in sorted(held - open_.keys()):
            open_[one] = moment
    for one, since in sorted(open_.items()):
        yield _Use(since.at_s, last_s, person, since.act, *one[:2])


def _next_s(moments: Sequence[Moment], moment: Moment, last_s: float) -> float:
    """Return the first time after a moment at which something else is so [s]."""
    return min((one.at_s for one in moments if one.at_s > moment.at_s), default=last_s)
