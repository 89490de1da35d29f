"""The label kernel: least cost under a limit that is used up on the way and can be renewed.

The same text serves the resource-constrained shortest path (a budget and no
renewal) and the tether search (line left on the reel, renewed by a transfer to
another tether). Like every kernel it is one function without calls, so that it
runs as it stands over lists and compiled over arrays.
"""

from heapq import heappop, heappush
from typing import NamedTuple

from routing.paths.search.arrays import Flat

__all__ = ["Bounds", "Chains", "Starts", "Steps", "search_labels"]


class Steps(NamedTuple):
    """What can be done at each node, in CSR form: moves first, then transfers."""

    indptr: Flat
    head: Flat
    """Where the step ends; the node itself for a transfer."""
    cost: Flat
    need: Flat
    """Slack the step needs: what a move uses up, what a stowed end takes."""
    renewed: Flat
    """Slack after a transfer; not read for moves."""
    group: Flat
    """Bits of the tether group that a transfer takes from; 0 for moves."""
    unit: Flat
    """One tether of that group; 0 for moves."""


class Bounds(NamedTuple):
    """What backward searches say about each node, by how many transfers are needed at least.

    Level k of node v stands at ``k * n + v``. A label belongs to the first level
    for which it has slack enough; with less slack than the last level asks for, it
    comes to no goal. The slack that a level asks for at the tail of a move is at most
    what the move needs and what the level asks for at its head.
    """

    slack: Flat
    """Least slack with which a goal can be reached after at most k transfers."""
    remaining: Flat
    """Least cost to a goal after at least k transfers; infinite where none is reached."""
    terminal: Flat
    goal: Flat


class Starts(NamedTuple):
    """Labels to start from."""

    node: Flat
    cost: Flat
    slack: Flat
    left: Flat
    """Tethers left, packed: one field of bits a group."""


class Chains(NamedTuple):
    """The labels on the way to each goal found, from the goal back to its start."""

    first: Flat
    """Labels of goal number g are ``first[g]:first[g + 1]``."""
    step: Flat
    """Step that made the label; -1 - s for start number s."""
    cost: Flat
    slack: Flat
    labels: int
    """How many labels were made."""


def search_labels(  # noqa: C901, PLR0912, PLR0915 - one loop without calls, so that it compiles
    steps: Steps, bounds: Bounds, starts: Starts, guard: int, wanted: int
) -> tuple[Flat, Flat, Flat, Flat, int]:
    """Return the least-cost labels of the first ``wanted`` goals, as the fields of `Chains`.

    A label is (node, cost, slack, tethers left). One label makes another useless
    when it is at the same node, costs no more, has no less slack and has every
    tether that the other has. Tethers left are compared in one subtraction: with
    the guard bit of every field set, no field of a - b borrows unless b has more.

    Labels are taken in order of cost plus bound, of equal ones the earliest made.
    """
    indptr, head, step_cost, need, renewed, group, unit = steps
    bound_slack, bound_cost, terminal, goal = bounds
    nodes = len(indptr) - 1
    levels = len(bound_slack) // nodes
    infinite = float("inf")
    first_at = [-1] * nodes
    settled = [0] * nodes
    cheapest = [infinite] * nodes
    label_node = [0]
    label_cost = [0.0]
    label_slack = [0.0]
    label_left = [0]
    label_parent = [0]
    label_step = [0]
    label_next = [0]
    label_alive = [0]
    heap = [(0.0, 0)]
    found = [0]
    label_node.pop()
    label_cost.pop()
    label_slack.pop()
    label_left.pop()
    label_parent.pop()
    label_step.pop()
    label_next.pop()
    label_alive.pop()
    heap.pop()
    found.pop()
    labels = 0
    for start in range(len(starts.node)):
        node = starts.node[start]
        slack = starts.slack[start]
        left = starts.left[start]
        if slack < 0.0:
            continue
        level = 0
        while level < levels and slack < bound_slack[level * nodes + node]:
            level += 1
        if level == levels or (level > 0 and left == 0):
            continue
        remaining = bound_cost[level * nodes + node]
        if remaining == infinite:
            continue
        label_node.append(node)
        label_cost.append(starts.cost[start])
        label_slack.append(slack)
        label_left.append(left)
        label_parent.append(-1)
        label_step.append(-1 - start)
        label_next.append(first_at[node])
        label_alive.append(1)
        first_at[node] = labels
        heappush(heap, (starts.cost[start] + remaining, labels))
        labels += 1
    while heap:
        _, label = heappop(heap)
        if label_alive[label] == 0:
            continue
        node = label_node[label]
        if goal[node] != 0 and settled[node] == 0:
            settled[node] = 1
            found.append(label)
            if len(found) == wanted:
                break
        by = label_step[label]
        if terminal[node] != 0 and by >= 0 and group[by] == 0:
            continue
        cost = label_cost[label]
        slack = label_slack[label]
        left = label_left[label]
        # No step but a transfer takes a label to a level below its own, and that to the next.
        lowest = 0
        while lowest < levels and slack < bound_slack[lowest * nodes + node]:
            lowest += 1
        for step in range(indptr[node], indptr[node + 1]):
            slack_after = slack - need[step]
            if slack_after < 0.0:
                continue
            taken = group[step]
            left_after = left
            level = lowest
            if taken != 0:
                level = max(lowest - 1, 0)
                slack_after = renewed[step]
                if left & taken == 0 or slack_after <= slack:
                    continue
                left_after = left - unit[step]
            after = head[step]
            # Can this label still come to a goal, and what does it cost at least?
            while level < levels and slack_after < bound_slack[level * nodes + after]:
                level += 1
            if level == levels or (level > 0 and left_after == 0):
                continue
            remaining = bound_cost[level * nodes + after]
            if remaining == infinite:
                continue
            cost_after = cost + step_cost[step]
            next_label = -1
            if terminal[after] != 0 and taken == 0:
                # A socket is entered as a goal only, and then only cost counts.
                if goal[after] == 0 or cost_after >= cheapest[after]:
                    continue
                cheapest[after] = cost_after
            else:
                useless = False
                before = -1
                other = first_at[after]
                while other >= 0:
                    following = label_next[other]
                    other_cost = label_cost[other]
                    other_slack = label_slack[other]
                    if (
                        other_cost <= cost_after
                        and other_slack >= slack_after
                        and ((label_left[other] | guard) - left_after) & guard == guard
                    ):
                        useless = True
                        break
                    if (
                        cost_after <= other_cost
                        and slack_after >= other_slack
                        and ((left_after | guard) - label_left[other]) & guard == guard
                    ):
                        label_alive[other] = 0
                        if before < 0:
                            first_at[after] = following
                        else:
                            label_next[before] = following
                    else:
                        before = other
                    other = following
                if useless:
                    continue
                next_label = first_at[after]
                first_at[after] = labels
            label_node.append(after)
            label_cost.append(cost_after)
            label_slack.append(slack_after)
            label_left.append(left_after)
            label_parent.append(label)
            label_step.append(step)
            label_next.append(next_label)
            label_alive.append(1)
            heappush(heap, (cost_after + remaining, labels))
            labels += 1
    chain_first = [0]
    chain_step = [0]
    chain_cost = [0.0]
    chain_slack = [0.0]
    chain_step.pop()
    chain_cost.pop()
    chain_slack.pop()
    for goal_label in found:
        label = goal_label
        while label >= 0:
            chain_step.append(label_step[label])
            chain_cost.append(label_cost[label])
            chain_slack.append(label_slack[label])
            label = label_parent[label]
        chain_first.append(len(chain_step))
    return chain_first, chain_step, chain_cost, chain_slack, labels
