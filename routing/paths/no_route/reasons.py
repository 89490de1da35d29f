"""Why there is no route, and what would open one: found by searching again with one thing changed.

A route that does not exist ends at a frontier: the grips reached. A single
zone or closure can open it only if it is near enough to a reached grip to stop
a hand-over there, so only those are tried, one by one; and none of them if even
all together do not open it.
"""

from typing import Any, Final

from routing.graph.reach_graph import Indices, ReachGraph
from routing.paths.answers.margins import line_margin
from routing.paths.answers.results import LineMargin, SiteRef
from routing.paths.changes import Case, without_closures, without_zones
from routing.paths.course import Course
from routing.paths.no_route.answer import Why
from routing.paths.no_route.frontier import Frontier, find_frontier, near_elements, near_zones
from routing.paths.no_route.trials import (
    Report,
    find_together,
    span_m,
    stopping_zones,
    try_closures,
    try_limits,
    try_load,
    try_together,
    try_zones,
)
from routing.paths.request import Request, request_stops, solve
from routing.paths.tethers.legs import SearchGaveUpError
from routing.paths.tethers.outfit import make_outfit, why_no_hook
from routing.paths.tethers.reel import on_one_reel
from structures.model import Structure
from structures.units import fine_text, length_text

__all__ = ["explain"]


def explain(
    graph: ReachGraph, request: Request, *, deep: bool = True, reached: Indices | None = None
) -> dict[str, Any]:
    """Return the reasons of a request that has no answer, as fields of a `NoRoute`.

    Parameters
    ----------
    deep
        Whether to search again with things changed. Without it only the
        frontier is given, and whether the tether alone stands in the way.
    reached
        The grips reached, where an earlier search from the same start told them.
    """
    frontier = find_frontier(graph, request, reached)
    hands = solve(graph, request.untethered)
    line = None if hands is None else _line_on_least_time(graph, request, hands)
    tether = hands is not None
    report = Report()
    why: Why = "tether" if tether else "unknown"
    even_then = ""
    if frontier.start.too_far or frontier.goal.too_far:
        why = "place out of reach"
        report.not_tried.append("zones, closures and limits: none moves the place of a worksite")
    elif deep:
        try:
            found, hands_only = _search_openings(graph, request, frontier, report)
        except SearchGaveUpError:
            # That there is no route is known; only what would open one is not.
            report.not_tried.append("the rest: a search by all via sites gave up")
            found, hands_only = "unknown", False
        why = "tether" if tether else found
        even_then = "" if tether or not hands_only else _EVEN_THEN
    else:
        report.not_tried.append("zones, closures and limits: `gripway route` tries them")
    no_hook = _why_no_hook(graph, request)
    reason = _WHY_TEXT[why] + even_then + ("" if no_hook is None else f"; {no_hook}")
    if no_hook is not None and deep:
        reason += _ask_instead(graph.structure, request)
    sites = [
        SiteRef(**{p.kind.replace(" ", "_"): p.site_id}) for p in (frontier.start, frontier.goal)
    ]
    look = f"; {_INSPECT}" if why == "disconnected" else ""
    return {
        "why": why,
        "message": _message(request, frontier, reason, report, line) + look,
        "from_site": sites[0],
        "to_site": sites[1],
        "reached_grips": len(frontier.reached),
        "closest": frontier.closest,
        "line": line,
        "openings": tuple(report.openings),
        "unsafe_openings": tuple(report.unsafe),
        "together": report.together,
        "tried": tuple(report.tried),
        "not_tried": tuple(report.not_tried),
    }


def _search_openings(
    graph: ReachGraph, request: Request, frontier: Frontier, report: Report
) -> tuple[Why, bool]:
    """Try zones, closures, limits and load; return what stands in the way.

    The second value says that without it the hands could go, but not the tether.
    """
    case = Case(structure=graph.structure, situation=graph.situation)
    zones, closed = stopping_zones(graph), list(graph.situation.closed)
    no_zones = without_zones(case, [zone.id for zone in zones])
    all_open = without_closures(case, closed)
    by_zones = try_together(no_zones if zones else None, request, "all keep-out zones", report)
    by_closures = try_together(all_open if closed else None, request, "all closures", report)
    if by_zones == "route":
        try_zones(case, request, near_zones(zones, frontier, span_m(graph)), report)
    if by_closures == "route":
        near = near_elements(graph.structure, closed, frontier, span_m(graph))
        try_closures(case, request, near, report)
    by_limit = try_limits(graph, request, report)
    by_load = try_load(case, request, report)
    both = without_closures(no_zones, closed) if zones and closed else None
    if not report.opened and "route" not in {by_zones, by_closures}:
        by_both = try_together(both, request, "all keep-out zones and closures", report)
    else:
        by_both = "nothing"
    if not report.opened and "route" in {by_zones, by_closures, by_both}:
        some_zones = zones if "route" in {by_zones, by_both} else ()
        some_closed = closed if by_zones != "route" else ()
        find_together(case, request, some_zones, some_closed, report)
    reasons: tuple[tuple[bool, Why, bool], ...] = (
        (by_zones == "route", "zones", False),
        (by_closures == "route", "closures", False),
        (by_limit, "limit", False),
        (by_load, "load", False),
        (by_both == "route", "zones and closures", False),
        (by_zones == "hands", "zones", True),
        (by_closures == "hands", "closures", True),
        (by_both == "hands", "zones and closures", True),
    )
    found = ((why, hands_only) for holds, why, hands_only in reasons if holds)
    return next(found, ("disconnected", False))


