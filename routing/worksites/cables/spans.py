"""Spans of a cable: the way from one tie to the next, and all that stands against it.

Bends, the geometric test: the way is a line of straight pieces. At a corner that
turns by an angle d, an arc of the bend radius R touches both pieces at
R tan(d / 2) from the corner and stays within R (1 / cos(d / 2) - 1) of it. The
corner holds if the first is no more than half of either piece, so that arcs
never overlap (the whole piece where it ends in a plug), and, at a tie, the
second no more than the play that a tie leaves. Points on a round skin are
corners like all others: the test then asks whether the skin is round enough.
Over an edge the arc stands off from it, which takes more cable; before a plug
it cuts the corner, which solids must leave room for. What is exactly at a limit
holds, in whichever unit it was given: rounding (`LENGTH_SLACK_M`) is forgiven.
"""

import math
from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TypeAlias

import numpy as np

from routing.graph.surroundings import Named
from routing.graph.ways import LENGTH_SLACK_M
from structures.frozen import frozen
from structures.polylines import Polyline, segment_gaps
from structures.solids.axes import Floats, norms
from structures.solids.distance import signed_distance
from structures.solids.sight import crosses
from structures.solids.sweep import SWEEP_TOLERANCE_M, Sweep, sweep_clears
from structures.solids.taut import NoWayError, Way, shortest_way

__all__ = ["Bend", "CableRules", "Place", "Span", "bend_at", "joint", "span_between", "spans_of"]

_STRAIGHT_RAD = 1e-7
_SAME_M = 1e-6
_APART_M = 1e-6
"""How much farther than needed boxes must be apart for what is in them to be left out [m]."""

Place: TypeAlias = tuple[str, Floats, Floats | None]
"""Id and position of a tie or connector; of a connector also the way out, of length 1."""


@frozen(eq=False)
class CableRules:
    """What a cable must keep to.

    Parameters
    ----------
    bend_radius_m, spacing_m, play_m, rail_clear_m
        Lengths [m].
    solids, zones
        What it must go round, and what it must keep out of.
    rails
        Handrails and handholds that it must stay clear of, by id.
    """

    bend_radius_m: float
    spacing_m: float
    play_m: float
    rail_clear_m: float
    solids: Named
    zones: Named
    rails: Mapping[str, Polyline]

    @property
    def lead_m(self) -> float:
        """How far a cable runs straight out of a plug before it may bend [m]."""
        return 2 * self.bend_radius_m

    def bends(self, radius_m: float) -> bool:
        """Tell whether the cable may be bent to a radius [m]."""
        return radius_m >= self.bend_radius_m - LENGTH_SLACK_M

    @cached_property
    def rail_boxes_m(self) -> Floats:
        """Lowest and highest coordinates of each handrail, in id order, shape (r, 2, 3) [m]."""
        boxes = [rail.box_m for _, rail in sorted(self.rails.items())]
        return np.array(boxes, dtype=np.float64).reshape(-1, 2, 3)

    def rails_near(self, points_m: Floats, within_m: float) -> list[str]:
        """Return the handrails whose box comes as near as that to the box of some points."""
        low, high = self.rail_boxes_m[:, 0], self.rail_boxes_m[:, 1]
        margin_m = within_m + _APART_M
        apart = (low > points_m.max(axis=0) + margin_m) | (high < points_m.min(axis=0) - margin_m)
        ids = sorted(self.rails)
        return [ids[i] for i in np.flatnonzero(~apart.any(axis=1)).tolist()]


@frozen()
class Bend:
    """A corner of a cable, and how tightly it can be rounded there."""

    angle_rad: float
    """By how much it turns."""
    radius_m: float
    """The largest radius that fits [m]; infinite where it runs straight."""


