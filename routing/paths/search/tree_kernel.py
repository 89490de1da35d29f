"""Trees of least-cost ways: who hangs on whom, so that what a closure hits is found at once.

With nothing closed the least-cost ways from a site form a tree. What a closure
can change are only the nodes whose way in the tree leads through it: they have
*fallen off*, and all others keep their labels to the last bit.
"""

from typing import NamedTuple

import numpy as np

from routing.paths.search.arrays import Arcs, Flat

__all__ = ["BLOCK", "Backwards", "OpenTree", "grow_trees"]

BLOCK = 16
"""Places looked at together, to find where moves lead in from elsewhere."""


class Backwards(NamedTuple):
    """Moves by where they lead."""

    indptr: Flat
    tail: Flat
    move: Flat
    """Number of each among the moves by tail."""


class OpenTree(NamedTuple):
    """Least-cost ways from some sources with nothing closed.

    Nodes have a *place* too: the order in which they are met when each branch is
    walked to its end before the next, so that all that hangs on a node follows it.
    """

    distance: Flat
    """Infinite where no way leads, shape (n,)."""
    hops: Flat
    parent: Flat
    """Node before; -2 at sources, -1 where no way leads, shape (n,)."""
    step: Flat
    """Move that leads here, shape (n,)."""
    place: Flat
    """Place of each node, -1 where no way leads, shape (n,)."""
    order: Flat
    """Node at each place; all below by place."""
    end: Flat
    """Place after the last one that hangs on this one."""
    lowest: Flat
    """Least place from which a move leads here that may be made; n if none does."""
    highest: Flat
    """Greatest such place, -1 if there is none."""
    block_lowest: Flat
    """Least of `lowest` in each `BLOCK` of places; an array for plain Python too, as the next."""
    block_highest: Flat
    """Greatest of `highest` in each `BLOCK` of places."""


def grow_trees(  # noqa: C901, PLR0912, PLR0913, PLR0915, PLR0917 - one function without calls, so that it compiles
    arcs: Arcs,
    back: Backwards,
    trees: OpenTree,
    rows: Flat,
    first: Flat,
    sources: Flat,
    room: tuple[Flat, Flat, Flat, Flat, Flat],
) -> None:
    """Fill in all of some trees but their costs; ties are those of `bucket_kernel.settle_ties`.

    Nodes that hang on the same one have their places in the order in which they are met;
    `routing.paths.search.tree_places` does the same for the plain engine.

    Parameters
    ----------
    trees
        Tables of a row a site, of which the costs are filled in.
    rows
        Row of each site.
    first, sources
        Nodes of site i are ``sources[first[i]:first[i + 1]]``.
    room
        Three of as many numbers as there are nodes, one of one more, and one of one more
        than there are moves.
    """
    indptr, head, cost, terminal = arcs
    into, tail, _ = back
    queue, above, many, begins, tight = room
    nodes = len(queue)
    for site in range(len(rows)):
        row = rows[site]
        distance = trees.distance[row]
        hops = trees.hops[row]
        parent = trees.parent[row]
        step = trees.step[row]
        place = trees.place[row]
        order = trees.order[row]
        end = trees.end[row]
        lowest = trees.lowest[row]
        highest = trees.highest[row]
        block_lowest = trees.block_lowest[row]
        block_highest = trees.block_highest[row]
        for node in range(nodes):
            hops[node] = -1
            parent[node] = -1
            step[node] = -1
            place[node] = -1
        # Which moves make up least costs; no jump, so that the next moves are looked at meanwhile.
        count = 0
        for node in range(nodes):
            begins[node] = count
            reached = distance[node]
            for index in range(indptr[node], indptr[node + 1]):
                tight[count] = index
                count += reached + cost[index] == distance[head[index]]
        begins[nodes] = count
        count = 0
        for i in range(first[site], first[site + 1]):
            node = sources[i]
            if hops[node] < 0:
                hops[node] = 0
                parent[node] = -2
                queue[count] = node
                above[count] = -1
                many[count] = 1
                place[node] = count
                count += 1
        # Least cost, then fewest moves, then lowest numbers read back: by rows of as many moves.
        # Until they are known, a node's place is that in the queue.
        at = 0
        while at < count:
            node = queue[at]
            at += 1
            if terminal[node] != 0 and parent[node] != -2:
                continue
            further = hops[node] + 1
            for i in range(begins[node], begins[node + 1]):
                index = tight[i]
                other = head[index]
                if hops[other] < 0:
                    hops[other] = further
                    parent[other] = node
                    step[other] = index
                    queue[count] = other
                    above[count] = at - 1
                    many[count] = 1
                    place[other] = count
                    count += 1
                elif hops[other] == further and node < parent[other]:
                    parent[other] = node
                    step[other] = index
                    above[place[other]] = at - 1
        # How many hang on each, itself too: those behind in the queue hang on those before.
        for i in range(count - 1, -1, -1):
            if above[i] >= 0:
                many[above[i]] += many[i]
        at = 0
        for i in range(count):
            node = queue[i]
            if above[i] >= 0:
                here = many[above[i]]  # where the next that hangs on it has its place
                behind = here + many[i]
                many[above[i]] = behind
            else:
                here = at
                behind = at + many[i]
                at = behind
            place[node] = here
            order[here] = node
            end[here] = behind
            many[i] = here + 1
        # From which places moves lead to each place.
        for node in range(nodes):
            queue[node] = place[node] if terminal[node] == 0 or parent[node] == -2 else -1
        for block in range(len(block_lowest)):
            block_lowest[block] = nodes
            block_highest[block] = -1
        for node in range(nodes):
            here = place[node]
            if here < 0:
                continue
            low = nodes
            high = -1
            for index in range(into[node], into[node + 1]):
                other = queue[tail[index]]
                low = min(low, int(np.uint32(other)))  # -1 is the greatest there is
                high = max(high, other)
            lowest[here] = low
            highest[here] = high
            block = here // BLOCK
            block_lowest[block] = min(block_lowest[block], low)
            block_highest[block] = max(block_highest[block], high)
