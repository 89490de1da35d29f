"""The routes that a drawing is asked to show: found, or why there is none."""

from collections.abc import Sequence
from dataclasses import dataclass

from routing.cli.question import Question
from routing.cli.written_answers import DrawnTrip
from routing.paths.no_route import NoRouteError
from routing.paths.results import Route
from routing.paths.route import RouteOptions, find_route

__all__ = ["FoundRoutes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundRoutes:
    """The routes of a drawing, and what has to be said about them."""

    routes: tuple[Route, ...]
    trips: tuple[DrawnTrip, ...]
    """What became of each that was asked for, found or not."""
    safe: bool

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is said of each, a line each."""
        return tuple(_remark(trip) for trip in self.trips)

    @classmethod
    def find(cls, question: Question, asked: Sequence[tuple[str, str]]) -> "FoundRoutes":
        """Find the routes asked for; one that is not there is a remark, not an error."""
        if not asked:
            return cls(routes=(), trips=(), safe=True)
        graph = question.reach_graph()
        options = RouteOptions(kit=question.kit, explain=False)
        routes: list[Route] = []
        trips: list[DrawnTrip] = []
        for start, goal in asked:
            try:
                found = find_route(
                    graph, start, goal, protocol=question.protocol or "leapfrog", options=options
                )
            except NoRouteError as error:
                message = error.answer.message
                trips.append(DrawnTrip(start=start, goal=goal, verdict="no route", message=message))
                continue
            routes.append(found)
            trips.append(
                DrawnTrip(start=start, goal=goal, verdict=found.verdict, totals=found.totals)
            )
        safe = len(routes) == len(asked) and all(route.safe for route in routes)
        return cls(routes=tuple(routes), trips=tuple(trips), safe=safe)


def _remark(trip: DrawnTrip) -> str:
    named = f"{trip.start} to {trip.goal}"
    if trip.totals is None:
        return f"{named}: NO ROUTE. {trip.message}"
    safe = trip.verdict == "answered and safe"
    return (
        f"{named}: {trip.verdict if safe else trip.verdict.upper()}, "
        f"{trip.totals.seconds:.0f} s, {trip.totals.distance_m:.2f} m, "
        f"transfers {trip.totals.transfers}"
    )
