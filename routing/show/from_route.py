"""From routes found to drawings of them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from routing.graph.situation import Situation
from routing.paths.results import Route
from routing.show.inputs import MapFacts, MapRoute, MapTransfer, region_around
from routing.show.maps import draw_map
from routing.show.unrolled import draw_unrolled
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["RouteDrawing", "draw_routes", "map_route"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteDrawing:
    """What is drawn, apart from the structure.

    Parameters
    ----------
    situation
        Conditions, closures and limits in force.
    routes
        One per person, at most four.
    digest
        SHA-256 of the structure's document.
    unsafe
        Whether a route asked for is unsafe or not there: the title block says so.
    views
        Names of views; not used with a skin.
    skin
        Id of a cylinder whose unrolled skin is drawn instead.
    around
        Whether only the region around the routes is shown.
    """

    situation: Situation
    routes: Sequence[Route] = ()
    digest: str = ""
    unsafe: bool = False
    views: tuple[str, ...] = ("plan", "starboard")
    skin: str | None = None
    around: bool = False


def map_route(structure: Structure, route: Route, person: str) -> MapRoute:
    """Return a route as maps draw it: grips, handrails, transfers, stays and lays."""
    places = {point.id: point.position_m for point in structure.tether_points}
    at = [grip.position_m for grip in route.grips]
    return MapRoute(
        person=person,
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
    )


def draw_routes(structure: Structure, drawing: RouteDrawing) -> "Figure":
    """Draw a structure with routes: chosen views, or the unrolled skin of one cylinder.

    Raises
    ------
    DrawingError
        A view is unknown, there are too many routes, or the skin is of no cylinder.
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
    trips = "; ".join(f"{route.start.id} to {route.goal.id}" for route in drawing.routes)
    facts = MapFacts(
        subject=f"UNSAFE OR WITHOUT ROUTE: {trips}" if drawing.unsafe else trips,
        digest=drawing.digest,
        limits=situation.limits,
        when=situation.when,
        closed=situation.closed,
    )
    if drawing.skin is not None:
        return draw_unrolled(structure, drawing.skin, routes=routes, facts=facts)
    region = region_around(routes) if drawing.around and routes else None
    return draw_map(structure, views=drawing.views, routes=routes, facts=facts, region=region)
