"""Least-cost paths under one limit on something used up on the way.

The resource-constrained shortest path is the tether search without transfers:
the same label kernel answers it, so the published instances of that problem
check the kernel.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import Floats
from routing.paths.search.arrays import Network, node_flags
from routing.paths.search.engine import Engine, choose_engine, compiled
from routing.paths.search.label_kernel import Bounds, Chains, Starts, Steps, search_labels
from routing.paths.search.least_time import least_time_tree

__all__ = ["ConstrainedPath", "find_constrained_path"]

_SHRINK = 1 - 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class ConstrainedPath:
    """Least-cost path within the limit."""

    nodes: tuple[int, ...]
    cost: float
    left: float
    """What is left of the limit at the end."""


def find_constrained_path(
    network: Network,
    used: Floats,
    sources: Mapping[int, float],
    goals: Iterable[int],
    *,
    limit: float,
    engine: Engine = "auto",
) -> ConstrainedPath | None:
    """Return the least-cost path to the nearest goal that uses no more than the limit, or None.

    Parameters
    ----------
    used
        What each move uses up, not negative, shape (m,), in the unit of the limit.
    sources
        Cost at which each source starts.

    Examples
    --------
    The dear way is the only one within the limit:

    >>> network = Network.of_arcs(3, [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 5.0)])
    >>> used = np.array([4.0, 1.0, 4.0])  # in the order of network.move: 0-1, 0-2, 1-2
    >>> find_constrained_path(network, used, {0: 0.0}, [2], limit=4.0)
    ConstrainedPath(nodes=(0, 2), cost=5.0, left=3.0)
    """
    chosen = choose_engine(engine, moves=len(network.head))
    goal_nodes = sorted(set(goals))
    at_goals = dict.fromkeys(goal_nodes, 0.0)
    direct = least_time_tree(network.reverse, at_goals, engine=chosen).cost
    need = least_time_tree(network.with_cost(used).reverse, at_goals, engine=chosen).cost
    nothing = np.zeros(len(network.head), dtype=np.int64)
    steps = Steps(
        indptr=network.indptr,
        head=network.head,
        cost=network.cost,
        need=np.ascontiguousarray(used, dtype=np.float64),
        renewed=np.zeros(len(network.head)),
        group=nothing,
        unit=nothing,
    )
    bounds = Bounds(
        slack=need * _SHRINK,
        remaining=direct * _SHRINK,
        terminal=network.terminal,
        goal=node_flags(len(network), goal_nodes),
    )
    ordered = sorted(sources)
    costs = [float(sources[node]) for node in ordered]
    starts = Starts(ordered, costs, [float(limit)] * len(ordered), [0] * len(ordered))
    chains = _run(steps, bounds, starts, plain=chosen == "plain")
    if len(chains.first) == 1:
        return None
    source = ordered[-1 - chains.step[-1]]
    nodes = [source] + [int(steps.head[step]) for step in reversed(chains.step[:-1])]
    return ConstrainedPath(
        nodes=tuple(nodes), cost=float(chains.cost[0]), left=float(chains.slack[0])
    )


def _run(steps: Steps, bounds: Bounds, starts: Starts, *, plain: bool) -> Chains:
    if plain:
        listed = Steps(*(array.tolist() for array in steps))
        tables = Bounds(*(array.tolist() for array in bounds))
        return Chains(*search_labels(listed, tables, starts, 0, 1))
    arrays = Starts(
        np.array(starts.node, dtype=np.int64),
        np.array(starts.cost, dtype=np.float64),
        np.array(starts.slack, dtype=np.float64),
        np.array(starts.left, dtype=np.int64),
    )
    return Chains(*compiled(search_labels)(steps, bounds, arrays, 0, 1))
