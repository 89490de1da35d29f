"""By how much the safety tether fails to reach goals, for many goals in bounded time.

Only limits of the tether itself are moved, so the reach graph is built once;
and every search is asked about all goals at once (`routing.paths.no_route.least_extra`).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, TypeAlias

import numpy as np

from routing.graph.reach_graph import ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.answers.results import Margins, Result
from routing.paths.answers.tether_checks import Case, anchor_findings
from routing.paths.changes import with_limit
from routing.paths.course import Anchoring, Course, course_of
from routing.paths.goal_courses import courses_to
from routing.paths.no_route.least_extra import Enough, least_extra
from routing.paths.no_route.short_shortfall import short_tether_excess
from routing.paths.request import Request
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.outfit import Outfit, make_outfit, start_hooks, why_no_hook
from routing.paths.tethers.reel import on_one_reel, reel_courses, reel_ground
from structures.units import length_text

__all__ = ["Shortfall", "Why", "shortfalls"]

Why: TypeAlias = Literal[
    "no grip", "hands", "no hook at the start", "line may not lie", "too little line", "hooks"
]

_MOST_MORE_REELS: Final = 4
_HOOK_FACTOR: Final = 1.5
"""Hook reaches up to this many times the present one are looked at."""
_LINE_WITHIN_M: Final = 0.01
_HOOK_WITHIN_M: Final = 0.001
_LEAST_FOR_A_TRANSFER: Final = 2
"""Tethers that there must be, staged ones included, for hooks to matter after the start."""


class Shortfall(Result):
    """Why the safety tether does not get somewhere, and by how much it fails."""

    why: Why
    """``no grip``: nothing there can be held; ``hands``: hands do not get there either."""
    message: str
    line_short_m: float | None = None
    """With so much more line on every reel of the kit it gets there (to 0.01 m) [m]."""
    runs_out_at: str | None = None
    """The grip at which the line of the kit as it is runs out on that way."""
    tether_point: str | None = None
    """The stay whose line runs out there."""
    hook_short_m: float | None = None
    """With so much more hook reach it gets there with the line as it is (to 0.001 m) [m]."""
    hook_at: str | None = None
    """What is out of hook reach by that: a tether point, or (leapfrog) an element."""
    more_reels: int | None = None
    """With so many more reels of the kit's longest kind it gets there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    graph: ReachGraph
    request: Request
    start: SitePlaces
    places: Mapping[str, SitePlaces]

    @property
    def kit(self) -> Kit:
        return self.request.kit_for(self.graph.situation.limits)

    def on_reels(self, goals: Iterable[str], kit: Kit) -> dict[str, Course]:
        """Search with another kit than the one asked about."""
        return reel_courses(self.graph, self.start, [self.places[goal] for goal in goals], kit)


def shortfalls(
    graph: ReachGraph, request: Request, start: SitePlaces, missing: Sequence[SitePlaces]
) -> dict[str, Shortfall]:
    """Return the reason for each goal that is not reached, by its id in ascending order.

    Parameters
    ----------
    request
        Protocol and kit; its own start and goal are not looked at.
    start
        Where the search began.
    missing
        Goals that `courses_to` did not reach from there.

    Notes
    -----
    The number of searches depends on the tolerances and not on the structure:
    each halves, for at least one goal, what is not known yet.
    """
    asked = _Asked(
        graph=graph,
        request=request,
        start=start,
        places={place.site_id: place for place in missing},
    )
    found: dict[str, Shortfall] = {}
    left: list[str] = []
    by_hand = courses_to(graph, request.untethered, start, missing)
    for goal, place in asked.places.items():
        if not len(place.grips):
            found[goal] = Shortfall(why="no grip", message=place.why_none)
        elif goal not in by_hand:
            message = "hands do not get there either, whatever the tether"
            found[goal] = Shortfall(why="hands", message=message)
        else:
            left.append(goal)
    if left:
        rule = _on_reels if request.protocol == "reel" else _leapfrog
        found.update(rule(asked, left))
    return dict(sorted(found.items()))


