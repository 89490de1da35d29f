"""Why there is no route, and what would open one: found by searching again with one thing changed.

A route that does not exist ends at a frontier: the grips reached. A single
zone or closure can open it only if it is near enough to the frontier to stop a
hand-over there, so only those are tried, one by one; and none of them if even
all together do not open it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.paths.changes import Case, without_closures, without_load, without_zones
from routing.paths.course import Course, course_seconds
from routing.paths.frontier import Frontier, find_frontier, near_elements, near_zones
from routing.paths.limit_search import (
    LIMIT_TRIALS,
    open_by_limit,
    open_by_line,
    open_by_reels,
)
from routing.paths.margins import line_margin
from routing.paths.no_route import Opening, Why
from routing.paths.reel import on_one_reel
from routing.paths.request import Request, request_stops, solve
from routing.paths.results import LineMargin, SiteRef
from structures.elements import Zone
from structures.zones import active_zones

__all__ = ["MOST_TRIED", "explain"]

MOST_TRIED: Final = 12
"""At most this many zones, and as many closures, are tried one by one."""


@dataclass(slots=True)
class _Report:
    """What was found out so far."""

    openings: list[Opening] = field(default_factory=list)
    tried: list[str] = field(default_factory=list)
    not_tried: list[str] = field(default_factory=list)


def explain(graph: ReachGraph, request: Request, *, deep: bool = True) -> dict[str, Any]:
    """Return the reasons of a request that has no answer, as fields of a `NoRoute`.

    Parameters
    ----------
    deep
        Whether to search again with things changed. Without it only the
        frontier is given, and whether the tether alone stands in the way.
    """
    frontier = find_frontier(graph, request)
    untethered = Request(start=request.start, goal=request.goal, via=request.via, protocol=None)
    hands = solve(graph, untethered)
    line = None if hands is None else _line_on_least_time(graph, request, hands)
    tether = hands is not None
    report = _Report()
    why: Why = "tether" if tether else "unknown"
    if deep:
        found = _search_openings(graph, request, frontier, report)
        why = "tether" if tether else found
    else:
        report.not_tried.append("zones, closures and limits: not asked for")
    sites = [
        SiteRef(**{p.kind.replace(" ", "_"): p.site_id}) for p in (frontier.start, frontier.goal)
    ]
    return {
        "why": why,
        "message": _message(request, frontier, why, report, line),
        "from_site": sites[0],
        "to_site": sites[1],
        "reached_grips": len(frontier.reached),
        "closest": frontier.closest,
        "line": line,
        "openings": tuple(report.openings),
        "tried": tuple(report.tried),
        "not_tried": tuple(report.not_tried),
    }


def _search_openings(
    graph: ReachGraph, request: Request, frontier: Frontier, report: _Report
) -> Why:
    """Try zones, closures, limits and load; return what stands in the way."""
    case = Case(structure=graph.structure, situation=graph.situation)
    zones, closed = _stopping_zones(graph), list(graph.situation.closed)
    no_zones = without_zones(case, [zone.id for zone in zones])
    all_open = without_closures(case, closed)
    by_zones = _try_together(no_zones if zones else None, request, "all keep-out zones", report)
    by_closures = _try_together(all_open if closed else None, request, "all closures", report)
    if by_zones:
        _try_zones(case, request, near_zones(zones, frontier, _span_m(graph)), report)
    if by_closures:
        near = near_elements(graph.structure, closed, frontier, _span_m(graph))
        _try_closures(case, request, near, report)
    by_limit = _try_limits(graph, case, request, report)
    by_load = _try_load(case, request, report)
    reasons: tuple[tuple[bool, Why], ...] = (
        (by_zones, "zones"),
        (by_closures, "closures"),
        (by_limit, "limit"),
        (by_load, "load"),
    )
    for holds, why in reasons:
        if holds:
            return why
    both = without_closures(no_zones, closed) if zones and closed else None
    if _try_together(both, request, "all keep-out zones and closures", report):
        return "zones and closures"
    return "disconnected"


def _seconds(case: Case, request: Request) -> float | None:
    """Return the time of the route in a changed case, None if there is none [s]."""
    graph = build_graph(case.structure, case.situation)
    course = solve(graph, request)
    return None if course is None else course_seconds(graph, course)


def _try_together(case: Case | None, request: Request, what: str, report: _Report) -> bool:
    """Change many things at once; a single one of them cannot open what all do not."""
    if case is None:
        return False
    report.tried.append(f"{what} together")
    return _seconds(case, request) is not None


def _try_zones(case: Case, request: Request, zones: Sequence[Zone], report: _Report) -> None:
    for zone in zones[:MOST_TRIED]:
        report.tried.append(f"zone {zone.id}")
        seconds = _seconds(without_zones(case, [zone.id]), request)
        if seconds is not None:
            told = f" (it counts under {', '.join(zone.when)})" if zone.when else ""
            message = f"without zone {zone.id}{told} a route of {seconds:.0f} s is open"
            report.openings.append(Opening(zone=zone.id, seconds=seconds, message=message))
    report.not_tried.extend(f"zone {zone.id}" for zone in zones[MOST_TRIED:])


def _try_closures(case: Case, request: Request, ids: Sequence[str], report: _Report) -> None:
    for element_id in ids[:MOST_TRIED]:
        report.tried.append(f"closure of {element_id}")
        seconds = _seconds(without_closures(case, [element_id]), request)
        if seconds is not None:
            by = _closing_conditions(case, element_id)
            told = f" (closed by condition {', '.join(by)})" if by else ""
            message = f"with {element_id} open{told} there is a route of {seconds:.0f} s"
            report.openings.append(Opening(closure=element_id, seconds=seconds, message=message))
    report.not_tried.extend(f"closure of {element_id}" for element_id in ids[MOST_TRIED:])


def _closing_conditions(case: Case, element_id: str) -> tuple[str, ...]:
    return tuple(
        condition.id
        for condition in case.structure.conditions
        if condition.id in case.situation.when and element_id in condition.closes
    )


def _try_limits(graph: ReachGraph, case: Case, request: Request, report: _Report) -> bool:
    found = list(_limit_openings(graph, case, request, report))
    report.openings.extend(found)
    return bool(found)


def _limit_openings(
    graph: ReachGraph, case: Case, request: Request, report: _Report
) -> Iterator[Opening]:
    opened: set[str] = set()
    for trial in LIMIT_TRIALS:
        if request.protocol not in trial.protocols or trial.name in opened:
            continue
        together = "".join(f" with {name}" for name in trial.also)
        report.tried.append(f"limit {trial.name}{together}")
        opening = open_by_limit(trial, case, request)
        if opening is not None:
            opened.add(trial.name)
            yield opening
    if request.protocol == "reel":
        for name, search in (("reel_length_m", open_by_line), ("more reels", open_by_reels)):
            report.tried.append(f"limit {name}")
            opening = search(graph, request)
            if opening is not None:
                yield opening


def _try_load(case: Case, request: Request, report: _Report) -> bool:
    load = case.situation.carry
    if load is None:
        return False
    report.tried.append(f"without {load.id}")
    seconds = _seconds(without_load(case), request)
    if seconds is None:
        return False
    message = f"without {load.id} in hand a route of {seconds:.0f} s is open"
    report.openings.append(Opening(carry=load.id, seconds=seconds, message=message))
    return True


def _span_m(graph: ReachGraph) -> float:
    """Return how far from a grip something can be and still stop a hand-over from it [m].

    A hand-over's way is no longer than the reach, and the body ball that goes
    with it no farther off than its diameter; a hook goes out as far as its reach.
    """
    ability, limits = graph.situation.ability, graph.situation.limits
    return ability.reach_m + 2 * ability.corridor_radius_m + limits.hook_reach_m


def _stopping_zones(graph: ReachGraph) -> list[Zone]:
    """Return the keep-out zones that count for body, item or line, in id order."""
    wanted = {"body", "tether"} | ({"item"} if graph.situation.carry is not None else set())
    zones = active_zones(graph.structure, graph.situation.when)
    return [z for z in zones if z.kind == "keep-out" and wanted.intersection(z.applies_to)]


_WHY_TEXT: Final[dict[Why, str]] = {
    "zones": "keep-out zones are in the way",
    "closures": "closed elements are in the way",
    "limit": "a limit is in the way",
    "load": "what is carried is in the way",
    "tether": "the hands could go there, but the safety tether cannot",
    "zones and closures": "zones and closures together are in the way",
    "disconnected": "no handrails lead there, whatever zone is off or element open",
    "unknown": "the reason was not looked for",
}


def _line_on_least_time(graph: ReachGraph, request: Request, course: Course) -> LineMargin | None:
    """Return where the line of one reel would run out on the way the hands would take."""
    if request.protocol != "reel":
        return None
    start = request_stops(graph, request)[0]
    reeled = on_one_reel(graph, course, start, request.kit_for(graph.situation.limits))
    return None if reeled is None else line_margin(graph, reeled)


def _message(
    request: Request, frontier: Frontier, why: Why, report: _Report, line: LineMargin | None
) -> str:
    parts = [f"no route from {request.start} to {request.goal}: {_WHY_TEXT[why]}"]
    if request.via:
        parts.append(f"the leg from {frontier.start.site_id} to {frontier.goal.site_id} fails")
    parts.extend(
        f"{place.kind} {place.site_id} has no grip that can be used"
        for place in (frontier.start, frontier.goal)
        if not len(place.grips)
    )
    if line is not None and line.runs_out_at is not None:
        parts.append(
            f"on the least-time way the line of one reel runs out at {line.runs_out_at} "
            f"after {line.runs_out_after_m:.2f} m"
        )
    if frontier.closest is not None:
        closest = frontier.closest
        parts.append(
            f"the closest grip reached is {closest.grip}, {closest.distance_m:.2f} m from "
            f"{frontier.goal.site_id}"
        )
    if report.openings:
        parts.extend(opening.message for opening in report.openings)
    elif why != "unknown":
        parts.append("no single zone, closure or limit opens it")
    if report.not_tried:
        parts.append(f"not tried: {', '.join(report.not_tried)}")
    return "; ".join(parts)
