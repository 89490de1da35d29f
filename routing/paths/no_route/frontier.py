"""How far one gets: the grips reached, the nearest to the goal, and what is near them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from routing.graph.reach_graph import Floats, Indices, ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.no_route.answer import ClosestGrip
from routing.paths.request import Request, request_layers, request_stops
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.reel import reel_reach
from structures.elements import Element, Handrail, Worksite, Zone
from structures.model import Structure
from structures.polylines import segment_gaps
from structures.solids.distance import signed_distance
from structures.zones import zone_shape

__all__ = ["Frontier", "find_frontier", "near_elements", "near_zones"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frontier:
    """Where the way ends."""

    leg: int
    """Index of the leg that cannot be done."""
    start: SitePlaces
    goal: SitePlaces
    """The two sites of that leg."""
    reached: Indices
    """Grips reached on it, ascending."""
    closest: ClosestGrip | None
    places_m: Floats
    """Positions of the grips reached, or of the start if it has none to begin at, shape (k, 3)."""
    beyond_m: Floats
    """Positions of the grips from which hands get to the goal, or of the goal, shape (j, 3)."""


def find_frontier(graph: ReachGraph, request: Request, reached: Indices | None = None) -> Frontier:
    """Find the first leg of a request that cannot be done, and the grips reached on it.

    Parameters
    ----------
    reached
        The grips reached, where they are known from an earlier search from the
        same start; only for a request without via sites.
    """
    stops = request_stops(graph, request)
    if reached is not None:
        leg = 0
    elif request.protocol == "reel":
        leg, reached = reel_reach(graph, stops, request.kit_for(graph.situation.limits))
    else:
        leg, reached = _layer_reach(graph, request, stops)
    places_m = graph.grips.position_m[reached]
    if not len(reached):
        places_m = _site_points(graph, stops[leg])
    return Frontier(
        leg=leg,
        start=stops[leg],
        goal=stops[leg + 1],
        reached=reached,
        closest=_closest(graph, reached, stops[leg + 1]),
        places_m=places_m,
        beyond_m=_beyond(graph, stops[leg + 1]),
    )


def _beyond(graph: ReachGraph, goal: SitePlaces) -> Floats:
    """Return where hands get to a site from, whatever the tether, as positions (j, 3) [m]."""
    network = Network.of_moves(graph.moves)
    tree = least_time_tree(network.reverse, dict.fromkeys(goal.grips.tolist(), 0.0))
    there = np.isfinite(tree.cost)
    positions_m: Floats = graph.grips.position_m[there]
    return positions_m if len(positions_m) else _site_points(graph, goal)


def _layer_reach(
    graph: ReachGraph, request: Request, stops: Sequence[SitePlaces]
) -> tuple[int, Indices]:
    """Return the last leg that can be begun, and the grips reached on it."""
    count = len(graph.grips)
    layers = request_layers(graph, request, [stop.grips for stop in stops])
    tree = least_time_tree(layers.network, dict.fromkeys(layers.sources.tolist(), 0.0))
    nodes = np.flatnonzero(np.isfinite(tree.cost))
    leg = int(nodes.max() // count) if len(nodes) else 0
    return leg, nodes[nodes // count == leg] % count if len(nodes) else nodes


def _closest(graph: ReachGraph, reached: Indices, goal: SitePlaces) -> ClosestGrip | None:
    """Return the reached grip nearest to a site; ties go to the lowest grip."""
    goals_m = _site_points(graph, goal)
    if not len(reached) or not len(goals_m):
        return None
    apart_m = np.full(len(reached), np.inf)
    for goal_m in goals_m:
        offset = graph.grips.position_m[reached] - goal_m
        apart_m = np.minimum(apart_m, np.sqrt(np.einsum("ij,ij->i", offset, offset)))
    nearest = int(apart_m.argmin())
    return ClosestGrip(
        grip=graph.grips.ids[int(reached[nearest])], distance_m=float(apart_m[nearest])
    )


def _site_points(graph: ReachGraph, site: SitePlaces) -> Floats:
    """Return where a site is: its grips if it has any, else what its element says."""
    grips = np.concatenate([site.grips, site.unusable])
    if len(grips):
        points_m: Floats = graph.grips.position_m[grips]
        return points_m
    return _element_points(graph.structure, graph.structure.by_id.get(site.site_id))


def _element_points(structure: Structure, element: Element | None) -> Floats:
    if isinstance(element, Worksite):
        if element.place_m is not None:
            return np.array([element.place_m])
        element = structure.by_id.get(str(element.socket))
    if isinstance(element, Handrail):
        return np.array(element.points_m)
    position_m = getattr(element, "position_m", None)
    return np.empty((0, 3)) if position_m is None else np.array([position_m])


def near_zones(zones: Iterable[Zone], frontier: Frontier, within_m: float) -> list[Zone]:
    """Return the zones that can stop the way: near its end and near what lies beyond.

    A zone taken away frees hand-overs near it only; the first that a new way uses
    begins at a grip that is reached, the last ends at one from which hands get
    to the goal. Nearest to what is reached first.
    """
    if not len(frontier.places_m) or not len(frontier.beyond_m):
        return []
    shapes = [(zone, zone_shape(zone)) for zone in zones]
    found = [
        (float(signed_distance(shape, frontier.places_m).min()), zone.id, zone)
        for zone, shape in shapes
        if signed_distance(shape, frontier.beyond_m).min() <= within_m
    ]
    return [zone for away_m, _, zone in sorted(found, key=lambda f: f[:2]) if away_m <= within_m]


def near_elements(
    structure: Structure, ids: Sequence[str], frontier: Frontier, within_m: float
) -> list[str]:
    """Return the ids of elements near where the way ends and what lies beyond, nearest first.

    As `near_zones` has it.
    """
    found = [
        (_away_m(structure.by_id[one], frontier.places_m), one)
        for one in ids
        if _away_m(structure.by_id[one], frontier.beyond_m) <= within_m
    ]
    return [one for away_m, one in sorted(found) if away_m <= within_m]


def _away_m(element: Element, places_m: Floats) -> float:
    """Return the distance from an element's hand line to the nearest place [m]."""
    if not len(places_m):
        return float("inf")
    if isinstance(element, Handrail):
        corners = np.array(element.points_m)
        return min(
            float(segment_gaps(places_m, places_m, begin, end)[0].min())
            for begin, end in pairwise(corners)
        )
    offset = places_m - np.array(getattr(element, "position_m", (np.inf,) * 3))
    return float(np.sqrt(np.einsum("ij,ij->i", offset, offset)).min())
