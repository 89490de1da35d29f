"""The route from the hatch to every worksite, or why there is none."""

from collections.abc import Iterable, Sequence

import numpy as np

from routing.errors import RoutingError
from routing.graph.reach_graph import Indices, ReachGraph
from routing.graph.sites import SitePlaces, site_grips
from routing.paths.answers.results import Protocol, Route
from routing.paths.goal_courses import courses_to, hands_tree
from routing.paths.no_route.answer import NoRoute
from routing.paths.request import Request
from routing.paths.route import RouteOptions, head_of_route, route_of
from routing.paths.tethers.reel import reel_reach

__all__ = ["NoHatchError", "routes_to_all", "worksite_routes", "worksite_starts"]


class NoHatchError(RoutingError, LookupError):
    """The structure has no hatch, so nobody can be outside to begin with."""

    def __init__(self, structure_name: str) -> None:
        super().__init__(
            f"structure {structure_name!r} has no hatch to start from; "
            "add one to its list of hatches, or name a start"
        )


def worksite_routes(
    graph: ReachGraph,
    *,
    protocol: Protocol,
    start: str | None = None,
    options: RouteOptions | None = None,
) -> dict[str, Route | NoRoute]:
    """Return the answer for each worksite, by id in ascending order.

    One search from each start answers all worksites.

    Parameters
    ----------
    graph
        The reach graph.
    protocol
        How people stay tethered.
    start
        Id of the site to start from; by default any hatch, whichever is
        nearest by time (a safe route before an unsafe one before none).
    options
        As for `find_route`.

    Raises
    ------
    NoHatchError
        No start is given and the structure has no hatch.
    UnknownIdError
        The start does not exist.
    """
    chosen = options or RouteOptions(explain=False)
    worksites = sorted(worksite.id for worksite in graph.structure.worksites)
    found = [
        routes_to_all(graph, one, worksites, protocol=protocol, options=chosen)
        for one in worksite_starts(graph, start)
    ]
    return {worksite: _best(answers[worksite] for answers in found) for worksite in worksites}


def worksite_starts(graph: ReachGraph, start: str | None = None) -> tuple[str, ...]:
    """Return where people may start from: the site named, else every hatch in id order.

    Raises
    ------
    NoHatchError
        No start is named and the structure has no hatch.
    """
    if start is not None:
        return (start,)
    hatches = sorted(hatch.id for hatch in graph.structure.hatches)
    if not hatches:
        raise NoHatchError(graph.structure.name)
    return tuple(hatches)


def routes_to_all(
    graph: ReachGraph,
    start: str,
    goals: Sequence[str],
    *,
    protocol: Protocol,
    options: RouteOptions,
) -> dict[str, Route | NoRoute]:
    """Return the answer from one start to each goal, by goal in the order given.

    Parameters
    ----------
    graph
        Of the situation that is asked about.
    start, goals
        Ids of sites.
    protocol, options
        As for `find_route`, the same for all goals.

    Raises
    ------
    UnknownIdError
        A site does not exist.
    """
    here = site_grips(graph, start)
    places = [site_grips(graph, goal) for goal in goals]
    request = Request(start=start, goal=start, protocol=protocol, kit=options.kit)
    courses = courses_to(graph, request, here, places)
    ground = None
    if options.homeward is not None and courses:
        from routing.paths.home.report import home_ground

        leave = options.homeward == "left"
        ground = home_ground(graph, protocol, options.kit, leave=leave)
    reached: Indices | None = None
    answers: dict[str, Route | NoRoute] = {}
    for place in places:
        one = Request(start=start, goal=place.site_id, protocol=protocol, kit=options.kit)
        head = head_of_route(graph, (here, place), one, options.inputs)
        if place.site_id in courses:
            answers[place.site_id] = route_of(
                graph, courses[place.site_id], protocol, options, head, ground=ground
            )
            continue
        from routing.paths.no_route.reasons import explain

        if reached is None:
            reached = _reached(graph, request, here)
        reasons = explain(graph, one, deep=options.explain, reached=reached)
        answers[place.site_id] = NoRoute(**head, **reasons)
    return answers


def _reached(graph: ReachGraph, request: Request, start: SitePlaces) -> Indices:
    """Return every grip that can be reached from a start, ascending."""
    if request.protocol == "reel":
        return reel_reach(graph, (start, start), request.kit_for(graph.situation.limits))[1]
    return np.flatnonzero(np.isfinite(hands_tree(graph, request, start).cost))


def _best(answers: Iterable[Route | NoRoute]) -> Route | NoRoute:
    return min(answers, key=_rank)


def _rank(answer: Route | NoRoute) -> tuple[int, float, str]:
    if isinstance(answer, NoRoute):
        return (2, 0.0, answer.start.id)
    return (0 if answer.safe else 1, answer.totals.seconds, answer.start.id)
