"""A short way round several solids: an upper bound, made of straight pieces that touch none."""

import heapq
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TypeAlias

import numpy as np

from structures.shapes import Box, Prism, Shape, Sphere
from structures.solids.axes import Flags, Floats, Indices, norms, spine, square
from structures.solids.distance import signed_distance
from structures.solids.seams import line_blocked, through_seam, touches
from structures.solids.sight import crosses_any

__all__ = ["Ribs", "bends_on", "ribs", "way_round_many"]

_Test: TypeAlias = Callable[[tuple[Shape, ...], Floats, Floats], Flags]
"""Tells which straight pieces some shapes block."""

_SIDES = 24
"""Corners of the polygon drawn round a round section; on an arc its way is 0.6 % too long."""

_SHARES = np.linspace(0.0, 1.0, 5)
_SLIDES = 60
_GUARDED_SLIDES = 8
_SETTLED_M = 1e-10


@dataclass(frozen=True, slots=True, eq=False)
class Ribs:
    """Straight edges that a line may bend over, each of shape (k, 3) [m]."""

    tail_m: Floats
    head_m: Floats

    def at(self, rib: Indices, share: Floats) -> Floats:
        """Return points on ribs, shape (n, 3) [m]."""
        points: Floats = self.tail_m[rib] + share[:, None] * (self.head_m[rib] - self.tail_m[rib])
        return points


def ribs(shape: Shape, start_m: Floats, end_m: Floats) -> Ribs:
    """Return the edges of a shape, or of a many-sided body drawn closely round a round one."""
    if isinstance(shape, Box):
        half = np.asarray(shape.size_m) / 2
        x, y = half[0] * np.array([-1, 1, 1, -1]), half[1] * np.array([-1, -1, 1, 1])
        foot = np.column_stack([x, y, np.full(4, -half[2])])
        axes = square(shape.x_axis, shape.y_axis)
        return _between(np.asarray(shape.center_m) + foot @ axes, shape.size_m[2] * axes[2])
    if isinstance(shape, Prism):
        axes = square(shape.x_axis, shape.y_axis)
        foot = np.asarray(shape.origin_m) + np.asarray(shape.outline_m) @ axes[:2]
        return _between(foot, shape.height_m * axes[2])
    if isinstance(shape, Sphere):
        return _round_sphere(shape, start_m, end_m)
    foot_m, axis, length_m = spine(shape)
    ring = _ring(axis)
    if shape.shape == "cylinder":
        return _between(foot_m + shape.radius_m * ring, length_m * axis)
    head = foot_m + length_m * axis + shape.end_radius_m * ring
    return _joined(foot_m + shape.start_radius_m * ring, head)


def way_round_many(shapes: tuple[Shape, ...], start_m: Floats, end_m: Floats) -> Floats | None:
    """Return points of a short line from start to end through the inside of no shape.

    Looks at the shapes in the way first, and takes in others as they turn out
    to be in the way too. Deterministic: ties go to the lowest number.

    Parameters
    ----------
    shapes
        All shapes to go round.
    start_m, end_m
        Shape (3,) [m].

    Returns
    -------
    Floats or None
        Points of the line, shape (k, 3) [m]; every piece between them was
        checked against every shape. None where no line was found.
    """
    straight = np.stack([start_m, end_m])
    in_way = _blocking(shapes, straight) or set(touches(shapes, straight).tolist())
    blocked: _Test = crosses_any
    while True:
        some = tuple(shapes[i] for i in sorted(in_way))
        net = _Net.of(some, start_m, end_m, blocked)
        found = net.shortest()
        if found is None:
            return None
        way = net.pulled(found)
        more = _blocking(shapes, way) - in_way
        on = bends_on(way[:-1], way[1:], straight)
        if not more and not through_seam(shapes, way[:-1], way[1:], on).any():
            return way
        if not more:
            # Rare, and slow to look for, so only once a line has slipped through a seam.
            blocked = partial(_line_blocked, straight)
            more = set(touches(shapes, way).tolist())
        in_way |= more


