"""A second route that holds none of the first one's handrails, or as few as it must.

The least number is exact: a handrail counts once however many of its grips are
used. Every set of handrails that may be shared is tried, small sets first; those
that every route needs are found beforehand, which leaves few sets to try.
"""

import itertools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import comb
from typing import TypeAlias

import numpy as np

from routing.paths.choices.alternatives import Alternative, Held, make_alternative
from routing.paths.search.engine import Engine
from routing.paths.search.least_time import least_time
from routing.paths.tethers.search import TetherProblem, find_tethered_path
from routing.paths.tethers.steps import TetherGround

__all__ = [
    "Fallback",
    "SolveWithout",
    "find_fallback",
    "least_time_without",
    "tethered_without",
]

SolveWithout: TypeAlias = Callable[[frozenset[int]], Alternative | None]
"""Least-cost route that holds none of these elements, under some protocol."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fallback:
    """The route to take when the first one cannot be."""

    route: Alternative
    shared: tuple[int, ...]
    """Elements of the first route that it holds too, ascending."""
    needed: tuple[int, ...]
    """Those among them that every route between these places holds."""
    proven: bool
    """Whether fewer shared elements are certainly impossible, and no such route is quicker."""


def find_fallback(
    first: Alternative, solve: SolveWithout, *, most_searches: int = 2000
) -> Fallback:
    """Return the route that shares the fewest elements with the first, of those the quickest.

    Parameters
    ----------
    solve
        From `least_time_without` or `tethered_without`: the protocol.
    most_searches
        When more sets than this would have to be tried, elements are given up one
        after the other instead and the result is not ``proven``.
    """
    elements = sorted(first.elements)
    apart = solve(frozenset(elements))
    if apart is not None:
        return Fallback(route=apart, shared=(), needed=(), proven=apart.unproven == 0)
    needed = tuple(one for one in elements if solve(frozenset([one])) is None)
    spare = [one for one in elements if one not in needed]
    searches = 0
    for size in range(len(spare) + 1):
        searches += comb(len(spare), size)
        if searches > most_searches:
            break
        routes = []
        for kept in itertools.combinations(spare, size):
            route = solve(frozenset(spare) - frozenset(kept))
            if route is not None:
                routes.append((route.cost, route.nodes, route))
        if routes:
            proven = all(route.unproven == 0 for _, _, route in routes)
            return _fallback(first, min(routes)[2], needed, proven=proven)
    closed: frozenset[int] = frozenset()
    best = first
    for one in spare:
        route = solve(closed | {one})
        if route is not None:
            closed |= {one}
            best = route
    return _fallback(first, best, needed, proven=False)


def _fallback(
    first: Alternative, route: Alternative, needed: tuple[int, ...], *, proven: bool
) -> Fallback:
    shared = tuple(sorted(first.elements & route.elements))
    return Fallback(route=route, shared=shared, needed=needed, proven=proven)


def least_time_without(
    held: Held, sources: Mapping[int, float], goals: Sequence[int], *, engine: Engine = "auto"
) -> SolveWithout:
    """Return the solver for routes without a reel."""

    def solve(closed: frozenset[int]) -> Alternative | None:
        gone = _grips_on(held, closed)
        found = least_time(
            held.network.without(nodes=gone.tolist()),
            {node: cost for node, cost in sources.items() if node not in gone},
            [node for node in goals if node not in gone],
            engine=engine,
        )
        return None if found is None else make_alternative(held, found.nodes, found.cost)

    return solve


def tethered_without(
    held: Held, problem: TetherProblem, goals: Sequence[int], *, engine: Engine = "auto"
) -> SolveWithout:
    """Return the solver for routes under the reel protocol; ``held`` has its ground's network."""
    ground = problem.ground

    def solve(closed: frozenset[int]) -> Alternative | None:
        gone = _grips_on(held, closed)
        keep = ~(np.isin(ground.network.tail, gone) | np.isin(ground.network.head, gone))
        starts = tuple(state for state in problem.starts if state.grip not in gone)
        open_goals = [node for node in goals if node not in gone]
        if not starts or not open_goals:
            return None
        smaller = TetherProblem(
            ground=TetherGround(
                network=ground.network.without(nodes=gone.tolist()),
                way_m=ground.way_m[keep],
                hooks=ground.hooks,
            ),
            rules=problem.rules,
            starts=starts,
        )
        path = find_tethered_path(smaller, open_goals, engine=engine)
        return None if path is None else make_alternative(held, path.nodes, path.cost, path)

    return solve


def _grips_on(held: Held, elements: frozenset[int]) -> np.ndarray:
    return np.flatnonzero(np.isin(held.element, sorted(elements)))
