"""A tether ground seen from its junctions, for the searches that make lower bounds.

Along a rail most grips lead on to the next grip and the one before only: a move
that skips grips costs what the moves between cost. So bounds are searched from
junction to junction, less than half of all grips, and read off for those between.
"""

from typing import NamedTuple

import numpy as np

from routing.graph.reach_graph import Flags, Floats, Indices
from routing.paths.search.arrays import Network
from structures.frozen import frozen

__all__ = ["Junctions", "Weights", "find_junctions", "rounded_down"]

_GRID = 2.0**-26
"""Weights are rounded down to this, so that their sums are exact."""

_SHRINK = 1 - 1e-9
"""Weights are taken down by this before: far more than other sums of them are rounded."""


def rounded_down(weight: Floats) -> Floats:
    """Return weights, in their shape, of which sums are exact and never too much."""
    rounded: Floats = np.floor(weight * (_SHRINK / _GRID)) * _GRID
    return rounded


class Weights(NamedTuple):
    """One weight of the moves, seconds or metres, between junctions and along the runs."""

    back: Network
    """The moves between junctions the other way round; a run is one move each way."""
    onward: Floats
    """Sum of the moves from each grip to the next number, up to each grip, shape (n,)."""
    homeward: Floats
    """The same of the moves from each grip to the number before, shape (n,)."""


@frozen(kw_only=True, eq=False)
class Junctions:
    """Grips that are more than a place between two others, and the runs of grips between."""

    node: Indices
    """The junctions by their grips, ascending, shape (k,)."""
    before: Indices
    """Number of the last junction up to each grip, shape (n,)."""
    after: Indices
    """Number of the first junction from each grip on, shape (n,)."""
    seconds: Weights
    metres: Weights

    def at_goals(self, weights: Weights, goals: Indices) -> Floats:
        """Return what it takes from each junction along its runs to the goals, shape (k,)."""
        first, last = self.before[goals], self.after[goals]
        least = np.full(len(self.node), np.inf)
        np.minimum.at(least, first, weights.onward[goals] - weights.onward[self.node[first]])
        np.minimum.at(least, last, weights.homeward[self.node[last]] - weights.homeward[goals])
        return least

    def everywhere(self, weights: Weights, least: Floats, goals: Indices | None = None) -> Floats:
        """Return for every grip what follows from its junctions, shape (n,).

        Parameters
        ----------
        least
            What remains from each junction at least, shape (k,).
        goals
            Goals that are reached within their own run too, ascending.
        """
        onward, homeward = weights.onward, weights.homeward
        start, end = self.node[self.before], self.node[self.after]
        found: Floats = np.minimum(
            least[self.before] + (homeward - homeward[start]),
            least[self.after] + (onward[end] - onward),
        )
        if goals is not None and len(goals):  # a condition may leave no hold at the hatch
            grips = np.arange(len(found))
            place = np.searchsorted(goals, grips)
            ahead = goals[np.minimum(place, len(goals) - 1)]
            here = np.flatnonzero((grips <= ahead) & (ahead <= end))
            found[here] = np.minimum(found[here], onward[ahead[here]] - onward[here])
            behind = goals[np.maximum(np.searchsorted(goals, grips, side="right") - 1, 0)]
            here = np.flatnonzero((start <= behind) & (behind <= grips))
            found[here] = np.minimum(found[here], homeward[here] - homeward[behind[here]])
        return found

    def ends(self, marked: Flags) -> Flags:
        """Return which junctions are marked or end a run with a marked grip, shape (k,)."""
        found = np.zeros(len(self.node), dtype=bool)
        found[self.before[marked]] = True
        found[self.after[marked]] = True
        return found