_WHY_TEXT: Final[dict[Why, str]] = {
    "place out of reach": "no grip stands for a worksite whose place is out of reach of it",
    "zones": "keep-out zones are in the way",
    "closures": "closed elements are in the way",
    "limit": "a limit is in the way",
    "load": "what is carried is in the way",
    "tether": "the hands could go there, but the safety tether cannot",
    "zones and closures": "zones and closures together are in the way",
    "disconnected": (
        "no handrails lead there, whatever zone is off, element open or limit moved "
        "as far as was tried"
    ),
    "unknown": "the reason was not looked for",
}

_INSPECT: Final = (
    "`gripway inspect FILE` tells what is cut off by how much, which handrails float, and whether "
    "the length unit of the document or of a table may be wrong"
)

_EVEN_THEN: Final = ", and without them the safety tether would still not do"


def _line_on_least_time(graph: ReachGraph, request: Request, course: Course) -> LineMargin | None:
    """Return where the line of one reel would run out on the way the hands would take."""
    if request.protocol != "reel":
        return None
    start = request_stops(graph, request)[0]
    reeled = on_one_reel(graph, course, start, request.kit_for(graph.situation.limits))
    return None if reeled is None else line_margin(graph, reeled)


def _why_no_hook(graph: ReachGraph, request: Request) -> str | None:
    """Return why no reel can be hooked on where the request starts, None if one can."""
    if request.protocol != "reel":
        return None
    outfit = make_outfit(graph, request.kit_for(graph.situation.limits))
    return why_no_hook(graph, outfit, request_stops(graph, request)[0])


def _ask_instead(structure: Structure, request: Request) -> str:
    """Return what to ask of a way that goes on from a place where no reel can be hooked on.

    People who get there on reels bring a line that lies already; a way asked by itself has none.
    """
    hatches = sorted(hatch.id for hatch in structure.hatches)
    if not hatches or request.start in hatches:
        return ""
    hatch = f"gripway route STRUCTURE {hatches[0]}"
    by_way = " ".join(f"--via {site}" for site in (request.start, *request.via))
    onward = (
        ""
        if request.goal in hatches
        else f"for the whole way `{hatch} {request.goal} {by_way} --protocol reel`, "
    )
    return (
        f"; whoever came there on a reel still has that line: ask {onward}"
        f"for the way home `{hatch} {request.start} --protocol reel --homeward`, "
        "or plan both for `gripway outing`"
    )


def _message(
    request: Request, frontier: Frontier, reason: str, report: Report, line: LineMargin | None
) -> str:
    parts = [f"no route from {request.start} to {request.goal}: {reason}"]
    if request.via:
        parts.append(f"the leg from {frontier.start.site_id} to {frontier.goal.site_id} fails")
    parts.extend(
        place.why_none for place in (frontier.start, frontier.goal) if not len(place.grips)
    )
    if line is not None and line.runs_out_at is not None:
        way_m = line.runs_out_after_m
        after = "" if way_m is None else f" after {length_text(way_m, 'down')}"
        parts.append(
            f"on the least-time way the line of one reel runs out at {line.runs_out_at}{after}"
        )
    if frontier.closest is not None:
        closest = frontier.closest
        parts.append(
            f"the closest grip reached is {closest.grip}, "
            f"{fine_text(closest.distance_m, 'up')} from {frontier.goal.site_id}"
        )
    parts.extend(opening.message for opening in (*report.openings, *report.unsafe))
    if report.tried and not report.openings:
        safely = " safely" if report.unsafe else ""
        parts.append(f"no single zone, closure or limit opens it{safely}")
    if report.together is not None:
        parts.append(report.together.message)
    if report.not_tried:
        parts.append(f"not tried: {', '.join(report.not_tried)}")
    return "; ".join(parts)
