"""The routes that a drawing is asked to show: found, or why there is none."""

from collections.abc import Sequence
from dataclasses import dataclass

from routing.cli.stages import stage
from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.no_route import NoRouteError
from routing.paths.results import Protocol, Route
from routing.paths.route import RouteOptions, find_route
from structures.model import Structure

__all__ = ["FoundRoutes"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundRoutes:
    """The routes of a drawing, and what has to be said about them."""

    routes: tuple[Route, ...]
    remarks: tuple[str, ...]
    safe: bool

    @classmethod
    def find(
        cls,
        structure: Structure,
        situation: Situation,
        asked: Sequence[tuple[str, str]],
        protocol: Protocol,
    ) -> "FoundRoutes":
        """Find the routes asked for; one that is not there is a remark, not an error."""
        if not asked:
            return cls(routes=(), remarks=(), safe=True)
        with stage("building the reach graph"):
            graph = build_graph(structure, situation)
        routes: list[Route] = []
        remarks: list[str] = []
        safe = True
        for start, goal in asked:
            try:
                found = find_route(
                    graph, start, goal, protocol=protocol, options=RouteOptions(explain=False)
                )
            except NoRouteError as error:
                remarks.append(f"{start} to {goal}: no route. {error.answer.message}")
                safe = False
                continue
            routes.append(found)
            safe = safe and found.safe
            remarks.append(
                f"{start} to {goal}: {found.verdict}, {found.totals.seconds:.0f} s, "
                f"{found.totals.distance_m:.2f} m, transfers {found.totals.transfers}"
            )
        return cls(routes=tuple(routes), remarks=tuple(remarks), safe=safe)
