"""What there is to choose from between two sites: trade-offs, alternatives and a fallback."""

import math
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from typing import Any, Final, Literal, NamedTuple, TypeAlias

from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.results import Protocol, Route, verdict_of
from routing.paths.choices.alternatives import Alternative, find_alternatives
from routing.paths.choices.fallback import Fallback, find_fallback
from routing.paths.choices.ground import ChoiceGround, reel_choices, short_tether_choices
from routing.paths.choices.records import (
    AlternativeRoute,
    Choices,
    FallbackRoute,
    Picks,
    TradeOffRoute,
)
from routing.paths.choices.tradeoffs import Choice, TradeOffs
from routing.paths.course import Course
from routing.paths.no_route.answer import NoRoute, NoRouteError
from routing.paths.request import Request, request_stops
from routing.paths.route import RouteOptions, head_of_route, route_of
from routing.paths.tethers.legs import SearchGaveUpError
from structures.findings import Finding, sorted_findings

__all__ = ["Best", "ChoiceOptions", "best_course", "choices_schema", "find_choices"]

Best: TypeAlias = Literal["seconds", "transfers", "exposure"]
"""What a route is to have least of."""

_SAME_S: Final = 1e-3
"""Routes whose seconds differ by less differ by rounding alone."""

Stage: TypeAlias = Callable[[str], AbstractContextManager[None]]


def _quiet(_: str) -> AbstractContextManager[None]:
    return nullcontext()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoiceOptions:
    """How many alternatives there are to be, and how much they may have in common.

    Parameters
    ----------
    route
        As for `find_route`.
    count
        Alternatives at most, the quickest route included; at least 1.
    max_overlap
        Metres that an alternative may have on handrails and handholds that one before it
        uses, as a part of the metres that the quickest route has on such; 0 to below 1.
    stage
        Told what is being done while it is; for progress.
    """

    route: RouteOptions = field(default_factory=RouteOptions)
    count: int = 4
    max_overlap: float = 0.5
    stage: Stage = _quiet

    def __post_init__(self) -> None:
        """Refuse numbers that no list can be made with."""
        if self.count < 1:
            raise ValueError(f"{self.count} alternatives are none; ask for 1 or more")
        if not 0 <= self.max_overlap < 1:
            raise ValueError(f"max_overlap is {self.max_overlap}; it must be from 0 to below 1")


def find_choices(
    graph: ReachGraph,
    start: str,
    goal: str,
    *,
    via: Sequence[str] = (),
    protocol: Protocol = "leapfrog",
    options: ChoiceOptions | None = None,
) -> Choices:
    """Find the trade-offs, the alternatives and the fallback between two sites.

    Every route in the answer keeps the tether rules of the protocol and has been through the
    same checks as the answer of `find_route`.

    Parameters
    ----------
    graph
        Of the situation that is asked about.
    start, goal
        Ids of sites, or names of grips.
    via
        Ids of sites to go by, in this order. On reels the trade-offs are the best of each
        kind only, and an alternative comes with what a quicker one could save.
    protocol
        How people stay tethered.
    options
        How many there are to be, and how unlike; not given: as `ChoiceOptions` has them.

    Raises
    ------
    UnknownIdError
        A site does not exist.
    NoRouteError
        There is no route at all; its ``answer`` says why.
    SearchGaveUpError
        Over via sites on reels a search ended before it could prove its answer.
    """
    chosen = options or ChoiceOptions()
    request = Request(
        start=start, goal=goal, via=tuple(via), protocol=protocol, kit=chosen.route.kit
    )
    head = head_of_route(graph, request_stops(graph, request), request, chosen.route.inputs)
    ground = _ground(graph, request)
    with chosen.stage("weighing seconds, transfers and exposure"):
        tradeoffs = ground.tradeoffs() if ground is not None else None
    if ground is None or tradeoffs is None or not tradeoffs.choices:
        raise _no_route(graph, request, head, chosen.route)
    first = ground.as_alternative(tradeoffs.quickest)
    others = _others(ground, first, chosen)
    with chosen.stage("checking every route"):
        routes = _Routes(ground, protocol, chosen.route, head)
        rows = tuple(
            TradeOffRoute(
                route=routes.add(choice.nodes, choice),
                seconds=choice.seconds,
                transfers=choice.transfers,
                exposure_s=choice.exposure_s,
            )
            for choice in tradeoffs.choices
        )
        listed = _alternative_rows(ground, routes, others.alternatives)
        spare = _fallback_row(ground, routes, first, others.fallback)
    savings = None
    if chosen.route.what_if:
        from routing.paths.choices.what_if import ask_what_if

        with chosen.stage("asking what would save time"):
            savings = ask_what_if(graph, request)
    findings = _findings(routes.found)
    return Choices(
        **head,
        findings=findings,
        verdict=verdict_of(findings),
        routes=tuple(routes.found),
        tradeoffs=rows,
        complete=tradeoffs.complete,
        picks=_picks(tradeoffs),
        max_overlap=chosen.max_overlap,
        alternatives=listed,
        fallback=spare,
        not_known=others.not_known,
        what_if=savings,
    )


class _Others(NamedTuple):
    """What there is beside the quickest course."""

    alternatives: Sequence[Alternative]
    """The quickest one first."""
    fallback: Fallback | None
    not_known: tuple[Literal["alternatives", "fallback"], ...]
    """Those whose search ended before it could prove its answer."""