def _leapfrog(asked: _Asked, goals: Sequence[str]) -> dict[str, Shortfall]:
    found: dict[str, Shortfall] = {}
    places = {goal: asked.places[goal] for goal in goals}
    excess = short_tether_excess(asked.graph, asked.start, places)
    for goal in goals:
        if goal not in excess:
            message = "two places that take no hook, or a zone closed to tethers, are on every way"
            found[goal] = Shortfall(why="hooks", message=message)
            continue
        one = excess[goal]
        found[goal] = Shortfall(
            why="hooks",
            message=one.message,
            hook_short_m=one.hook_short_m,
            hook_at=one.element_id,
            line_short_m=one.line_short_m,
        )
    return found


def _on_reels(asked: _Asked, goals: Sequence[str]) -> dict[str, Shortfall]:
    graph = asked.graph
    outfit = make_outfit(graph, asked.kit)
    message = why_no_hook(graph, outfit, asked.start)
    if message is not None:
        return {goal: Shortfall(why="no hook at the start", message=message) for goal in goals}
    endless = _on_endless_reel(asked, outfit, goals)
    found = {
        goal: Shortfall(
            why="line may not lie",
            message="no way along which the line may lie leads there, however long it is",
        )
        for goal in goals
        if goal not in endless
    }
    line = _more_line(asked, endless)
    more = _more_reels(asked, sorted(endless))
    hooks = _more_hook_reach(
        asked, sorted(endless), tethers=sum(outfit.carried, len(outfit.staged))
    )
    for goal in endless:
        found[goal] = _told(asked, line[goal], more.get(goal), hooks.get(goal))
    return found


def _on_endless_reel(asked: _Asked, outfit: Outfit, goals: Sequence[str]) -> dict[str, Enough]:
    """Return the shortest lay from the start to each goal, and what the longest reel lacks for it.

    A bound of what must be looked at: as long as this the reel does without a transfer.
    """
    graph = asked.graph
    hooks = start_hooks(graph, outfit, asked.start)
    nearest: dict[int, float] = {}
    for _, grip, distance_m in hooks:
        nearest[grip] = min(distance_m, nearest.get(grip, distance_m))
    tree = least_time_tree(reel_ground(graph).lengths, nearest)
    longest_m = max(asked.kit.reels_m)
    reserve_m = graph.situation.limits.reserve_m
    found: dict[str, Enough] = {}
    for goal in goals:
        there = [g for g in asked.places[goal].grips.tolist() if np.isfinite(tree.cost[g])]
        if there:
            best = min(there, key=lambda grip: (tree.cost[grip], grip))
            extra_m = float(tree.cost[best]) + reserve_m - longest_m
            course = course_of(graph, tree.path_to(best))
            reeled = on_one_reel(graph, course, asked.start, _longer(asked.kit, extra_m))
            if reeled is not None:
                found[goal] = Enough(extra_m=extra_m, course=reeled)
    return found


def _longer(kit: Kit, extra_m: float) -> Kit:
    return Kit(reels_m=tuple(length_m + extra_m for length_m in kit.reels_m))


def _most_m(anchoring: Anchoring) -> float:
    stowed_m = (anchoring.stowed_m,) if anchoring.stowed_m is not None else ()
    return max(*anchoring.payout_m, *stowed_m, 0.0)


def _over_m(graph: ReachGraph, course: Course, extra_m: float) -> list[float]:
    """Return for each stay of a course on longer reels what it takes beyond the real one [m]."""
    reserve_m = graph.situation.limits.reserve_m
    return [_most_m(one) + reserve_m - ((one.line_m or 0.0) - extra_m) for one in course.anchorings]


def _more_line(asked: _Asked, endless: Mapping[str, Enough]) -> dict[str, Enough]:
    """Find the least line that every reel of the kit lacks, to the centimetre."""
    kit, graph = asked.kit, asked.graph
    return least_extra(
        endless,
        lambda extra_m, goals: asked.on_reels(goals, _longer(kit, extra_m)),
        lambda course, extra_m: max(_over_m(graph, course, extra_m)),
        within_m=_LINE_WITHIN_M,
    )


def _more_reels(asked: _Asked, goals: Sequence[str]) -> dict[str, tuple[int, Course]]:
    """Find how many more reels of the longest kind would do, up to four."""
    kit, found, left = asked.kit, dict[str, tuple[int, Course]](), list(goals)
    for more in range(1, _MOST_MORE_REELS + 1):
        if not left:
            break
        larger = Kit(reels_m=(*kit.reels_m, *(max(kit.reels_m),) * more))
        courses = asked.on_reels(left, larger)
        found.update({goal: (more, course) for goal, course in courses.items()})
        left = [goal for goal in left if goal not in found]
    return found


