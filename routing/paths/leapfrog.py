"""Leapfrog: two short tethers, one hook always on.

Along one element (a handrail) the hook slides. A hand-over to another element
is possible only if both hooks span it: the next one must be within hook reach
of the hand (to put the new hook on, and to take the old one off), and the
short tether must be as long as the way. A person who gets to a place that
takes no hook (a socket, most handholds) stays on the hook left behind, one
hand-over back; so from there the next place must take one. Hatches take a hook
at their tether point.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats, GripKind, ReachGraph
from structures.elements import Hatch, TetherPoint

__all__ = ["LeapfrogMoves", "hook_flags", "leapfrog_moves"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LeapfrogMoves:
    """Per move of a graph: whether leapfrog allows it, and what its transfer costs.

    ``takes_hook`` is per grip, shape (n,); the other arrays are per move,
    shape (m,).
    """

    takes_hook: NDArray[np.bool_]
    allowed: NDArray[np.bool_]
    transfers: NDArray[np.bool_]
    """Whether the move ends with a transfer."""
    transfer_s: Floats


def hook_flags(graph: ReachGraph) -> NDArray[np.bool_]:
    """Return for each grip whether a short tether's hook can be put on there, shape (n,).

    A hatch takes one when its tether point is open and within hook reach.
    """
    flags = graph.grips.tether_hook.copy()
    for i in np.flatnonzero(graph.grips.kind == GripKind.HATCH):
        hatch = graph.structure.find(graph.grips.element_ids[i], (Hatch,))
        flags[i] = isinstance(hatch, Hatch) and _point_in_reach(graph, hatch, int(i))
    return flags


def _point_in_reach(graph: ReachGraph, hatch: Hatch, grip: int) -> bool:
    if hatch.tether_point in graph.situation.closed:
        return False
    point = graph.structure.find(hatch.tether_point, (TetherPoint,))
    if not isinstance(point, TetherPoint):
        return False
    away_m = float(np.linalg.norm(np.asarray(point.position_m) - graph.grips.position_m[grip]))
    return away_m <= graph.situation.limits.hook_reach_m


def leapfrog_moves(graph: ReachGraph) -> LeapfrogMoves:
    """Return which moves of a graph two short tethers allow, and their transfers."""
    moves, limits = graph.moves, graph.situation.limits
    takes_hook = hook_flags(graph)
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(moves.indptr))
    from_hook, to_hook = takes_hook[tail], takes_hook[moves.head]
    spanned = (moves.gap_m <= limits.hook_reach_m) & (moves.way_m <= limits.short_tether_m)
    on_one_rail = ~moves.changes_rail & from_hook & to_hook
    allowed = moves.line_clear & (on_one_rail | (spanned & (from_hook | to_hook)))
    transfers = moves.changes_rail & to_hook
    return LeapfrogMoves(
        takes_hook=takes_hook,
        allowed=allowed,
        transfers=transfers,
        transfer_s=np.where(transfers, limits.transfer_s, 0.0),
    )
