"""The routes that a drawing is asked to show: found, or why there is none."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routing.cli.question import Question
from routing.cli.written_answers import DrawnTrip
from routing.paths.answers.results import HOME_NOT_LOOKED_AT, Route
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route

if TYPE_CHECKING:
    from routing.cli.beside import Beside

__all__ = ["FoundRoutes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundRoutes:
    """The routes of a drawing, and what has to be said about them."""

    routes: tuple[Route, ...]
    trips: tuple[DrawnTrip, ...]
    """What became of each that was asked for, found or not."""
    safe: bool
    """Whether every route asked for is there and safe; what is drawn beside it may be unsafe."""
    names: tuple[str, ...] = ()
    """What each route is called on the drawing; empty where people's own names will do."""

    @property
    def remarks(self) -> tuple[str, ...]:
        """What is said of each, a line each."""
        return tuple(_remark(trip) for trip in self.trips)

    @classmethod
    def find(
        cls, question: Question, asked: Sequence[tuple[str, str]], beside: "Beside | None" = None
    ) -> "FoundRoutes":
        """Find the routes asked for; one that is not there is a remark, not an error.

        Parameters
        ----------
        question
            What is asked of which structure.
        asked
            From where to where, for each route.
        beside
            What else of the first trip is drawn.
        """
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
            trips.append(_trip((start, goal), found))
        safe = len(routes) == len(asked) and all(route.safe for route in routes)
        if beside is None:
            return cls(routes=tuple(routes), trips=tuple(trips), safe=safe)
        from routing.cli.beside import routes_beside

        others = routes_beside(question, graph, asked[0], beside)
        if not others:
            start, goal = asked[0]
            message = f"there is no {beside.value} route of its own to draw"
            trips.append(
                DrawnTrip(
                    start=start, goal=goal, beside=beside.value, verdict="no route", message=message
                )
            )
        trips.extend(_trip(asked[0], route, name) for name, route in others)
        return cls(
            routes=(*routes, *(route for _, route in others)),
            trips=tuple(trips),
            safe=safe,
            names=(*("within the rules" for _ in routes), *(name for name, _ in others)),
        )


def _trip(trip: tuple[str, str], route: Route, beside: str | None = None) -> DrawnTrip:
    line = route.margins.line
    return DrawnTrip(
        start=trip[0],
        goal=trip[1],
        beside=beside,
        verdict=route.verdict,
        home=route.home,
        line_runs_out_at=None if line is None else line.runs_out_at,
        totals=route.totals,
    )


def _remark(trip: DrawnTrip) -> str:
    named = trip.beside or f"{trip.start} to {trip.goal}"
    if trip.totals is None:
        return f"{named}: NO ROUTE. {trip.message}"
    safe = trip.verdict == "answered and safe"
    unasked = f"; {HOME_NOT_LOOKED_AT}" if trip.home == "not checked" else ""
    out = f", line runs out at {trip.line_runs_out_at}" if trip.line_runs_out_at else ""
    return (
        f"{named}: {trip.verdict if safe else trip.verdict.upper()}, "
        f"{trip.totals.seconds:.0f} s, {trip.totals.distance_m:.2f} m, "
        f"transfers {trip.totals.transfers}{out}{unasked}"
    )
