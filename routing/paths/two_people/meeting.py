"""Two people under leapfrog: where and when their short tethers can come together.

Short tethers lie nowhere: they go with the person, each within its own length of the hands.
So nothing crosses that stays behind, and two tethers can come together only while the two
people are within twice that length of each other (and the distance that lines must keep).
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal

from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.results import Result, Route
from routing.paths.no_route.answer import NoRoute
from routing.paths.no_route.error import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.two_people.goals_near import GoalsNear, goals_near

__all__ = ["Meeting", "MeetingRoutes", "find_meetings", "meeting_routes"]

MeetingVerdict = Literal[
    "the short tethers stay apart once the two have parted",
    "the short tethers can come together",
    "no route",
    "unsafe",
    "both would stay at one place",
    "both would stay too near to each other",
]

Span = tuple[float, float, int]
"""(from, until, place in the grips): the person holds this grip, or is on the way to the next."""


class Meeting(Result):
    """A stretch of time in which two people's short tethers can come together."""

    kind: Literal["together from the start", "come together"]
    from_s: float
    """After the first person's start."""
    until_s: float | None
    """None where both stay so: one has come to the goal and the other is, or comes, near."""
    distance_m: float
    """Between their hands at the nearest, straight."""
    first_at: str
    """Grip of the first person at the nearest."""
    second_at: str


class MeetingRoutes(Result):
    """The least-time leapfrog routes of two people, and when they are near each other."""

    verdict: MeetingVerdict
    within_m: float
    """Hands nearer than this: two short tethers and the distance that lines must keep."""
    second_after_s: float
    first: Route | None = None
    second: Route | None = None
    meetings: tuple[Meeting, ...] = ()
    goals_near: GoalsNear | None = None
    """Where both would stay at one place or too near to each other."""
    missing: tuple[NoRoute, ...] = ()
    """Why there is no route for one of them."""

    @property
    def safe(self) -> bool:
        """Whether both routes are safe, the tethers stay apart and both have room at the ends."""
        return self.verdict == "the short tethers stay apart once the two have parted"


def meeting_routes(
    graphs: tuple[ReachGraph, ReachGraph],
    trips: tuple[tuple[str, str], tuple[str, str]],
    *,
    second_after_s: float = 0.0,
    options: RouteOptions | None = None,
) -> MeetingRoutes:
    """Find both people's least-time leapfrog routes, and when their tethers can come together.

    Parameters
    ----------
    graphs
        Reach graph of each, on the same structure and limits.
    trips
        Start and goal of each.
    second_after_s
        How much later the second one starts [s].

    Raises
    ------
    UnknownIdError
        A site does not exist.
    """
    limits = graphs[0].situation.limits
    within_m = 2 * limits.short_tether_m + limits.line_apart_m
    routes: list[Route] = []
    missing: list[NoRoute] = []
    for graph, (start, goal) in zip(graphs, trips, strict=True):
        try:
            routes.append(find_route(graph, start, goal, options=options))
        except NoRouteError as error:
            missing.append(error.answer)
    if missing:
        return MeetingRoutes(
            verdict="no route",
            within_m=within_m,
            second_after_s=second_after_s,
            missing=tuple(missing),
        )
    first, second = routes
    meetings = find_meetings(first, second, within_m, second_after_s)
    verdict: MeetingVerdict = "the short tethers stay apart once the two have parted"
    if any(one.kind == "come together" for one in meetings):
        verdict = "the short tethers can come together"
    near = goals_near(first, second, limits.people_apart_m)
    if near is not None:
        verdict = (
            "both would stay at one place"
            if near.same_place
            else "both would stay too near to each other"
        )
    if not (first.safe and second.safe):
        verdict = "unsafe"
    return MeetingRoutes(
        verdict=verdict,
        within_m=within_m,
        second_after_s=second_after_s,
        first=first,
        second=second,
        meetings=meetings,
        goals_near=near,
    )


def find_meetings(
    first: Route, second: Route, within_m: float, second_after_s: float = 0.0
) -> tuple[Meeting, ...]:
    """Return when two people's hands are nearer than a limit, stretch by stretch, by time.

    Whoever is on the way to the next grip counts at both, and who has come to the goal
    stays there. Before the second one starts nobody meets.

    Parameters
    ----------
    first, second
        A route of each.
    within_m
        Hands nearer than this count [m].
    second_after_s
        How much later the second person starts [s].
    """
    found: list[Meeting] = []
    firsts, seconds = _spans(first, 0.0), _spans(second, second_after_s)
    for start_s, end_s, one, other in _side_by_side(firsts, seconds):
        distance_m, here, there = min(
            (math.dist(first.grips[a].position_m, second.grips[b].position_m), a, b)
            for a in _held(one, first)
            for b in _held(other, second)
        )
        if distance_m >= within_m:
            continue
        until_s = None if math.isinf(end_s) else end_s
        now = Meeting(
            kind="together from the start" if start_s <= second_after_s else "come together",
            from_s=start_s,
            until_s=until_s,
            distance_m=distance_m,
            first_at=first.grips[here].grip,
            second_at=second.grips[there].grip,
        )
        if found and found[-1].until_s == start_s:
            before = found[-1]
            nearest = min(before, now, key=lambda meeting: meeting.distance_m)
            found[-1] = replace(nearest, kind=before.kind, from_s=before.from_s, until_s=until_s)
        else:
            found.append(now)
    return tuple(found)


def _spans(route: Route, start_s: float) -> list[Span]:
    """Return from when until when each grip is held, the time on the way from it included."""
    swaps_s = [0.0] * len(route.grips)
    for transfer in route.transfers:
        swaps_s[transfer.grip_index] += transfer.seconds
    clock_s, times_s = start_s, [start_s]
    for at, over in enumerate(route.hand_overs):
        clock_s += swaps_s[at] + over.seconds
        times_s.append(clock_s)
    return [
        *((begin, end, at) for at, (begin, end) in enumerate(pairwise(times_s))),
        (times_s[-1], math.inf, len(times_s) - 1),
    ]


def _held(at: int, route: Route) -> range:
    return range(at, min(at + 2, len(route.grips)))


def _side_by_side(
    firsts: Sequence[Span], seconds: Sequence[Span]
) -> Iterator[tuple[float, float, int, int]]:
    """Yield (from, until, first's grip, second's grip) by time."""
    one = other = 0
    while one < len(firsts) and other < len(seconds):
        start_s = max(firsts[one][0], seconds[other][0])
        end_s = min(firsts[one][1], seconds[other][1])
        if start_s < end_s:
            yield start_s, end_s, firsts[one][2], seconds[other][2]
        if firsts[one][1] <= seconds[other][1]:
            one += 1
        else:
            other += 1
