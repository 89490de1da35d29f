"""Routes that really differ: other handrails, not other grips on the same ones."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Network
from routing.paths.search.constrained import find_constrained_path
from routing.paths.search.engine import Engine
from routing.paths.tethers.front import moves_between
from routing.paths.tethers.legs import ByWayOf
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.priced import find_limited_path
from routing.paths.tethers.search import TetherProblem

__all__ = [
    "Alternative",
    "Held",
    "Solve",
    "constrained_solver",
    "find_alternatives",
    "make_alternative",
    "tethered_solver",
]

_ROUNDING_M = 1e-3
"""Rounding to the grid may make a sum that is as long as the limit a trifle longer [m]."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """What hands hold: the network, and per grip the handrail (or other element) it is on."""

    network: Network
    way_m: Floats
    """Length of each move, shape (m,) [m]."""
    element: Indices
    """Number of the element of each grip, shape (n,); below 0 it does not count."""

    def elements(self, nodes: Iterable[int]) -> frozenset[int]:
        """Return the elements that a route uses."""
        return frozenset(int(self.element[node]) for node in nodes if self.element[node] >= 0)

    def on(self, elements: Iterable[int]) -> Floats:
        """Return the metres of each move that end on one of these elements, 0 on others [m]."""
        ends_there = np.isin(self.element[self.network.head], sorted(elements))
        metres: Floats = np.where(ends_there, self.way_m, 0.0)
        return metres


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One of several routes between the same places."""

    nodes: tuple[int, ...]
    cost: float
    elements: frozenset[int]
    shared_m: float
    """Metres on elements that an earlier alternative uses; 0 for the first."""
    overlap: float
    """``shared_m`` over the metres that the first route has on elements."""
    tethered: TetheredPath | ByWayOf | None = None
    unproven: float = 0.0
    """By at most this much another route within the limit may cost less."""


Solve: TypeAlias = Callable[[Floats, float], Alternative | None]
"""Least-cost route on which a sum over moves stays within a limit, under some protocol."""


def find_alternatives(
    held: Held,
    solve: Solve,
    *,
    count: int,
    max_overlap: float = 0.5,
    first: Alternative | None = None,
) -> tuple[Alternative, ...]:
    """Return the best route and up to ``count - 1`` others that differ from all before.

    Each next one is the least-cost route, exactly, among those with no more than
    ``max_overlap`` times the first route's metres on handrails (or other elements)
    that an earlier alternative uses. Fewer come back when there are no more, or when
    the next one would hold the same elements as one before.

    Parameters
    ----------
    held
        The network, the metres of its moves and the element of each of its nodes.
    solve
        From `constrained_solver` or `tethered_solver`: the protocol.
    count
        Alternatives at most, the first one included; at least 1.
    max_overlap
        Part of the first route's metres on elements, 0 to below 1. At 0 only the elements
        of start and goal may be held again, and only if no move ends on them.
    first
        A least-cost route that is known already; searched for by default.

    Raises
    ------
    ValueError
        ``max_overlap`` is not from 0 to below 1.
    """
    if not 0 <= max_overlap < 1:
        raise ValueError(f"max_overlap is {max_overlap}; it must be from 0 to below 1")
    if first is None:
        first = solve(np.zeros(len(held.way_m)), 0.0)
    if first is None:
        return ()
    moves = moves_between(held.network, first.nodes)
    length_m = float(held.on(first.elements)[moves].sum())
    found = [first]
    while len(found) < count:
        used = frozenset().union(*(route.elements for route in found))
        shared = held.on(used)
        route = solve(shared, max_overlap * length_m)
        if route is None or any(route.elements == one.elements for one in found):
            break
        shared_m = float(shared[moves_between(held.network, route.nodes)].sum())
        overlap = shared_m / length_m if length_m > 0 else 0.0
        found.append(replace(route, shared_m=shared_m, overlap=overlap))
    return tuple(found[:count])


def constrained_solver(
    held: Held, sources: Mapping[int, float], goals: Sequence[int], *, engine: Engine = "auto"
) -> Solve:
    """Return the solver for routes without a reel: the network as it stands.

    Parameters
    ----------
    held
        Its network has the costs [s].
    sources
        Nodes to start from, with what each costs at first [s].
    goals
        Nodes, any of which may be the last.
    engine
        Plain or compiled; both give the same bits.
    """

    def solve(used: Floats, limit: float) -> Alternative | None:
        found = find_constrained_path(
            held.network, used, sources, goals, limit=limit, engine=engine
        )
        return None if found is None else make_alternative(held, found.nodes, found.cost)

    return solve


def tethered_solver(
    held: Held, problem: TetherProblem, goals: Sequence[int], *, engine: Engine = "auto"
) -> Solve:
    """Return the solver for routes under the reel protocol; ``held`` has its ground's network."""

    def solve(used: Floats, limit: float) -> Alternative | None:
        path = find_limited_path(problem, used, goals, limit=limit + _ROUNDING_M, engine=engine)
        if path is None:
            return None
        moves = moves_between(held.network, path.nodes)
        cost = float(held.network.cost[moves].sum())
        cost += problem.rules.transfer_s * len(path.transfers)
        return make_alternative(held, path.nodes, cost, replace(path, cost=cost))

    return solve


def make_alternative(
    held: Held,
    nodes: tuple[int, ...],
    cost: float,
    tethered: TetheredPath | ByWayOf | None = None,
) -> Alternative:
    """Return a route as an alternative that shares nothing yet."""
    return Alternative(
        nodes=nodes,
        cost=cost,
        elements=held.elements(nodes),
        shared_m=0.0,
        overlap=0.0,
        tethered=tethered,
    )
