"""The routes that a drawing is asked to show: found, or why there is none."""

from collections.abc import Sequence
from dataclasses import dataclass

from routing.cli.question import Question
from routing.paths.no_route import NoRouteError
from routing.paths.results import Route
from routing.paths.route import RouteOptions, find_route

__all__ = ["FoundRoutes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundRoutes:
    """The routes of a drawing, and what has to be said about them."""

    routes: tuple[Route, ...]
    remarks: tuple[str, ...]
    safe: bool

    @classmethod
    def find(cls, question: Question, asked: Sequence[tuple[str, str]]) -> "FoundRoutes":
        """Find the routes asked for; one that is not there is a remark, not an error."""
        if not asked:
            return cls(routes=(), remarks=(), safe=True)
        graph = question.reach_graph()
        options = RouteOptions(kit=question.kit, explain=False)
        routes: list[Route] = []
        remarks: list[str] = []
        for start, goal in asked:
            try:
                found = find_route(
                    graph, start, goal, protocol=question.protocol or "leapfrog", options=options
                )
            except NoRouteError as error:
                remarks.append(f"{start} to {goal}: NO ROUTE. {error.answer.message}")
                continue
            routes.append(found)
            verdict = found.verdict if found.safe else found.verdict.upper()
            remarks.append(
                f"{start} to {goal}: {verdict}, {found.totals.seconds:.0f} s, "
                f"{found.totals.distance_m:.2f} m, transfers {found.totals.transfers}"
            )
        safe = len(routes) == len(asked) and all(route.safe for route in routes)
        return cls(routes=tuple(routes), remarks=tuple(remarks), safe=safe)
