"""The leapfrog protocol: two short tethers, one hook always on.

Changing the handrail (or whatever else is held) costs one transfer: the free
hook goes on the next, then the other comes off the last. That needs a place for
a hook on both, and the gap within what the short tethers span.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats, GripKind, Grips, Moves

__all__ = ["LeapfrogMoves", "leapfrog_moves"]


class LeapfrogMoves(NamedTuple):
    """What the protocol makes of each move, all of shape (m,)."""

    transfers: NDArray[np.int64]
    extra_s: Floats
    """Seconds for transfers."""
    allowed: NDArray[np.bool_]


def leapfrog_moves(
    grips: Grips, moves: Moves, *, short_tether_m: float, transfer_s: float
) -> LeapfrogMoves:
    """Return transfers, their seconds and whether each move is allowed.

    Along one handrail the hook slides along. Between two elements both ends
    must take a hook, except that at a hatch or socket the hook is on the
    structure's own rail, and the gap must not be larger than a short tether.
    A line must be allowed to lie along every move, as the tether goes with the hands.

    Parameters
    ----------
    short_tether_m
        Length of the short tethers [m].
    transfer_s
        What one transfer takes [s].
    """
    names = {name: number for number, name in enumerate(sorted(set(grips.element_ids)))}
    element = np.array([names[name] for name in grips.element_ids], dtype=np.int64)
    tail = np.repeat(np.arange(len(grips)), np.diff(moves.indptr))
    changes = element[tail] != element[moves.head]
    own_place = (grips.kind == GripKind.HATCH) | (grips.kind == GripKind.SOCKET)
    takes_hook = grips.tether_hook | own_place
    spanned = moves.gap_m <= short_tether_m
    allowed = moves.line_clear & (~changes | (takes_hook[tail] & takes_hook[moves.head] & spanned))
    transfers = changes.astype(np.int64)
    return LeapfrogMoves(
        transfers=transfers, extra_s=transfers * float(transfer_s), allowed=allowed
    )
