"""From routes found to drawings of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import TYPE_CHECKING, Final

from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.corridor import clearances
from routing.paths.answers.results import InputDigest, Route, Stay
from routing.paths.course import course_of
from routing.show.charts.profile import draw_profile
from routing.show.maps.faces import compose_faces
from routing.show.maps.maps import MapSheet, compose_map
from routing.show.maps.regions import region_near
from routing.show.maps.told import told_of
from routing.show.maps.unrolled import compose_unrolled
from routing.show.sheets.inputs import (
    DrawingError,
    MapFacts,
    MapRoute,
    MapTransfer,
    ProfileTransfer,
    RouteProfile,
    region_around,
)
from routing.show.sheets.saving import FORMATS
from routing.show.sheets.style import DEFAULT_STYLE, MapStyle
from structures.frames import Vector
from structures.model import Structure
from structures.shapes import Box

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = [
    "DRAWN_SUFFIXES",
    "RouteDrawing",
    "compose_routes",
    "draw_route_profile",
    "draw_routes",
    "map_route",
    "route_profile",
]

DRAWN_SUFFIXES: Final = tuple(f".{one}" for one in FORMATS)
"""What the name of a drawing may end in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteDrawing:
    """What is drawn, apart from the structure.

    Parameters
    ----------
    situation
        Conditions, closures and limits in force.
    routes
        One per person, at most four.
    inputs
        Digests of the files that were read.
    unsafe
        Whether a route asked for is unsafe or not there: the title block says so.
    views
        Names of views; not used with a skin.
    skin
        Id of a cylinder whose unrolled skin, or of a box whose faces are drawn instead.
    around
        Whether only the region around the routes is shown.
    near
        Ids of elements round which alone the structure is shown; not with ``around``.
    within_m
        How far round them [m].
    style
        Sheet and text sizes.
    names
        What to call each route; by default the person, or EV1, EV2.
    """

    situation: Situation
    routes: Sequence[Route] = ()
    inputs: tuple[InputDigest, ...] = ()
    unsafe: bool = False
    views: tuple[str, ...] = ("plan", "starboard")
    skin: str | None = None
    around: bool = False
    near: tuple[str, ...] = ()
    within_m: float = 3.0
    style: MapStyle = DEFAULT_STYLE
    names: Sequence[str] = ()


def map_route(structure: Structure, route: Route, person: str) -> MapRoute:
    """Return a route as maps draw it: grips, handrails, transfers, stays and lays."""
    places = {point.id: point.position_m for point in structure.tether_points}
    at = [grip.position_m for grip in route.grips]
    return MapRoute(
        person=person,
        unsafe=not route.safe,
        grips_m=tuple(at),
        handrails=tuple(dict.fromkeys(part.id for part in route.handrails)),
        transfers=tuple(
            MapTransfer(position_m=at[one.grip_index], tether_point=one.id)
            for one in route.transfers
        ),
        stays=tuple(dict.fromkeys(stay.tether_point for stay in route.stays)),
        lays_m=tuple(
            (places[stay.tether_point], *at[stay.from_grip : stay.to_grip + 1])
            for stay in route.stays
        ),
        runs_out_m=_runs_out_m(route),
    )


def _runs_out_m(route: Route) -> Vector | None:
    """Return where the line of a route runs out, if it does."""
    line = route.margins.line
    if line is None or line.runs_out_at is None:
        return None
    return next(grip.position_m for grip in route.grips if grip.grip == line.runs_out_at)


def draw_routes(structure: Structure, drawing: RouteDrawing) -> "Figure":
    """Draw a structure with routes: chosen views, a cylinder's unrolled skin, or a box's faces.

    Parameters and errors as in `compose_routes`.
    """
    return compose_routes(structure, drawing).figure


def compose_routes(structure: Structure, drawing: RouteDrawing) -> MapSheet:
    """Draw a structure with routes, and return what became of the labels of each panel too.

    Raises
    ------
    DrawingError
        A view is unknown, there are too many routes, the skin is of no cylinder or box, or
        an element near which to draw has no place.
    UnknownIdError
        The skin's id does not exist.
    """
    situation = drawing.situation
    name = "" if situation.person is None else situation.person.name or situation.person.id
    alone = len(drawing.routes) == 1 and bool(name)
    routes = tuple(
        map_route(structure, route, name if alone else f"EV{number}")
        for number, route in enumerate(drawing.routes, start=1)
    )
    trips = [f"{route.start.id} to {route.goal.id}" for route in drawing.routes]
    if drawing.names:
        routes = tuple(
            replace(route, person=name) for route, name in zip(routes, drawing.names, strict=True)
        )
        called = [
            name if route.safe else f"{name}, UNSAFE"
            for name, route in zip(drawing.names, drawing.routes, strict=True)
        ]
        trips = [f"{name}: {trip}" for trip, name in zip(trips, called, strict=True)]
    subject = "; ".join(trips)
    facts = MapFacts(
        subject=f"UNSAFE OR WITHOUT ROUTE: {subject}" if drawing.unsafe else subject,
        told=told_of(
            drawing.routes,
            situation,
            [route.person for route in routes] if len(routes) > 1 else (),
        )
        + _shown(drawing),
        inputs=drawing.inputs,
        limits=situation.limits,
        when=situation.when,
        closed=situation.closed,
    )
    if drawing.skin is not None:
        solid = structure.by_id.get(drawing.skin)
        is_box = isinstance(getattr(solid, "volume", None), Box)
        compose = compose_faces if is_box else compose_unrolled
        return compose(structure, drawing.skin, routes=routes, facts=facts, style=drawing.style)
    region = region_around(routes) if drawing.around and routes else None
    if drawing.near:
        region = region_near(structure, drawing.near, drawing.within_m)
    return compose_map(
        structure,
        views=drawing.views,
        routes=routes,
        facts=facts,
        style=drawing.style,
        region=region,
    )


