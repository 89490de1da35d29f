"""Least costs from one site to all nodes, with nodes waiting in buckets by their cost.

Looking at nodes in exact order of cost needs a heap. Here they wait in a ring of
buckets as wide as a usual move, and a node whose cost falls after it was looked
at is looked at again: on reach graphs, where moves cost much the same, that is
rare, and putting a node into a bucket is a handful of steps.
"""

from typing import NamedTuple

from routing.paths.arrays import Arcs, Flat

__all__ = ["NONE", "SOURCE", "Buckets", "settle_all", "trace_steps"]

NONE = -1
SOURCE = -2


class Buckets(NamedTuple):
    """Where `settle_all` writes: of length n, but for the ring."""

    distance: Flat
    """Least cost; infinite at first."""
    hops: Flat
    """Moves on the way."""
    parent: Flat
    """Node before; `NONE` at first, `SOURCE` at sources."""
    step: Flat
    """Move that led here."""
    bucket: Flat
    """Bucket in which the node waits, `NONE` if it does not."""
    after: Flat
    """Next node in the bucket."""
    before: Flat
    """Node before in the bucket."""
    ring: Flat
    """First node of each bucket, `NONE` if it is empty; one turn is longer than any move."""


def settle_all(arcs: Arcs, work: Buckets, sources: Flat, per_cost: float) -> None:  # noqa: C901, PLR0912, PLR0915 - one loop without calls, so that it compiles
    """Fill in least costs from the sources to every node.

    Ties are broken as by `routing.paths.kernel.settle`: fewest moves, then the
    smallest node numbers read back from the goal; only where rounding alone
    decides (a way found first and bettered in the last bit) it may be another.
    A terminal node is entered but not left, and a terminal source not entered.
    ``per_cost`` is how many buckets one unit of cost is worth.
    """
    indptr, head, cost, terminal = arcs
    distance, hops, parent, step, bucket, after, before, ring = work
    turn = len(ring)
    waiting = 0
    for source in sources:
        if parent[source] == -2:
            continue
        distance[source] = 0.0
        hops[source] = 0
        parent[source] = -2
        bucket[source] = 0
        before[source] = -1
        after[source] = ring[0]
        if ring[0] >= 0:
            before[ring[0]] = source
        ring[0] = source
        waiting += 1
    now = 0
    while waiting > 0:
        while ring[now] < 0:
            now += 1
            if now == turn:
                now = 0
        node = ring[now]
        following = after[node]
        ring[now] = following
        if following >= 0:
            before[following] = -1
        bucket[node] = -1
        waiting -= 1
        if terminal[node] != 0 and parent[node] != -2:
            continue
        reached = distance[node]
        further = hops[node] + 1
        for index in range(indptr[node], indptr[node + 1]):
            other = head[index]
            total = reached + cost[index]
            known = distance[other]
            if total > known:
                continue
            if total == known:
                if further > hops[other]:
                    continue
                if further == hops[other]:
                    if node < parent[other]:
                        parent[other] = node
                        step[other] = index
                    continue
            if parent[other] == -2 and terminal[other] != 0:
                continue
            distance[other] = total
            hops[other] = further
            parent[other] = node
            step[other] = index
            to = int(total * per_cost) % turn
            old = bucket[other]
            if old == to:
                continue
            if old >= 0:
                above = before[other]
                below = after[other]
                if above >= 0:
                    after[above] = below
                else:
                    ring[old] = below
                if below >= 0:
                    before[below] = above
            else:
                waiting += 1
            first = ring[to]
            bucket[other] = to
            before[other] = -1
            after[other] = first
            if first >= 0:
                before[first] = other
            ring[to] = other


def trace_steps(work: Buckets, nodes: Flat, first: Flat, steps: Flat) -> int:
    """Write the moves on the way to each node, one node's after the other's.

    Those of node number i go to ``steps[first[i]:first[i + 1]]``, from the node
    back to its source; none for a node of -1. Returns how many there are: with
    no room in ``steps`` for any, they are only counted.
    """
    parent = work.parent
    step = work.step
    room = len(steps)
    at = 0
    for i in range(len(nodes)):
        node = nodes[i]
        while node >= 0 and parent[node] >= 0:
            if room > 0:
                steps[at] = step[node]
            at += 1
            node = parent[node]
        first[i + 1] = at
    return at
