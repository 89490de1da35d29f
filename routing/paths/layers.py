"""Via sites in order: the reach graph once per leg, joined at the grips of each via site.

A site has several grips, and the best grip to pass a via site at depends on
where the way goes on; so legs cannot be solved one after the other. Node
``leg * n + grip`` says: at this grip, with the first ``leg`` via sites done.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats, GripKind, Indices, ReachGraph
from routing.paths.search.arrays import Network
from routing.paths.search.landmarks import straight_bound
from structures.frozen import frozen

__all__ = ["Layers", "stack_layers", "unstack"]

Flags = NDArray[np.bool_]


@frozen(kw_only=True, eq=False)
class Layers:
    """Legs stacked into one network, where a path in it begins and ends, and what remains."""

    network: Network
    sources: Indices
    goals: Indices
    bound: Floats
    """Least cost from each node to a goal, never too much, shape (legs * n,) [s]."""
    grips: int
    """Nodes of one leg."""


def stack_layers(
    graph: ReachGraph, stops: Sequence[Indices], allowed: Flags, seconds: Floats
) -> Layers:
    """Stack one copy of the allowed moves per leg.

    Parameters
    ----------
    graph
        The reach graph with n grips and m moves.
    stops
        Grips of the start, of each via site in order, and of the goal; each
        ascending, shape (k,). A leg leaves its own start from, and
        enters its own goal at, sockets; other sockets are not passed through.
    allowed
        Which moves may be made, shape (m,).
    seconds
        Cost of each move, shape (m,) [s].

    Returns
    -------
    Layers
        Moves by tail, heads ascending; stepping to the next leg costs nothing.
    """
    count, legs = len(graph.grips), len(stops) - 1
    tail = np.repeat(np.arange(count), np.diff(graph.moves.indptr))
    tails, heads, costs, numbers = [], [], [], []
    for leg in range(legs):
        kept = np.flatnonzero(allowed & _leg_moves(graph, stops[leg + 1]))
        tails.append(tail[kept] + leg * count)
        heads.append(graph.moves.head[kept] + leg * count)
        costs.append(seconds[kept])
        numbers.append(kept)
        if leg + 1 < legs:
            tails.append(stops[leg + 1] + leg * count)
            heads.append(stops[leg + 1] + (leg + 1) * count)
            costs.append(np.zeros(len(stops[leg + 1])))
            numbers.append(np.full(len(stops[leg + 1]), -1))
    all_tails = np.concatenate(tails)
    order = np.argsort(all_tails, kind="stable")
    indptr = np.zeros(legs * count + 1, dtype=np.int64)
    np.cumsum(np.bincount(all_tails, minlength=legs * count), out=indptr[1:])
    network = Network(
        indptr=indptr,
        head=np.concatenate(heads)[order],
        cost=np.concatenate(costs)[order],
        terminal=np.zeros(legs * count, dtype=np.int8),
        move=np.concatenate(numbers)[order],
    )
    return Layers(
        network=network,
        sources=stops[0],
        goals=stops[-1] + (legs - 1) * count,
        bound=_bound(graph, stops, allowed, seconds),
        grips=count,
    )


def _leg_moves(graph: ReachGraph, goal: Indices) -> Flags:
    """Tell which moves keep out of sockets that are not where the leg ends.

    Out of a socket leads only what begins there: none other is entered, and
    at the one where a leg ends the next one may begin.
    """
    barred = graph.grips.kind == GripKind.SOCKET
    barred[goal] = False
    flags: Flags = ~barred[graph.moves.head]
    return flags


def _bound(graph: ReachGraph, stops: Sequence[Indices], allowed: Flags, seconds: Floats) -> Floats:
    """Bound what remains by straight lines from site to site, at the fastest move's speed."""
    timed = allowed & (seconds > 0)
    untimed = not np.array_equal(timed, allowed) or not timed.any()
    if untimed or not all(len(stop) for stop in stops):
        return np.zeros(len(graph.grips) * (len(stops) - 1))
    fastest_m_per_s = float((graph.moves.gap_m[timed] / seconds[timed]).max())
    if fastest_m_per_s == 0:
        return np.zeros(len(graph.grips) * (len(stops) - 1))
    bounds: list[Floats] = []
    for stop in reversed(stops[1:]):
        after_s = float(bounds[0][stop].min()) if bounds else 0.0
        leg_s = straight_bound(graph.grips.position_m, stop.tolist(), rate_m_per_s=fastest_m_per_s)
        bounds.insert(0, after_s + leg_s)
    return np.concatenate(bounds)


def unstack(nodes: Sequence[int], grips: int) -> tuple[list[int], list[int]]:
    """Return the grips of a path in stacked legs, and where in them each via site is met.

    Examples
    --------
    >>> unstack([0, 2, 5, 4], 3)
    ([0, 2, 1], [1])
    """
    path: list[int] = []
    via_at: list[int] = []
    leg = 0
    for node in nodes:
        if node // grips != leg:
            leg = node // grips
            via_at.append(len(path) - 1)
        else:
            path.append(node % grips)
    return path, via_at