@frozen(eq=False)
class Span:
    """A way between two places where the cable is held.

    Parameters
    ----------
    tail, head
        Ids of the places.
    points_m
        Shape (k, 3) [m]; from a plug, the lead is the first piece.
    length_m
        Cable that it takes: the way, and at its own corners what an arc that
        stands off from the edge is longer, at most [m].
    against
        What stands against it, by kind: ``spacing``, ``bend``, ``zone``,
        ``handrail`` or ``solid``, with ids or a text.
    """

    tail: str
    head: str
    points_m: Floats
    length_m: float
    against: Mapping[str, tuple[str, ...]]
    plug_first: bool = False
    plug_last: bool = False

    def turned(self) -> "Span":
        """Return the same span the other way round."""
        return Span(
            self.head,
            self.tail,
            self.points_m[::-1],
            self.length_m,
            self.against,
            plug_first=self.plug_last,
            plug_last=self.plug_first,
        )


def bend_at(
    before_m: Floats, after_m: Floats, play_m: float, shares: tuple[float, float] = (0.5, 0.5)
) -> Bend:
    """Return the corner between two straight pieces.

    Parameters
    ----------
    before_m, after_m
        The pieces as vectors along the cable, shape (3,) [m].
    play_m
        How far the arc may be off the corner [m].
    shares
        How much of each piece the arc may take.
    """
    first_m, last_m = (float(np.sqrt(piece @ piece)) for piece in (before_m, after_m))
    # As numpy.cross, which takes many times as long for single vectors.
    (ax, ay, az), (bx, by, bz) = before_m.tolist(), after_m.tolist()
    across = np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx])
    angle = float(np.arctan2(np.sqrt(across @ across), before_m @ after_m))
    if angle < _STRAIGHT_RAD:
        return Bend(angle, math.inf)
    room_m = min(shares[0] * first_m, shares[1] * last_m)
    half = angle / 2
    if math.pi - angle < _STRAIGHT_RAD:
        return Bend(angle, 0.0)
    return Bend(angle, min(room_m / math.tan(half), play_m / (1 / math.cos(half) - 1)))


def span_between(
    rules: CableRules,
    tail: Place,
    head: Place,
) -> Span | None:
    """Return the span between two places, with all that stands against it.

    Parameters
    ----------
    rules
        What it must keep to.
    tail, head
        Id and position of each place, and for a connector the direction in
        which a cable leaves it, of length 1.

    Returns
    -------
    Span or None
        None if no way leads there, the straight distance is over the spacing, or
        both are the same place: a piece without length has no direction, and
        would let the cable turn unseen.
    """
    start, end = (at if out is None else at + rules.lead_m * out for _, at, out in (tail, head))
    apart_m = math.dist(start.tolist(), end.tolist())
    if not _SAME_M < apart_m <= rules.spacing_m + LENGTH_SLACK_M:
        return None
    way = _way(rules, start, end)
    if way is None:
        return None
    plug_first, plug_last = tail[2] is not None, head[2] is not None
    parts = [way.points_m]
    if plug_first:
        parts.insert(0, tail[1][None])
    if plug_last:
        parts.append(head[1][None])
    points = np.concatenate(parts)
    pieces = np.diff(points, axis=0)
    bends = [
        bend_at(
            pieces[i],
            pieces[i + 1],
            math.inf,
            (
                1.0 if plug_first and i == 0 else 0.5,
                1.0 if plug_last and i + 2 == len(pieces) else 0.5,
            ),
        )
        for i in range(len(pieces) - 1)
    ]
    offs_m = [_off_m(rules, bend) for bend in bends]
    length_m = way.length_m + rules.lead_m * (plug_first + plug_last) + 2 * sum(offs_m)
    against: dict[str, tuple[str, ...]] = {}
    if length_m > rules.spacing_m + LENGTH_SLACK_M:
        against["spacing"] = (f"{length_m:.3f} m",)
    tightest = min((bend.radius_m for bend in bends), default=math.inf)
    if not rules.bends(tightest):
        against["bend"] = (f"{tightest:.3f} m",)
    leads = []  # from the corner where it ends to the plug, and the arc at that corner
    if plug_first:
        leads.append((points[1::-1], offs_m[0]))
    if plug_last:
        leads.append((points[-2:], offs_m[-1]))
    against |= _near(rules, points, way, max([rules.play_m, *offs_m]))
    solids = _leads_in_solids(rules, leads)
    if solids:
        against["solid"] = solids
    return Span(
        tail[0], head[0], points, length_m, against, plug_first=plug_first, plug_last=plug_last
    )


