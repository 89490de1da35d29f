"""Where the safety lines of one person lie over the whole outing: each piece, since when, how long.

A line gets longer and shorter at the hand only. So its pieces form a tree: each
lies between the one before it, laid earlier and taken up later, and what was
laid from there on.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from routing.graph.reach_graph import Floats
from routing.outings.safety.moments import Moment
from routing.outings.translations import Ground
from routing.paths.course import move_between
from routing.paths.tethers.stack import TetherState
from routing.paths.two_people.lays import Piece, spare_m

__all__ = ["LaidLines", "LaidPiece", "laid_lines"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidPiece:
    """One straight piece of a line, from when it is laid until it is taken up."""

    piece: Piece
    before: int | None
    """The piece that it goes on from, by number; None for the first."""
    laid_s: tuple[float, float]
    """Laid within this stretch of time: the hand-over takes that long [s]."""
    laid_in: str
    """The activity in which that is."""
    taken_s: tuple[float, float]
    """Taken up within this; at the end of the outing where it never is [s]."""
    taken_in: str | None = None
    """The activity in which that is; None where it stays outside."""


@dataclass(frozen=True, kw_only=True, eq=False)
class LaidLines:
    """All pieces that one person ever lays, and which of them lie there when."""

    person: str
    pieces: tuple[LaidPiece, ...]
    start_m: Floats
    """Shape (n, 3) [m]."""
    end_m: Floats
    spare_m: Floats
    """How far the line may be from the straight piece, shape (n,) [m]."""
    at_s: tuple[float, ...]
    """When what lies there changes [s]."""
    lying: tuple[tuple[int, ...], ...]
    """From each of these times on the pieces that lie there, from the hatch on."""
    until_s: float

    @cached_property
    def onward(self) -> tuple[tuple[int, ...], ...]:
        """For each piece those that go on from it, ascending."""
        found: list[list[int]] = [[] for _ in self.pieces]
        for number, one in enumerate(self.pieces):
            if one.before is not None:
                found[one.before].append(number)
        return tuple(tuple(one) for one in found)

    def spans(self) -> Iterator[tuple[float, float, tuple[tuple[int, ...], ...]]]:
        """Yield (start, end, lays) over the whole time: all lays that there may be meanwhile.

        Between two grips the line lies as at the one or as at the other. Where one
        of the two only goes on from the other, it stands for both.
        """
        ends = (*self.at_s[1:], self.until_s)
        following = (*self.lying[1:], self.lying[-1])
        for start_s, end_s, here, there in zip(self.at_s, ends, self.lying, following, strict=True):
            shorter, longer = sorted((here, there), key=len)
            if longer[: len(shorter)] == shorter:
                yield start_s, end_s, (longer,)
            else:
                yield start_s, end_s, (here, there)


def laid_lines(
    ground: Ground, person: str, moments: Sequence[Moment], until_s: float
) -> LaidLines | None:
    """Return the lines of one person over time; None under leapfrog or where nobody is outside.

    Parameters
    ----------
    moments
        Of that person, by time.
    until_s
        When the acts are done [s].
    """
    if not moments or any(one.state is None for one in moments):
        return None
    laying = _Laying(ground, person, moments[0].at_s)
    for moment in moments:
        laying.come_to(moment)
    return laying.lines(until_s)


@dataclass(kw_only=True)
class _Growing:
    """Pieces and their places, in the order of laying."""

    pieces: list[LaidPiece] = field(default_factory=list)
    start_m: list[Floats] = field(default_factory=list)
    end_m: list[Floats] = field(default_factory=list)
    spare_m: list[float] = field(default_factory=list)


class _Laying:
    """Follow one person's tether states and enter what is laid and taken up between them."""

    def __init__(self, ground: Ground, person: str, at_s: float) -> None:
        self.ground = ground
        self.person = person
        self.grown = _Growing()
        self.now: tuple[int, ...] = ()
        self.before_s = at_s
        self.at_s: list[float] = []
        self.lying: list[tuple[int, ...]] = []

    @cached_property
    def _points_m(self) -> Floats:
        points = [one.position_m for one in self.ground.tether_points]
        return np.array(points, dtype=float).reshape(-1, 3)

    def come_to(self, moment: Moment) -> None:
        if moment.state is None:
            raise AssertionError("whoever is on reels hangs on something")
        keys = _pieces_of(moment.state)
        same = 0
        for number, key in zip(self.now, keys, strict=False):
            if self.grown.pieces[number].piece != key:
                break
            same += 1
        within_s = (self.before_s, moment.at_s)
        for number in self.now[same:]:
            self.grown.pieces[number] = replace(
                self.grown.pieces[number], taken_s=within_s, taken_in=moment.activity
            )
        lying = list(self.now[:same])
        for key in keys[same:]:
            lying.append(self._lay(key, lying[-1] if lying else None, within_s, moment))
        if tuple(lying) != self.now or not self.at_s:
            if self.at_s and self.before_s > self.at_s[-1]:
                # It is only since the last grip that something changes.
                self.at_s.append(self.before_s)
                self.lying.append(self.now)
            self.at_s.append(moment.at_s)
            self.lying.append(tuple(lying))
        self.now = tuple(lying)
        self.before_s = moment.at_s

    def _lay(
        self, key: Piece, before: int | None, within_s: tuple[float, float], moment: Moment
    ) -> int:
        kind, first, second = key
        graph = self.ground.graph(self.person, moment.carry, moment.when)
        position_m = graph.grips.position_m
        spare = 0.0
        if kind == "move":
            at = move_between(graph, first, second)
            spare = float(spare_m(graph.moves.way_m[[at]], graph.moves.gap_m[[at]])[0])
        self.grown.start_m.append(self._points_m[first] if kind == "hook" else position_m[first])
        self.grown.end_m.append(position_m[second])
        self.grown.spare_m.append(spare)
        self.grown.pieces.append(
            LaidPiece(
                piece=key,
                before=before,
                laid_s=within_s,
                laid_in=moment.activity,
                taken_s=(np.inf, np.inf),
            )
        )
        return len(self.grown.pieces) - 1

    def lines(self, until_s: float) -> LaidLines:
        return LaidLines(
            person=self.person,
            pieces=tuple(
                one if one.taken_in is not None else replace(one, taken_s=(until_s, until_s))
                for one in self.grown.pieces
            ),
            start_m=np.array(self.grown.start_m).reshape(-1, 3),
            end_m=np.array(self.grown.end_m).reshape(-1, 3),
            spare_m=np.array(self.grown.spare_m),
            at_s=tuple(self.at_s),
            lying=tuple(self.lying),
            until_s=until_s,
        )


def _pieces_of(state: TetherState) -> list[Piece]:
    """Return the pieces of all lays, from the first stay on.

    The line that was let go is stowed where the next one is hooked on, so the
    piece from that point to the hand stands for both.
    """
    found: list[Piece] = []
    for stay in state.stack:
        found.append(("hook", stay.point, stay.grips[0]))
        found += [("move", tail, head) for tail, head in pairwise(stay.grips)]
    return found
