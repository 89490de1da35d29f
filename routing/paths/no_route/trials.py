"""Trials: one thing changed, the graph built again, the route searched again."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal, TypeAlias, TypeVar

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.paths.changes import Case, without_closures, without_load, without_zones
from routing.paths.no_route.answer import Opening, OpeningTogether
from routing.paths.no_route.limit_search import (
    LIMIT_TRIALS,
    open_by_limit,
    open_by_line,
    open_by_reels,
    worth_trying,
)
from routing.paths.no_route.needed import all_needed
from routing.paths.no_route.opened import OpenedWay, opening_of, try_request
from routing.paths.request import Request, solve
from structures.elements import Zone
from structures.fields import file_key
from structures.zones import active_zones

__all__ = [
    "MOST_TRIED",
    "Opened",
    "Report",
    "find_together",
    "span_m",
    "stopping_zones",
    "try_case",
    "try_closures",
    "try_limits",
    "try_load",
    "try_together",
    "try_zones",
]

MOST_TRIED: Final = 12
"""At most this many zones, and as many closures, are tried."""

Thing = TypeVar("Thing")

Opened: TypeAlias = Literal["route", "hands", "nothing"]
"""What a change opens: a route, a way for the hands only, or nothing."""


@dataclass(slots=True)
class Report:
    """What was found out so far."""

    openings: list[Opening] = field(default_factory=list)
    """Routes that are safe."""
    unsafe: list[Opening] = field(default_factory=list)
    """Ways that a finding blocks."""
    tried: list[str] = field(default_factory=list)
    not_tried: list[str] = field(default_factory=list)
    together: OpeningTogether | None = None
    """What opens a way only all at once."""

    def note(self, opening: Opening) -> None:
        """Take in what opens a way, as a remedy only if that way is safe."""
        (self.unsafe if opening.blocked_by else self.openings).append(opening)

    @property
    def opened(self) -> bool:
        """Whether anything opens a way, be it an unsafe one."""
        return bool(self.openings or self.unsafe)


def try_case(case: Case, request: Request) -> OpenedWay | None:
    """Return the route in a changed case, None if there is none."""
    return try_request(build_graph(case.structure, case.situation), request)


def try_together(case: Case | None, request: Request, what: str, report: Report) -> Opened:
    """Change many things at once; a single one of them cannot open what all do not."""
    if case is None:
        return "nothing"
    report.tried.append(f"{what} together")
    graph = build_graph(case.structure, case.situation)
    if solve(graph, request) is not None:
        return "route"
    return "hands" if solve(graph, request.untethered) is not None else "nothing"


def try_zones(case: Case, request: Request, zones: Sequence[Zone], report: Report) -> None:
    """Find each zone that opens a route when it alone is taken away."""
    tried = zones[:MOST_TRIED]
    report.tried.extend(f"zone {zone.id}" for zone in tried)

    def without(some: Sequence[Zone]) -> OpenedWay | None:
        return try_case(without_zones(case, [zone.id for zone in some]), request)

    for zone, opened in _alone(tried, without):
        told = _counts_under(zone)
        message = f"without zone {zone.id}{told} a route of {opened.seconds:.0f} s is open"
        opening = Opening(zone=zone.id, seconds=opened.seconds, message=message)
        report.note(opening_of(opened, opening))
    report.not_tried.extend(f"zone {zone.id}" for zone in zones[MOST_TRIED:])


def try_closures(case: Case, request: Request, ids: Sequence[str], report: Report) -> None:
    """Find each closed element that opens a route when it alone is opened."""
    tried = ids[:MOST_TRIED]
    report.tried.extend(f"closure of {element_id}" for element_id in tried)

    def with_open(some: Sequence[str]) -> OpenedWay | None:
        return try_case(without_closures(case, list(some)), request)

    for element_id, opened in _alone(tried, with_open):
        told = _closed_by(case, element_id)
        message = f"with {element_id} open{told} there is a route of {opened.seconds:.0f} s"
        opening = Opening(closure=element_id, seconds=opened.seconds, message=message)
        report.note(opening_of(opened, opening))
    report.not_tried.extend(f"closure of {element_id}" for element_id in ids[MOST_TRIED:])


def find_together(
    case: Case, request: Request, zones: Sequence[Zone], ids: Sequence[str], report: Report
) -> None:
    """Find the zones and closures that open a route together, with none of them left out.

    All of those given are known to open one together, and none does alone.
    """
    by_id = {zone.id: zone for zone in zones}
    things = (*(("zone", zone.id) for zone in zones), *(("closure", one) for one in ids))

    def lifted(some: Sequence[tuple[str, str]]) -> OpenedWay | None:
        off = [one for kind, one in some if kind == "zone"]
        opened = [one for kind, one in some if kind == "closure"]
        return try_case(without_closures(without_zones(case, off), opened), request)

    needed = all_needed(things, lambda some: lifted(some) is not None)
    way = lifted(needed)
    if way is None:
        return
    off = tuple(one for kind, one in needed if kind == "zone")
    opened = tuple(one for kind, one in needed if kind == "closure")
    told = [
        *(f"zone {one} off{_counts_under(by_id[one])}" for one in off),
        *(f"{one} open{_closed_by(case, one)}" for one in opened),
    ]
    how = ", together and none of them left out, open" if len(told) > 1 else " opens"
    message = f"{' and '.join(told)}{how} a route of {way.seconds:.0f} s"
    reasons = "; ".join(finding.message for finding in way.blocking())
    report.together = OpeningTogether(
        zones=off,
        closures=opened,
        seconds=way.seconds,
        message=f"{message}, which is NOT SAFE: {reasons}" if reasons else message,
        blocked_by=tuple(finding.code for finding in way.blocking()),
    )


def _counts_under(zone: Zone) -> str:
    return f" (it counts under {', '.join(zone.when)})" if zone.when else ""


def _closed_by(case: Case, element_id: str) -> str:
    by = _closing_conditions(case, element_id)
    return f" (closed by condition {', '.join(by)})" if by else ""


def _alone(
    things: Sequence[Thing], try_without: Callable[[Sequence[Thing]], OpenedWay | None]
) -> Iterator[tuple[Thing, OpenedWay]]:
    """Yield, in order, each thing that opens a route alone, and the route.

    To take away more never closes a route, so of things that open none together
    none opens one alone: they are tried in halves, and the halves of what opens.
    """
    if not things:
        return
    # All of them together are known to open a route, or it is learnt from their halves.
    halves = (
        [things] if len(things) == 1 else [things[: len(things) // 2], things[len(things) // 2 :]]
    )
    for half in halves:
        opened = try_without(half)
        if opened is None:
            continue
        if len(half) == 1:
            yield half[0], opened
        else:
            yield from _alone(half, try_without)


def _closing_conditions(case: Case, element_id: str) -> tuple[str, ...]:
    return tuple(
        condition.id
        for condition in case.structure.conditions
        if condition.id in case.situation.when and element_id in condition.closes
    )


def try_limits(graph: ReachGraph, request: Request, report: Report) -> bool:
    """Move each limit alone; note the routes that this opens, and tell whether one does."""
    found = list(_limit_openings(graph, request, report))
    for opening in found:
        report.note(opening)
    return bool(found)


def _limit_openings(graph: ReachGraph, request: Request, report: Report) -> Iterator[Opening]:
    hands = solve(graph, request.untethered) is not None
    # Where hands can go, some limit of the tether most often opens the way.
    worth = LIMIT_TRIALS if hands else worth_trying(graph, request)
    opened: set[str] = set()
    for trial in LIMIT_TRIALS:
        if request.protocol not in trial.protocols or trial.name in opened:
            continue
        together = "".join(f" with {file_key(name)}" for name in trial.also)
        report.tried.append(f"limit {file_key(trial.name)}{together}")
        opening = open_by_limit(trial, graph, request) if trial in worth else None
        if opening is not None:
            opened.add(trial.name)
            yield opening
    if request.protocol == "reel":
        # Where not even the hands can go, no line is long enough.
        for name, search in (("reel_length_m", open_by_line), ("more reels", open_by_reels)):
            report.tried.append(f"limit {file_key(name)}")
            opening = search(graph, request) if hands else None
            if opening is not None:
                yield opening


def try_load(case: Case, request: Request, report: Report) -> bool:
    """Put down what is carried; note the route that this opens, and tell whether one does."""
    load = case.situation.carry
    if load is None:
        return False
    report.tried.append(f"without {load.id}")
    opened = try_case(without_load(case), request)
    if opened is None:
        return False
    message = f"without {load.id} in hand a route of {opened.seconds:.0f} s is open"
    opening = Opening(carry=load.id, seconds=opened.seconds, message=message)
    report.note(opening_of(opened, opening))
    return True


def span_m(graph: ReachGraph) -> float:
    """Return how far from a grip something can be and still stop a hand-over from it [m].

    A hand-over's way is no longer than the reach, and the body ball that goes
    with it no farther off than its diameter; a hook goes out as far as its reach.
    """
    ability, limits = graph.situation.ability, graph.situation.limits
    return ability.reach_m + 2 * ability.corridor_radius_m + limits.hook_reach_m


def stopping_zones(graph: ReachGraph) -> list[Zone]:
    """Return the keep-out zones that count for body, item or line, in id order."""
    wanted = {"body", "tether"} | ({"item"} if graph.situation.carry is not None else set())
    zones = active_zones(graph.structure, graph.situation.when)
    return [z for z in zones if z.kind == "keep-out" and wanted.intersection(z.applies_to)]
