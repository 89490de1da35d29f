"""Two people's routes whose lines do not cross, with the least seconds for both together.

Start from both best routes. While their lines cross, there is a small ball
that both lines go through: any two lines through it are nearer to each other
than allowed. So in every pair without crossing one of the two lines stays out
of the ball. Both cases are searched, the pair with the least seconds first
(a conflict-based search; Sharon, Stern, Felner, Sturtevant, Artificial
Intelligence 219, 2015, from memory).
"""

import itertools
from collections.abc import Iterator
from dataclasses import replace
from heapq import heappop, heappush
from typing import Final, NamedTuple, TypeAlias

import numpy as np

from routing.graph.reach_graph import Flags, Floats, Indices, ReachGraph
from routing.paths.search.arrays import Network
from routing.paths.tethers.outfit import Outfit
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_path
from routing.paths.tethers.stack import TetherState
from routing.paths.tethers.steps import Hooks, TetherGround
from routing.paths.two_people.crossing import Contact, contacts, near_pieces
from routing.paths.two_people.lays import LaidLine, Piece, laid_line
from structures.frozen import frozen
from structures.polylines import segment_gaps

__all__ = ["Apart", "Pair", "Traveller", "find_apart"]

MOST_PAIRS: Final = 300
"""Pairs looked at before the search gives up."""


class Ball(NamedTuple):
    """A ball that a line must stay out of [m]."""

    x_m: float
    y_m: float
    z_m: float
    radius_m: float


class Barred(NamedTuple):
    """A single piece that a line must not have, in either direction."""

    piece: Piece


class Rationed(NamedTuple):
    """How many tethers of one type, staged at one point, may be taken at most."""

    point: int
    length_m: float
    most: int


Bar: TypeAlias = Ball | Barred | Rationed

_INSIDE: Final = 1e-9
"""Two lines that touch a ball are nearer to each other than allowed, rounding included [m]."""


@frozen(kw_only=True, eq=False)
class Traveller:
    """One of the two people: where the lines can lie, from where and to where."""

    graph: ReachGraph
    outfit: Outfit
    ground: TetherGround
    starts: tuple[TetherState, ...]
    goals: tuple[int, ...]

    def best(self, bars: frozenset[Bar]) -> TetheredPath | None:
        """Return the least-time path whose line keeps out of all that is barred."""
        ground, starts = self.ground, self.starts
        if bars:
            ground = self._without(bars)
            starts = tuple(self._kept(bars))
        if not starts:
            return None
        problem = TetherProblem(ground=ground, rules=self.outfit.rules, starts=starts)
        return find_tethered_path(problem, self.goals)

    @property
    def lengths_m(self) -> tuple[float, ...]:
        """Length of each type of tether: the two may number them differently [m]."""
        return tuple(tether.length_m for tether in self.outfit.rules.tethers)

    def staged(self, line: LaidLine | None = None) -> list[tuple[int, float]]:
        """Return (tether point, length [m]) of the staged tethers that a line takes, or of all."""
        keys = self.outfit.staged if line is None else line.staged
        return [(point, self.lengths_m[tether]) for point, tether in keys]

    def line(self, path: TetheredPath) -> LaidLine:
        """Return where the line of a path lies."""
        return laid_line(self.graph, self.outfit, path)

    def _points_m(self) -> Floats:
        return np.array([point.position_m for point in self.outfit.points], dtype=float)

    def _without(self, bars: frozenset[Bar]) -> TetherGround:
        network, hooks = self.ground.network, self.ground.hooks
        position_m = self.graph.grips.position_m
        barred = _touched(position_m[network.tail], position_m[network.head], bars)
        for bar in bars:
            if isinstance(bar, Barred) and bar.piece[0] == "move":
                ends = np.array(sorted(bar.piece[1:]))
                pairs = np.sort(np.stack([network.tail, network.head], axis=1), axis=1)
                barred |= (pairs == ends).all(axis=1)
        kept: Network = network.without(moves=np.flatnonzero(barred).tolist())
        free = ~self._hooks_barred(hooks.point, hooks.grip, bars)
        return TetherGround(
            network=kept,
            way_m=self.graph.moves.way_m[kept.move],
            hooks=Hooks(
                point=hooks.point[free], grip=hooks.grip[free], distance_m=hooks.distance_m[free]
            ),
        )

    def _hooks_barred(self, point: Indices, grip: Indices, bars: frozenset[Bar]) -> Flags:
        barred = _touched(self._points_m()[point], self.graph.grips.position_m[grip], bars)
        for bar in bars:
            if isinstance(bar, Barred) and bar.piece[0] == "hook":
                barred |= (point == bar.piece[1]) & (grip == bar.piece[2])
        return barred

    def _kept(self, bars: frozenset[Bar]) -> Iterator[TetherState]:
        for state in self.starts:
            stay = state.stack[0]
            here = np.array([stay.point]), np.array([stay.grips[0]])
            if self._hooks_barred(*here, bars)[0]:
                continue
            left = list(state.staged)
            for bar in bars:
                if isinstance(bar, Rationed):
                    key = (bar.point, self.lengths_m.index(bar.length_m))
                    while left.count(key) > bar.most:
                        left.remove(key)
            yield replace(state, staged=tuple(left))


def _touched(start_m: Floats, end_m: Floats, bars: frozenset[Bar]) -> Flags:
    """Tell which straight pieces touch a ball."""
    touched = np.zeros(len(start_m), dtype=bool)
    for bar in bars:
        if isinstance(bar, Ball):
            centre_m = np.array([bar[:3]])
            gap_m, _, _ = segment_gaps(start_m, end_m, centre_m, centre_m)
            touched |= gap_m <= bar.radius_m
    return touched


