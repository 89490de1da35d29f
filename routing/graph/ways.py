r"""The hands' ways: straight from grip to grip, or over a raised point, and the body on them.

::

        via                     The hands go i -> via -> j, the body ball goes with
       /   \                    them: its skin touches the hands all the way, its
      i     \                   centre leans from lean(i) through the middle lean
    ==|===+  j                  to lean(j). So where the ball is clear of solids and
          |==|                  zones, the hands and the line they lay are as well.

A way is tried straight first, then over the point where the tangent planes of
the two grips meet (round an edge), then over their midpoint raised along the
mean normal (over something low). The shortest clear way counts; a way longer
than the reach does not. Its length is an upper bound of the shortest way the
hands could take, never below the straight gap.
"""

from typing import TYPE_CHECKING

import numpy as np

from routing.graph.pairs import run_starts
from routing.graph.reach_graph import Flags, Floats, Indices
from structures.frozen import frozen
from structures.solids.axes import rows_at
from structures.solids.sweep import SWEEP_TOLERANCE_M, Sweep, sweep_verdicts
from structures.solids.tables import Shapes, ShapeTables

if TYPE_CHECKING:
    from routing.graph.known_room import KnownWays

__all__ = ["LENGTH_SLACK_M", "Ends", "Legs", "Ways", "find_ways", "lay_legs", "norms"]

LENGTH_SLACK_M = 1e-9
"""Lengths this much over a limit still count as at the limit [m]: rounding only."""

RAISED_M = (0.1, 0.2)
"""How high the midpoint of a way is raised to pass over something low [m]."""

_FLAT_RAD = 0.1
"""Below this turn the tangent planes meet too far away, or nowhere, to be of use [rad]."""

_FEW = 500
"""So few ways are tried all at once: looking at the shapes again would take longer."""

_NO_WAY, _STRAIGHT = -1, 0
_VIAS = 1 + len(RAISED_M)


@frozen(eq=False)
class Ends:
    """Both ends of p candidate moves, each array (p, 3)."""

    start_m: Floats
    end_m: Floats
    start_normal: Floats
    end_normal: Floats
    start_lean: Floats
    end_lean: Floats
    pair: Indices | None = None
    """Numbers of the pairs by which something is known of them, shape (p,); None: nothing is."""

    def __len__(self) -> int:
        return len(self.start_m)

    def take(self, some: Indices | Flags) -> "Ends":
        """Return some of them."""
        return Ends(
            rows_at(self.start_m, some),
            rows_at(self.end_m, some),
            rows_at(self.start_normal, some),
            rows_at(self.end_normal, some),
            rows_at(self.start_lean, some),
            rows_at(self.end_lean, some),
            None if self.pair is None else self.pair[some],
        )

    def where(self, kept: Flags) -> "Ends":
        """Return those that are marked; if all are, nothing is copied."""
        return self if kept.all() else self.take(kept)


@frozen(eq=False)
class Ways:
    """The way found for each of p candidate moves.

    ``kind`` is 0 for straight, 1 for over the meeting point of the tangent
    planes, 2 and more for the raised midpoints, -1 for none.
    """

    kind: Indices
    length_m: Floats
    """Shape (p,) [m]; infinite where there is no way."""

    def take(self, some: Indices | Flags) -> "Ways":
        """Return some of them."""
        return Ways(self.kind[some], self.length_m[some])


