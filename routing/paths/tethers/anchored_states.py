"""The tether states a person is in along a course on reels, hold by hold.

A course logs which tether is in use where and how much line is out; the state,
the whole stack of stays with their lays, is read from that log again.
"""

from dataclasses import dataclass
from itertools import pairwise

from routing.paths.course import Anchoring, Course
from routing.paths.tethers.outfit import Outfit
from routing.paths.tethers.stack import Stay, TetherState

__all__ = ["states_along"]


def states_along(
    course: Course, outfit: Outfit, start: TetherState | None = None
) -> tuple[tuple[TetherState, ...], ...]:
    """Return the states a person is in at each hold of a course.

    At most holds that is one state; at a hold with transfers it is the state on
    arrival and the one after each transfer.

    Parameters
    ----------
    course
        On reels, its first anchoring the tether that the person starts on.
    outfit
        Of the kit that the course was found with.
    start
        The state at the first hold; by default on a fresh tether, taken from the kit.

    Raises
    ------
    ValueError
        The course is not on reels, or not on those of the outfit.
    """
    if not course.anchorings or course.anchorings[0].line_m is None:
        raise ValueError("only a course on reels has tether states; this one has no reel")
    replay = _Replay(outfit, start)
    found: list[list[TetherState]] = [[] for _ in course.grips]
    ends = [following.at for _, following in pairwise(course.anchorings)]
    for anchoring, end in zip(course.anchorings, (*ends, len(course.grips) - 1), strict=True):
        if start is None or not anchoring.starts:
            replay.hook(anchoring, course.grips[anchoring.at])
        found[anchoring.at].append(replay.state())
        for at in range(anchoring.at + 1, end + 1):
            replay.step(course.grips[at], anchoring.payout_m[at - anchoring.at])
            found[at].append(replay.state())
    return tuple(tuple(states) for states in found)


@dataclass(slots=True)
class _Line:
    """A stay while its lay grows and shrinks."""

    point: int
    tether: int
    staged: bool
    grips: list[int]
    payout_m: list[float]

    def stay(self) -> Stay:
        return Stay(
            point=self.point,
            tether=self.tether,
            staged=self.staged,
            grips=tuple(self.grips),
            payout_m=tuple(self.payout_m),
        )


def _line(stay: Stay) -> _Line:
    return _Line(stay.point, stay.tether, stay.staged, list(stay.grips), list(stay.payout_m))


class _Replay:
    """A person's tethers while a course is being followed."""

    def __init__(self, outfit: Outfit, start: TetherState | None) -> None:
        self.points = {point.id: number for number, point in enumerate(outfit.points)}
        self.tethers = {tether.length_m: n for n, tether in enumerate(outfit.rules.tethers)}
        self.carried = list(outfit.carried if start is None else start.carried)
        self.staged = list(outfit.staged if start is None else start.staged)
        self.stack: list[_Line] = [] if start is None else [_line(one) for one in start.stack]

    def hook(self, anchoring: Anchoring, grip: int) -> None:
        """Take the next tether, or the one before again."""
        if anchoring.returns:
            line = self.stack.pop()
            if line.staged:
                self.staged.append((line.point, line.tether))
            else:
                self.carried[line.tether] += 1
            return
        point = self.points.get(anchoring.element_id)
        tether = None if anchoring.line_m is None else self.tethers.get(anchoring.line_m)
        if point is None or tether is None:
            raise ValueError(
                f"the course hangs on {anchoring.element_id} with a line of {anchoring.line_m} m, "
                "which this kit does not have; give the kit that the course was found with"
            )
        if anchoring.staged:
            self.staged.remove((point, tether))
        else:
            self.carried[tether] -= 1
        payout_m = [anchoring.payout_m[0]]
        self.stack.append(_Line(point, tether, anchoring.staged, [grip], payout_m))

    def step(self, grip: int, payout_m: float) -> None:
        """Come to the next grip; with less line out that is a step back along the lay."""
        line = self.stack[-1]
        if len(line.grips) > 1 and line.grips[-2] == grip and payout_m < line.payout_m[-1]:
            line.grips.pop()
            line.payout_m.pop()
        else:
            line.grips.append(grip)
            line.payout_m.append(payout_m)

    def state(self) -> TetherState:
        return TetherState(
            stack=tuple(line.stay() for line in self.stack),
            carried=tuple(self.carried),
            staged=tuple(sorted(self.staged)),
        )
