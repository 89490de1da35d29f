"""Via sites in order: the reach graph once per leg, joined at the grips of each via site.

A site has several grips, and the best grip to pass a via site at depends on
where the way goes on; so legs cannot be solved one after the other. Node
``leg * n + grip`` says: at this grip, with the first ``leg`` via sites done.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats, GripKind, Indices, ReachGraph

__all__ = ["Layers", "stack_layers", "unstack"]

Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layers:
    """Legs stacked into one graph in CSR form, and where a path in it begins and ends."""

    indptr: Indices
    head: Indices
    seconds: Floats
    sources: Indices
    goals: Indices
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
        ascending, shape (k,). A leg leaves its own start from, and enters its
        own goal at, sockets; other sockets are not passed through.
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
    tails, heads, costs = [], [], []
    for leg in range(legs):
        kept = allowed & _leg_moves(graph, tail, stops[leg], stops[leg + 1])
        tails.append(tail[kept] + leg * count)
        heads.append(graph.moves.head[kept] + leg * count)
        costs.append(seconds[kept])
        if leg + 1 < legs:
            tails.append(stops[leg + 1] + leg * count)
            heads.append(stops[leg + 1] + (leg + 1) * count)
            costs.append(np.zeros(len(stops[leg + 1])))
    all_tails, all_heads = np.concatenate(tails), np.concatenate(heads)
    order = np.argsort(all_tails, kind="stable")
    indptr = np.zeros(legs * count + 1, dtype=np.int64)
    np.cumsum(np.bincount(all_tails, minlength=legs * count), out=indptr[1:])
    return Layers(
        indptr=indptr,
        head=all_heads[order],
        seconds=np.concatenate(costs)[order],
        sources=stops[0],
        goals=stops[-1] + (legs - 1) * count,
        grips=count,
    )


def _leg_moves(graph: ReachGraph, tail: Indices, start: Indices, goal: Indices) -> Flags:
    """Tell which moves keep out of sockets that are not where the leg begins or ends."""
    closed_out = graph.grips.kind == GripKind.SOCKET
    closed_in = closed_out.copy()
    closed_out[start] = False
    closed_in[goal] = False
    flags: Flags = ~closed_out[tail] & ~closed_in[graph.moves.head]
    return flags


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