def _way(rules: CableRules, start: Floats, end: Floats) -> Way | None:
    x, y, z = start.tolist()
    a, b, c = end.tolist()
    reach_m = rules.spacing_m + LENGTH_SLACK_M
    near = rules.solids.near(np.stack([start, end]), reach_m)
    try:
        return shortest_way(near, (x, y, z), (a, b, c))
    except NoWayError:
        return None


def _off_m(rules: CableRules, bend: Bend) -> float:
    """Return how far an arc of the bend radius is off its corner [m]; large where none fits."""
    return rules.bend_radius_m * min(1 / max(math.cos(bend.angle_rad / 2), 1e-3) - 1, 1e3)


def _near(rules: CableRules, points: Floats, way: Way, off_m: float) -> dict[str, tuple[str, ...]]:
    """Return zones and handrails that a span does not keep clear of.

    The cable may be off the straight pieces by ``off_m`` at corners and ties,
    and on a round skin by its bulge.
    """
    found: dict[str, tuple[str, ...]] = {}
    chords_m = norms(np.diff(way.points_m, axis=0))
    extra_m = max(way.length_m - float(chords_m.sum()), 0.0)
    off_m += float(np.sqrt(extra_m * (extra_m + 2 * float(chords_m.max()))) / 2)
    starts, ends = points[:-1], points[1:]
    still = np.tile([1.0, 0.0, 0.0], (len(starts), 1))
    line = Sweep(starts, ends, still, still, 0.0)
    near = rules.zones.around(points, off_m + 2 * SWEEP_TOLERANCE_M)
    zones = tuple(
        name
        for shape, name in zip(near.shapes, near.ids, strict=True)
        if not sweep_clears((shape,), line, off_m).all()
    )
    if zones:
        found["zone"] = zones
    clear_m = rules.rail_clear_m + off_m
    rails = tuple(
        name
        for name in rules.rails_near(points, clear_m)
        if _gap_m(points, rules.rails[name]) < clear_m - LENGTH_SLACK_M
    )
    if rails:
        found["handrail"] = rails
    return found


def _gap_m(points: Floats, rail: Polyline) -> float:
    starts, ends = rail.segments()
    gaps = segment_gaps(
        points[:-1, None, :], points[1:, None, :], starts[None, :, :], ends[None, :, :]
    )[0]
    return float(gaps.min())


def _leads_in_solids(rules: CableRules, leads: Sequence[tuple[Floats, float]]) -> tuple[str, ...]:
    """Return solids that leads run into, or the arcs at their ends may.

    The way itself runs into none. ``leads`` are the corner where each ends and its plug,
    shape (2, 3) [m], and how far the arc may be off that corner [m].
    """
    found: set[str] = set()
    for ends_m, off_m in leads:
        near = rules.solids.around(ends_m, off_m + _APART_M)
        for shape, name in zip(near.shapes, near.ids, strict=True):
            near_m = float(signed_distance(shape, ends_m[:1])[0])
            if crosses(shape, ends_m[:1], ends_m[1:]).any() or near_m < off_m:
                found.add(name)
    return tuple(name for name in rules.solids.ids if name in found)


def joint(rules: CableRules, first: Span, second: Span) -> Bend:
    """Return the corner of the cable at the tie between two spans."""
    return bend_at(
        first.points_m[-1] - first.points_m[-2],
        second.points_m[1] - second.points_m[0],
        rules.play_m,
    )


def spans_of(rules: CableRules, places: Sequence[Place]) -> tuple[Span, ...]:
    """Return the spans between all places that are near enough, both ways, in id order."""
    order = sorted(places, key=lambda place: place[0])
    found = []
    for i, tail in enumerate(order):
        for head in order[i + 1 :]:
            span = span_between(rules, tail, head)
            if span is not None:
                found += [span, span.turned()]
    return tuple(sorted(found, key=lambda span: (span.tail, span.head)))
