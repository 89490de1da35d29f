"""The route from the hatch to every worksite, or why there is none."""

from collections.abc import Iterable

from routing.errors import RoutingError
from routing.graph.reach_graph import ReachGraph
from routing.paths.no_route import NoRoute, NoRouteError
from routing.paths.results import Protocol, Route
from routing.paths.route import RouteOptions, find_route

__all__ = ["NoHatchError", "worksite_routes"]


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
    hatches = sorted(hatch.id for hatch in graph.structure.hatches)
    starts = (start,) if start is not None else tuple(hatches)
    if not starts:
        raise NoHatchError(graph.structure.name)
    chosen = options or RouteOptions(explain=False)
    return {
        worksite: _best(_answer(graph, one, worksite, protocol, chosen) for one in starts)
        for worksite in sorted(worksite.id for worksite in graph.structure.worksites)
    }


def _answer(
    graph: ReachGraph, start: str, goal: str, protocol: Protocol, options: RouteOptions
) -> Route | NoRoute:
    try:
        return find_route(graph, start, goal, protocol=protocol, options=options)
    except NoRouteError as error:
        return error.answer


def _best(answers: Iterable[Route | NoRoute]) -> Route | NoRoute:
    return min(answers, key=_rank)


def _rank(answer: Route | NoRoute) -> tuple[int, float, str]:
    if isinstance(answer, NoRoute):
        return (2, 0.0, answer.start.id)
    return (0 if answer.safe else 1, answer.totals.seconds, answer.start.id)