@frozen(eq=False)
class Legs:
    """Straight legs of ways, one or two a way."""

    sweep: Sweep
    """How the body ball is carried on each leg."""
    owner: Indices
    """Which way each leg belongs to."""

    def near(self, shapes: ShapeTables, radius_m: float) -> "Legs":
        """Return the legs on which a ball may touch the box of any of a few shapes.

        For shapes that few legs come near, such as zones: the ways need not
        be worked out to tell.
        """
        sweep = self.sweep
        # Axis by axis: numpy compares short rows many times more slowly.
        start_m, end_m = sweep.start_m.T, sweep.end_m.T
        low_m = np.ascontiguousarray(np.minimum(start_m, end_m))
        high_m = np.ascontiguousarray(np.maximum(start_m, end_m))
        # The ball's centre is offset from the straight line between grips, in any direction.
        margin_m = sweep.offset_m + radius_m + 2 * SWEEP_TOLERANCE_M
        close = np.zeros(len(sweep), dtype=bool)
        for lowest_m, highest_m in zip(
            shapes.low_m - margin_m, shapes.high_m + margin_m, strict=True
        ):
            meets = (high_m >= lowest_m[:, None]) & (low_m <= highest_m[:, None])
            close |= meets[0] & meets[1] & meets[2]
        if close.all():
            return self
        return Legs(sweep.take(close), self.owner[close])

    def any_of(self, marked: Flags, ways: int) -> Flags:
        """Return which ways have a marked leg, shape (ways,)."""
        found = np.zeros(ways, dtype=bool)
        found[self.owner[marked]] = True
        return found


@frozen(eq=False)
class _Test:
    """How it is told whether ways are clear: past which shapes, for what ball."""

    shapes: Shapes
    radius_m: float
    known: "KnownWays | None"

    def clear(self, ends: Ends, kind: Indices) -> Flags:
        """Tell which ways are clear, by what is known of them where that is enough."""
        if self.known is None or ends.pair is None:
            return self._look(ends, kind, None)
        clear, barred = self.known.told(ends.pair, kind)
        unknown = np.flatnonzero(~(clear | barred))
        clear[unknown] = self._look(ends.take(unknown), kind[unknown], self.known)
        return clear

    def _look(self, ends: Ends, kind: Indices, known: "KnownWays | None") -> Flags:
        count = len(ends)
        if not count:
            return np.zeros(0, dtype=bool)
        legs = lay_legs(ends, kind, self.radius_m)
        found = sweep_verdicts(self.shapes, legs.sweep, self.radius_m)
        if known is not None and ends.pair is not None:
            smaller, larger = ~legs.any_of(~found.smaller, count), legs.any_of(found.larger, count)
            known.keep(ends.pair, kind, smaller, larger)
        return ~legs.any_of(~found.clear, count)


def find_ways(
    ends: Ends,
    shapes: Shapes,
    radius_m: float,
    reach_m: float,
    known: "KnownWays | None" = None,
) -> Ways:
    """Find the shortest clear way of each candidate move among those that are tried.

    Parameters
    ----------
    ends
        The candidates, p of them.
    shapes
        What the body ball must keep clear of.
    radius_m
        Radius of the ball [m].
    reach_m
        No way may be longer [m].
    known
        What is known of ways of other bodies; it takes in what is found.
    """
    test = _Test(shapes, radius_m, known)
    gap_m = norms(ends.end_m - ends.start_m)
    kind = np.full(len(ends), _NO_WAY)
    length_m = np.full(len(ends), np.inf)
    within = gap_m <= reach_m + LENGTH_SLACK_M
    near = np.flatnonzero(within)
    clear = near[test.clear(ends.where(within), np.full(len(near), _STRAIGHT))]
    kind[clear], length_m[clear] = _STRAIGHT, gap_m[clear]
    blocked = near[kind[near] == _NO_WAY]
    found, way_m, via = _bent_ways(ends.take(blocked), test, reach_m)
    kind[blocked[found]], length_m[blocked[found]] = via, way_m
    return Ways(kind, length_m)