def _others(ground: ChoiceGround, first: Alternative, chosen: ChoiceOptions) -> _Others:
    """Look for alternatives and a fallback; a search that gives up leaves the other one."""
    not_known: list[Literal["alternatives", "fallback"]] = []
    alternatives: Sequence[Alternative] = (first,)
    with chosen.stage("looking for alternatives"):
        try:
            alternatives = find_alternatives(
                ground.held,
                ground.within,
                count=chosen.count,
                max_overlap=chosen.max_overlap,
                first=first,
            )
        except SearchGaveUpError:
            not_known.append("alternatives")
    fallback: Fallback | None = None
    with chosen.stage("looking for a fallback"):
        try:
            fallback = find_fallback(first, ground.without, most_searches=ground.most_searches)
        except SearchGaveUpError:
            not_known.append("fallback")
    return _Others(alternatives, fallback, tuple(not_known))


def best_course(graph: ReachGraph, request: Request, best: Best) -> Course | None:
    """Return the course with least seconds, transfers or exposure, of equal ones the quickest.

    Raises
    ------
    SearchGaveUpError
        Over via sites on reels a search ended before it could prove its answer.
    """
    ground = _ground(graph, request)
    tradeoffs = None if ground is None else ground.tradeoffs()
    if ground is None or tradeoffs is None or not tradeoffs.choices:
        return None
    choice = {
        "seconds": tradeoffs.quickest,
        "transfers": tradeoffs.fewest_transfers,
        "exposure": tradeoffs.least_exposure,
    }[best]
    return ground.to_course(choice.nodes, choice.tethered)


def _ground(graph: ReachGraph, request: Request) -> ChoiceGround | None:
    stops = request_stops(graph, request)
    if not all(len(stop.grips) for stop in stops):
        return None
    if request.protocol == "reel":
        kit = request.kit_for(graph.situation.limits)
        if not request.via:
            start, goal = stops
            return reel_choices(graph, start, goal, kit)
        from routing.paths.choices.via_choices import reel_choices_by_way

        return reel_choices_by_way(graph, stops, kit)
    return short_tether_choices(graph, request)


def _no_route(
    graph: ReachGraph, request: Request, head: dict[str, Any], options: RouteOptions
) -> NoRouteError:
    from routing.paths.no_route.reasons import explain

    return NoRouteError(NoRoute(**head, **explain(graph, request, deep=options.explain)))


class _Routes:
    """The routes of an answer, each once, in the order in which they were first named."""

    def __init__(
        self,
        ground: ChoiceGround,
        protocol: Protocol,
        options: RouteOptions,
        head: dict[str, Any],
    ) -> None:
        self.ground = ground
        self.protocol: Protocol = protocol
        self.options = options
        self.head = head
        self.found: list[Route] = []
        self.known: dict[Course, int] = {}

    def add(self, nodes: tuple[int, ...], of: Choice | Alternative) -> int:
        """Return the number of a route, which is made and checked if it is new.

        A route with the same handrails in the same order as one before, and no other
        seconds, transfers or exposure, is that one: other grips alone are no choice.
        """
        course = self.ground.to_course(nodes, of.tethered)
        if course in self.known:
            return self.known[course]
        route = route_of(self.ground.graph, course, self.protocol, self.options, self.head)
        for number, other in enumerate(self.found):
            if _is_same_choice(route, other):
                self.known[course] = number
                return number
        self.known[course] = len(self.found)
        self.found.append(route)
        return self.known[course]


def _is_same_choice(one: Route, other: Route) -> bool:
    rails = ([part.id for part in route.handrails] for route in (one, other))
    exposures = (one.totals.exposure_s, other.totals.exposure_s)
    return (
        next(rails) == next(rails)
        and one.totals.transfers == other.totals.transfers
        and math.isclose(one.totals.seconds, other.totals.seconds, abs_tol=_SAME_S)
        and math.isclose(*exposures, abs_tol=_SAME_S)
    )


def _alternative_rows(
    ground: ChoiceGround, routes: _Routes, alternatives: Sequence[Alternative]
) -> tuple[AlternativeRoute, ...]:
    rows = []
    before: frozenset[int] = frozenset()
    for one in alternatives:
        rows.append(
            AlternativeRoute(
                route=routes.add(one.nodes, one),
                shared_m=one.shared_m,
                overlap=one.overlap,
                shared=ground.ids(one.elements & before),
                unproven_s=one.unproven,
            )
        )
        before |= one.elements
    return tuple(rows)


def _fallback_row(
    ground: ChoiceGround, routes: _Routes, first: Alternative, fallback: Fallback | None
) -> FallbackRoute | None:
    """Return the fallback, None where it holds all that the first route holds."""
    if fallback is None or set(fallback.shared) == first.elements:
        return None
    return FallbackRoute(
        route=routes.add(fallback.route.nodes, fallback.route),
        shared=ground.ids(fallback.shared),
        needed=ground.ids(fallback.needed),
        proven=fallback.proven,
    )


def _picks(tradeoffs: TradeOffs) -> Picks:
    place = {id(choice): number for number, choice in enumerate(tradeoffs.choices)}
    return Picks(
        quickest=place[id(tradeoffs.quickest)],
        fewest_transfers=place[id(tradeoffs.fewest_transfers)],
        least_exposure=place[id(tradeoffs.least_exposure)],
        balanced=place[id(tradeoffs.balanced)],
    )


def _findings(routes: Sequence[Route]) -> tuple[Finding, ...]:
    """Return what blocks one of the routes, saying which; the rest is with each route."""
    return sorted_findings(
        finding.model_copy(update={"message": f"route {number + 1}: {finding.message}"})
        for number, route in enumerate(routes)
        for finding in route.findings
        if finding.severity == "blocks"
    )


def choices_schema() -> dict[str, Any]:
    """Return the JSON Schema of the answers: what there is to choose from, or why there is none."""
    from pydantic import TypeAdapter

    schema: dict[str, Any] = TypeAdapter(Choices | NoRoute).json_schema(mode="serialization")
    return schema
