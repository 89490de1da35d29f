"""Paths that share no move, or no grip: the cheapest set of them, exactly.

Minimum-cost flow by successive cheapest augmenting paths, which for two paths is
the pair of J. W. Suurballe 1974 ("Disjoint paths in a network", Networks 4, pages
125-145, from memory). Taking the cheapest path first and the next one in what is
left over fails: it can miss pairs that exist. Paths that share no *handrail* are
another problem, which is hard in general (sets of colours); what is left when the
first route is given is answered by `routing.paths.choices.fallback`.
"""

import itertools
from dataclasses import dataclass

import numpy as np

from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine
from routing.paths.search.least_time import least_time_tree

__all__ = ["DisjointPaths", "find_disjoint_paths"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DisjointPaths:
    """Paths without a common move (or grip), the cheapest first."""

    paths: tuple[tuple[int, ...], ...]
    cost: float
    """Of all together."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Flow:
    """Arcs of the flow problem; the arc back has the number ``arc ^ 1``."""

    nodes: int
    tail: list[int]
    head: list[int]
    cost: list[float]
    open: list[bool]


def find_disjoint_paths(
    network: Network,
    source: int,
    goal: int,
    *,
    count: int = 2,
    share_grips: bool = False,
    engine: Engine = "auto",
) -> DisjointPaths:
    """Return up to ``count`` disjoint paths of least total cost; fewer if there are no more.

    Parameters
    ----------
    share_grips
        Whether paths may meet at grips; else they share source and goal only.

    Examples
    --------
    >>> network = Network.of_arcs(4, [(0, 1, 1.0), (1, 3, 1.0), (0, 2, 2.0), (2, 3, 2.0)])
    >>> find_disjoint_paths(network, 0, 3)
    DisjointPaths(paths=((0, 1, 3), (0, 2, 3)), cost=6.0)
    """
    if source == goal:
        raise ValueError(f"source and goal are the same grip, {source}")
    flow = _make_flow(network, source, goal, share_grips=share_grips)
    # Each grip is two nodes, in and out; flow starts behind the source's inner arc.
    potential = np.zeros(flow.nodes)
    for _ in range(count):
        residual = [arc for arc, is_open in enumerate(flow.open) if is_open]
        reduced = [
            max(flow.cost[arc] + potential[flow.tail[arc]] - potential[flow.head[arc]], 0.0)
            for arc in residual
        ]
        search = Network.of_arcs(
            flow.nodes,
            [
                (flow.tail[arc], flow.head[arc], cost)
                for arc, cost in zip(residual, reduced, strict=True)
            ],
        )
        tree = least_time_tree(search, {2 * source + 1: 0.0}, engine=engine)
        if not np.isfinite(tree.cost[2 * goal]):
            break
        # Nodes out of reach stay out of reach: no later path changes what leads to them.
        potential += np.where(np.isfinite(tree.cost), tree.cost, 0.0)
        path = tree.path_to(2 * goal)
        for tail, head in itertools.pairwise(path):
            move = search.find_move(tail, head)
            if move is None:
                raise AssertionError("a path follows moves of its network")
            arc = residual[int(search.move[move])]
            flow.open[arc] = False
            flow.open[arc ^ 1] = True
    return _read_flow(flow, source, goal)


def _make_flow(network: Network, source: int, goal: int, *, share_grips: bool) -> _Flow:
    flow = _Flow(nodes=2 * len(network), tail=[], head=[], cost=[], open=[])

    def add(tail: int, head: int, cost: float) -> None:
        flow.tail.extend((tail, head))
        flow.head.extend((head, tail))
        flow.cost.extend((cost, -cost))
        flow.open.extend((True, False))

    for move, tail in enumerate(network.tail.tolist()):
        add(2 * tail + 1, 2 * int(network.head[move]), float(network.cost[move]))
    moves_in = np.bincount(network.head, minlength=len(network))
    for node in range(len(network)):
        if node in (source, goal) or network.terminal[node]:
            continue
        for _ in range(int(moves_in[node]) if share_grips else min(int(moves_in[node]), 1)):
            add(2 * node, 2 * node + 1, 0.0)
    return flow


def _read_flow(flow: _Flow, source: int, goal: int) -> DisjointPaths:
    following: dict[int, list[tuple[int, float]]] = {}
    total = 0.0
    for arc in range(0, len(flow.tail), 2):
        if flow.open[arc]:
            continue
        tail, head = flow.tail[arc] // 2, flow.head[arc] // 2
        total += flow.cost[arc]
        if tail != head:
            following.setdefault(tail, []).append((head, flow.cost[arc]))
    for heads in following.values():
        heads.sort(reverse=True)
    found: list[tuple[float, tuple[int, ...]]] = []
    while following.get(source):
        nodes, cost = [source], 0.0
        while nodes[-1] != goal:
            head, extra = following[nodes[-1]].pop()
            nodes.append(head)
            cost += extra
        found.append((cost, tuple(nodes)))
    return DisjointPaths(paths=tuple(nodes for _, nodes in sorted(found)), cost=total)
