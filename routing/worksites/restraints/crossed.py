"""How many lines of settings shapes stand in for certain: far cheaper than all checks of lines.

Where a target is hidden every setting must be looked at to know that none is
better. Most are passed over by this count.
"""

from collections.abc import Sequence

import numpy as np

from routing.graph.surroundings import Named
from routing.worksites.restraints.bounds import Bounds
from routing.worksites.restraints.columns import Aim, Aims
from structures.elements import Target
from structures.solids.axes import Flags, Floats, Indices
from structures.solids.sight import crosses

__all__ = ["crossed_lines"]


def crossed_lines(
    bounds: Bounds, targets: Sequence[Target], some: Indices, aims: Aims, enough: int = 2
) -> Indices:
    """Count the checks of lines (helmet, shoulder) that fail for certain, shape (k,).

    Seams are not looked for, so that what the full check finds is never less.

    Parameters
    ----------
    bounds
        Of one body and type of restraint in one socket: where eyes and shoulders are.
    targets
        All must be seen and reached.
    some
        Numbers of settings, shape (k,).
    aims
        Targets made ready in what stands round the socket.
    enough
        Where so many fail no more is looked at.
    """
    solids, all_ = aims.around.solids, aims.around.body
    eye_m, left_m, right_m = (bounds.at_m(name, some) for name in ("eye", "left", "right"))
    hidden, out_of_arms = np.zeros((2, len(some)), dtype=np.bool_)
    for aim in (aims[one] for one in targets):
        ask = np.flatnonzero(~hidden)
        hidden[ask] = _crossed(eye_m[ask], aim, solids)
    for aim in (aims[one] for one in targets):
        ask = np.flatnonzero(~out_of_arms & (hidden < enough))
        left = _crossed(left_m[ask], aim, all_)
        # With one hand the other arm matters where this one fails; with both where it does not.
        other = ~left if aim.both_hands else left
        right = np.zeros(len(ask), dtype=np.bool_)
        right[other] = _crossed(right_m[ask[other]], aim, all_)
        out_of_arms[ask] = left | right if aim.both_hands else left & right
    return hidden.astype(np.int64) + out_of_arms


def _crossed(starts_m: Floats, aim: Aim, around: Named) -> Flags:
    """Tell which lines from places to a target go through a shape, shape (s,)."""
    found = np.zeros(len(starts_m), dtype=np.bool_)
    ends_m = np.broadcast_to(aim.looked_at_m, starts_m.shape)
    for shape in around.near(np.concatenate([starts_m, ends_m[:1]]), 0.0):
        ask = np.flatnonzero(~found)
        found[ask] = crosses(shape, starts_m[ask], ends_m[ask])
    return found