def bends_on(starts_m: Floats, ends_m: Floats, line_ends_m: Floats) -> Flags:
    """Tell where pieces of a line bend on instead of ending at its ends (2, 3), (n, 2)."""
    points = np.stack([starts_m, ends_m], axis=1)[:, :, None]
    on: Flags = np.asarray((points != line_ends_m).any(axis=3).all(axis=2), dtype=np.bool_)
    return on


def _line_blocked(
    line_ends_m: Floats, shapes: tuple[Shape, ...], starts_m: Floats, ends_m: Floats
) -> Flags:
    return line_blocked(shapes, starts_m, ends_m, bends_on(starts_m, ends_m, line_ends_m))


def _blocking(shapes: tuple[Shape, ...], way: Floats) -> set[int]:
    return {i for i, shape in enumerate(shapes) if crosses_any((shape,), way[:-1], way[1:]).any()}


@dataclass(frozen=True, slots=True, eq=False)
class _Net:
    """Places where a line may bend: the start, the end, then samples of all ribs."""

    shapes: tuple[Shape, ...]
    blocked: _Test
    ribs: Ribs
    points_m: Floats
    rib: Indices
    """The rib each place is on, -1 for start and end."""

    @classmethod
    def of(
        cls, shapes: tuple[Shape, ...], start_m: Floats, end_m: Floats, blocked: _Test
    ) -> "_Net":
        parts = [ribs(shape, start_m, end_m) for shape in shapes]
        all_ribs = Ribs(
            np.concatenate([part.tail_m for part in parts]),
            np.concatenate([part.head_m for part in parts]),
        )
        span = all_ribs.head_m - all_ribs.tail_m
        square_m = np.einsum("ij,ij->i", span, span)
        shares = [np.full(len(span), share) for share in _SHARES]
        # The places nearest to both ends and half-way keep flat cases exactly flat.
        for point in (start_m, end_m, (start_m + end_m) / 2):
            along = np.einsum("ij,ij->i", point - all_ribs.tail_m, span)
            nearest = np.divide(along, square_m, out=np.zeros(len(span)), where=square_m > 0)
            shares.append(np.clip(nearest, 0.0, 1.0))
        rib = np.tile(np.arange(len(span)), len(shares))
        places = all_ribs.at(rib, np.concatenate(shares))
        free = np.ones(len(places), dtype=np.bool_)
        for shape in shapes:
            free &= signed_distance(shape, places) > -1e-6
        _, first = np.unique(np.round(places, 9), axis=0, return_index=True)
        keep = np.sort(first[free[first]])
        return cls(
            shapes,
            blocked,
            all_ribs,
            np.concatenate([start_m[None], end_m[None], places[keep]]),
            np.concatenate([[-1, -1], rib[keep]]),
        )

    def shortest(self) -> list[int] | None:
        """Return the places of the shortest line in the net, by A* with sight checked late."""
        points = self.points_m
        to_end = norms(points - points[1])
        gone = np.full(len(points), np.inf)
        before = np.full(len(points), -1)
        done = np.zeros(len(points), dtype=np.bool_)
        gone[0] = 0.0
        queue = [(float(to_end[0]), 0)]
        while queue:
            _, here = heapq.heappop(queue)
            if done[here]:
                continue
            done[here] = True
            if here == 1:
                return self._back(before)
            reach = gone[here] + norms(points - points[here])
            ask = np.flatnonzero(~done & (reach < gone))
            ask = ask[~self.blocked(self.shapes, np.tile(points[here], (len(ask), 1)), points[ask])]
            gone[ask], before[ask] = reach[ask], here
            for there in ask.tolist():
                heapq.heappush(queue, (float(gone[there] + to_end[there]), there))
        return None

    @staticmethod
    def _back(before: Indices) -> list[int]:
        way = [1]
        while way[-1] != 0:
            way.append(int(before[way[-1]]))
        return way[::-1]

    def pulled(self, places: list[int]) -> Floats:
        """Slide the bends along their ribs until the line is as short as it gets there."""
        way = self.points_m[places].copy()
        rib = self.rib[places]
        slid = _slide(way.copy(), rib, self.ribs, _SLIDES)
        if not self.blocked(self.shapes, slid[:-1], slid[1:]).any():
            return slid
        return _slide(way, rib, self.ribs, _GUARDED_SLIDES, partial(self.blocked, self.shapes))


