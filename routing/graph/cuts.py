"""Grips and moves of the reach graph that hold it together: cut vertices and bridges.

For the whole graph at once, in time that grows with the number of moves: a first
look at what everything hangs on, before any tether rule. A grip is listed if the
part it is in falls apart without it, a hand-over if it is the only one between
what lies on either side.
"""

from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import GripKind, Indices, ReachGraph

__all__ = ["Cuts", "find_cuts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """What a reach graph hangs on."""

    grips: tuple[int, ...]
    """Cut vertices, ascending."""
    bridges: tuple[tuple[int, int], ...]
    """Hand-overs without a second way, (lower grip, higher grip), ascending."""


def find_cuts(graph: ReachGraph) -> Cuts:
    """Find cut vertices and bridges among the grips that are passed through (no sockets).

    Notes
    -----
    Depth-first search with low points (Hopcroft and Tarjan 1973, "Algorithm 447:
    efficient algorithms for graph manipulation", Communications of the ACM 16,
    pages 372-378; from memory), without recursion. Every hand-over counts in
    both directions.
    """
    count = len(graph.grips)
    tail = np.repeat(np.arange(count), np.diff(graph.moves.indptr))
    socket = graph.grips.kind == GripKind.SOCKET
    inner = ~(socket[tail] | socket[graph.moves.head])
    indptr, head = _both_ways(count, tail[inner], graph.moves.head[inner])
    return _search(count, indptr.tolist(), head.tolist())


def _both_ways(count: int, tail: Indices, head: Indices) -> tuple[Indices, Indices]:
    """Return neighbours in CSR form, each once."""
    keys = np.unique(np.concatenate([tail * count + head, head * count + tail]))
    tails, heads = np.divmod(keys, count)
    indptr: Indices = np.searchsorted(tails, np.arange(count + 1)).astype(np.int64)
    return indptr, heads.astype(np.int64)


def _search(count: int, indptr: list[int], head: list[int]) -> Cuts:
    found_at = [-1] * count
    low = [0] * count
    place = list(indptr[:count])
    cut = [False] * count
    bridges: list[tuple[int, int]] = []
    clock = 0
    for root in range(count):
        if found_at[root] >= 0:
            continue
        children = 0
        found_at[root] = low[root] = clock
        clock += 1
        stack = [(root, -1)]
        while stack:
            node, before = stack[-1]
            if place[node] < indptr[node + 1]:
                after = head[place[node]]
                place[node] += 1
                if found_at[after] < 0:
                    found_at[after] = low[after] = clock
                    clock += 1
                    children += node == root
                    stack.append((after, node))
                elif after != before:
                    low[node] = min(low[node], found_at[after])
                continue
            stack.pop()
            if before < 0:
                continue
            low[before] = min(low[before], low[node])
            if low[node] > found_at[before]:
                bridges.append((min(before, node), max(before, node)))
            if before != root and low[node] >= found_at[before]:
                cut[before] = True
        cut[root] = children > 1
    return Cuts(
        grips=tuple(node for node in range(count) if cut[node]), bridges=tuple(sorted(bridges))
    )
