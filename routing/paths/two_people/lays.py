"""Where the safety lines of one person lie in space once a route is done, and since when."""

from typing import TypeAlias

import numpy as np

from routing.graph.reach_graph import Floats, ReachGraph
from routing.paths.course import move_between
from routing.paths.tethers.outfit import Outfit
from routing.paths.tethers.path import TetheredPath
from structures.frozen import frozen

__all__ = ["LaidLine", "Piece", "laid_line", "spare_m"]

Piece: TypeAlias = tuple[str, int, int]
"""("move", grip, grip) along the hands' way, or ("hook", tether point, grip) straight."""


@frozen(kw_only=True, eq=False)
class LaidLine:
    """The lines of all stays one after the other, as n straight pieces at the height of the hands.

    A line follows the hands' way, which may go round an edge: it is nowhere
    farther from its straight piece than ``spare_m``.
    """

    pieces: tuple[Piece, ...]
    start_m: Floats
    """Shape (n, 3) [m]."""
    end_m: Floats
    spare_m: Floats
    """Shape (n,) [m]."""
    laid_s: Floats
    """When each piece is laid, from the start of the route, shape (n,) [s]."""
    staged: tuple[tuple[int, int], ...]
    """(tether point, type) of each staged tether that was taken."""

    def __len__(self) -> int:
        return len(self.pieces)


def spare_m(way_m: Floats, gap_m: Floats) -> Floats:
    """Return how far a line of this length can be from the straight piece between its ends [m].

    A point of it lies on the ellipse with the ends as focal points and the
    length as sum; the half minor axis is the farthest. All shapes (n,).

    Examples
    --------
    >>> spare_m(np.array([5.0]), np.array([4.0]))
    array([1.5])
    """
    farthest: Floats = np.sqrt(np.maximum(way_m**2 - gap_m**2, 0.0)) / 2
    return farthest


def laid_line(graph: ReachGraph, outfit: Outfit, path: TetheredPath) -> LaidLine:
    """Return the lines that lie where somebody went who started with one straight line.

    Parameters
    ----------
    path
        A path on reels that lays line forward only (without via sites).

    Raises
    ------
    ValueError
        The path goes back somewhere: then its lays are not its nodes.
    """
    if tuple(grip for stay in path.state.stack for grip in stay.grips) != _laid_nodes(path):
        raise ValueError("the path goes back over its lays; ask for one without via sites")
    position_m, moves = graph.grips.position_m, graph.moves
    points_m = np.array([point.position_m for point in outfit.points], dtype=float)
    pieces: list[Piece] = []
    spare: list[float] = []
    laid: list[float] = []
    now_s = 0.0
    stack = path.state.stack
    for number, stay in enumerate(stack):
        if number > 0:
            now_s += outfit.rules.transfer_s
            # The line let go is stowed at the point that the next one is hooked to.
            pieces.append(("hook", stay.point, stay.grips[0]))
            spare.append(0.0)
            laid.append(now_s)
        pieces.append(("hook", stay.point, stay.grips[0]))
        spare.append(0.0)
        laid.append(now_s)
        for tail, head in zip(stay.grips, stay.grips[1:], strict=False):
            move = move_between(graph, tail, head)
            now_s += float(moves.seconds[move])
            pieces.append(("move", tail, head))
            spare.append(float(spare_m(moves.way_m[[move]], moves.gap_m[[move]])[0]))
            laid.append(now_s)
    ends = [_ends(piece, points_m, position_m) for piece in pieces]
    return LaidLine(
        pieces=tuple(pieces),
        start_m=np.array([begin for begin, _ in ends]),
        end_m=np.array([end for _, end in ends]),
        spare_m=np.array(spare),
        laid_s=np.array(laid),
        staged=tuple((stay.point, stay.tether) for stay in stack if stay.staged),
    )


def _laid_nodes(path: TetheredPath) -> tuple[int, ...]:
    """Return the grips of a path, those of a transfer twice: the next lay begins there."""
    at = [swap.at for swap in path.transfers]
    return tuple(grip for i, grip in enumerate(path.nodes) for _ in range(1 + at.count(i)))


def _ends(piece: Piece, points_m: Floats, position_m: Floats) -> tuple[Floats, Floats]:
    kind, first, second = piece
    begin: Floats = points_m[first] if kind == "hook" else position_m[first]
    end: Floats = position_m[second]
    return begin, end
