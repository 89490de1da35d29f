"""Where the tether of a partner in tow is let go: its end stowed, as after every transfer.

On a reel the end must come to a rated tether point within hook reach, to which the line reaches
with its reserve. Where none is, the line comes along on the way home as far as it lasts: it gets
shorter only by going back along its own lay, and longer by every other move.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import ReachGraph
from routing.paths.course import Course
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.stack import Stay
from routing.paths.tethers.steps import Hooks

__all__ = ["LetGo", "PartnersLine", "lay_back", "let_go_at_once", "let_go_on_the_way"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LetGo:
    """Where a line is let go."""

    point: int
    """Number of the tether point."""
    after_m: float = 0.0
    """How far the line came along until then [m]."""


class PartnersLine:
    """The line a partner hangs on, while its end is taken along.

    Parameters
    ----------
    stay
        Where it is hooked, and its lay.
    ids
        Of the partner's grips: what two people call a grip is the same, its number is not.
    usable_m
        The largest payout it allows [m].
    """

    def __init__(self, stay: Stay, ids: Sequence[str], usable_m: float) -> None:
        self.grips = [ids[grip] for grip in stay.grips]
        self.payout_m = list(stay.payout_m)
        self.usable_m = usable_m

    @property
    def left_m(self) -> float:
        """What is left to pay out [m]."""
        return self.usable_m - self.payout_m[-1]

    def follow(self, grip: str, way_m: float) -> None:
        """Take the end to the next grip: in again along its lay, or out."""
        if len(self.grips) > 1 and self.grips[-2] == grip:
            self.grips.pop()
            self.payout_m.pop()
        else:
            self.grips.append(grip)
            self.payout_m.append(self.payout_m[-1] + way_m)


def let_go_at_once(graph: ReachGraph, grip: int, line: PartnersLine) -> LetGo | None:
    """Return where a line is let go at the grip where the partner is, None if nowhere.

    Parameters
    ----------
    graph
        Of the partner alone, under the conditions that may be in force.
    """
    point = _stow(reel_ground(graph).hooks, grip, line.left_m)
    return None if point is None else LetGo(point=point)


def let_go_on_the_way(
    graph: ReachGraph, course: Course, line: PartnersLine, apart_m: float
) -> LetGo | None:
    """Return where a line is let go first on the way home in tow, None if it runs out before.

    Parameters
    ----------
    graph
        Of the rescuer with the partner in tow.
    apart_m
        From the partner's grip to the first one of the way [m].
    """
    hooks, ids = reel_ground(graph).hooks, graph.grips.ids
    gone_m = apart_m
    if line.grips[-1] != ids[course.grips[0]]:
        line.follow(ids[course.grips[0]], apart_m)
    for grip, move in zip(course.grips[1:], course.moves, strict=True):
        way_m = float(graph.moves.way_m[move])
        gone_m += way_m
        line.follow(ids[grip], way_m)
        if line.left_m < 0 or not graph.moves.line_clear[move]:
            return None
        point = _stow(hooks, grip, line.left_m)
        if point is not None:
            return LetGo(point=point, after_m=gone_m)
    return None


def lay_back(
    graph: ReachGraph, line: PartnersLine, first: int
) -> tuple[LetGo, tuple[int, ...]] | None:
    """Return where a line is let go first on the way back along its lay, and the grips there.

    Parameters
    ----------
    graph
        Of the rescuer with the partner in tow.
    first
        The rescuer's grip beside the partner.

    Returns
    -------
    tuple or None
        None where the rescuer has no grip at a place on the lay, or there is no tether point.
    """
    hooks, ids = reel_ground(graph).hooks, graph.grips.ids
    numbers = {one: i for i, one in enumerate(ids)}
    if line.grips[-1] != ids[first]:
        return None
    grips = [first]
    for one, payout_m in zip(line.grips[-2::-1], line.payout_m[-2::-1], strict=True):
        if one not in numbers:
            return None
        grips.append(numbers[one])
        point = _stow(hooks, grips[-1], line.usable_m - payout_m)
        if point is not None:
            gone_m = line.payout_m[-1] - payout_m
            return LetGo(point=point, after_m=gone_m), tuple(grips)
    return None


def _stow(hooks: Hooks, grip: int, left_m: float) -> int | None:
    """Return the nearest tether point at which a line that is let go at a grip can be stowed."""
    here = np.flatnonzero((hooks.grip == grip) & (hooks.distance_m <= left_m))
    if not len(here):
        return None
    return int(hooks.point[here[np.argmin(hooks.distance_m[here])]])
