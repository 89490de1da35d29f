"""The trade-off kernel: every non-dominated (seconds, transfers, exposure) to the nearest goal.

The label kernel with two more criteria. It also answers least seconds under a
limit on the third criterion, whatever that counts. One function without calls,
like every kernel.
"""

from heapq import heappop, heappush
from typing import NamedTuple

from routing.paths.search.arrays import Flat
from routing.paths.search.label_kernel import Bounds, Starts, Steps

__all__ = ["Criteria", "Front", "Price", "search_front"]


class Criteria(NamedTuple):
    """The second and third criterion: per step, what must remain, and at the starts."""

    transfers: Flat
    """Whole numbers."""
    exposure: Flat
    transfers_need: Flat
    """Per node: fewest transfers to a goal when the line needs none."""
    exposure_need: Flat
    start_transfers: Flat
    start_exposure: Flat


class Price(NamedTuple):
    """A price on the third criterion: what no label that matters comes to, priced."""

    need: Flat
    """Least cost to a goal with every unit of the third criterion at its price, as in `Bounds`."""
    rate: float
    cap: float
    """Labels that must come to more are dropped; infinite where nothing is known."""


class Front(NamedTuple):
    """The labels on the way to each choice, from the goal back to its start."""

    first: Flat
    step: Flat
    cost: Flat
    slack: Flat
    transfers: Flat
    """Of each choice."""
    exposure: Flat
    labels: int