def _more_hook_reach(
    asked: _Asked, goals: Sequence[str], *, tethers: int
) -> dict[str, tuple[float, str]]:
    """Find by how much a tether point is out of hook reach: (metres, its id)."""
    graph = asked.graph
    if not goals or tethers < _LEAST_FOR_A_TRANSFER:
        return {}
    now_m = graph.situation.limits.hook_reach_m

    def search(extra_m: float, wanted: Iterable[str]) -> dict[str, Course]:
        # Moves do not depend on the hook reach, so the graph need not be built again.
        situation = with_limit(graph.situation, "hook_reach_m", now_m + extra_m)
        places = [asked.places[goal] for goal in wanted]
        return courses_to(replace(graph, situation=situation), asked.request, asked.start, places)

    def hook_m(course: Course) -> dict[str, float]:
        """Return how far each tether taken on the way is hooked on from the hand."""
        taken = (one for one in course.anchorings if not one.starts and not one.returns)
        return {one.element_id: one.payout_m[0] for one in taken}

    def needs(course: Course, _: float) -> float:
        return max((*hook_m(course).values(), now_m)) - now_m

    most_m = max((_HOOK_FACTOR - 1) * now_m, graph.situation.ability.reach_m - now_m)
    known = {
        goal: Enough(extra_m=needs(course, most_m), course=course)
        for goal, course in search(most_m, goals).items()
    }
    found = least_extra(known, search, needs, within_m=_HOOK_WITHIN_M)
    told: dict[str, tuple[float, str]] = {}
    for goal, one in found.items():
        far = hook_m(one.course)
        if far:
            told[goal] = (one.extra_m, max(far, key=lambda point: (far[point], point)))
    return told


def _told(
    asked: _Asked,
    line: Enough,
    more: tuple[int, Course] | None,
    hook: tuple[float, str] | None,
) -> Shortfall:
    graph, course = asked.graph, line.course
    reserve_m = graph.situation.limits.reserve_m
    over = _over_m(graph, course, line.extra_m)
    first = next((i for i, over_m in enumerate(over) if over_m > 0), int(np.argmax(over)))
    stay = course.anchorings[first]
    usable_m = (stay.line_m or 0.0) - line.extra_m - reserve_m
    at = next(
        (i for i, payout_m in enumerate(stay.payout_m) if payout_m > usable_m),
        len(stay.payout_m) - 1,
    )
    grip = graph.grips.ids[course.grips[stay.at + at]]
    kept = length_text(reserve_m, feet=True)
    short = f"{length_text(line.extra_m, 'up', feet=True)} short (reserve {kept} kept)"
    short += _unsafe(graph, course)
    parts = [f"the line from {stay.element_id} runs out at {grip}, {short}"]
    if hook is not None:
        parts.append(f"{hook[1]} is out of hook reach by {length_text(hook[0], 'up', feet=True)}")
    if more is not None:
        count, by_more = more
        longest_m = max(asked.kit.reels_m)
        reels = "one more reel" if count == 1 else f"{count} more reels"
        length = length_text(longest_m, feet=True)
        parts.append(f"{reels} of {length} would do{_unsafe(graph, by_more)}")
    else:
        parts.append("more reels of the same length would not do")
    return Shortfall(
        why="too little line",
        message="; ".join(parts),
        line_short_m=line.extra_m,
        runs_out_at=grip,
        tether_point=stay.element_id,
        hook_short_m=None if hook is None else hook[0],
        hook_at=None if hook is None else hook[1],
        more_reels=None if more is None else more[0],
    )


def _unsafe(graph: ReachGraph, course: Course) -> str:
    """Return what makes a way with more line unsafe all the same: where it is hooked on."""
    case = Case(graph=graph, course=course, margins=Margins(), protocol="reel")
    blocking = [one.message for one in anchor_findings(case) if one.severity == "blocks"]
    return f", but that way is NOT SAFE: {'; '.join(blocking)}" if blocking else ""
