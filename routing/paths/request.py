"""What is asked of a reach graph, and the course that answers it."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from routing.graph.reach_graph import Indices, ReachGraph
from routing.graph.sites import SitePlaces, site_grips
from routing.limits import Limits
from routing.paths.answers.results import Protocol
from routing.paths.course import Course, course_of
from routing.paths.layers import Layers, stack_layers, unstack
from routing.paths.search.least_time import least_time
from routing.paths.tethers.kit import Kit, default_kit
from routing.paths.tethers.short_tethers import HookRule, hook_rule, leapfrog_course
from structures.frozen import frozen

__all__ = ["Request", "move_rule", "request_layers", "request_stops", "solve", "solve_by_rule"]


@frozen(kw_only=True)
class Request:
    """From where to where, by way of what, under which tether protocol.

    ``protocol`` is ``None`` for a person without a tether: that is no answer
    to follow, but tells whether it is the tether that stands in the way.
    """

    start: str
    goal: str
    via: tuple[str, ...] = ()
    protocol: Protocol | None = "leapfrog"
    kit: Kit | None = None

    def kit_for(self, limits: Limits) -> Kit:
        """Return the kit, by default two reels of the limits' length."""
        return default_kit(limits) if self.kit is None else self.kit

    @property
    def untethered(self) -> "Request":
        """The same without a tether."""
        return replace(self, protocol=None)

    @property
    def sites(self) -> tuple[str, ...]:
        """Start, via sites and goal, in order."""
        return (self.start, *self.via, self.goal)


def request_stops(graph: ReachGraph, request: Request) -> tuple[SitePlaces, ...]:
    """Return the places of start, via sites and goal.

    Raises
    ------
    UnknownIdError
        One of the sites does not exist; the message names the nearest ids.
    """
    return tuple(site_grips(graph, site) for site in request.sites)


def request_layers(graph: ReachGraph, request: Request, stops: Sequence[Indices]) -> Layers:
    """Return the network in which a path from first to last leg answers the request.

    Parameters
    ----------
    graph
        Of the situation that is asked about.
    request
        What protocol there is, for the rule of single moves.
    stops
        Grips that stand for start, via sites and goal, in this order, each (k,).
    """
    return _stack(graph, stops, move_rule(graph, request))


def _stack(graph: ReachGraph, stops: Sequence[Indices], rule: HookRule) -> Layers:
    return stack_layers(graph, stops, rule.allowed, graph.moves.seconds + rule.transfer_s)


def move_rule(graph: ReachGraph, request: Request) -> HookRule:
    """Return what the request's protocol makes of every move.

    On a reel transfers are no matter of single moves, so none is in the rule.
    """
    if request.protocol == "leapfrog":
        return hook_rule(graph)
    count = len(graph.moves)
    reel = request.protocol == "reel"
    return HookRule(
        takes_hook=graph.grips.tether_hook,
        allowed=graph.moves.line_clear if reel else np.ones(count, dtype=bool),
        transfers=np.zeros(count, dtype=bool),
        transfer_s=np.zeros(count),
    )


def solve(graph: ReachGraph, request: Request) -> Course | None:
    """Return the least-time course that answers a request, or None if there is none."""
    places = request_stops(graph, request)
    stops = [place.grips for place in places]
    if not all(len(stop) for stop in stops):
        return None
    if request.protocol == "reel":
        from routing.paths.tethers.reel import solve_reel

        return solve_reel(graph, places, request.kit_for(graph.situation.limits))
    rule = move_rule(graph, request)
    course = solve_by_rule(graph, stops, rule)
    if course is None or request.protocol != "leapfrog":
        return course
    return leapfrog_course(graph, course, rule)


def solve_by_rule(graph: ReachGraph, stops: Sequence[Indices], rule: HookRule) -> Course | None:
    """Return the least-time course from stop to stop under a rule of single moves, or None.

    Parameters
    ----------
    graph
        Of the situation that is asked about.
    stops
        Grips that stand for start, via sites and goal, in this order, each (k,).
    rule
        Which moves are allowed, and what each costs on top [s].
    """
    layers = _stack(graph, stops, rule)
    found = least_time(
        layers.network,
        dict.fromkeys(layers.sources.tolist(), 0.0),
        layers.goals.tolist(),
        bound=layers.bound,
    )
    return None if found is None else course_of(graph, *unstack(found.nodes, layers.grips))