def search_front(  # noqa: C901, PLR0912, PLR0913, PLR0915, PLR0917 - one loop without calls, so that it compiles
    steps: Steps,
    criteria: Criteria,
    bounds: Bounds,
    price: Price,
    starts: Starts,
    guard: int,
    wanted: int,
    exposure_limit: float,
) -> tuple[Flat, Flat, Flat, Flat, Flat, Flat, int]:
    """Return the first ``wanted`` choices in order of cost, as the fields of `Front`.

    Labels are taken in order of the least cost they can come to. So every choice
    found earlier costs no more than any label can come to, and a label is useless
    as soon as an earlier choice has no more transfers and no more exposure than
    the label must come to: one look at ``least_exposure``, the staircase of the
    choices so far.
    """
    indptr, head, step_cost, need, renewed, group, unit = steps
    step_transfers, step_exposure, transfers_need, exposure_need, _, _ = criteria
    bound_slack, bound_cost, terminal, goal = bounds
    price_need, price_rate, price_cap = price
    nodes = len(indptr) - 1
    levels = len(bound_slack) // nodes
    infinite = float("inf")
    first_at = [-1] * nodes
    # Least exposure of the choices with so many transfers or fewer; the last stands for all more.
    stairs = 256
    least_exposure = [infinite] * stairs
    label_node = [0]
    label_cost = [0.0]
    label_exposure = [0.0]
    label_transfers = [0]
    label_slack = [0.0]
    label_left = [0]
    label_parent = [0]
    label_step = [0]
    label_next = [0]
    label_alive = [0]
    heap = [(0.0, 0, 0.0, 0)]
    found = [0]
    label_node.pop()
    label_cost.pop()
    label_exposure.pop()
    label_transfers.pop()
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
        transfers = criteria.start_transfers[start] + transfers_need[node] + level
        exposure = criteria.start_exposure[start] + exposure_need[node]
        if remaining == infinite or exposure > exposure_limit:
            continue
        label_node.append(node)
        label_cost.append(starts.cost[start])
        label_exposure.append(criteria.start_exposure[start])
        label_transfers.append(criteria.start_transfers[start])
        label_slack.append(slack)
        label_left.append(left)
        label_parent.append(-1)
        label_step.append(-1 - start)
        label_next.append(first_at[node])
        label_alive.append(1)
        first_at[node] = labels
        heappush(heap, (starts.cost[start] + remaining, transfers, exposure, labels))
        labels += 1
    while heap:
        _, least_transfers, exposure_bound, label = heappop(heap)
        if label_alive[label] == 0:
            continue
        if least_exposure[min(least_transfers, stairs - 1)] <= exposure_bound:
            continue
        node = label_node[label]
        transfers = label_transfers[label]
        exposure = label_exposure[label]
        if goal[node] != 0:
            found.append(label)
            for stair in range(min(transfers, stairs - 1), stairs):
                least_exposure[stair] = min(least_exposure[stair], exposure)
            if len(found) == wanted:
                break
            continue
        by = label_step[label]
        if terminal[node] != 0 and by >= 0 and group[by] == 0:
            continue
        cost = label_cost[label]
        slack = label_slack[label]
        left = label_left[label]
        for step in range(indptr[node], indptr[node + 1]):
            slack_after = slack - need[step]
            if slack_after < 0.0:
                continue
            taken = group[step]
            left_after = left
            if taken != 0:
                slack_after = renewed[step]
                if left & taken == 0 or slack_after <= slack:
                    continue
                left_after = left - unit[step]
            after = head[step]
            if terminal[after] != 0 and taken == 0 and goal[after] == 0:
                continue
            level = 0
            while level < levels and slack_after < bound_slack[level * nodes + after]:
                level += 1
            if level == levels or (level > 0 and left_after == 0):
                continue
            remaining = bound_cost[level * nodes + after]
            transfers_after = transfers + step_transfers[step]
            least_transfers = transfers_after + transfers_need[after] + level
            exposure_after = exposure + step_exposure[step]
            exposure_bound = exposure_after + exposure_need[after]
            if remaining == infinite or exposure_bound > exposure_limit:
                continue
            if least_exposure[min(least_transfers, stairs - 1)] <= exposure_bound:
                continue
            cost_after = cost + step_cost[step]
            priced = price_need[level * nodes + after] + price_rate * exposure_after
            if cost_after + priced > price_cap:
                continue
            useless = False
            before = -1
            other = first_at[after]
            while other >= 0:
                following = label_next[other]
                other_cost = label_cost[other]
                other_slack = label_slack[other]
                other_exposure = label_exposure[other]
                other_transfers = label_transfers[other]
                if (
                    other_cost <= cost_after
                    and other_slack >= slack_after
                    and other_exposure <= exposure_after
                    and other_transfers <= transfers_after
                    and ((label_left[other] | guard) - left_after) & guard == guard
                ):
                    useless = True
                    break
                if (
                    cost_after <= other_cost
                    and slack_after >= other_slack
                    and exposure_after <= other_exposure
                    and transfers_after <= other_transfers
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
            label_node.append(after)
            label_cost.append(cost_after)
            label_exposure.append(exposure_after)
            label_transfers.append(transfers_after)
            label_slack.append(slack_after)
            label_left.append(left_after)
            label_parent.append(label)
            label_step.append(step)
            label_next.append(first_at[after])
            label_alive.append(1)
            first_at[after] = labels
            heappush(heap, (cost_after + remaining, least_transfers, exposure_bound, labels))
            labels += 1
    chain_first = [0]
    chain_step = [0]
    chain_cost = [0.0]
    chain_slack = [0.0]
    goal_transfers = [0]
    goal_exposure = [0.0]
    chain_step.pop()
    chain_cost.pop()
    chain_slack.pop()
    goal_transfers.pop()
    goal_exposure.pop()
    for goal_label in found:
        goal_transfers.append(label_transfers[goal_label])
        goal_exposure.append(label_exposure[goal_label])
        label = goal_label
        while label >= 0:
            chain_step.append(label_step[label])
            chain_cost.append(label_cost[label])
            chain_slack.append(label_slack[label])
            label = label_parent[label]
        chain_first.append(len(chain_step))
    return chain_first, chain_step, chain_cost, chain_slack, goal_transfers, goal_exposure, labels
