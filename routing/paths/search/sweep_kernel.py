"""Least costs from several sites at once: a few sweeps over all nodes, to and fro.

Each node has a row of costs, one from each site, so that a move is read once for
all of them. Nodes are looked at in one order and then the other way round; in the order of
costs from an end of the structure most ways go one way only, so that few
sweeps are needed, and in each only nodes whose costs have fallen are looked at.
"""

from routing.paths.search.arrays import Arcs, Flat

__all__ = ["LANES", "sweep_costs"]

LANES = 8
"""Sites at once: as many costs as are read from memory in one go."""


def sweep_costs(arcs: Arcs, order: Flat, sources: Flat, distance: Flat, changed: Flat) -> None:  # noqa: C901 - without calls, so that it compiles
    """Fill in least costs from some nodes of each lane to every node.

    Parameters
    ----------
    arcs
        Moves; a terminal node is entered but not left, but by who starts there.
    order
        All nodes, in the order of the first sweep.
    sources
        Lane and node of each source, shape (k, 2).
    distance
        Infinite at first, shape (n, `LANES`).
    changed
        0 at first and afterwards, shape (n,).
    """
    indptr, head, cost, terminal = arcs
    nodes = len(order)
    for i in range(len(sources)):
        lane = sources[i][0]
        node = sources[i][1]
        distance[node][lane] = 0.0
        if terminal[node] == 0:
            changed[node] = 1
            continue
        for index in range(indptr[node], indptr[node + 1]):
            after = head[index]
            if cost[index] < distance[after][lane]:
                distance[after][lane] = cost[index]
                changed[after] = 1 - terminal[after]
    again = True
    forwards = True
    while again:
        again = False
        for i in range(nodes):
            node = order[i if forwards else nodes - 1 - i]
            if changed[node] == 0:
                continue
            changed[node] = 0
            reached = distance[node]
            for index in range(indptr[node], indptr[node + 1]):
                after = head[index]
                step = cost[index]
                known = distance[after]
                less = False
                for lane in range(LANES):
                    total = reached[lane] + step
                    fewer = total < known[lane]
                    known[lane] = total if fewer else known[lane]  # no jump: both ways are short
                    less |= fewer
                if less and terminal[after] == 0:
                    changed[after] = 1
                    again = True
        forwards = not forwards
