"""Many least-cost searches with something closed, one after the other in one kernel.

A search that goes round a closure looks at a small part of the network, so what
it would cost to make its labels anew is most of it: here labels are made once,
and each carries the number of the search that wrote it.
"""

from heapq import heappop, heappush
from typing import NamedTuple

from routing.paths.arrays import Arcs, Flat

__all__ = ["Cases", "Found", "Labels", "settle_detours"]


class Cases(NamedTuple):
    """Which searches are made: closures and pairs of sites, then who meets whom.

    The nodes of number i of a kind are ``nodes[first[i]:first[i + 1]]``.
    """

    shut_first: Flat
    shut: Flat
    """Nodes that each closure closes."""
    source_first: Flat
    source: Flat
    """Nodes that each pair starts from."""
    goal_first: Flat
    goal: Flat
    """Nodes that each pair leads to."""
    row: Flat
    """Row of the bounds of each pair."""
    closure: Flat
    """Closure of each search."""
    pair: Flat
    """Pair of each search."""


class Labels(NamedTuple):
    """Labels of length n; ``..._in`` is the number of the search that wrote, -1 at first."""

    distance: Flat
    hops: Flat
    parent: Flat
    """Node before, -2 at sources."""
    step: Flat
    """Move that led here."""
    waiting: Flat
    seen_in: Flat
    shut_in: Flat
    goal_in: Flat
    behind_in: Flat
    """Where the last walk back from the goals has been, by the number of that walk."""


class Found(NamedTuple):
    """Where answers are written."""

    goal: Flat
    """Goal reached by each search, -1 if none is."""
    first: Flat
    """Moves of search i are ``steps[first[i]:first[i + 1]]``, from its goal back."""
    steps: Flat


def settle_detours(  # noqa: C901, PLR0912, PLR0915 - one function without calls, so that it also compiles
    both: tuple[Arcs, Arcs], cases: Cases, bounds: Flat, labels: Labels, found: Found, begin: int
) -> int:
    """Make the searches from number ``begin`` on; return the first that found no more room.

    ``both`` are the moves forwards and backwards. Each search is
    `routing.paths.kernel.settle` on the network without what its closure closes,
    ties included. One that has looked at many nodes asks now and then whether the
    goals are cut off, by walking back from them some way: where a few nodes round
    the goal are all that is left, this ends a search that would look at everything
    else first.
    """
    indptr, head, cost, terminal = both[0]
    into, tail = both[1].indptr, both[1].head
    distance, hops, parent, step, waiting, seen_in, shut_in, goal_in, behind_in = labels
    at = found.first[begin]
    room = len(found.steps) - len(distance)
    for number in range(begin, len(cases.pair)):
        if at > room:
            return number
        closure = cases.closure[number]
        for i in range(cases.shut_first[closure], cases.shut_first[closure + 1]):
            shut_in[cases.shut[i]] = number
        pair = cases.pair[number]
        bound = bounds[cases.row[pair]]
        for i in range(cases.goal_first[pair], cases.goal_first[pair + 1]):
            if shut_in[cases.goal[i]] != number:
                goal_in[cases.goal[i]] = number
        heap = [(0.0, cases.pair[0])]  # of the types that come, for the compiler
        heap.pop()
        for i in range(cases.source_first[pair], cases.source_first[pair + 1]):
            node = cases.source[i]
            if shut_in[node] != number:
                seen_in[node] = number
                distance[node] = 0.0
                hops[node] = 0
                parent[node] = -2
                waiting[node] = 1
                heappush(heap, (0.0 + bound[node], node))
        best = 1.7976931348623157e308
        best_node = -1
        looked_at = 0
        patience = 64
        walk = 64 * number
        while heap:
            key, node = heappop(heap)
            if key > best:
                break
            if waiting[node] == 0:
                continue
            waiting[node] = 0
            reached = distance[node]
            if goal_in[node] == number:
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
            looked_at += 1
            if looked_at == patience and best_node < 0:
                # Walk back from the goals until it meets what was seen, or has gone as far.
                patience *= 4
                walk += 1
                back = [cases.pair[0]]  # of the type of numbers, for the compiler
                back.pop()
                for i in range(cases.goal_first[pair], cases.goal_first[pair + 1]):
                    if goal_in[cases.goal[i]] == number:
                        behind_in[cases.goal[i]] = walk
                        back.append(cases.goal[i])
                budget = looked_at // 4
                while back and budget > 0:
                    budget -= 1
                    there = back.pop()
                    for index in range(into[there], into[there + 1]):
                        before = tail[index]
                        if seen_in[before] == number:
                            budget = -1
                            break
                        if (
                            behind_in[before] != walk
                            and shut_in[before] != number
                            and terminal[before] == 0
                        ):
                            behind_in[before] = walk
                            back.append(before)
                if not back and budget >= 0:
                    break
            further = hops[node] + 1
            for index in range(indptr[node], indptr[node + 1]):
                after = head[index]
                if shut_in[after] == number:
                    continue
                total = reached + cost[index]
                if seen_in[after] == number:
                    known = distance[after]
                    if total > known:
                        continue
                    if total == known:
                        if further > hops[after]:
                            continue
                        if further == hops[after]:
                            if node < parent[after]:
                                parent[after] = node
                                step[after] = index
                            continue
                    if parent[after] == -2 and terminal[after] != 0:
                        continue
                key = total + bound[after]
                if key > best:
                    continue
                seen_in[after] = number
                distance[after] = total
                hops[after] = further
                parent[after] = node
                step[after] = index
                waiting[after] = 1
                heappush(heap, (key, after))
        found.goal[number] = best_node
        node = best_node
        while node >= 0 and parent[node] >= 0:
            found.steps[at] = step[node]
            at += 1
            node = parent[node]
        found.first[number + 1] = at
    return len(cases.pair)
