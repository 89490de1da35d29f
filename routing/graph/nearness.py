"""Where handrails come closest to one another and to other places: the crossings.

Sampling alone may leave the two nearest points of a pair of rails just out of
reach of each other, so these points become grips of their own.
"""

import numpy as np

from routing.graph.pairs import pairs_within, run_starts
from routing.graph.reach_graph import Flags, Floats, Indices
from structures.frozen import frozen
from structures.polylines import segment_gaps

__all__ = ["Nearest", "Segments", "nearest_places"]

_PIECE_M = 2.0
"""Segments are looked up by pieces of at most this length [m], so that one long
rail does not widen the search for all."""

_PARALLEL = 1e-3
"""Sine of the angle below which two segments count as parallel: every place of
the overlap is nearest then, and its two ends stand for all."""


@frozen(eq=False)
class Segments:
    """Straight pieces of handrails, and single places as pieces without length; s of them."""

    start_m: Floats
    end_m: Floats
    owner: Indices
    """Which element each is of, in id order; pairs of one owner are of no interest."""
    reach_m: Floats
    """How near something must be to matter to it, shape (s,) [m]."""


@frozen(eq=False)
class Nearest:
    """Places on segments that are nearest to something, k of them."""

    segment: Indices
    share: Floats
    """How far along the segment, 0..1."""
    gap_m: Floats
    """Distance to what it is near to."""


def nearest_places(segments: Segments) -> Nearest:
    """Find the closest points of every two segments of different owners within reach.

    Two segments are within reach when they are no farther apart than the
    smaller of their two reaches. Parallel ones give the projections of their
    four ends instead, as far as these are within reach. The answer does not
    depend on which of two segments comes first.
    """
    first, second = _close_segments(segments)
    reach_m = np.minimum(segments.reach_m[first], segments.reach_m[second])
    a, b = segments.start_m[first], segments.end_m[first]
    c, d = segments.start_m[second], segments.end_m[second]
    gap_m, on_first, on_second = segment_gaps(a, b, c, d)
    near = gap_m <= reach_m
    found = [
        (first[near], on_first[near], gap_m[near]),
        (second[near], on_second[near], gap_m[near]),
    ]
    alike = np.flatnonzero(near & _parallel(b - a, d - c))
    first, second, reach_m = first[alike], second[alike], reach_m[alike]
    a, b, c, d = a[alike], b[alike], c[alike], d[alike]
    for ends, starts, stops, of in (
        (c, a, b, first),
        (d, a, b, first),
        (a, c, d, second),
        (b, c, d, second),
    ):
        end_gap_m, _, share = segment_gaps(ends, ends, starts, stops)
        near = end_gap_m <= reach_m
        found.append((of[near], share[near], end_gap_m[near]))
    segment, share, gaps = (np.concatenate(column) for column in zip(*found, strict=True))
    return Nearest(segment, share, gaps)


def _close_segments(segments: Segments) -> tuple[Indices, Indices]:
    """Return pairs (first < second) that may be within reach, each once."""
    along = segments.end_m - segments.start_m
    length_m = np.sqrt((along * along).sum(axis=1))
    pieces = np.maximum(np.ceil(length_m / _PIECE_M), 1).astype(np.int64)
    segment = np.repeat(np.arange(len(pieces)), pieces)
    number = np.arange(len(segment)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    share = (number + 0.5) / pieces[segment]
    middle_m = segments.start_m[segment] + share[:, None] * along[segment]
    half_m = (length_m / pieces / 2)[segment]
    widest_m = float(segments.reach_m.max(initial=0.0)) + 2 * float(half_m.max(initial=0.0))
    if len(segment) < 2:
        nothing = np.empty(0, dtype=np.int64)
        return nothing, nothing
    one, other = pairs_within(middle_m, widest_m)
    apart = middle_m[one] - middle_m[other]
    apart_m = np.sqrt((apart * apart).sum(axis=1))
    p, q = segment[one], segment[other]
    reach_m = np.minimum(segments.reach_m[p], segments.reach_m[q])
    # A nanometre more than needed: these are candidates, measured exactly afterwards.
    near = apart_m <= reach_m + half_m[one] + half_m[other] + 1e-9
    near &= segments.owner[p] != segments.owner[q]
    near &= (length_m[p] > 0) | (length_m[q] > 0)
    count = len(pieces)
    keys = np.sort(np.minimum(p[near], q[near]) * count + np.maximum(p[near], q[near]))
    keys = keys[run_starts(keys)]
    return keys // count, keys % count


def _parallel(one: Floats, other: Floats) -> Flags:
    """Tell which pairs of directions are parallel; one of no length is parallel to nothing."""
    a, e = (one * one).sum(axis=1), (other * other).sum(axis=1)
    b = (one * other).sum(axis=1)
    across = a * e - b * b
    parallel: Flags = (a > 0) & (e > 0) & (across <= _PARALLEL**2 * a * e)
    return parallel
