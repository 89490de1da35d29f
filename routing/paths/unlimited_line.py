"""The least-time path as if a reel never ran out: what the line's length costs, or forbids.

It is no answer to follow. Shown beside the exact route it tells where the quicker way is lost.
"""

from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.results import Route
from routing.paths.course import Course
from routing.paths.request import Request, move_rule, request_stops, solve_by_rule
from routing.paths.route import RouteOptions, head_of_route, route_of
from routing.paths.tethers.reel import on_one_reel

__all__ = ["least_time_anyway", "least_time_course"]


def least_time_course(graph: ReachGraph, request: Request) -> Course | None:
    """Return the least-time course along which a line may lie, its length left out.

    The longest reel of the kit is never swapped on it, and its payout may be
    more than it holds.

    Raises
    ------
    ValueError
        The request is not on reels.
    """
    if request.protocol != "reel":
        raise ValueError("only a reel has a length to leave out; ask with the reel protocol")
    places = request_stops(graph, request)
    stops = [place.grips for place in places]
    if not all(len(stop) for stop in stops):
        return None
    course = solve_by_rule(graph, stops, move_rule(graph, request))
    if course is None:
        return None
    return on_one_reel(graph, course, places[0], request.kit_for(graph.situation.limits))


def least_time_anyway(graph: ReachGraph, request: Request, options: RouteOptions) -> Route | None:
    """Return the least-time path as a route with its verdict: unsafe where the line runs out."""
    course = least_time_course(graph, request)
    if course is None:
        return None
    head = head_of_route(graph, request_stops(graph, request), request, options.inputs)
    return route_of(graph, course, "reel", options, head)
