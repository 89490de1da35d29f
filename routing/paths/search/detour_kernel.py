"""Many least-cost searches with something closed, one after the other in one kernel.

With nothing closed the least-cost ways from a site form a tree. What a closure
can change are only the nodes whose way in the tree leads through it: they have
*fallen off*, and all others keep their labels to the last bit. So a search takes
in only fallen nodes, begins where moves lead from the tree to them, and stops at
the goal. Labels are made once; each carries the number of the search that wrote it.
"""

from heapq import heapify, heappop, heappush
from typing import NamedTuple

from routing.paths.search.arrays import Arcs, Flat

__all__ = [
    "ROW",
    "Backwards",
    "Cases",
    "Found",
    "Labels",
    "OpenTree",
    "place_nodes",
    "settle_detours",
    "span_places",
]


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


class Cases(NamedTuple):
    """Which searches are made, all from the sources of one tree.

    The nodes of number i of a kind are ``nodes[first[i]:first[i + 1]]``.
    """

    shut_first: Flat
    shut: Flat
    """Nodes that each closure closes."""
    goal_first: Flat
    goal: Flat
    """Nodes that each search may lead to."""
    row: Flat
    """Row of the bounds of each search."""
    closure: Flat
    """Closure of each search."""


class Labels(NamedTuple):
    """Labels of length n; ``..._in`` is the number of the search that wrote, -1 at first."""

    distance: Flat
    hops: Flat
    parent: Flat
    step: Flat
    waiting: Flat
    seen_in: Flat
    shut_in: Flat
    goal_in: Flat
    top: Flat
    """Room for the places at which what has fallen off begins."""
    bottom: Flat
    """Room for where each of these ends."""


class Found(NamedTuple):
    """Where answers are written."""

    goal: Flat
    """Goal reached by each search, -1 if none is."""
    first: Flat
    """Moves of search i are ``steps[first[i]:first[i + 1]]``, from its goal back."""
    steps: Flat


def settle_detours(  # noqa: C901, PLR0912, PLR0913, PLR0915, PLR0917 - one function without calls, so that it also compiles
    arcs: Arcs,
    back: Backwards,
    tree: OpenTree,
    cases: Cases,
    bounds: Flat,
    labels: Labels,
    found: Found,
    begin: int,
) -> int:
    """Make the searches from number ``begin`` on; return the first that found no more room.

    Each gives what `routing.paths.search.kernel.settle` gives on the network without what
    its closure closes, ties included: a node that has not fallen off has lost
    nothing that its label rests on, and ways through others only got worse.
    """
    indptr, head, cost, terminal = arcs
    distance, hops, parent, step, waiting, seen_in, shut_in, goal_in, top, bottom = labels
    place, order, end, lowest, highest = tree.place, tree.order, tree.end, tree.lowest, tree.highest
    reached_s, reached_hops, reached_by = tree.distance, tree.hops, tree.parent
    into, tail, move = back
    at = found.first[begin]
    room = len(found.steps) - len(distance)
    for number in range(begin, len(cases.closure)):
        if at > room:
            return number
        closure = cases.closure[number]
        # What hangs on closed nodes has fallen off: a few rows of places, none within another.
        tops = 0
        for i in range(cases.shut_first[closure], cases.shut_first[closure + 1]):
            node = cases.shut[i]
            shut_in[node] = number
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
        best = 1.7976931348623157e308
        best_hops = 0
        best_node = -1
        wanted = 0
        for i in range(cases.goal_first[number], cases.goal_first[number + 1]):
            node = cases.goal[i]
            if shut_in[node] == number or place[node] < 0:
                continue
            fallen = False
            for j in range(tops):
                if top[j] <= place[node] < bottom[j]:
                    fallen = True
            if fallen:
                goal_in[node] = number
                wanted += 1
                continue
            reached = reached_s[node]
            if reached < best or (
                reached == best
                and (
                    reached_hops[node] < best_hops
                    or (reached_hops[node] == best_hops and node < best_node)
                )
            ):
                best = reached
                best_hops = reached_hops[node]
                best_node = node
        heap = [(0.0, cases.closure[0])]  # of the types that come, for the compiler
        heap.pop()
        bound = bounds[cases.row[number]]
        # All moves from the tree to what has fallen off; most rows have none from outside.
        for k in range(tops if wanted > 0 else 0):
            first = top[k]
            last = bottom[k]
            here = first - 1
            while here + 1 < last:
                here += 1
                if here % 32 == 0 and here + 32 <= last:
                    row = here // 32
                    if tree.row_lowest[row] >= first and tree.row_highest[row] < last:
                        here += 31
                        continue
                if lowest[here] >= first and highest[here] < last:
                    continue
                after = order[here]
                if shut_in[after] == number:
                    continue
                for index in range(into[after], into[after + 1]):
                    node = tail[index]
                    other = place[node]
                    if other < 0 or (terminal[node] != 0 and reached_by[node] != -2):
                        continue
                    fallen = False
                    for j in range(tops):
                        if top[j] <= other < bottom[j]:
                            fallen = True
                    if fallen:
                        continue
                    total = reached_s[node] + cost[move[index]]
                    further = reached_hops[node] + 1
                    if seen_in[after] == number:
                        if total > distance[after]:
                            continue
                        if total == distance[after] and (
                            further > hops[after]
                            or (further == hops[after] and node >= parent[after])
                        ):
                            continue
                    seen_in[after] = number
                    distance[after] = total
                    hops[after] = further
                    parent[after] = node
                    step[after] = move[index]
                if seen_in[after] == number and distance[after] + bound[after] <= best:
                    waiting[after] = 1
                    heap.append((distance[after] + bound[after], after))
        heapify(heap)
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
                            hops[node] < best_hops or (hops[node] == best_hops and node < best_node)
                        )
                    )
                ):
                    best = reached
                    best_hops = hops[node]
                    best_node = node
                continue
            if terminal[node] != 0:
                continue
            further = hops[node] + 1
            for index in range(indptr[node], indptr[node + 1]):
                after = head[index]
                total = reached + cost[index]
                key = total + bound[after]
                if key > best or shut_in[after] == number:
                    continue
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
                else:
                    fallen = False
                    for j in range(tops):
                        if top[j] <= place[after] < bottom[j]:
                            fallen = True
                    if not fallen:
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
        while node >= 0:
            if seen_in[node] == number:
                found.steps[at] = step[node]
                node = parent[node]
            elif reached_by[node] >= 0:
                found.steps[at] = tree.step[node]
                node = reached_by[node]
            else:
                break
            at += 1
        found.first[number + 1] = at
    return len(cases.closure)


def place_nodes(parent: Flat, tree: OpenTree, child: Flat, sibling: Flat) -> int:
    """Fill in places and their ends from who is whose parent; return how many there are.

    ``child`` and ``sibling`` are all -1 at first. Children come in the order of
    their numbers, sources too.
    """
    place, order, end = tree.place, tree.order, tree.end
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
