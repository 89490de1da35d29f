"""One protocol's ground for everything that is chosen from: trade-offs, alternatives, fallback.

The searches for these know networks, elements by number and tether problems; here they are
bound to a reach graph under one protocol, so that every route that comes out keeps the tether
rules: leapfrog with its rule of single moves and its transfers, reels with the whole stack.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, TypeAlias

import numpy as np

from routing.graph.reach_graph import Floats, GripKind, ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.choices.alternatives import (
    Alternative,
    Held,
    Solve,
    constrained_solver,
    make_alternative,
    tethered_solver,
)
from routing.paths.choices.fallback import SolveWithout, least_time_without, tethered_without
from routing.paths.choices.tradeoffs import (
    Choice,
    TradeOffs,
    find_leapfrog_tradeoffs,
    find_tethered_tradeoffs,
)
from routing.paths.course import Course, course_of
from routing.paths.layers import unstack
from routing.paths.request import Request, request_layers, request_stops
from routing.paths.search.arrays import Network
from routing.paths.search.engine import choose_engine
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.legs import ByWayOf
from routing.paths.tethers.log import log_tethers
from routing.paths.tethers.outfit import Outfit, make_outfit, start_states
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.short_tethers import hook_rule, leapfrog_course

__all__ = [
    "ChoiceGround",
    "Tethered",
    "course_on_reels",
    "held_on",
    "reel_choices",
    "short_tether_choices",
]

Tethered: TypeAlias = TetheredPath | ByWayOf | None
"""How a route lies on reels, over via sites or not; None without reels."""

_COUNTED: Final = (GripKind.HANDRAIL, GripKind.HANDHOLD)
"""What routes can differ in; hatches and sockets are where they begin and end."""

_SEARCHES: Final = 1000
"""Alternatives and a fallback on reels take about as long as so many plain least-time searches.

Measured on the station example: 20 s plain, 7 s and 3 s compiled, loading the compiler included.
"""


@dataclass(frozen=True, kw_only=True, eq=False)
class ChoiceGround:
    """The searches between two sites under one protocol."""

    graph: ReachGraph
    element_ids: tuple[str, ...]
    """Ids of handrails and handholds by the number that the searches use."""
    held: Held
    tradeoffs: Callable[[], TradeOffs]
    within: Solve
    """Least-time route with a limit on the metres on some elements."""
    without: SolveWithout
    """Least-time route that holds none of some elements."""
    to_course: Callable[[tuple[int, ...], Tethered], Course]
    most_searches: int = 2000
    """How many sets of handrails are tried at most for the fallback."""

    def as_alternative(self, choice: Choice) -> Alternative:
        """Return a choice as the first of alternatives."""
        return make_alternative(self.held, choice.nodes, choice.seconds, choice.tethered)

    def ids(self, elements: frozenset[int] | tuple[int, ...]) -> tuple[str, ...]:
        """Return the ids of elements, in order."""
        return tuple(self.element_ids[number] for number in sorted(elements))


def short_tether_choices(graph: ReachGraph, request: Request) -> ChoiceGround:
    """Return the ground under leapfrog: the moves that both hooks span, transfers in their cost.

    Via sites are legs stacked into one network, so that every search goes by all of them.
    """
    rule = hook_rule(graph)
    layers = request_layers(graph, request, [one.grips for one in request_stops(graph, request)])
    network = layers.network
    # Stepping on to the next leg is no move of the graph: nothing is transferred or passed.
    steps_on = network.move < 0
    held, ids = held_on(graph, network, np.where(steps_on, 0.0, graph.moves.way_m[network.move]))
    sources = dict.fromkeys(layers.sources.tolist(), 0.0)
    goals = layers.goals.tolist()
    criteria = (
        np.where(steps_on, 0, rule.transfers[network.move]).astype(np.int64),
        np.where(steps_on, 0.0, graph.moves.exposure_s[network.move]),
    )

    def to_course(nodes: tuple[int, ...], _: Tethered) -> Course:
        course = course_of(graph, *unstack(nodes, layers.grips))
        return leapfrog_course(graph, course, rule)

    return ChoiceGround(
        graph=graph,
        element_ids=ids,
        held=held,
        tradeoffs=lambda: find_leapfrog_tradeoffs(network, criteria, sources, goals),
        within=constrained_solver(held, sources, goals),
        without=least_time_without(held, sources, goals),
        to_course=to_course,
    )


def reel_choices(
    graph: ReachGraph, start: SitePlaces, goal: SitePlaces, kit: Kit
) -> ChoiceGround | None:
    """Return the ground on reels, or None where no reel can be hooked on at the start."""
    outfit = make_outfit(graph, kit)
    starts = start_states(graph, outfit, start)
    if not starts:
        return None
    ground = reel_ground(graph)
    problem = TetherProblem(ground=ground, rules=outfit.rules, starts=starts)
    held, ids = held_on(graph, ground.network, graph.moves.way_m[ground.network.move])
    goals = goal.grips.tolist()
    exposure_s = graph.moves.exposure_s[ground.network.move]
    engine = choose_engine("auto", moves=len(ground.network.head), searches=_SEARCHES)

    return ChoiceGround(
        graph=graph,
        element_ids=ids,
        held=held,
        tradeoffs=lambda: find_tethered_tradeoffs(problem, exposure_s, goals),
        within=tethered_solver(held, problem, goals, engine=engine),
        without=tethered_without(held, problem, goals, engine=engine),
        to_course=lambda nodes, path: course_on_reels(graph, outfit, nodes, path),
    )


def course_on_reels(
    graph: ReachGraph, outfit: Outfit, nodes: tuple[int, ...], path: Tethered
) -> Course:
    """Return the course of a path that comes with its tethers."""
    if path is None:
        raise AssertionError("a route on reels comes with its tethers")
    if isinstance(path, ByWayOf):
        course = replace(course_of(graph, nodes, path.via_at), unproven_s=path.unproven)
        return replace(course, anchorings=log_tethers(outfit, path.paths))
    return replace(course_of(graph, nodes), anchorings=log_tethers(outfit, [path]))


def held_on(graph: ReachGraph, network: Network, way_m: Floats) -> tuple[Held, tuple[str, ...]]:
    """Return what hands hold on a network of one or more legs, and the ids by the numbers in it.

    Parameters
    ----------
    graph
        Of n grips.
    network
        Of legs * n nodes, leg by leg in the order of the grips.
    way_m
        Length of each of its moves, shape (m,) [m].
    """
    counted = np.isin(graph.grips.kind, _COUNTED)
    listed = zip(graph.grips.element_ids, counted.tolist(), strict=True)
    ids = tuple(sorted({one for one, counts in listed if counts}))
    numbers = {one: number for number, one in enumerate(ids)}
    element = np.array([numbers.get(one, -1) for one in graph.grips.element_ids], dtype=np.int64)
    legs = len(network) // len(element)
    return Held(network=network, way_m=way_m, element=np.tile(element, legs)), ids
