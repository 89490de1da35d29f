"""Trees of least-cost ways: who hangs on whom, so that what a closure hits is found at once.

With nothing closed the least-cost ways from a site form a tree. What a closure
can change are only the nodes whose way in the tree leads through it: they have
*fallen off*, and all others keep their labels to the last bit.
"""

from typing import NamedTuple

from routing.paths.search.arrays import Arcs, Flat

__all__ = ["Backwards", "OpenTree", "grow_trees"]


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
    """Least place from which a move leads here that may be made; n if none does.

    This and the next are arrays for plain Python too: numpy looks at them.
    """
    highest: Flat
    """Greatest such place, -1 if there is none."""


def grow_trees(  # noqa: C901, PLR0912, PLR0913, PLR0915, PLR0917 - one function without calls, so that it compiles
    arcs: Arcs,
    back: Backwards,
    trees: OpenTree,
    rows: Flat,
    first: Flat,
    sources: Flat,
    room: tuple[Flat, Flat],
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
        Two of as many numbers as there are nodes.
    """
    indptr, head, cost, terminal = arcs
    into, tail, _ = back
    queue, left = room
    nodes = len(queue)
    for site in range(len(rows)):
        row = rows[site]
        distance = trees.distance[row]
        hops = trees.hops[row]
        parent = trees.parent[row]
        step = trees.step[row]
        place = trees.place[row]
        order = trees.order[row]
        for node in range(nodes):
            hops[node] = -1
            parent[node] = -1
            step[node] = -1
            place[node] = -1
        count = 0
        for i in range(first[site], first[site + 1]):
            node = sources[i]
            if hops[node] < 0:
                hops[node] = 0
                parent[node] = -2
                queue[count] = node
                count += 1
        # Least cost, then fewest moves, then lowest numbers read back: by rows of as many moves.
        at = 0
        while at < count:
            node = queue[at]
            at += 1
            if terminal[node] != 0 and parent[node] != -2:
                continue
            reached = distance[node]
            further = hops[node] + 1
            for index in range(indptr[node], indptr[node + 1]):
                other = head[index]
                if reached + cost[index] != distance[other]:
                    continue
                if hops[other] < 0:
                    hops[other] = further
                    parent[other] = node
                    step[other] = index
                    queue[count] = other
                    count += 1
                elif hops[other] == further and node < parent[other]:
                    parent[other] = node
                    step[other] = index
        # How many hang on each, itself too: those behind in the queue hang on those before.
        for i in range(count):
            left[queue[i]] = 1
        for i in range(count):
            node = queue[count - 1 - i]
            if parent[node] >= 0:
                left[parent[node]] += left[node]
        at = 0
        for i in range(count):
            node = queue[i]
            many = left[node]
            if parent[node] >= 0:
                here = left[parent[node]]  # where the next that hangs on it has its place
                left[parent[node]] = here + many
            else:
                here = at
                at += many
            place[node] = here
            order[here] = node
            trees.end[row][here] = here + many
            left[node] = here + 1
        # From which places moves lead to each place.
        for node in range(nodes):
            queue[node] = place[node] if terminal[node] == 0 or parent[node] == -2 else -1
        for here in range(count):
            node = order[here]
            low = nodes
            high = -1
            for index in range(into[node], into[node + 1]):
                other = queue[tail[index]]
                if other >= 0:
                    low = min(low, other)
                    high = max(high, other)
            trees.lowest[row][here] = low
            trees.highest[row][here] = high
