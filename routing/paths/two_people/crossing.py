"""Where the lines of two people cross, who lies over whom, and whether it undoes itself."""

from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from routing.graph.reach_graph import Floats
from routing.paths.two_people.lays import LaidLine
from structures.frozen import frozen
from structures.polylines import segment_gaps

__all__ = ["Contact", "Order", "Over", "contacts", "home_order", "near_pieces"]

Over: TypeAlias = Literal["first", "second", "both", "unknown"]
"""Whose line lies over the other's: who laid it later; ``both``: changing along the stretch."""

Order: TypeAlias = Literal["either", "first goes home first", "second goes home first", "none"]
"""In which order people can go home so that every crossing undoes itself."""

_SAME_TIME_S = 1.0
"""Lines laid within so many seconds of each other: who is first is not known."""


@frozen(kw_only=True)
class Contact:
    """One stretch along which the two lines come nearer to each other than allowed."""

    together: bool
    """Whether they lie together from the start on: side by side, without a crossing."""
    first_piece: int
    """Where they are nearest: piece of the first line."""
    second_piece: int
    distance_m: float
    """There; a lower bound where a line goes round an edge."""
    place_m: tuple[float, float, float]
    """Half way between the two."""
    first_pieces: tuple[int, int]
    """First and last piece of the first line in the stretch."""
    second_pieces: tuple[int, int]
    first_m: float
    """Length of the first line in the stretch [m]."""
    over: Over
    """Not meaningful where lines lie together from the start on."""


def near_pieces(
    first: LaidLine, second: LaidLine, apart_m: float
) -> tuple[NDArray[np.bool_], Floats, Floats]:
    """Return which pieces come nearer than allowed, and how near.

    Returns
    -------
    tuple
        Flags, distances [m] (lower bounds), and the place half way [m], of shapes
        (n, m), (n, m) and (n, m, 3).
    """
    gap_m, share, other = segment_gaps(
        first.start_m[:, None], first.end_m[:, None], second.start_m[None], second.end_m[None]
    )
    distance_m = np.maximum(gap_m - first.spare_m[:, None] - second.spare_m[None], 0.0)
    here_m = first.start_m[:, None] + share[..., None] * (first.end_m - first.start_m)[:, None]
    there_m = second.start_m[None] + other[..., None] * (second.end_m - second.start_m)[None]
    return distance_m <= apart_m, distance_m, (here_m + there_m) / 2


def contacts(
    first: LaidLine, second: LaidLine, apart_m: float, *, after_s: float = 0.0
) -> tuple[Contact, ...]:
    """Return every stretch along which two people's lines come nearer than allowed.

    Parameters
    ----------
    apart_m
        Lines nearer than this may cross or tangle [m].
    after_s
        How much later the second person starts [s].

    Returns
    -------
    tuple of Contact
        Along the first line.

    Notes
    -----
    Pieces that follow each other on both lines belong to one stretch. A stretch
    that begins with both lines is no crossing: whoever comes second lays beside
    the first. Any other one may be one, and counts as one.
    """
    from scipy.ndimage import label

    near, distance_m, place_m = near_pieces(first, second, apart_m)
    labels, count = label(near, structure=np.ones((3, 3)))
    later_s = second.laid_s[None] + after_s - first.laid_s[:, None]
    length_m = np.sqrt(((first.end_m - first.start_m) ** 2).sum(axis=1))
    apart_at_start_m = float(np.sqrt(((first.start_m[0] - second.start_m[0]) ** 2).sum()))
    begun = int(labels[0, 0]) if apart_at_start_m <= apart_m else 0
    found = []
    for number in range(1, count + 1):
        cells = np.argwhere(labels == number)
        rows, columns = cells[:, 0], cells[:, 1]
        closest = int(np.argmin(distance_m[rows, columns]))
        i, j = int(rows[closest]), int(columns[closest])
        x, y, z = (float(value) for value in place_m[i, j])
        found.append(
            Contact(
                together=number == begun,
                first_piece=i,
                second_piece=j,
                distance_m=float(distance_m[i, j]),
                place_m=(x, y, z),
                first_pieces=(int(rows.min()), int(rows.max())),
                second_pieces=(int(columns.min()), int(columns.max())),
                first_m=float(length_m[rows.min() : rows.max() + 1].sum()),
                over=_over(later_s[rows, columns]),
            )
        )
    return tuple(sorted(found, key=lambda one: (one.first_pieces, one.second_pieces)))


def _over(later_s: Floats) -> Over:
    """Tell who lies over whom from how much later the second line was laid, at each place."""
    if (np.abs(later_s) < _SAME_TIME_S).any():
        return "unknown"
    if (later_s > 0).all():
        return "second"
    return "first" if (later_s < 0).all() else "both"


def home_order(found: tuple[Contact, ...]) -> Order:
    """Return in which order people can go home so that every crossing undoes itself.

    Whoever's line lies over the other's everywhere takes it in first, back along
    its lay; then the other line is free.
    """
    over = {contact.over for contact in found if not contact.together}
    if not over:
        return "either"
    if over == {"second"}:
        return "second goes home first"
    return "first goes home first" if over == {"first"} else "none"
