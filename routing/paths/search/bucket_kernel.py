"""Least costs from one site to all nodes, with nodes waiting in buckets by their cost.

Looking at nodes in exact order of cost needs a heap. Here they wait in a ring of
buckets as wide as a usual move, and a node whose cost falls after it was looked
at is looked at again: on reach graphs, where moves cost much the same, that is
rare, and putting a node into a bucket is a handful of steps.
"""

from typing import NamedTuple

from routing.paths.search.arrays import Arcs, Flat

__all__ = ["NONE", "SOURCE", "Buckets", "settle_all", "settle_ties", "trace_steps"]

NONE = -1
SOURCE = -2


class Buckets(NamedTuple):
    """Where `settle_all` and `settle_ties` write: of length n, but for the ring."""

    distance: Flat
    """Least cost; infinite at first."""
    hops: Flat
    """Moves on the way; `NONE` at first."""
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
    """Fill in least costs from the sources to every node, and which are sources.

    A terminal node is entered but not left, and a terminal source not entered.
    ``per_cost`` is how many buckets one unit of cost is worth.
    """
    indptr, head, cost, terminal = arcs
    distance, _, parent, _, bucket, after, before, ring = work
    turn = len(ring)
    waiting = 0
    for source in sources:
        if parent[source] == -2:
            continue
        distance[source] = 0.0
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
        for index in range(indptr[node], indptr[node + 1]):
            other = head[index]
            total = reached + cost[index]
            if total >= distance[other]:
                continue
            distance[other] = total
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


def settle_ties(arcs: Arcs, work: Buckets, sources: Flat) -> None:
    """Fill in moves on the way, node before and move of every node, from its least cost.

    Of equal costs the way with fewest moves counts, of those the one whose nodes,
    read back from the goal, have the smallest numbers. That is a matter of the
    costs alone, so the order in which they were found cannot change it.
    """
    indptr, head, cost, terminal = arcs
    distance, hops, parent, step, _, queue, _, _ = work
    count = 0
    for source in sources:
        if hops[source] < 0:
            hops[source] = 0
            queue[count] = source
            count += 1
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


def trace_steps(work: Buckets, nodes: Flat, first: Flat, steps: Flat) -> None:
    """Write the moves on the way to each node, from the node back to its source.

    Those of node number i begin at ``steps[first[i]]``; none for a node of -1.
    """
    parent = work.parent
    step = work.step
    for i in range(len(nodes)):
        node = nodes[i]
        at = first[i]
        while node >= 0 and parent[node] >= 0:
            steps[at] = step[node]
            at += 1
            node = parent[node]
