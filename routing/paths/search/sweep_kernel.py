"""Least costs from several sites at once: a few sweeps over all nodes, to and fro.

Each node has a row of costs, one from each site, so that a move is read once for
all of them. Nodes are looked at in one order and then the other way round; in the order of
costs from a place of the structure most ways go one way only, so that few
sweeps are needed, and in each only nodes whose costs have fallen are looked at.
"""

from routing.paths.search.arrays import Arcs, Flat

__all__ = ["LANES", "sweep_costs"]

LANES = 8
"""Sites at once: as many costs as are read from memory in one go."""


def sweep_costs(  # noqa: C901, PLR0913, PLR0917 - one function without calls, so that it compiles
    arcs: Arcs,
    order: Flat,
    sources: Flat,
    distance: Flat,
    changed: Flat,
    table: Flat,
    rows: Flat,
) -> None:
    """Find least costs from some nodes of each lane to every node.

    Parameters
    ----------
    arcs
        Moves between nodes that are numbered in the order of the first sweep; a terminal
        node is entered but not left, but by who starts there.
    order
        What else each of these nodes is called, shape (n,).
    sources
        Lane and node of each source, shape (k, 2).
    distance
        Room of shape (n, `LANES`).
    changed
        0 at first and afterwards, shape (n,).
    table
        Where costs are written, of nodes as they are called in ``order``, shape (r, n).
    rows
        Row of each lane that is asked for.
    """
    indptr, head, cost, terminal = arcs
    nodes = len(order)
    distance[:] = float("inf")
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
    # What is left to look at lies before the last node of a sweep: there the next one begins.
    first = 0
    end = nodes
    way = 1
    last = 0
    while last >= 0:
        last = -1
        for node in range(first, end, way):
            if changed[node] == 0:
                continue
            changed[node] = 0
            last = node
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
                changed[after] |= less & (terminal[after] == 0)  # none here either
        first = last
        way = -way
        end = nodes if way > 0 else -1
    for node in range(nodes):
        for lane in range(len(rows)):
            table[rows[lane]][order[node]] = distance[node][lane]
