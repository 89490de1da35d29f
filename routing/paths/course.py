"""A course: the grips of one path in order, with the moves between them."""

import math
from collections.abc import Sequence
from itertools import pairwise

from routing.graph.reach_graph import ReachGraph
from structures.frozen import frozen

__all__ = ["Anchoring", "Course", "course_of", "course_seconds", "move_between"]


@frozen(kw_only=True)
class Anchoring:
    """A tether hooked on the way: at which grip of the course, to what, and how long it is.

    ``payout_m`` holds the line out at the grips from ``at`` to the next
    anchoring (leapfrog: empty).
    """

    at: int
    """Index into the course's grips."""
    element_id: str
    line_m: float | None = None
    payout_m: tuple[float, ...] = ()
    seconds: float = 0.0
    """What the transfer costs."""
    stowed_m: float | None = None
    """Line out once it is released and its end stowed at the next tether point (reel)."""
    returns: bool = False
    """Whether it is an earlier tether, taken again on going back."""
    starts: bool = False
    """Whether it is the tether a person starts on, and no transfer."""
    hung_before: bool = False
    """Whether it hangs there from a route before this one (starts)."""
    staged: bool = False
    """Whether it was staged at its tether point, not carried there (reel)."""


@frozen(kw_only=True)
class Course:
    """A path in a reach graph.

    ``grips`` are indices of grips, ``moves`` of the moves between them (one
    fewer), ``via_at`` for each via site the index into ``grips`` where it is
    met, and ``anchorings`` the tethers in order; the first of them may be the
    one that the person starts on.
    """

    grips: tuple[int, ...]
    moves: tuple[int, ...]
    via_at: tuple[int, ...] = ()
    anchorings: tuple[Anchoring, ...] = ()
    unproven_s: float = 0.0
    """By at most this much another course may be faster; 0 where this one is proven best [s]."""


def move_between(graph: ReachGraph, tail: int, head: int) -> int:
    """Return the index of the move from one grip to another.

    Raises
    ------
    LookupError
        The graph has no such move.
    """
    moves = graph.moves
    first, last = int(moves.indptr[tail]), int(moves.indptr[tail + 1])
    heads: list[int] = moves.head[first:last].tolist()
    if head not in heads:
        ids = graph.grips.ids
        raise LookupError(f"no move leads from {ids[tail]} to {ids[head]}; rebuild the graph")
    return first + heads.index(head)


def course_of(graph: ReachGraph, grips: Sequence[int], via_at: Sequence[int] = ()) -> Course:
    """Return the course over grips that are joined by moves of the graph."""
    return Course(
        grips=tuple(grips),
        moves=tuple(move_between(graph, tail, head) for tail, head in pairwise(grips)),
        via_at=tuple(via_at),
    )


def course_seconds(graph: ReachGraph, course: Course) -> float:
    """Return the time of a course, transfers included [s]."""
    on_moves = (float(graph.moves.seconds[move]) for move in course.moves)
    return math.fsum((*on_moves, *(anchoring.seconds for anchoring in course.anchorings)))
