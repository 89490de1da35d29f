"""The least-cost kernel: one source, run as it stands over lists or compiled over arrays.

Kernels are single functions without calls of their own, because only so the
same text runs in both engines; their length and their many branches are the
price.
"""

from heapq import heappop, heappush
from typing import NamedTuple

from routing.paths.search.arrays import Arcs, Flat

__all__ = ["SOURCE", "UNREACHED", "Work", "settle", "trace_back"]

UNREACHED = -1
SOURCE = -2


class Work(NamedTuple):
    """What `settle` reads about one search and where it writes, all of length n."""

    distance: Flat
    """Least cost so far; infinite at first, the start cost at sources."""
    hops: Flat
    """Moves on the way; 0 at first."""
    parent: Flat
    """Node before; UNREACHED at first, SOURCE at sources."""
    waiting: Flat
    """1 while the node is to be looked at; 1 at sources at first."""
    goal: Flat
    """1 for goals."""
    bound: Flat
    """Least cost that can remain to a goal, never too much; 0 knows nothing."""


def settle(  # noqa: C901, PLR0912 - one loop without calls, so that it also compiles
    arcs: Arcs, work: Work, sources: Flat, limit: float
) -> int:
    """Fill in least costs until the best goal is certain; return that goal or -1.

    Of equal costs the way with fewest moves is kept, of those the one whose
    nodes, read back from the goal, have the smallest numbers. That rule knows
    nothing of the order in which the heap gives up its entries, so neither the
    bounds nor the engine can change the answer. Nodes are looked at again when
    a better way to them turns up, so bounds need to be admissible only.
    """
    indptr, head, cost, terminal = arcs
    distance, hops, parent, waiting, goal, bound = work
    best = limit
    best_node = -1
    heap = [(0.0, 0)]
    heap.pop()
    for source in sources:
        heappush(heap, (distance[source] + bound[source], source))
    while heap:
        key, node = heappop(heap)
        if key > best:
            break
        if waiting[node] == 0:
            continue
        waiting[node] = 0
        reached = distance[node]
        if goal[node] != 0:
            # Costs are not negative: no better way to another goal leads through this one.
            if (
                best_node < 0
                or reached < best
                or (
                    reached == best
                    and (
                        hops[node] < hops[best_node]
                        or (hops[node] == hops[best_node] and node < best_node)
                    )
                )
            ):
                best = reached
                best_node = node
            continue
        if terminal[node] != 0 and parent[node] != -2:
            continue
        further = hops[node] + 1
        for index in range(indptr[node], indptr[node + 1]):
            after = head[index]
            total = reached + cost[index]
            known = distance[after]
            if total > known:
                continue
            if total == known:
                if further > hops[after]:
                    continue
                if further == hops[after]:
                    parent[after] = min(parent[after], node)
                    continue
            if parent[after] == -2 and terminal[after] != 0:
                continue
            key = total + bound[after]
            if key > best:
                continue
            distance[after] = total
            hops[after] = further
            parent[after] = node
            waiting[after] = 1
            heappush(heap, (key, after))
    return best_node


def trace_back(parent: Flat, node: int) -> list[int]:
    """Return the nodes from this one, which must be reached, back to its source."""
    path = [node]
    while parent[node] >= 0:
        node = parent[node]
        path.append(node)
    return path