def _bent_ways(ends: Ends, test: _Test, reach_m: float) -> tuple[Indices, Floats, Indices]:
    """Return which ends have a clear way over a raised point, its length and kind."""
    count = len(ends)
    which = np.tile(np.arange(count), _VIAS)
    via = np.repeat(np.arange(1, _VIAS + 1), count)
    via_m = np.concatenate([_via_points(ends, one) for one in range(1, _VIAS + 1)])
    way_m = norms(via_m - rows_at(ends.start_m, which)) + norms(rows_at(ends.end_m, which) - via_m)
    tried = np.flatnonzero(np.isfinite(way_m) & (way_m <= reach_m + LENGTH_SLACK_M))
    tried = tried[np.lexsort((via[tried], way_m[tried], which[tried]))]

    def clear(some: Indices) -> Flags:
        return test.clear(ends.take(which[some]), via[some])

    if len(tried) <= _FEW:
        tried = tried[clear(tried)]
    else:
        shortest = run_starts(which[tried])
        good = tried[shortest[clear(tried[shortest])]]
        rest = np.delete(tried, shortest)
        done = np.zeros(count, dtype=bool)
        done[which[good]] = True
        rest = rest[~done[which[rest]]]
        rest = rest[clear(rest)]
        # No pair is in both; the rest are still by pair and length.
        tried = np.concatenate([good, rest])
        tried = tried[np.argsort(which[tried], kind="stable")]
    tried = tried[run_starts(which[tried])]
    return which[tried], way_m[tried], via[tried]


def lay_legs(ends: Ends, kind: Indices, radius_m: float) -> Legs:
    """Return the legs of ways of given kinds (none -1), straight ones first."""
    straight = np.flatnonzero(kind == _STRAIGHT)
    bent = np.flatnonzero(kind > _STRAIGHT)
    owner = np.concatenate([straight, bent, bent])
    if not len(bent):
        some = ends.where(kind == _STRAIGHT)
        return Legs(
            Sweep(some.start_m, some.end_m, some.start_lean, some.end_lean, radius_m), owner
        )
    over = ends.take(bent)
    via_m = np.empty((len(bent), 3))
    for via in range(1, _VIAS + 1):
        these = kind[bent] == via
        via_m[these] = _via_points(over.take(these), via)
    middle = _middle(over.start_lean, over.end_lean)
    flat = ends.take(straight)
    return Legs(
        Sweep(
            np.concatenate([flat.start_m, over.start_m, via_m]),
            np.concatenate([flat.end_m, via_m, over.end_m]),
            np.concatenate([flat.start_lean, over.start_lean, middle]),
            np.concatenate([flat.end_lean, middle, over.end_lean]),
            radius_m,
        ),
        owner,
    )


def _via_points(ends: Ends, via: int) -> Floats:
    """Return the raised point of each way, shape (p, 3) [m]; far away where there is none."""
    middle_m = (ends.start_m + ends.end_m) / 2
    if via > 1:
        return middle_m + RAISED_M[via - 2] * _middle(ends.start_normal, ends.end_normal)
    # The point of both tangent planes nearest the midpoint m: m + x a + y b, where
    # a, b are the normals and (x + y c, x c + y) the distances of m below the planes.
    cosine = _dot(ends.start_normal, ends.end_normal)
    below_start = _dot(ends.start_normal, ends.start_m - middle_m)
    below_end = _dot(ends.end_normal, ends.end_m - middle_m)
    sine2 = 1 - cosine * cosine
    meets = sine2 > np.sin(_FLAT_RAD) ** 2
    scale = np.where(meets, sine2, 1.0)
    x = (below_start - cosine * below_end) / scale
    y = (below_end - cosine * below_start) / scale
    point_m = middle_m + x[:, None] * ends.start_normal + y[:, None] * ends.end_normal
    point_m[~meets] = np.inf
    return point_m


def _middle(one: Floats, other: Floats) -> Floats:
    """Return the unit directions half-way between; the first one where they are opposite."""
    total = one + other
    length = norms(total)[:, None]
    opposite = length < 1e-6
    return np.where(opposite, one, total / np.where(opposite, 1.0, length))


def _dot(a: Floats, b: Floats) -> Floats:
    product: Floats = np.einsum("ij,ij->i", a, b)
    return product


def norms(vectors: Floats) -> Floats:
    """Return the length of each row, shape (n,)."""
    lengths: Floats = np.sqrt(np.einsum("ij,ij->i", vectors, vectors))
    return lengths
