"""Other routes between the same sites, to be drawn beside the one asked for."""

from enum import StrEnum
from typing import TYPE_CHECKING

from routing.cli.question import Question
from routing.cli.stages import stage
from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.results import Route
from routing.paths.route import RouteOptions

if TYPE_CHECKING:
    from routing.paths.choices.records import Choices

__all__ = ["Beside", "routes_beside"]

_MOST: int = 3
"""Routes of one trip that are drawn at most, the one asked for included."""


class Beside(StrEnum):
    """What is drawn beside a route."""

    LEAST_TIME = "least-time"
    ALTERNATIVES = "alternatives"
    FALLBACK = "fallback"


def routes_beside(
    question: Question, graph: ReachGraph, trip: tuple[str, str], beside: Beside
) -> list[tuple[str, Route]]:
    """Return the routes to draw beside the quickest one between two sites, each with its name.

    ``least-time`` is the quickest path whatever the length of the reel: mostly
    unsafe, drawn to show where the line runs out.
    """
    options = RouteOptions(kit=question.kit, explain=False)
    start, goal = trip
    if beside is Beside.LEAST_TIME:
        from routing.paths.request import Request
        from routing.paths.unlimited_line import least_time_anyway

        request = Request(start=start, goal=goal, protocol="reel", kit=question.kit)
        with stage("searching without the line's length"):
            found = least_time_anyway(graph, request, options)
        return [] if found is None else [(beside.value, found)]
    from routing.paths.choices.choices import ChoiceOptions, find_choices
    from routing.paths.no_route.answer import NoRouteError

    wanted = ChoiceOptions(
        route=options, count=_MOST if beside is Beside.ALTERNATIVES else 1, stage=stage
    )
    try:
        choices = find_choices(
            graph, start, goal, protocol=question.protocol or "leapfrog", options=wanted
        )
    except NoRouteError:
        # Said already of the route asked for.
        return []
    return _others(choices, beside)


def _others(choices: "Choices", beside: Beside) -> list[tuple[str, Route]]:
    if beside is Beside.ALTERNATIVES:
        listed = [choices.routes[row.route] for row in choices.alternatives[1:]]
        return [(f"alternative {number}", route) for number, route in enumerate(listed, start=1)]
    if choices.fallback is None:
        return []
    spare = choices.routes[choices.fallback.route]
    return [(beside.value, spare)]
