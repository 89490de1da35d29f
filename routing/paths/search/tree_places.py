"""Places of nodes in many trees at once, with numpy: for the plain engine."""

from itertools import pairwise

import numpy as np

from routing.graph.reach_graph import Indices
from routing.paths.search.bucket_kernel import NONE

__all__ = ["place_together"]


def place_together(hops: Indices, parent: Indices) -> tuple[Indices, Indices, Indices]:
    """Return place of each node, node at each place, and the place after all that hang on it.

    What they are is said at `routing.paths.search.tree_kernel.OpenTree`; beyond the last
    place of a tree the latter two are -1.

    Parameters
    ----------
    hops
        Moves on the way to each node, -1 where none leads, by tree, shape (r, n).
    parent
        Node before; negative at sources, shape (r, n).

    Examples
    --------
    >>> hops, parent = np.array([[1, 0, 2, 1]]), np.array([[1, -2, 0, 1]])
    >>> [one.tolist() for one in place_together(hops, parent)]
    [[[1, 0, 2, 3]], [[1, 0, 2, 3]], [[4, 3, 3, 4]]]
    """
    rows, size = hops.shape
    flat = hops.ravel()
    row = np.repeat(np.arange(rows) * size, size)
    # Sources hang on their row, which has a number behind those of all nodes.
    above = np.where(flat > 0, parent.ravel() + row, rows * size + row // size)
    there = np.flatnonzero(flat >= 0)
    there = there[np.argsort(above[there], kind="stable")]
    there = there[np.argsort(flat[there], kind="stable")]
    begins = np.searchsorted(flat[there], np.arange(flat.max(initial=NONE) + 2))
    levels = [there[a:b] for a, b in pairwise(begins)]
    hanging = np.ones(rows * (size + 1), dtype=np.int64)
    for nodes in levels[:0:-1]:
        np.add.at(hanging, above[nodes], hanging[nodes])
    # Nodes that hang on the same one stand in a row: each after all that hangs on those before.
    before = np.cumsum(hanging[there]) - hanging[there]
    first = np.flatnonzero(np.diff(above[there], prepend=NONE))
    before -= np.repeat(before[first], np.diff(first, append=len(there)))
    place = np.full(rows * (size + 1), NONE)
    for nodes, some in zip(levels, np.split(before, begins[1:-1]), strict=True):
        place[nodes] = place[above[nodes]] + 1 + some
    order, end = np.full((2, rows * size), NONE)
    at = row[there] + place[there]
    order[at] = there - row[there]
    end[at] = place[there] + hanging[there]
    place = place[: rows * size]
    return place.reshape(hops.shape), order.reshape(hops.shape), end.reshape(hops.shape)
