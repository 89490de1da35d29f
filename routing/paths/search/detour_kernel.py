"""Many least-cost searches with something closed, one after the other in one kernel.

Only what has fallen off the tree of ways with nothing closed is looked at (see
`routing.paths.search.tree_kernel`): a search begins where moves lead from the tree to it,
is led by what remains with nothing closed, and stops at the goal.
Labels are made once; each carries the number of the search that wrote it.
"""

from heapq import heapify, heappop, heappush

import numpy as np

from routing.paths.search.arrays import Arcs, Flat
from routing.paths.search.detour_tables import Cases, Found, Labels
from routing.paths.search.tree_kernel import BLOCK, Backwards, OpenTree

__all__ = ["settle_detours"]

_NEAR = 1e-6
"""Less than this is not worth looking for a better way straight on, in units of cost."""


def settle_detours(  # noqa: C901, PLR0912, PLR0913, PLR0915, PLR0917 - one function without calls, so that it also compiles
    arcs: Arcs,
    back: Backwards,
    trees: OpenTree,
    bounds: Flat,
    cases: Cases,
    labels: Labels,
    found: Found,
    begin: int,
) -> int:
    """Make the searches from number ``begin`` on; return the first that found no more room.

    Trees and bounds are tables of a row a site. Each search gives what
    `routing.paths.search.kernel.settle` gives on the network without what its closure
    closes, ties included: a node that has not fallen off has lost nothing that its
    label rests on, and ways through others only got worse.
    """
    indptr, head, cost, terminal = arcs
    distance, hops, parent, step, waiting, seen_in, goal_in, top, bottom, entry = labels
    into, tail, move = back
    at = found.first[begin]
    steps = found.steps
    room = len(steps) - len(distance)
    for number in range(begin, len(cases.closure)):
        if at > room:
            return number
        closure = cases.closure[number]
        pair = cases.pair[number]
        row = cases.tree[pair]
        reached_s = trees.distance[row]
        reached_hops = trees.hops[row]
        reached_by = trees.parent[row]
        place = trees.place[row]
        end = trees.end[row]
        order = trees.order[row]
        lowest = trees.lowest[row]
        highest = trees.highest[row]
        block_lowest = trees.block_lowest[row]
        block_highest = trees.block_highest[row]
        reached_over = trees.step[row]
        # What hangs on closed nodes has fallen off: a few rows of places, none within another.
        tops = 0
        for i in range(cases.shut_first[closure], cases.shut_first[closure + 1]):
            node = cases.shut[i]
            here = place[node]
            if here < 0:
                continue
            place[node] = -2 - here  # no place while this search lasts
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
        for i in range(cases.goal_first[pair], cases.goal_first[pair + 1]):
            node = cases.goal[i]
            if place[node] < 0:
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
        heap = [(0.0, into[0])]  # of the types that come, for the compiler
        heap.pop()
        bound = bounds[cases.bound[pair]]
        some_tops = range(1, tops)  # mostly none: a closed handrail is one branch
        # What moves lead to from the tree: few places have one from outside. Nothing gets
        # there for less than with nothing closed; the most promising one comes first.
        entries = 0
        least = best
        for k in range(tops if wanted > 0 else 0):
            upper = top[k]
            lower = bottom[k]
            first_block = upper // BLOCK
            some = slice(first_block, (lower - 1) // BLOCK + 1)
            outside = (block_lowest[some] < upper) | (block_highest[some] >= lower)
            for block in np.flatnonzero(outside) + first_block:
                for here in range(max(upper, block * BLOCK), min(lower, (block + 1) * BLOCK)):
                    if lowest[here] >= upper and highest[here] < lower:
                        continue
                    after = order[here]
                    if place[after] < 0 or (terminal[after] != 0 and goal_in[after] != number):
                        continue
                    entry[entries] = after
                    key = reached_s[after] + bound[after]
                    if key < least:
                        least = key
                        entry[entries] = entry[0]
                        entry[0] = after
                    entries += 1
        for i in range(entries):
            after = entry[i]
            if reached_s[after] + bound[after] > best:
                continue
            for index in range(into[after], into[after + 1]):
                node = tail[index]
                other = place[node]
                fallen = top[0] <= other < bottom[0]
                for j in some_tops:
                    if top[j] <= other < bottom[j]:
                        fallen = True
                if fallen or other < 0 or (terminal[node] != 0 and reached_by[node] != -2):
                    continue
                total = reached_s[node] + cost[move[index]]
                further = reached_hops[node] + 1
                if seen_in[after] == number:
                    if total > distance[after]:
                        continue
                    if total == distance[after] and (
                        further > hops[after] or (further == hops[after] and node >= parent[after])
                    ):
                        continue
                seen_in[after] = number
                distance[after] = total
                hops[after] = further
                parent[after] = node
                step[after] = move[index]
            if seen_in[after] != number:
                continue
            key = distance[after] + bound[after]
            if key > best:
                continue
            waiting[after] = 1
            heap.append((key, after))
            if key > best - _NEAR:
                continue
            # A way straight on from here, for nothing dearer need be looked at.
            node = after
            total = distance[node]
            while goal_in[node] != number:
                least = best - total
                nearest = -1
                step_s = 0.0
                for index in range(indptr[node], indptr[node + 1]):
                    beyond = head[index]
                    key = cost[index] + bound[beyond]
                    if (
                        key >= least
                        or bound[beyond] >= bound[node]
                        or (terminal[beyond] != 0 and goal_in[beyond] != number)
                    ):
                        continue
                    other = place[beyond]
                    fallen = top[0] <= other < bottom[0]
                    for j in some_tops:
                        if top[j] <= other < bottom[j]:
                            fallen = True
                    if fallen:
                        least = key
                        nearest = beyond
                        step_s = cost[index]
                if nearest < 0:
                    break
                node = nearest
                total += step_s
            if goal_in[node] == number and total < best:
                best = total
                best_node = -1
        heapify(heap)
        # What leads on from a node is mostly the best of all: it need not queue.
        led = False
        next_key = best
        next_node = into[0]
        while led or len(heap) > 0:
            if led and (len(heap) == 0 or next_key <= heap[0][0]):
                key = next_key
                node = next_node
            else:
                if led:
                    heappush(heap, (next_key, next_node))
                key, node = heappop(heap)
            led = False
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
                if key > best:
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
                    other = place[after]
                    fallen = top[0] <= other < bottom[0]
                    for j in some_tops:
                        if top[j] <= other < bottom[j]:
                            fallen = True
                    if not fallen:
                        continue
                seen_in[after] = number
                distance[after] = total
                hops[after] = further
                parent[after] = node
                step[after] = index
                waiting[after] = 1
                if not led:
                    led = True
                    next_key = key
                    next_node = after
                elif key < next_key:
                    heappush(heap, (next_key, next_node))
                    next_key = key
                    next_node = after
                else:
                    heappush(heap, (key, after))
        found.goal[number] = best_node
        if best_node >= 0:
            at += best_hops
        found.first[number + 1] = at
        for i in range(cases.shut_first[closure], cases.shut_first[closure + 1]):
            node = cases.shut[i]
            if place[node] < -1:
                place[node] = -2 - place[node]
        node = best_node
        here = at
        while node >= 0 and seen_in[node] == number:
            here -= 1
            steps[here] = step[node]
            node = parent[node]
        while here > found.first[number]:
            here -= 1
            steps[here] = reached_over[node]
            node = reached_by[node]
    return len(cases.closure)