def _shown(drawing: RouteDrawing) -> tuple[str, ...]:
    """Say of a map of a part what part it is, or why it is no part."""
    if drawing.around and not drawing.routes:
        return ("Shown whole: there is no route to show the region of",)
    if not drawing.near:
        return ()
    return (f"Shown: the box {drawing.within_m:g} m round {', '.join(drawing.near)}",)


def route_profile(graph: ReachGraph, route: Route) -> RouteProfile:
    """Return what changes along a route: line out, gaps, and the clearance of every hand-over.

    Parameters
    ----------
    graph
        The reach graph in which the route was found.
    route
        The route. Where its tether is swapped a grip stands twice, with the
        line out on the tether before and on the one after.

    Raises
    ------
    DrawingError
        The route ends at the grip where it begins, so nothing changes along it.
    LookupError
        The route is not of this graph.
    """
    if not route.hand_overs:
        raise DrawingError(
            f"the route from {route.start.id} to {route.goal.id} has no hand-over, so there is "
            "no profile to draw; ask for a route between two grips"
        )
    number = {grip_id: i for i, grip_id in enumerate(graph.grips.ids)}
    course = course_of(graph, [number[grip.grip] for grip in route.grips])
    walked_m = (0.0, *accumulate(over.way_m for over in route.hand_overs))
    gap_m = tuple(over.gap_m for over in route.hand_overs)
    room_m = clearances(graph, course)
    swaps = [stay.from_grip for stay in route.stays[1:]]
    # At a swap the grip stands twice; between the two there is no move, hence no gap of its own.
    order = sorted([*range(len(route.grips)), *swaps])
    moves = [min(i, len(gap_m) - 1) for i in order[:-1]]
    situation = graph.situation
    elapsed_m, elapsed_s = _elapsed(route, walked_m)
    return RouteProfile(
        elapsed_m=elapsed_m,
        elapsed_s=elapsed_s,
        distance_m=tuple(walked_m[i] for i in order),
        gap_m=tuple(gap_m[i] for i in moves),
        clearance_m=tuple(room_m[i] for i in moves),
        reach_m=situation.ability.reach_m,
        payout_m=tuple(line for stay in route.stays for line in _payout_m(route, stay)),
        payout_limit_m=tuple(
            stay.length_m - situation.limits.reserve_m
            for stay in route.stays
            for _ in range(stay.from_grip, stay.to_grip + 1)
        ),
        transfers=tuple(
            ProfileTransfer(distance_m=walked_m[one.grip_index], label=one.id)
            for one in route.transfers
        ),
        person="" if situation.person is None else situation.person.name or situation.person.id,
    )


def _elapsed(
    route: Route, walked_m: Sequence[float]
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return distance and time on arriving at each grip, and again after each transfer there."""
    at_m, at_s = [walked_m[0]], [0.0]
    for index, place_m in enumerate(walked_m):
        if index:
            at_m.append(place_m)
            at_s.append(at_s[-1] + route.hand_overs[index - 1].seconds)
        for transfer in route.transfers:
            if transfer.grip_index == index:
                at_m.append(place_m)
                at_s.append(at_s[-1] + transfer.seconds)
    return tuple(at_m), tuple(at_s)


def draw_route_profile(
    graph: ReachGraph, route: Route, inputs: tuple[InputDigest, ...] = ()
) -> "Figure":
    """Draw the profile of a route; an unsafe one says so.

    Parameters
    ----------
    graph, route
        As for `route_profile`.
    inputs
        Digests of the files that were read.

    Raises
    ------
    DrawingError
        The route has no hand-over.
    """
    situation = graph.situation
    trip = f"{route.start.id} to {route.goal.id}"
    facts = MapFacts(
        subject=trip if route.safe else f"UNSAFE: {trip}",
        told=told_of((route,), situation),
        inputs=inputs,
        limits=situation.limits,
        when=situation.when,
        closed=situation.closed,
    )
    return draw_profile(graph.structure, route_profile(graph, route), facts=facts)


def _payout_m(route: Route, stay: Stay) -> tuple[float, ...]:
    """Return the line out at each grip of a stay, from its first one [m]."""
    arrived = route.hand_overs[stay.from_grip : stay.to_grip]
    return (stay.first_payout_m, *(over.payout_m or 0.0 for over in arrived))