def find_junctions(network: Network, way_m: Floats, kept: Indices) -> Junctions:
    """Find the junctions of a network whose moves weigh seconds and metres.

    Parameters
    ----------
    network
        n grips, m moves; ``cost`` in seconds.
    way_m
        Metres of each move, shape (m,).
    kept
        Grips that are to be junctions whatever they are.

    Notes
    -----
    A move that skips grip numbers is left out if going by each number between takes
    no more seconds and no more metres. A grip lies between if it is left with moves to
    and from its neighbours by number only. Least sums do not change by either.
    """
    weights = (rounded_down(network.cost), rounded_down(way_m))
    joined, sums = _neighbours(network, weights)
    own = _not_by_neighbours(network, weights, joined, sums)
    between = _between(network, own, joined)
    between[kept] = False
    node = np.flatnonzero(~between)
    number = np.cumsum(~between) - 1
    tail, head = network.tail[own], network.head[own]
    apart = ~(between[tail] | between[head])
    # The first and the last grip are junctions: they have no neighbour on one side.
    run = np.flatnonzero(np.diff(node) > 1)
    tails = np.concatenate([number[tail[apart]], run, run + 1])
    heads = np.concatenate([number[head[apart]], run + 1, run])
    order = np.lexsort((tails, heads))
    moves = own[apart]

    def weigh(weight: Floats, onward: Floats, homeward: Floats) -> Weights:
        start, end = node[run], node[run + 1]
        along = (onward[end] - onward[start], homeward[end] - homeward[start])
        return Weights(
            back.with_cost(np.concatenate([weight[moves], *along])[order]), onward, homeward
        )

    back = Network(
        indptr=np.searchsorted(heads[order], np.arange(len(node) + 1)).astype(np.int64),
        head=tails[order],
        cost=np.zeros(len(order)),
        terminal=network.terminal[node],
        move=order.astype(np.int64),
    )
    return Junctions(
        node=node,
        before=number,
        after=number + between,
        seconds=weigh(weights[0], *sums[0]),
        metres=weigh(weights[1], *sums[1]),
    )


def _neighbours(
    network: Network, weights: tuple[Floats, Floats]
) -> tuple[Flags, list[tuple[Floats, Floats]]]:
    """Return who leads on to the next number and back, and the sums either way."""
    nodes = len(network)
    # Nobody passes a socket.
    passed = network.terminal == 0
    joined = passed & np.append(passed[1:], False)
    sums: list[list[Floats]] = [[], []]
    for step in (1, -1):
        moves = np.flatnonzero(network.head - network.tail == step)
        lower = np.minimum(network.tail[moves], network.head[moves])
        there = np.zeros(nodes, dtype=bool)
        there[lower] = True
        joined &= there
        for weight, of_weight in zip(weights, sums, strict=True):
            least = np.full(nodes, np.inf)
            np.minimum.at(least, lower, weight[moves])
            total = np.zeros(nodes)
            np.cumsum(np.where(there, least, 0.0)[:-1], out=total[1:])
            of_weight.append(total)
    return joined, [(onward, homeward) for onward, homeward in sums]


def _not_by_neighbours(
    network: Network,
    weights: tuple[Floats, Floats],
    joined: Flags,
    sums: list[tuple[Floats, Floats]],
) -> Indices:
    """Return the moves that going by each number between does not replace, ascending."""
    tail, head = network.tail, network.head
    low, high = np.minimum(tail, head), np.maximum(tail, head)
    parted = np.concatenate([[0], np.cumsum(~joined)])
    replaced = (high - low > 1) & (parted[high] == parted[low])
    for weight, (onward, homeward) in zip(weights, sums, strict=True):
        by_numbers = np.where(
            tail < head, onward[head] - onward[tail], homeward[tail] - homeward[head]
        )
        replaced &= by_numbers <= weight
    return np.flatnonzero(~replaced)


def _between(network: Network, own: Indices, joined: Flags) -> Flags:
    """Return which grips have moves to and from their two neighbours only, shape (n,)."""
    found: Flags = joined & np.append(False, joined[:-1])
    for side in (network.tail, network.head):
        found &= np.bincount(side[own], minlength=len(network)) == 2
    return found
