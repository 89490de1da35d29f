"""Find a route: the one way in, from a structure or a reach graph to an answer."""

from collections.abc import Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING, Any, Literal

from routing.caution import CAUTION
from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.sites import SitePlaces
from routing.graph.situation import Situation
from routing.limits import changed_limits
from routing.paths.answers.checks import check_course
from routing.paths.answers.margins import measure_margins
from routing.paths.answers.records import (
    grip_places,
    hand_overs,
    stays,
    stretches,
    totals,
    transfer_records,
)
from routing.paths.answers.results import (
    HomeVerdict,
    InputDigest,
    LimitChange,
    Protocol,
    Route,
    SiteRef,
    SituationRef,
    StructureRef,
    verdict_of,
)
from routing.paths.answers.step_text import route_steps
from routing.paths.answers.tether_checks import Case
from routing.paths.course import Course
from routing.paths.no_route.error import NoRouteError
from routing.paths.request import Request, request_stops, solve
from routing.paths.tethers.kit import Kit
from routing.version import gripway_version
from structures.findings import sorted_findings
from structures.frozen import frozen
from structures.model import Structure

if TYPE_CHECKING:
    from routing.paths.home.ground import HomeGround, NoWayHomeError

__all__ = ["RouteOptions", "find_route", "head_of_route", "route_of", "route_schema"]


@frozen(kw_only=True)
class RouteOptions:
    """What a route may be asked with beyond its sites.

    Parameters
    ----------
    situation
        Person, load, conditions, closures, limits. Used with a structure; a
        reach graph has its own.
    kit
        Reels that the person has (reel protocol); by default two of the limits' length.
    inputs
        Digests of the files that were read, to stand in the answer.
    explain
        Whether to work out what would open the way when there is none; that
        takes many times as long as the search.
    homeward
        Whether to work out the time home from every hold, with every tether
        ``recovered`` or with tethers ``left`` outside where that is quicker.
    best
        What to have least of; of equal routes the quickest with fewest transfers.
        By default seconds alone, found without weighing anything against them.
    what_if
        Whether to search again for what would save time: longer tethers, a free
        transfer, one more tether point.
    """

    situation: Situation = field(default_factory=Situation)
    kit: Kit | None = None
    inputs: tuple[InputDigest, ...] = ()
    explain: bool = True
    homeward: Literal["recovered", "left"] | None = None
    best: Literal["seconds", "transfers", "exposure"] | None = None
    what_if: bool = False


def find_route(
    source: Structure | ReachGraph,
    start: str,
    goal: str,
    *,
    via: Sequence[str] = (),
    protocol: Protocol = "leapfrog",
    options: RouteOptions | None = None,
) -> Route:
    """Find the least-time route from one site to another.

    Parameters
    ----------
    source
        A structure, or its reach graph if several routes are asked of it.
    start, goal
        Ids of worksites, sockets, handrails, handholds, hatches, tether points or grips.
    via
        Ids of sites to go by, in this order.
    protocol
        ``leapfrog``: two short tethers, one transfer per change of handrail.
        ``reel``: long tethers from stay to stay.
    options
        Situation, input digests, and whether to explain a missing route.

    Returns
    -------
    Route
        Its verdict is *answered and safe* only when no finding blocks.

    Raises
    ------
    UnknownIdError
        A site, condition or closed element does not exist.
    NoRouteError
        There is no route; its ``answer`` says why and what would open one.
    SearchGaveUpError
        Over via sites on reels a search ended before it could prove its answer.
    """
    options = options or RouteOptions()
    graph = source if isinstance(source, ReachGraph) else build_graph(source, options.situation)
    request = Request(start=start, goal=goal, via=tuple(via), protocol=protocol, kit=options.kit)
    places = request_stops(graph, request)
    head = head_of_route(graph, places, request, options.inputs)
    course = _least(graph, request, options)
    if course is None:
        from routing.paths.no_route.answer import NoRoute
        from routing.paths.no_route.reasons import explain

        raise NoRouteError(NoRoute(**head, **explain(graph, request, deep=options.explain)))
    route = route_of(graph, course, protocol, options, head)
    if not options.what_if:
        return route
    from routing.paths.choices.what_if import ask_what_if

    return replace(route, what_if=ask_what_if(graph, request))


def _least(graph: ReachGraph, request: Request, options: RouteOptions) -> Course | None:
    if options.best is None:
        return solve(graph, request)
    from routing.paths.choices.choices import best_course

    return best_course(graph, request, options.best)


def head_of_route(
    graph: ReachGraph,
    places: Sequence[SitePlaces],
    request: Request,
    inputs: tuple[InputDigest, ...],
) -> dict[str, Any]:
    """Return what an answer carries whether there is a route or not, as its fields."""
    structure, situation = graph.structure, graph.situation
    sites = [SiteRef(**{place.kind.replace(" ", "_"): place.site_id}) for place in places]
    return {
        "gripway": gripway_version(),
        "structure": StructureRef(
            name=structure.name, revision=structure.revision, date=structure.date
        ),
        "inputs": inputs,
        "situation": SituationRef(
            person=None if situation.person is None else situation.person.id,
            carry=None if situation.carry is None else situation.carry.id,
            when=situation.when,
            closed=situation.closed,
        ),
        "limits_changed": {
            name: LimitChange(value=value, default=default)
            for name, (value, default) in changed_limits(situation.limits).items()
        },
        "protocol": request.protocol,
        "reels_m": request.kit_for(situation.limits).reels_m
        if request.protocol == "reel"
        else None,
        "start": sites[0],
        "goal": sites[-1],
        "via": tuple(sites[1:-1]),
        "caution": CAUTION,
    }


def route_of(
    graph: ReachGraph,
    course: Course,
    protocol: Protocol,
    options: RouteOptions,
    head: dict[str, Any],
    *,
    ground: "HomeGround | NoWayHomeError | None" = None,
) -> Route:
    """Return the route of a course found, with its margins, findings and steps.

    Parameters
    ----------
    head
        From `head_of_route` for the sites that the course joins.
    ground
        From `routing.paths.home.report.home_ground` for the same protocol and options,
        where one serves several courses; by default it is made if it is needed.
    """
    margins = measure_margins(graph, course)
    findings = check_course(Case(graph=graph, course=course, margins=margins, protocol=protocol))
    homeward = None
    home: HomeVerdict = "not checked"
    if options.homeward is not None:
        from routing.paths.home.report import home_ground, home_verdict, report_home

        leave = options.homeward == "left"
        ground = ground or home_ground(graph, protocol, options.kit, leave=leave)
        homeward, more = report_home(ground, course)
        findings = sorted_findings((*findings, *more))
        home = home_verdict(more)
    overs, transfers = hand_overs(graph, course), transfer_records(graph, course)
    route = Route(
        **head,
        findings=findings,
        verdict=verdict_of(findings),
        home=home,
        totals=totals(overs, transfers),
        handrails=stretches(graph, course),
        grips=grip_places(graph, course),
        via_grips=course.via_at,
        hand_overs=overs,
        transfers=transfers,
        stays=stays(graph, course),
        margins=margins,
        homeward=homeward,
    )
    return replace(route, steps=route_steps(route))


def route_schema() -> dict[str, Any]:
    """Return the JSON Schema of the answers: a route, or why there is none."""
    from pydantic import TypeAdapter

    from routing.paths.no_route.answer import NoRoute

    schema: dict[str, Any] = TypeAdapter(Route | NoRoute).json_schema(mode="serialization")
    return schema
