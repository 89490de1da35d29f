"""Tether points, reels and starts of one request, in the numbers that the tether search uses."""

from collections.abc import Set as AbstractSet
from dataclasses import replace

import numpy as np

from routing.graph.hooks import HookPlaces
from routing.graph.reach_graph import ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.stack import Tether, TetherRules, TetherState, hooked_at
from routing.paths.tethers.steps import Hooks
from structures.elements import Hatch, TetherPoint
from structures.frozen import frozen

__all__ = [
    "Outfit",
    "is_rated",
    "make_outfit",
    "start_hooks",
    "start_states",
    "transfer_hooks",
    "why_no_hook",
]


@frozen(kw_only=True, eq=False)
class Outfit:
    """Tether points and tethers of one request, in the numbers the search uses."""

    points: tuple[TetherPoint, ...]
    """Open tether points, in id order."""
    places: HookPlaces
    rules: TetherRules
    carried: tuple[int, ...]
    """How many of each type the kit holds."""
    staged: tuple[tuple[int, int], ...]


def make_outfit(graph: ReachGraph, kit: Kit) -> Outfit:
    """Give numbers to the open tether points, the tethers of the kit and those staged outside."""
    situation = graph.situation
    points = sorted(
        (p for p in graph.structure.tether_points if p.id not in situation.closed),
        key=lambda point: point.id,
    )
    lengths = sorted(set(kit.reels_m) | {x for p in points for x in p.staged_m}, reverse=True)
    return Outfit(
        points=tuple(points),
        places=graph.hooks,
        rules=TetherRules(
            tethers=tuple(Tether(name=f"{x:g} m", length_m=x) for x in lengths),
            reserve_m=situation.limits.reserve_m,
            transfer_s=situation.limits.transfer_s,
        ),
        carried=tuple(kit.reels_m.count(length) for length in lengths),
        staged=tuple(
            sorted((i, lengths.index(x)) for i, p in enumerate(points) for x in p.staged_m)
        ),
    )


def is_rated(graph: ReachGraph, point: TetherPoint) -> bool:
    """Tell whether a tether point is known to hold a safety tether."""
    least_n = graph.situation.limits.tether_point_rating_n
    return point.rating_n is not None and point.rating_n >= least_n


def start_states(
    graph: ReachGraph, outfit: Outfit, start: SitePlaces, closed: AbstractSet[str] = frozenset()
) -> tuple[TetherState, ...]:
    """Return the states a person may start in: which tether, on which point, at which grip.

    At a hatch it is the hatch's tether point; elsewhere any open one within
    hook reach of the grip that is rated for a safety tether. Only where none is
    rated are the others taken: the checks then say that the route is unsafe. Nobody
    starts on or at what is closed beside what the graph leaves out.
    """
    states = []
    for point, grip, distance_m in start_hooks(graph, outfit, start, closed):
        for tether, count in enumerate(outfit.carried):
            if count and distance_m <= outfit.rules.usable_m(tether):
                rest = [n - (i == tether) for i, n in enumerate(outfit.carried)]
                state = hooked_at(
                    point=point,
                    grip=grip,
                    distance_m=distance_m,
                    tether=tether,
                    carried=tuple(rest),
                )
                states.append(replace(state, staged=outfit.staged))
    return tuple(states)


def start_hooks(
    graph: ReachGraph, outfit: Outfit, start: SitePlaces, closed: AbstractSet[str] = frozenset()
) -> list[tuple[int, int, float]]:
    """Return where a person's first tether may be hooked: (point, grip, distance [m]).

    Parameters
    ----------
    graph, outfit, start
        Where the person starts, in whose numbers.
    closed
        Elements out of use beside those that the graph leaves out.
    """
    site, on = graph.structure.by_id.get(start.site_id), graph.grips.element_ids
    hooks = _all_hooks(graph, outfit, start)
    if closed:
        hooks = [
            hook
            for hook in hooks
            if outfit.points[hook[0]].id not in closed and on[hook[1]] not in closed
        ]
    if isinstance(site, Hatch):
        return hooks
    return [hook for hook in hooks if is_rated(graph, outfit.points[hook[0]])] or hooks


def _all_hooks(
    graph: ReachGraph, outfit: Outfit, start: SitePlaces
) -> list[tuple[int, int, float]]:
    """Return all hooks of a start: at a hatch to its own point, elsewhere all within reach."""
    site = graph.structure.by_id.get(start.site_id)
    if isinstance(site, Hatch):
        return [
            (i, grip, float(np.linalg.norm(np.asarray(point.position_m) - at_m)))
            for i, point in enumerate(outfit.points)
            if point.id == site.tether_point
            for grip, at_m in zip(
                start.grips.tolist(), graph.grips.position_m[start.grips], strict=True
            )
        ]
    places = outfit.places
    here = np.isin(places.grip, start.grips)
    return list(
        zip(
            places.point[here].tolist(),
            places.grip[here].tolist(),
            places.distance_m[here].tolist(),
            strict=True,
        )
    )


def why_no_hook(graph: ReachGraph, outfit: Outfit, start: SitePlaces) -> str | None:
    """Return why no tether can be hooked on where a person starts, None if one can.

    A start without a grip has other reasons.
    """
    if not len(start.grips) or start_states(graph, outfit, start):
        return None
    limits = graph.situation.limits
    said = f"no reel of the kit can be hooked on at {start.site_id}"
    if start_hooks(graph, outfit, start):
        return f"{said}: none is long enough with the reserve of {limits.reserve_m:.2f} m kept"
    site = graph.structure.by_id.get(start.site_id)
    if isinstance(site, Hatch):
        return f"{said}: its tether point {site.tether_point} is closed"
    return (
        f"{said}: no open tether point is within hook reach of it, {limits.hook_reach_m:.2f} m "
        "in a clear line"
    )


def transfer_hooks(graph: ReachGraph) -> Hooks:
    """Return where transfers may be made: at points rated for a safety tether."""
    places = graph.hooks
    points = (graph.structure.find(one, (TetherPoint,)) for one in places.tether_points)
    rated = [is_rated(graph, point) for point in points]
    kept = np.array(rated, dtype=bool)[places.point]
    return Hooks(
        point=places.point[kept], grip=places.grip[kept], distance_m=places.distance_m[kept]
    )
