"""The k cheapest loopless paths, exactly.

J. Y. Yen 1971, "Finding the K shortest loopless paths in a network", Management
Science 17, pages 712-716 (from memory), with every spur search led by exact
distances to the goal, which stay lower bounds when nodes are closed.
"""

import heapq
from collections.abc import Iterator

import numpy as np

from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine
from routing.paths.search.landmarks import lowered
from routing.paths.search.least_time import LeastTimePath, least_time, least_time_tree

__all__ = ["k_shortest_paths"]


def k_shortest_paths(
    network: Network, source: int, goal: int, *, engine: Engine = "auto"
) -> Iterator[LeastTimePath]:
    """Yield the loopless paths from source to goal, cheapest first; equal ones by their nodes.

    Paths on grips differ little: most of the next ones hold the same handrails
    at other places. For routes that differ see `routing.paths.choices.alternatives`.

    Examples
    --------
    >>> network = Network.of_arcs(3, [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 3.0)])
    >>> [path.nodes for path in k_shortest_paths(network, 0, 2)]
    [(0, 1, 2), (0, 2)]
    """
    tree = least_time_tree(network.reverse, {goal: 0.0}, engine=engine)
    spurs = _Spurs(network, goal, lowered(tree.cost), engine)
    first = least_time(network, {source: 0.0}, [goal], bound=spurs.bound, engine=engine)
    if first is None:
        return
    waiting = [(first.cost, first.nodes)]
    known = {first.nodes}
    given: list[tuple[int, ...]] = []
    while waiting:
        cost, nodes = heapq.heappop(waiting)
        given.append(nodes)
        yield LeastTimePath(nodes=nodes, cost=cost)
        root_cost = 0.0
        for place in range(len(nodes) - 1):
            root = nodes[: place + 1]
            taken = {
                path[place + 1]
                for path in given
                if len(path) > place + 1 and path[: place + 1] == root
            }
            found = spurs.find(root, root_cost, taken)
            if found is not None and found[1] not in known:
                known.add(found[1])
                heapq.heappush(waiting, found)
            move = network.find_move(nodes[place], nodes[place + 1])
            if move is None:
                raise AssertionError("a path follows moves of its network")
            root_cost += float(network.cost[move])


class _Spurs:
    """Cheapest ways on from the end of a root, without its nodes and without moves taken."""

    def __init__(self, network: Network, goal: int, bound: np.ndarray, engine: Engine) -> None:
        self.network = network
        self.goal = goal
        self.bound = bound
        self.engine = engine

    def find(
        self, root: tuple[int, ...], root_cost: float, taken: set[int]
    ) -> tuple[float, tuple[int, ...]] | None:
        network = self.network
        closed = network.terminal.copy()
        closed[list(root)] = 1
        starts: dict[int, float] = {}
        for move in range(int(network.indptr[root[-1]]), int(network.indptr[root[-1] + 1])):
            head = int(network.head[move])
            if head in taken or (closed[head] and head != self.goal):
                continue
            cost = root_cost + float(network.cost[move])
            starts[head] = min(cost, starts.get(head, cost))
        found = least_time(
            network.with_terminal(closed),
            starts,
            [self.goal],
            bound=self.bound,
            engine=self.engine,
        )
        return None if found is None else (found.cost, root + found.nodes)
