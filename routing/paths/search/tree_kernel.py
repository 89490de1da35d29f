"""Trees of least-cost ways: who hangs on whom, so that what a closure hits is found at once.

With nothing closed the least-cost ways from a site form a tree. What a closure
can change are only the nodes whose way in the tree leads through it: they have
*fallen off*, and all others keep their labels to the last bit.
"""

from typing import NamedTuple

from routing.paths.search.arrays import Flat

__all__ = ["ROW", "Backwards", "OpenTree", "place_nodes", "span_places"]


ROW = 32
"""Places that are looked at together."""


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
    row_lowest: Flat
    """Least of ``lowest`` in each full row of `ROW` places."""
    row_highest: Flat


def place_nodes(parent: Flat, place: Flat, end: Flat, order: Flat, room: tuple[Flat, Flat]) -> int:
    """Fill in places and their ends from who is whose parent; return how many there are.

    ``place`` is -1 at first, and so are both of ``room``, of as many numbers as there
    are nodes. Children come in the order of their numbers, sources too.
    """
    child, sibling = room
    root = -1
    nodes = len(parent)
    for i in range(nodes):
        node = nodes - 1 - i
        above = parent[node]
        if above >= 0:
            sibling[node] = child[above]
            child[above] = node
        elif above == -2:
            sibling[node] = root
            root = node
    count = 0
    node = root
    while node >= 0:
        place[node] = count
        order[count] = node
        count += 1
        if child[node] >= 0:
            node = child[node]
            continue
        end[place[node]] = count
        while node >= 0 and sibling[node] < 0:
            node = parent[node]
            if node >= 0:
                end[place[node]] = count
        if node >= 0:
            node = sibling[node]
    return count


def span_places(terminal: Flat, back: Backwards, tree: OpenTree, count: int) -> None:
    """Fill in from which least and greatest place moves lead to each place, and to each row."""
    nodes = len(tree.place)
    for row in range(count // 32):
        tree.row_lowest[row] = nodes
        tree.row_highest[row] = -1
    for here in range(count):
        node = tree.order[here]
        low = nodes
        high = -1
        for index in range(back.indptr[node], back.indptr[node + 1]):
            before = back.tail[index]
            other = tree.place[before]
            if other >= 0 and (terminal[before] == 0 or tree.parent[before] == -2):
                low = min(low, other)
                high = max(high, other)
        tree.lowest[here] = low
        tree.highest[here] = high
        row = here // 32
        if row < count // 32:
            tree.row_lowest[row] = min(tree.row_lowest[row], low)
            tree.row_highest[row] = max(tree.row_highest[row], high)
