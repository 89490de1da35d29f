"""Lower bounds on what remains to a goal: they turn a search towards it.

Two kinds: straight-line distance over the rate, which needs no preparation,
and differences of distances to a few far nodes (landmarks), which need tables
but see walls and detours. Tables made on the whole network stay true bounds
when moves are closed or get dearer, because that only lengthens ways.
"""

from collections.abc import Callable, Iterable

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine, choose_engine, compiled
from routing.paths.search.landmark_kernel import lead
from routing.paths.search.least_time import least_time_tree
from structures.frozen import frozen

__all__ = ["Landmarks", "lowered", "prepare_landmarks", "straight_bound"]

_SHRINK = 1 - 1e-12
_SAFETY_S = 1e-9
"""Bounds are taken down by this much, far more than rounding can have added."""

_MOST_TRIES = 64
"""Nodes to try as the middle of the largest part of a network that is not joined up."""


@frozen(kw_only=True, eq=False)
class Landmarks:
    """Least costs from and to a few far nodes, both of shape (landmarks, n)."""

    nodes: Indices
    outward: Floats
    homeward: Floats

    def bound(
        self, sources: Iterable[int], goals: Iterable[int], *, use: int = 4, engine: Engine = "auto"
    ) -> Floats:
        """Return the least cost that can remain from each node to the nearest goal, shape (n,).

        Only the ``use`` landmarks that say most at the sources are asked: more
        cost more to read than they save. Infinite where no goal can be reached.

        Notes
        -----
        With distances d, goal t and landmark L: d(v, t) >= d(L, t) - d(L, v) and
        d(v, t) >= d(v, L) - d(t, L), both by the triangle inequality
        (Goldberg and Harrelson 2005, "Computing the shortest path: A* search
        meets graph theory", SODA, pages 156-165; from memory).
        """
        from_nodes = np.fromiter(sources, dtype=np.int64)
        to_nodes = np.fromiter(goals, dtype=np.int64)
        if choose_engine(engine, moves=use * self.outward.shape[1]) == "compiled":
            tables = self.outward, self.homeward
            made: Floats = compiled(lead)(*tables, from_nodes, to_nodes, use, _SHRINK, _SAFETY_S)
            return made
        # The nearest of several goals: the smaller distance one way, the larger the other.
        out_goal = self.outward[:, to_nodes].min(axis=1)
        home_goal = self.homeward[:, to_nodes].max(axis=1)
        with np.errstate(invalid="ignore"):
            seen = np.fmax(
                out_goal[:, None] - self.outward[:, from_nodes],
                self.homeward[:, from_nodes] - home_goal[:, None],
            )
            worth = np.nan_to_num(seen, nan=0.0).min(axis=1)
            chosen = np.argsort(-worth, kind="stable")[:use]
            bound = np.zeros(self.outward.shape[1])
            for row in chosen:
                np.fmax(bound, out_goal[row] - self.outward[row], out=bound)
                np.fmax(bound, self.homeward[row] - home_goal[row], out=bound)
        return lowered(bound)


def prepare_landmarks(network: Network, *, count: int = 8, engine: Engine = "auto") -> Landmarks:
    """Return the tables of landmarks far from each other.

    Each next landmark is the node farthest from those already chosen (lowest
    number on ties), within the largest part of the network. Terminal nodes are
    treated as passable, which keeps the triangle inequality true.
    """
    open_network = Network(
        indptr=network.indptr,
        head=network.head,
        cost=network.cost,
        terminal=np.zeros_like(network.terminal),
        move=network.move,
    )
    # Islands are left out: a landmark there says nothing about the rest.
    nearest = widest_costs(
        open_network, lambda node: least_time_tree(open_network, {node: 0.0}, engine=engine).cost
    )
    inside = np.isfinite(nearest)
    chosen: list[int] = []
    outward: list[Floats] = []
    homeward: list[Floats] = []
    for _ in range(min(count, int(inside.sum()))):
        landmark = int(np.argmax(np.where(inside, nearest, -1.0)))
        if landmark in chosen:
            break
        out = least_time_tree(open_network, {landmark: 0.0}, engine=engine).cost
        home = least_time_tree(open_network.reverse, {landmark: 0.0}, engine=engine).cost
        nearest = np.minimum(nearest, out) if chosen else out
        chosen.append(landmark)
        outward.append(out)
        homeward.append(home)
    return Landmarks(
        nodes=np.array(chosen, dtype=np.int64),
        outward=np.array(outward),
        homeward=np.array(homeward),
    )


def widest_costs(network: Network, costs_from: Callable[[int], Floats]) -> Floats:
    """Return least costs from the first node that reaches half of all, or the most, shape (n,).

    Parameters
    ----------
    costs_from
        Finds the costs from a node, infinite where no way leads.
    """
    widest = np.full(len(network), np.inf)
    tried = np.zeros(len(network), dtype=bool)
    for _ in range(_MOST_TRIES):
        if tried.all():
            break
        costs = costs_from(int(np.argmin(tried)))
        reached = np.isfinite(costs)
        tried |= reached
        if reached.sum() > np.isfinite(widest).sum():
            widest = costs
        if 2 * reached.sum() >= len(network):
            break
    return widest


def straight_bound(position_m: Floats, goals: Iterable[int], *, rate_m_per_s: float) -> Floats:
    """Return straight distance to the nearest goal over the rate, shape (n,) [s].

    True as long as no move is faster than its straight gap at this rate.

    Parameters
    ----------
    position_m
        Where the grips are, shape (n, 3) [m].
    """
    bound = np.full(len(position_m), np.inf)
    for goal in goals:
        offset = position_m - position_m[goal]
        np.minimum(bound, np.sqrt(np.einsum("ij,ij->i", offset, offset)), out=bound)
    return lowered(bound / rate_m_per_s)


def lowered(bound: Floats) -> Floats:
    """Return a bound that is true in spite of rounding: a trifle less, never below 0."""
    safe: Floats = bound * _SHRINK
    safe -= _SAFETY_S
    return np.maximum(safe, 0.0, out=safe)
