"""Least-time paths and trees over a network."""

import sys
from collections.abc import Iterable, Mapping

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Network, node_flags
from routing.paths.search.engine import Engine, choose_engine, compiled
from routing.paths.search.kernel import SOURCE, UNREACHED, Work, settle, trace_back
from structures.frozen import frozen

__all__ = ["LeastTimePath", "LeastTimeTree", "least_time", "least_time_tree"]

_NO_LIMIT = sys.float_info.max
"""Larger than every finite cost, smaller than an infinite bound."""


@frozen(kw_only=True)
class LeastTimePath:
    """One least-cost path: its nodes from source to goal, and what it costs."""

    nodes: tuple[int, ...]
    cost: float


@frozen(kw_only=True, eq=False)
class LeastTimeTree:
    """Least costs from the sources to every node; infinite where none leads."""

    cost: Floats
    """Shape (n,)."""
    parent: Indices
    """Node before, -1 where there is none, -2 at sources, shape (n,)."""

    def path_to(self, node: int) -> tuple[int, ...]:
        """Return the nodes from the source to this node; empty if it is not reached."""
        if self.parent[node] == UNREACHED:
            return ()
        return tuple(int(one) for one in reversed(trace_back(self.parent, node)))


def least_time(
    network: Network,
    sources: Mapping[int, float],
    goals: Iterable[int],
    *,
    bound: Floats | None = None,
    limit: float = _NO_LIMIT,
    engine: Engine = "auto",
) -> LeastTimePath | None:
    """Return the least-cost path from any source to any goal, or None if none leads there.

    Ties are broken by fewest moves, then by the smallest node numbers read
    back from the goal. Nodes marked terminal are passed by nobody; a terminal
    source is left but not entered.

    Parameters
    ----------
    sources
        Cost at which each source starts, not negative.
    bound
        Least cost that can remain from each node to a goal, shape (n,);
        see `routing.paths.search.landmarks`. It must never be too much, and 0 at goals.
    limit
        Paths that cost more are not looked for.

    Examples
    --------
    >>> network = Network.of_arcs(3, [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 3.0)])
    >>> least_time(network, {0: 0.0}, [2])
    LeastTimePath(nodes=(0, 1, 2), cost=2.0)
    >>> least_time(network, {2: 0.0}, [0]) is None
    True
    """
    chosen = choose_engine(engine, moves=len(network.head))
    work = _prepare(network, sources, goals, bound, plain=chosen == "plain")
    goal = _run(network, work, sources, limit)
    if goal < 0:
        return None
    trace = trace_back if chosen == "plain" else compiled(trace_back)
    backwards = trace(work.parent, goal)
    return LeastTimePath(nodes=tuple(backwards[::-1]), cost=float(work.distance[goal]))


def least_time_tree(
    network: Network,
    sources: Mapping[int, float],
    *,
    limit: float = _NO_LIMIT,
    engine: Engine = "auto",
) -> LeastTimeTree:
    """Return least costs from the sources to every node.

    On ``network.reverse`` these are the least costs from every node *to* the
    sources.

    Examples
    --------
    >>> network = Network.of_arcs(3, [(0, 1, 1.0), (1, 2, 1.5)])
    >>> least_time_tree(network, {0: 0.0}).cost
    array([0. , 1. , 2.5])
    """
    chosen = choose_engine(engine, moves=len(network.head))
    work = _prepare(network, sources, (), None, plain=chosen == "plain")
    _run(network, work, sources, limit)
    return LeastTimeTree(
        cost=np.asarray(work.distance, dtype=np.float64),
        parent=np.asarray(work.parent, dtype=np.int64),
    )


def _prepare(
    network: Network,
    sources: Mapping[int, float],
    goals: Iterable[int],
    bound: Floats | None,
    *,
    plain: bool,
) -> Work:
    nodes = len(network)
    work: Work
    if plain:
        goal = [0] * nodes
        for node in goals:
            goal[node] = 1
        work = Work(
            distance=[float("inf")] * nodes,
            hops=[0] * nodes,
            parent=[UNREACHED] * nodes,
            waiting=[0] * nodes,
            goal=goal,
            bound=[0.0] * nodes if bound is None else bound.tolist(),
        )
    else:
        work = Work(
            distance=np.full(nodes, np.inf),
            hops=np.zeros(nodes, dtype=np.int64),
            parent=np.full(nodes, UNREACHED, dtype=np.int64),
            waiting=np.zeros(nodes, dtype=np.int8),
            goal=node_flags(nodes, goals),
            bound=np.zeros(nodes) if bound is None else bound,
        )
    for node, cost in sources.items():
        if not cost >= 0:
            raise ValueError(f"source {node} starts at {cost}; a start cost is not negative")
        work.distance[node] = cost
        work.parent[node] = SOURCE
        work.waiting[node] = 1
    return work


def _run(network: Network, work: Work, sources: Mapping[int, float], limit: float) -> int:
    if isinstance(work.distance, list):
        return settle(network.lists, work, sorted(sources), limit)
    numbers = np.array(sorted(sources), dtype=np.int64)
    return int(compiled(settle)(network.arrays, work, numbers, limit))