@frozen(kw_only=True, eq=False)
class Pair:
    """A route for each of the two, and how their lines come near each other."""

    first: TetheredPath
    second: TetheredPath
    contacts: tuple[Contact, ...]
    shared_staged: tuple[tuple[int, float], ...] = ()
    """(tether point, length [m]) of staged tethers that both would take, more than there are."""

    @property
    def seconds(self) -> float:
        """Seconds of both together."""
        return self.first.cost + self.second.cost

    @property
    def crosses(self) -> bool:
        """Whether the lines cross, or both count on one staged tether."""
        return bool(self.shared_staged) or any(not one.together for one in self.contacts)


@frozen(kw_only=True, eq=False)
class Apart:
    """What the search for a pair whose lines do not cross found out."""

    best: Pair | None
    """Both least-time routes; None where one of them does not exist."""
    clean: Pair | None
    """The pair whose lines do not cross, None if none was found."""
    lower: float
    """No pair searched for takes less for both together; infinite where there is none."""
    proven: bool
    """Whether the search came to its end."""
    tried: int


def find_apart(
    first: Traveller,
    second: Traveller,
    apart_m: float,
    *,
    after_s: float = 0.0,
    most_pairs: int = MOST_PAIRS,
) -> Apart:
    """Find the pair of routes with the least seconds together whose lines do not cross.

    Parameters
    ----------
    apart_m
        Lines nearer to each other than this, elsewhere than from the start on
        together, count as crossing [m].
    after_s
        How much later the second person starts [s].
    most_pairs
        Pairs looked at before the search gives up.

    Notes
    -----
    Proven least of all pairs whose lines keep apart wherever the lines of a
    better pair would cross. Not looked at are pairs that go through such a place
    too, but lie together from the start on all the way to it.
    """
    pairs = _Pairs(first, second, apart_m, after_s)
    none: frozenset[Bar] = frozenset()
    start = pairs.under(none, none)
    if start is None:
        return Apart(best=None, clean=None, lower=float("inf"), proven=True, tried=0)
    count = itertools.count()
    heap = [(start.seconds, next(count), start, none, none)]
    seen = {(none, none)}
    tried = 0
    while heap:
        seconds, _, pair, one, other = heappop(heap)
        if not pair.crosses:
            return Apart(best=start, clean=pair, lower=seconds, proven=True, tried=tried)
        if tried >= most_pairs:
            return Apart(best=start, clean=None, lower=seconds, proven=False, tried=tried)
        tried += 1
        bars = _bars(first, second, pair, apart_m)
        for under in ((one | {bars[0]}, other), (one, other | {bars[1]})):
            if under in seen:
                continue
            seen.add(under)
            found = pairs.under(*under)
            if found is not None:
                heappush(heap, (found.seconds, next(count), found, *under))
    return Apart(best=start, clean=None, lower=float("inf"), proven=True, tried=tried)


class _Pairs:
    """The best pairs under what is barred for each of the two; every route is searched once."""

    def __init__(self, first: Traveller, second: Traveller, apart_m: float, after_s: float) -> None:
        self.both = (first, second)
        self.apart_m = apart_m
        self.after_s = after_s
        self.searched: dict[tuple[int, frozenset[Bar]], TetheredPath | None] = {}

    def _best(self, who: int, bars: frozenset[Bar]) -> TetheredPath | None:
        if (who, bars) not in self.searched:
            self.searched[who, bars] = self.both[who].best(bars)
        return self.searched[who, bars]

    def under(self, one: frozenset[Bar], other: frozenset[Bar]) -> Pair | None:
        here = self._best(0, one)
        there = None if here is None else self._best(1, other)
        if here is None or there is None:
            return None
        lines = self.both[0].line(here), self.both[1].line(there)
        return Pair(
            first=here,
            second=there,
            contacts=contacts(*lines, self.apart_m, after_s=self.after_s),
            shared_staged=_shared(self.both, lines),
        )


def _shared(
    both: tuple[Traveller, Traveller], lines: tuple[LaidLine, LaidLine]
) -> tuple[tuple[int, float], ...]:
    there = both[0].staged()
    one, other = (who.staged(line) for who, line in zip(both, lines, strict=True))
    return tuple(
        sorted(
            key
            for key in set(one) & set(other)
            if one.count(key) + other.count(key) > there.count(key)
        )
    )


def _bars(first: Traveller, second: Traveller, pair: Pair, apart_m: float) -> tuple[Bar, Bar]:
    """Return what the first or else the second line must stay out of, in every clean pair."""
    lines = first.line(pair.first), second.line(pair.second)
    crossings = [one for one in pair.contacts if not one.together]
    if not crossings:
        key = pair.shared_staged[0]
        taken = [
            who.staged(line).count(key) for who, line in zip((first, second), lines, strict=True)
        ]
        return Rationed(*key, taken[0] - 1), Rationed(*key, taken[1] - 1)
    contact = min(crossings, key=lambda one: (one.distance_m, one.first_piece))
    i, j = contact.first_piece, contact.second_piece
    _, _, place_m = near_pieces(*lines, apart_m)
    gap_m, _, _ = segment_gaps(
        lines[0].start_m[i], lines[0].end_m[i], lines[1].start_m[j], lines[1].end_m[j]
    )
    radius_m = apart_m / 2 - _INSIDE
    if float(gap_m) / 2 <= radius_m - _INSIDE:
        x, y, z = (float(value) for value in place_m[i, j])
        return Ball(x, y, z, radius_m), Ball(x, y, z, radius_m)
    # Near only for what the lines may bulge round an edge: then it is these two pieces.
    return Barred(lines[0].pieces[i]), Barred(lines[1].pieces[j])
