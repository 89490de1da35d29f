"""Where two routes go the same way their lines are drawn side by side."""

import itertools
from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

__all__ = ["APART_PT", "set_aside"]

Floats = NDArray[np.float64]

APART_PT: Final = 3.2
"""Between the middles of two lines side by side: a line's width and a gap [pt]."""

_SAME_PT: Final = 2.5
"""A line whose middle and an end are no farther than this from another goes the same way [pt]."""


def set_aside(path_pt: Floats, others_pt: Sequence[Floats], shift_pt: float) -> Floats:
    """Return a path moved aside wherever it goes the same way as one of the others.

    The side does not hang on the direction of going: two routes that go one way
    and the other along a rail part to different sides of it, too.

    Parameters
    ----------
    path_pt
        Corners on the page, shape (k, 2) [pt].
    others_pt
        Paths that may go the same way, each of shape (j, 2) [pt].
    shift_pt
        How far, to the left of a line that goes right (or straight up) [pt].

    Examples
    --------
    >>> line = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 30.0]])
    >>> set_aside(line, [np.array([[9.0, 0.0], [0.0, 0.0]])], 1.5).tolist()
    [[0.0, 1.5], [9.0, 1.5], [9.0, 30.0]]
    """
    if len(path_pt) < 2 or shift_pt == 0:
        return path_pt
    steps = np.diff(path_pt, axis=0)
    lengths = np.hypot(*steps.T)
    middles = (path_pt[:-1] + path_pt[1:]) / 2
    near = _nearest_pt(path_pt, others_pt) <= _SAME_PT
    # A line that is only crossed has no end near the other one.
    shared = (_nearest_pt(middles, others_pt) <= _SAME_PT) & (near[:-1] | near[1:]) & (lengths > 0)
    ahead = steps / np.where(lengths > 0, lengths, 1.0)[:, None]
    ahead[(ahead[:, 0] < 0) | ((ahead[:, 0] == 0) & (ahead[:, 1] < 0))] *= -1
    sideways = np.where(shared[:, None], np.column_stack([-ahead[:, 1], ahead[:, 0]]), 0.0)
    total = np.zeros_like(path_pt)
    total[:-1] += sideways
    total[1:] += sideways
    sizes = np.hypot(*total.T)
    # Where lines meet that part to opposite sides, the corner stays where it is.
    moved = np.where((sizes > 0.1)[:, None], total / np.maximum(sizes, 0.1)[:, None], 0.0)
    aside: Floats = path_pt + shift_pt * moved
    return aside


def _nearest_pt(places: Floats, paths: Sequence[Floats]) -> Floats:
    """Return how far each place is from the nearest of the paths, shape (n,) [pt]."""
    nearest = np.full(len(places), np.inf)
    for path in paths:
        for start, end in itertools.pairwise(path):
            step = end - start
            square = float(step @ step)
            along = np.clip((places - start) @ step / square, 0.0, 1.0) if square else 0.0
            foot = start + np.multiply.outer(along, step) if square else start
            nearest = np.minimum(nearest, np.hypot(*(places - foot).T))
    return nearest
