"""Whether an item goes from hand to hand freely: within both reaches, past solids and zones."""

from collections.abc import Sequence
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats
from routing.graph.surroundings import Surroundings
from structures.solids.seams import line_blocked
from structures.solids.sweep import Sweep, sweep_clears

__all__ = ["hands_meet"]

_STEP_M: Final = 0.1
"""Places for the hands to meet are looked for so far from each other."""


def hands_meet(
    around: Surroundings, grips_m: Floats, normals_m: Floats, reaches_m: Sequence[float]
) -> bool:
    """Tell whether there is a place that both hands get to in a straight, clear line.

    Each person holds on with one hand and reaches as far as from hand to hand. Places
    are tried on the line between the two grips and outward of it; so a yes is certain,
    and a no means that none of them will do. The item itself has no size here.

    Parameters
    ----------
    around
        Solids, and the keep-out zones for people and items that may be in force.
    grips_m, normals_m
        Where the two hold on, and the outward unit normals there, shape (2, 3) [m].
    reaches_m
        How far each of the two reaches [m].
    """
    outward = normals_m.sum(axis=0)
    length = float(np.linalg.norm(outward))
    outward = outward / length if length > 0 else normals_m[0]
    shares = np.linspace(0.0, 1.0, 21)[:, None, None]
    heights_m = np.arange(0.0, max(reaches_m) + _STEP_M, _STEP_M)[None, :, None]
    between_m = grips_m[0] + shares * (grips_m[1] - grips_m[0])
    places_m = (between_m + heights_m * outward).reshape(-1, 3)
    free = np.ones(len(places_m), dtype=bool)
    for grip_m, reach_m in zip(grips_m, reaches_m, strict=True):
        free &= np.sqrt(((places_m - grip_m) ** 2).sum(axis=1)) <= reach_m
    places_m = places_m[free]
    clear = np.ones(len(places_m), dtype=bool)
    for grip_m in grips_m:
        clear &= _clear(around, np.broadcast_to(grip_m, places_m.shape), places_m)
    return bool(clear.any())


def _clear(around: Surroundings, from_m: Floats, to_m: Floats) -> Floats:
    if not len(to_m):
        return np.zeros(0, dtype=bool)
    still = np.tile([1.0, 0.0, 0.0], (len(to_m), 1))
    swept = sweep_clears(around.body.shapes, Sweep(from_m, to_m, still, still, 0.0), 0.0)
    return np.asarray(swept & ~line_blocked(around.solids.tables, from_m, to_m))