def _slide(
    way: Floats,
    rib: Indices,
    edges: Ribs,
    rounds: int,
    guard: Callable[[Floats, Floats], Flags] | None = None,
) -> Floats:
    """Move one bend at a time to its best place; with a guard only where both pieces stay clear."""
    for _ in range(rounds):
        moved_m = 0.0
        for i in range(1, len(way) - 1):
            place = _fold(way[i - 1], way[i + 1], edges.tail_m[rib[i]], edges.head_m[rib[i]])
            new = np.stack([way[i - 1], place, way[i + 1]])
            if guard is not None and guard(new[:-1], new[1:]).any():
                continue
            moved_m = max(moved_m, float(np.abs(place - way[i]).max()))
            way[i] = place
        if moved_m < _SETTLED_M:
            break
    return way


def _fold(before: Floats, after: Floats, tail: Floats, head: Floats) -> Floats:
    """Return the point of an edge with the least sum of distances to two points."""
    edge = head - tail
    length = float(np.sqrt(edge @ edge))
    if length == 0:
        return tail
    unit = edge / length
    along = np.array([(before - tail) @ unit, (after - tail) @ unit])
    off = np.array(
        [
            np.linalg.norm(before - tail - along[0] * unit),
            np.linalg.norm(after - tail - along[1] * unit),
        ]
    )
    total = float(off.sum())
    share = (along[0] * off[1] + along[1] * off[0]) / total if total > 0 else float(along.mean())
    place: Floats = tail + min(max(share, 0.0), length) * unit
    return place


def _ring(axis: Floats) -> Floats:
    """Return corners of the polygon round a circle of radius 1 about an axis, shape (n, 3)."""
    x = np.cross(axis, np.eye(3)[int(np.abs(axis).argmin())])
    x = x / np.sqrt(x @ x)
    angles = np.arange(_SIDES) * (2 * np.pi / _SIDES)
    turned = np.cos(angles)[:, None] * x + np.sin(angles)[:, None] * np.cross(axis, x)
    corners: Floats = turned / np.cos(np.pi / _SIDES)
    return corners


def _between(foot: Floats, height: Floats) -> Ribs:
    return _joined(foot, foot + height)


def _joined(foot: Floats, head: Floats) -> Ribs:
    """Return the ribs from a lower to an upper outline, and both outlines."""
    step = partial(np.roll, shift=-1, axis=0)
    return Ribs(np.concatenate([foot, foot, head]), np.concatenate([head, step(foot), step(head)]))


def _round_sphere(shape: Sphere, start_m: Floats, end_m: Floats) -> Ribs:
    """Return rings of a ball round the axis that makes the ends' own plane the equator.

    Each ring is a tangent polygon of its circle, so its sides stay outside.
    """
    center = np.asarray(shape.center_m)
    pole = np.cross(start_m - center, end_m - center)
    size = float(np.sqrt(pole @ pole))
    if size < 1e-9:
        out = start_m - center
        pole = np.cross(out, np.eye(3)[int(np.abs(out).argmin())])
        size = float(np.sqrt(pole @ pole))
    pole = pole / size
    rings = []
    for latitude in np.radians([-75.0, -45.0, -22.5, 0.0, 22.5, 45.0, 75.0]):
        rise = shape.radius_m * np.sin(latitude) * pole
        rings.append(center + rise + shape.radius_m * np.cos(latitude) * _ring(pole))
    tails = np.concatenate(rings)
    heads = np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])
    return Ribs(tails, heads)
