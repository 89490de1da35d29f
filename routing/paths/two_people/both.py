"""Two people's routes out on reels: whether their lines cross, and how to avoid it."""

from dataclasses import replace
from typing import Literal

from routing.graph.reach_graph import ReachGraph
from routing.paths.answers.results import Result, Route
from routing.paths.course import course_of
from routing.paths.no_route.answer import NoRoute
from routing.paths.no_route.reasons import explain
from routing.paths.request import Request, request_stops
from routing.paths.route import RouteOptions, head_of_route, route_of
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.log import log_tethers
from routing.paths.tethers.outfit import make_outfit, start_states
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.reel import reel_ground
from routing.paths.two_people.apart import Apart, Pair, Traveller, find_apart
from routing.paths.two_people.crossing import Contact, Order, Over, home_order
from routing.paths.two_people.goals_near import GoalsNear, goals_near
from routing.paths.two_people.lays import LaidLine, Piece
from structures.frames import Vector
from structures.frozen import frozen

__all__ = ["BothRoutes", "LineContact", "RoutePair", "SecondHas", "both_routes"]

Verdict = Literal[
    "the lines of the best routes do not cross",
    "the lines cross, and another pair of routes avoids it",
    "the lines cross, and no pair of routes was found that avoids it",
    "no route",
    "unsafe",
    "both would stay at one place",
    "both would stay too near to each other",
]


class LineContact(Result):
    """A stretch along which the two lines come nearer to each other than allowed."""

    kind: Literal["crossing", "side by side from the start"]
    first_at: str
    """Grip or tether point where the lines are nearest, on the first person's line."""
    second_at: str
    distance_m: float
    position_m: Vector
    stretch_m: float
    """Length of the first line in it."""
    over: Over | None = None
    """Crossing: whose line was laid later and lies over the other."""


class RoutePair(Result):
    """A route for each of the two, and how their lines lie."""

    first: Route
    second: Route
    seconds: float
    """Of both together."""
    crosses: bool
    contacts: tuple[LineContact, ...] = ()
    home_order: Order
    """In which order people can go home, each back along the own line, so that it undoes itself."""
    both_take: tuple[str, ...] = ()
    """Tether points where both count on the same staged tether."""
    goals_near: GoalsNear | None = None
    """Where both would stay at one place or too near to each other."""

    @property
    def safe(self) -> bool:
        """Whether no finding blocks either route, and both have room where they stay."""
        return self.first.safe and self.second.safe and self.goals_near is None


class BothRoutes(Result):
    """The least-time routes of two people, and the pair whose lines do not cross."""

    verdict: Verdict
    apart_m: float
    """Lines nearer to each other than this, not together from the start on, count as crossing."""
    second_after_s: float
    """How much later the second person starts."""
    best: RoutePair | None = None
    """The least-time route of each."""
    clean: RoutePair | None = None
    """The least seconds together with lines that do not cross; the best pair if that does."""
    clean_costs_s: float | None = None
    """What that costs more than the best pair."""
    proven: bool
    """Whether the search for it came to its end."""
    pairs_tried: int
    missing: tuple[NoRoute, ...] = ()
    """Why there is no route for one of them."""

    @property
    def safe(self) -> bool:
        """Whether there is a pair of safe routes with room at the ends whose lines do not cross."""
        return self.clean is not None and self.clean.safe


@frozen(kw_only=True, eq=False)
class SecondHas:
    """What the second of two people has that the first one has not; None: the same."""

    graph: ReachGraph | None = None
    """Reach graph of another person or load, on the same structure and limits."""
    kit: Kit | None = None


def both_routes(
    graph: ReachGraph,
    first: tuple[str, str],
    second: tuple[str, str],
    *,
    second_after_s: float = 0.0,
    options: RouteOptions | None = None,
    second_has: SecondHas | None = None,
) -> BothRoutes:
    """Find both people's routes out, each on an own kit of reels, and a pair without crossing.

    Parameters
    ----------
    first, second
        Start and goal of each.
    second_after_s
        How much later the second one starts: who lays later lies over [s].
    options
        Reels of each of the two, and digests of what was read.
    second_has
        What the second one has that the first one has not.

    Raises
    ------
    UnknownIdError
        A site does not exist.
    """
    options = options or RouteOptions()
    second_has = second_has or SecondHas()
    graphs = (graph, second_has.graph or graph)
    asked = tuple(
        Request(start=start, goal=goal, protocol="reel", kit=kit)
        for (start, goal), kit in ((first, options.kit), (second, second_has.kit or options.kit))
    )
    apart_m = graph.situation.limits.line_apart_m
    travellers = [_traveller(one, request) for one, request in zip(graphs, asked, strict=True)]
    missing = tuple(
        _no_route(one.graph, request, options)
        for request, one in zip(asked, travellers, strict=True)
        if not one.goals or one.best(frozenset()) is None
    )
    if missing:
        return BothRoutes(
            verdict="no route",
            apart_m=apart_m,
            second_after_s=second_after_s,
            proven=True,
            pairs_tried=0,
            missing=missing,
        )
    found = find_apart(travellers[0], travellers[1], apart_m, after_s=second_after_s)
    return _answer(_Told(asked, travellers, options), found, second_after_s)


