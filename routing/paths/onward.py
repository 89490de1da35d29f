"""Routes one after another: each from the hold and the tethers that the one before ended with.

`find_route` starts every route afresh. Over a whole outing the tethers stay
where they were hooked on, so the next route starts from a state: the stack of
stays with their lays, and the tethers still carried.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from routing.errors import RoutingError
from routing.graph.reach_graph import ReachGraph
from routing.graph.sites import SitePlaces, site_grips
from routing.paths.answers.results import Protocol, Route
from routing.paths.course import Course, course_of
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, head_of_route, route_of
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.legs import by_way_of, follow_legs
from routing.paths.tethers.log import log_tethers
from routing.paths.tethers.outfit import Outfit, make_outfit, start_states
from routing.paths.tethers.path import TetheredPath, follow_path, route_home
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.stack import LayBlockedError, TetherState, retreats
from routing.paths.tethers.steps import TetherGround

__all__ = ["Manner", "NoWayOnError", "Onward", "Whereabouts", "begin_at", "route_onward"]


Manner: TypeAlias = Literal["best", "retrace", "recover"]
"""How a way is chosen: see `route_onward`."""


class NoWayOnError(RoutingError, LookupError):
    """No way leads on under the rules; the message says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Whereabouts:
    """Where a person is, and what the person hangs on.

    Parameters
    ----------
    site
        What the place is called: a site, or the id of the grip.
    grip
        The grip that is held; None at a site with several where the first route may choose.
    tethers
        The tether states the person may be in (reel): several only before the
        first route, which then chooses with which reel to begin. Empty under leapfrog.
    """

    site: str
    grip: int | None = None
    tethers: tuple[TetherState, ...] = ()
    begun: bool = False
    """Whether a route has led here, so that the tether hangs there already (reel)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Onward:
    """A route, and where it leaves the person."""

    route: Route
    ends: Whereabouts
    course: Course


def begin_at(graph: ReachGraph, site: str, protocol: Protocol, kit: Kit) -> Whereabouts:
    """Return the whereabouts of a person about to leave a site, usually the hatch.

    Raises
    ------
    NoWayOnError
        There is no usable hold at the site, or no tether of the kit can be hooked on there.
    """
    place = site_grips(graph, site)
    if not len(place.grips):
        raise NoWayOnError(
            place.too_far or f"nobody can hold on at {site}; `gripway inspect` says why"
        )
    grip = int(place.grips[0]) if len(place.grips) == 1 else None
    if protocol == "leapfrog":
        return Whereabouts(site=site, grip=grip)
    states = start_states(graph, make_outfit(graph, kit), place)
    if not states:
        raise NoWayOnError(
            f"no reel of the kit can be hooked on at {site}: no open tether point is near enough"
        )
    return Whereabouts(site=site, grip=grip, tethers=states)


def route_onward(
    graph: ReachGraph,
    where: Whereabouts,
    sites: Sequence[str],
    *,
    request: Request,
    manner: Manner = "best",
) -> Onward:
    """Find the least-time route from where somebody is, by way of sites to the last of them.

    Parameters
    ----------
    graph
        For this person, load and state of the structure; grips mean the same in all of these.
    where
        Where the person is.
    sites
        Via sites in order, the goal last.
    request
        Protocol and kit; its sites are not looked at.
    manner
        Reel: *best* is the least-time way; *retrace* goes back along the lays and
        nowhere else, so that the line comes in again; *recover* goes back along all
        of them first, so that every carried tether comes along. Leapfrog: all the same.

    Raises
    ------
    UnknownIdError
        A site does not exist.
    NoWayOnError
        No way leads on.

    Notes
    -----
    On a reel all legs are solved together, exactly, from the state that the person
    is in; with ``recover`` the way back along the lays comes first.
    """
    start = where.site if where.grip is None else graph.grips.ids[where.grip]
    asked = replace(request, start=start, via=tuple(sites[:-1]), goal=sites[-1])
    places = [site_grips(graph, site) for site in asked.sites]
    for place in places[1:]:
        if not len(place.grips):
            raise NoWayOnError(
                place.too_far
                or f"nobody can hold on at {place.site_id} here: it is closed, or the body has no "
                "clear place there; go to another site"
            )
    head = head_of_route(graph, places, asked, ())
    if asked.protocol == "reel":
        course, state = _on_reels(graph, where, places, asked, manner)
        route = route_of(graph, course, "reel", RouteOptions(), head)
        return Onward(route=route, ends=_whereabouts(graph, course, (state,)), course=course)
    found = solve(graph, asked)
    if found is None:
        raise NoWayOnError(
            f"no way leads from {start} to {asked.goal} under leapfrog rules with this load"
        )
    route = route_of(graph, found, "leapfrog", RouteOptions(), head)
    return Onward(route=route, ends=_whereabouts(graph, found, ()), course=found)


def _whereabouts(
    graph: ReachGraph, course: Course, tethers: tuple[TetherState, ...]
) -> Whereabouts:
    grip = course.grips[-1]
    return Whereabouts(site=graph.grips.ids[grip], grip=grip, tethers=tethers, begun=True)


def _on_reels(
    graph: ReachGraph,
    where: Whereabouts,
    places: Sequence[SitePlaces],
    asked: Request,
    manner: Manner,
) -> tuple[Course, TetherState]:
    outfit = make_outfit(graph, asked.kit_for(graph.situation.limits))
    ground = reel_ground(graph)
    starts = where.tethers
    via_at: tuple[int, ...] = ()
    unproven_s = 0.0
    if manner == "best":
        stops = [place.grips.tolist() for place in places[1:]]
        found = by_way_of(ground, outfit.rules, starts, stops)
        if found is None:
            raise NoWayOnError(_why_not(graph, where, places[-1], asked))
        legs, via_at, unproven_s = list(found.paths), found.via_at, found.unproven
    else:
        pick = _recover if manner == "recover" else _retrace
        legs = [pick(graph, ground, outfit, starts[0], places[-1])]
        goals = places[-1].grips.tolist()
        if legs[0].nodes[-1] not in goals:
            legs += follow_legs(ground, outfit.rules, (legs[0].state,), [goals])
            if len(legs) == 1:
                raise NoWayOnError(_why_not(graph, where, places[-1], asked))
    grips = [*legs[0].nodes, *(node for leg in legs[1:] for node in leg.nodes[1:])]
    start = next(state for state in starts if _began(legs[0], state))
    first, *others = log_tethers(outfit, legs, start=start)
    anchorings = (replace(first, hung_before=where.begun), *others)
    course = course_of(graph, grips, via_at)
    course = replace(course, anchorings=anchorings, unproven_s=unproven_s)
    return course, legs[-1].state


def _began(path: TetheredPath, state: TetherState) -> bool:
    """Tell which of several starts a path took: all have one stay, on a reel of its own type."""
    return path.nodes[0] == state.grip and path.tether[0] == state.stack[-1].tether


def _recover(
    graph: ReachGraph,
    ground: TetherGround,
    outfit: Outfit,
    state: TetherState,
    goal: SitePlaces,  # noqa: ARG001 (home first, whatever the goal)
) -> TetheredPath:
    """Go back along all lays."""
    try:
        return route_home(state, ground.network, outfit.rules)
    except LayBlockedError as error:
        ids = graph.grips.ids
        raise NoWayOnError(
            f"the way back along the line from {ids[error.tail]} to {ids[error.head]} is not "
            "allowed with this load and these closures, so not every tether can be taken up; "
            "open it, put the load down first, or leave the tether outside"
        ) from None


def _retrace(
    graph: ReachGraph,
    ground: TetherGround,
    outfit: Outfit,
    state: TetherState,
    goal: SitePlaces,
) -> TetheredPath:
    """Go back along the lays to the first hold of the goal that they come by."""
    goals = set(goal.grips.tolist())
    at = state.grip
    for place in retreats(state, ground.network, outfit.rules.transfer_s):
        if place.state.grip in goals:
            return follow_path(outfit.rules, ground.hooks, place, [])
        at = place.state.grip
    raise NoWayOnError(
        f"the way back along the lines does not come to {goal.site_id}: it ends at "
        f"{graph.grips.ids[at]}; take the best way there instead"
    )


def _why_not(graph: ReachGraph, where: Whereabouts, goal: SitePlaces, asked: Request) -> str:
    """Say whether it is the tethers or the way itself."""
    here = where.site if where.grip is None else graph.grips.ids[where.grip]
    untethered = solve(graph, replace(asked, start=here, via=(), goal=goal.site_id, protocol=None))
    if untethered is None:
        return f"no way leads from {here} to {goal.site_id} with this load, tethers apart"
    state = where.tethers[0]
    points = make_outfit(graph, asked.kit_for(graph.situation.limits)).points
    stack = ", ".join(points[stay.point].id for stay in state.stack)
    return (
        f"the tethers do not reach from {here} to {goal.site_id}: the person hangs on {stack} and "
        f"carries {sum(state.carried)} more; take up tethers on a way back first, or carry more"
    )
