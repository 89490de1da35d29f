"""Least costs for lower bounds: no ways, no ties, and no farther than they are asked for."""

from heapq import heappop, heappush

from routing.paths.search.arrays import Arcs, Flat

__all__ = ["spread"]


def spread(
    arcs: Arcs, distance: Flat, sources: Flat, wanted: Flat, left: int, limit: float
) -> float:
    """Lower ``distance`` by what leads on from the sources until all wanted nodes are certain.

    Parameters
    ----------
    distance
        What is known already, infinite where nothing is; final cost of the sources.
    sources
        Nodes to go on from, terminal ones left out.
    wanted
        1 for nodes whose distance is asked for; set to 0 as they become certain.
    left
        How many are wanted.
    limit
        Larger distances are not looked for.

    Returns
    -------
    float
        Up to where all distances are certain: no other one is less than this. Infinite
        when everything within the limit is.
    """
    indptr, head, cost, terminal = arcs
    if left == 0:
        return 0.0
    heap = [(0.0, 0)]
    heap.pop()
    for source in sources:
        heappush(heap, (distance[source], source))
    while heap:
        reached, node = heappop(heap)
        if reached > distance[node]:
            continue
        if wanted[node] != 0:
            wanted[node] = 0
            left -= 1
            if left == 0:
                return reached
        if terminal[node] != 0:
            continue
        for index in range(indptr[node], indptr[node + 1]):
            after = head[index]
            total = reached + cost[index]
            if total < distance[after] and total <= limit:
                distance[after] = total
                heappush(heap, (total, after))
    return float("inf")