def _traveller(graph: ReachGraph, request: Request) -> Traveller:
    outfit = make_outfit(graph, request.kit_for(graph.situation.limits))
    here, there = request_stops(graph, request)
    return Traveller(
        graph=graph,
        outfit=outfit,
        ground=reel_ground(graph),
        starts=start_states(graph, outfit, here),
        goals=tuple(there.grips.tolist()),
    )


class _Told:
    """What turns paths into records."""

    def __init__(
        self,
        asked: tuple[Request, ...],
        travellers: list[Traveller],
        options: RouteOptions,
    ) -> None:
        self.asked = asked
        self.travellers = travellers
        self.options = options

    def pair(self, pair: Pair) -> RoutePair:
        lines = [
            traveller.line(path)
            for traveller, path in zip(self.travellers, (pair.first, pair.second), strict=True)
        ]
        first, second = self._route(0, pair.first), self._route(1, pair.second)
        limits = self.travellers[0].graph.situation.limits
        return RoutePair(
            first=first,
            second=second,
            seconds=pair.seconds,
            crosses=pair.crosses,
            contacts=tuple(self._contact(one, lines) for one in pair.contacts),
            home_order=home_order(pair.contacts),
            both_take=tuple(
                self.travellers[0].outfit.points[point].id for point, _ in pair.shared_staged
            ),
            goals_near=goals_near(first, second, limits.people_apart_m),
        )

    def _route(self, who: int, path: TetheredPath) -> Route:
        request, graph = self.asked[who], self.travellers[who].graph
        anchorings = log_tethers(self.travellers[who].outfit, [path])
        course = replace(course_of(graph, path.nodes), anchorings=anchorings)
        head = head_of_route(graph, request_stops(graph, request), request, self.options.inputs)
        options = replace(self.options, kit=request.kit)
        return route_of(graph, course, "reel", options, head)

    def _contact(self, contact: Contact, lines: list[LaidLine]) -> LineContact:
        return LineContact(
            kind="side by side from the start" if contact.together else "crossing",
            first_at=self._name(0, lines[0].pieces[contact.first_piece]),
            second_at=self._name(1, lines[1].pieces[contact.second_piece]),
            distance_m=contact.distance_m,
            position_m=contact.place_m,
            stretch_m=contact.first_m,
            over=None if contact.together else contact.over,
        )

    def _name(self, who: int, piece: Piece) -> str:
        kind, first, second = piece
        one = self.travellers[who]
        return one.outfit.points[first].id if kind == "hook" else one.graph.grips.ids[second]


def _answer(told: _Told, found: Apart, second_after_s: float) -> BothRoutes:
    best = None if found.best is None else told.pair(found.best)
    clean = None if found.clean is None else told.pair(found.clean)
    verdict: Verdict
    if best is None:
        raise AssertionError("both have a route, so there is a pair")
    if clean is None:
        verdict = "the lines cross, and no pair of routes was found that avoids it"
    elif not (clean.first.safe and clean.second.safe):
        verdict = "unsafe"
    elif clean.goals_near is not None:
        same = clean.goals_near.same_place
        verdict = (
            "both would stay at one place" if same else "both would stay too near to each other"
        )
    elif best.crosses:
        verdict = "the lines cross, and another pair of routes avoids it"
    else:
        verdict = "the lines of the best routes do not cross"
    return BothRoutes(
        verdict=verdict,
        apart_m=told.travellers[0].graph.situation.limits.line_apart_m,
        second_after_s=second_after_s,
        best=best,
        clean=clean,
        clean_costs_s=None if clean is None else clean.seconds - best.seconds,
        proven=found.proven,
        pairs_tried=found.tried,
    )


def _no_route(graph: ReachGraph, request: Request, options: RouteOptions) -> NoRoute:
    head = head_of_route(graph, request_stops(graph, request), request, options.inputs)
    return NoRoute(**head, **explain(graph, request, deep=False))
