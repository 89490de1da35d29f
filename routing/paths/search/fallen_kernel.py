"""Least costs with something closed: only what has fallen off a tree is worked out anew."""

from heapq import heappop, heappush

import numpy as np

from routing.paths.search.arrays import Arcs, Flat
from routing.paths.search.tree_kernel import BLOCK, Backwards, OpenTree

__all__ = ["fill_fallen"]


def fill_fallen(  # noqa: C901, PLR0912, PLR0915 - one function without calls, so that it also compiles
    arcs: Arcs,
    back: Backwards,
    tree: OpenTree,
    shut: Flat,
    distance: Flat,
    room: tuple[Flat, Flat],
) -> None:
    """Write least costs from the sources of a tree to all nodes with some nodes closed.

    Parameters
    ----------
    arcs, back
        Moves forwards, and by where they lead.
    tree
        With nothing closed; see `routing.paths.search.tree_kernel`.
    shut
        Closed nodes, any of them sources too.
    distance
        A copy of the tree's; infinite afterwards at closed nodes and where no way leads.
    room
        Two of as many numbers as nodes are closed.
    """
    indptr, head, cost, terminal = arcs
    into, tail, move = back
    place, order, end = tree.place, tree.order, tree.end
    infinite = float("inf")
    top, bottom = room
    tops = 0
    for node in shut:
        here = place[node]
        if here < 0:
            continue
        kept = 0
        inside = False
        for j in range(tops):
            if top[j] <= here < bottom[j]:
                inside = True
            if not here <= top[j] < end[here]:
                top[kept] = top[j]
                bottom[kept] = bottom[j]
                kept += 1
        if inside:
            continue
        top[kept] = here
        bottom[kept] = end[here]
        tops = kept + 1
    for k in range(tops):
        for here in range(top[k], bottom[k]):
            distance[order[here]] = infinite
    for node in shut:
        distance[node] = -1.0  # less than any cost, so it is never entered
    heap = [(0.0, into[0])]  # of the types that come, for the compiler
    heap.pop()
    for k in range(tops):
        upper = top[k]
        lower = bottom[k]
        first_block = upper // BLOCK
        some = slice(first_block, (lower - 1) // BLOCK + 1)
        outside = (tree.block_lowest[some] < upper) | (tree.block_highest[some] >= lower)
        for block in np.flatnonzero(outside) + first_block:
            for here in range(max(upper, block * BLOCK), min(lower, (block + 1) * BLOCK)):
                if tree.lowest[here] >= upper and tree.highest[here] < lower:
                    continue
                after = order[here]
                for index in range(into[after], into[after + 1]):
                    node = tail[index]
                    other = place[node]
                    if other < 0 or (terminal[node] != 0 and tree.parent[node] != -2):
                        continue
                    fallen = False
                    for j in range(tops):
                        if top[j] <= other < bottom[j]:
                            fallen = True
                    if fallen:
                        continue
                    total = tree.distance[node] + cost[move[index]]
                    if total < distance[after]:
                        distance[after] = total
                        heappush(heap, (total, after))
    while heap:
        reached, node = heappop(heap)
        if reached > distance[node] or terminal[node] != 0:
            continue
        for index in range(indptr[node], indptr[node + 1]):
            after = head[index]
            total = reached + cost[index]
            if total < distance[after]:
                distance[after] = total
                heappush(heap, (total, after))
    for node in shut:
        distance[node] = infinite
