"""An independent walk over moves: looks at each one again by dense sampling.

Shares no code with the graph builder or with the solids: the distance to each
shape, the way of the ball, the zones in force and the hands' ways are written
out here a second time, from their definitions, as plainly as possible.
Sampling can miss a touch between two samples but never makes one up, so a
problem found here is a problem.
"""

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from structures.elements import Handrail, Socket, Transmitter, Zone
from structures.frames import Vector
from structures.model import Structure
from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere

__all__ = ["Claim", "Hold", "claims_of", "distance_m", "room_on_way_m", "walk_problems", "ways"]

Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

SAMPLES = 81
ROUNDING_M = 1e-9


@dataclass(frozen=True)
class Hold:
    """A grip as it was reported."""

    grip: str
    element: str
    position_m: Array
    normal: Array
    body_m: Array


@dataclass(frozen=True)
class Claim:
    """A move as it was reported."""

    tail: Hold
    head: Hold
    way_m: float
    seconds: float
    exposure_s: float
    line_clear: bool


def claims_of(graph: ReachGraph, path: Sequence[int]) -> list[Claim]:
    """Read the moves along a path of grip indices out of a graph."""
    grips, moves = graph.grips, graph.moves
    holds = [
        Hold(
            grips.ids[i],
            grips.element_ids[i],
            grips.position_m[i],
            grips.normal[i],
            grips.body_m[i],
        )
        for i in path
    ]
    found = []
    for (a, one), (b, other) in itertools.pairwise(zip(path, holds, strict=True)):
        heads = moves.head[moves.indptr[a] : moves.indptr[a + 1]].tolist()
        move = int(moves.indptr[a]) + heads.index(b)
        found.append(
            Claim(
                one,
                other,
                float(moves.way_m[move]),
                float(moves.seconds[move]),
                float(moves.exposure_s[move]),
                bool(moves.line_clear[move]),
            )
        )
    return found


def walk_problems(
    structure: Structure, situation: Situation, claims: Sequence[Claim], *, is_route: bool = True
) -> list[str]:
    """Return everything that is wrong with some moves; with a route also how they hang together."""
    found = [problem for claim in claims for problem in _move_problems(structure, situation, claim)]
    if is_route:
        for before, after in itertools.pairwise(claims):
            if before.head.grip != after.tail.grip:
                found.append(f"{before.head.grip} is left for {after.tail.grip} without a move")
            if isinstance(structure.by_id[before.head.element], Socket):
                found.append(f"socket {before.head.element} is passed through")
    return found


def _move_problems(structure: Structure, situation: Situation, claim: Claim) -> Iterator[str]:
    name = f"{claim.tail.grip} -> {claim.head.grip}"
    for hold in (claim.tail, claim.head):
        yield from _hold_problems(structure, situation, hold)
    ability, limits = situation.ability, situation.limits
    gap_m = math.dist(claim.tail.position_m, claim.head.position_m)
    if gap_m > ability.reach_m + 1e-8:
        yield f"{name}: gap {gap_m} m over reach {ability.reach_m} m"
    if not gap_m - 1e-9 <= claim.way_m <= ability.reach_m + 1e-8:
        yield f"{name}: way {claim.way_m} m is not between gap {gap_m} m and reach"
    turn_deg = _angle_deg(claim.tail.normal, claim.head.normal)
    if turn_deg > limits.max_turn_deg + 1e-5:
        yield f"{name}: turn {turn_deg} deg over the limit"
    if claim.seconds < claim.way_m / ability.rate_m_per_s - 1e-9:
        yield f"{name}: {claim.seconds} s is faster than the rate"
    yield from _way_problems(structure, situation, claim, name)


def _way_problems(
    structure: Structure, situation: Situation, claim: Claim, name: str
) -> Iterator[str]:
    """Look for a way of the length claimed on which the ball is clear, and at its zones."""
    radius_m = situation.ability.corridor_radius_m
    zones = in_force(structure, situation)
    loaded = situation.carry is not None
    barred = [
        volume_of(z) for z in zones if z.kind == "keep-out" and _is_for_ball(z, loaded=loaded)
    ]
    hard = [solid.volume for solid in structure.solids] + barred
    fitting = [
        way
        for way in ways(claim.tail, claim.head, radius_m)
        if abs(way_length_m(way) - claim.way_m) < 1e-6
    ]
    if not fitting:
        yield f"{name}: no way has the length {claim.way_m} m"
        return
    way = max(fitting, key=lambda one: room_on_way_m(hard, one, radius_m))
    room_m = room_on_way_m(hard, way, radius_m)
    if room_m < -ROUNDING_M:
        yield f"{name}: the body ball is {-room_m} m inside something"
    slow = [volume_of(z) for z in zones if z.kind == "slow-down" and _is_for_ball(z, loaded=loaded)]
    if slow and room_on_way_m(slow, way, radius_m) < -ROUNDING_M and claim.exposure_s <= 0:
        yield f"{name}: a slow-down zone on the way is left out"
    ties = [volume_of(z) for z in zones if z.kind == "keep-out" and "tether" in z.applies_to]
    hands = np.concatenate([leg[:, :3] for leg in way])
    if claim.line_clear and any((distance_m(shape, hands) < -ROUNDING_M).any() for shape in ties):
        yield f"{name}: the line lies in a zone that applies to tethers"


def _hold_problems(structure: Structure, situation: Situation, hold: Hold) -> Iterator[str]:
    closed = set(situation.closed)
    for condition in structure.conditions:
        if condition.id in situation.when:
            closed |= set(condition.closes)
    if hold.element in closed:
        yield f"{hold.grip}: {hold.element} is closed"
    element = structure.by_id[hold.element]
    if isinstance(element, Handrail):
        off_m = min(
            _off_segment_m(hold.position_m, a, b) for a, b in itertools.pairwise(element.points_m)
        )
    else:
        off_m = math.dist(hold.position_m, getattr(element, "position_m", (math.inf,) * 3))
    if off_m > 1e-9:
        yield f"{hold.grip}: {off_m} m off its element"
    if _angle_deg(hold.normal, np.array(getattr(element, "normal"), dtype=float)) > 1e-5:  # noqa: B009 - element kinds differ
        yield f"{hold.grip}: not the normal of its element"
    radius_m = situation.ability.corridor_radius_m
    if abs(math.dist(hold.position_m, hold.body_m) - radius_m) > 1e-9:
        yield f"{hold.grip}: the body ball does not touch the grip"
    lean_deg = _angle_deg(hold.body_m - hold.position_m, hold.normal)
    if lean_deg > situation.limits.max_lean_deg + 1e-5:
        yield f"{hold.grip}: leans {lean_deg} deg"


def in_force(structure: Structure, situation: Situation) -> list[Zone]:
    """Return the zones that count."""
    return [z for z in structure.zones if not z.when or set(z.when) & set(situation.when)]


def _is_for_ball(zone: Zone, *, loaded: bool) -> bool:
    return "body" in zone.applies_to or (loaded and "item" in zone.applies_to)


def volume_of(zone: Zone) -> Shape:
    """Return a zone's volume; the power density limits are those of published value K01."""
    volume = zone.volume
    if not isinstance(volume, Transmitter):
        return volume
    f_mhz = volume.frequency_mhz
    density = 2.0 if f_mhz <= 300 else min(f_mhz / 150, 100.0)
    radius_m = math.sqrt(volume.power_w * volume.gain / (4 * math.pi * density))
    return Sphere(center_m=volume.center_m, radius_m=radius_m)


def ways(tail: Hold, head: Hold, radius_m: float) -> list[list[Array]]:
    """Return the ways hands and body may take: legs of samples (position, ball centre) (k, 6)."""
    a, b = tail.position_m, head.position_m
    lean_a, lean_b = (tail.body_m - a) / radius_m, (head.body_m - b) / radius_m
    vias: list[Array] = []
    n, m = tail.normal, head.normal
    if 0.1 < math.radians(_angle_deg(n, m)) < math.pi - 0.1:
        # Nearest to the middle on both tangent planes: least squares of least norm.
        middle = (a + b) / 2
        rows, right = np.array([n, m]), np.array([n @ (a - middle), m @ (b - middle)])
        vias.append(middle + np.linalg.lstsq(rows, right, rcond=None)[0])
    if _angle_deg(n, m) < 179.99:
        up = (n + m) / np.linalg.norm(n + m)
        vias += [(a + b) / 2 + 0.1 * up, (a + b) / 2 + 0.2 * up]
    found = [[_leg(a, b, lean_a, lean_b, radius_m)]]
    if _angle_deg(lean_a, lean_b) < 179.99:
        half = (lean_a + lean_b) / np.linalg.norm(lean_a + lean_b)
        found += [
            [_leg(a, v, lean_a, half, radius_m), _leg(v, b, half, lean_b, radius_m)] for v in vias
        ]
    return found


def way_length_m(way: list[Array]) -> float:
    """Return the length of the hands' way."""
    return sum(math.dist(leg[0, :3], leg[-1, :3]) for leg in way)


def _leg(a: Array, b: Array, lean_a: Array, lean_b: Array, radius_m: float) -> Array:
    t = np.linspace(0, 1, SAMPLES)[:, None]
    angle = math.radians(_angle_deg(lean_a, lean_b))
    if angle < 1e-9:
        lean = np.broadcast_to(lean_a, (SAMPLES, 3))
    else:
        lean = (np.sin((1 - t) * angle) * lean_a + np.sin(t * angle) * lean_b) / math.sin(angle)
    hands = (1 - t) * a + t * b
    return np.concatenate([hands, hands + radius_m * lean], axis=1)


def room_on_way_m(shapes: Sequence[Shape], way: list[Array], radius_m: float) -> float:
    """Return the least room of the ball on a way, at the samples."""
    centers = np.concatenate([leg[:, 3:] for leg in way])
    return min(
        (float(distance_m(shape, centers).min()) - radius_m for shape in shapes), default=math.inf
    )


def _angle_deg(a: Array, b: Array) -> float:
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b)))


def _off_segment_m(point: Array, a: Vector, b: Vector) -> float:
    start, along = np.array(a), np.array(b) - np.array(a)
    share = min(1.0, max(0.0, float((point - start) @ along / (along @ along))))
    return math.dist(point, start + share * along)


def distance_m(shape: Shape, points: Array) -> Array:
    """Return distances to a shape, negative inside."""
    if isinstance(shape, Sphere):
        return np.linalg.norm(points - np.array(shape.center_m), axis=1) - shape.radius_m
    if isinstance(shape, Box | Prism):
        return _extruded_m(shape, points)
    return _turned_m(shape, points)


def _turned_m(shape: Cylinder | Cone, points: Array) -> Array:
    """A body of revolution: distance in the half plane to a trapezium given as a polygon."""
    start, end = np.array(shape.start_m), np.array(shape.end_m)
    length = float(np.linalg.norm(end - start))
    axis = (end - start) / length
    first, last = (
        (shape.radius_m, shape.radius_m)
        if isinstance(shape, Cylinder)
        else (shape.start_radius_m, shape.end_radius_m)
    )
    along = (points - start) @ axis
    out = np.linalg.norm(points - start - along[:, None] * axis, axis=1)
    corners = [(0.0, -first), (0.0, first), (length, last), (length, -last)]
    return _polygon_m(corners, along, out)


def _extruded_m(shape: Box | Prism, points: Array) -> Array:
    x = np.array(shape.x_axis) / np.linalg.norm(shape.x_axis)
    z = np.cross(x, np.array(shape.y_axis))
    z = z / np.linalg.norm(z)
    y = np.cross(z, x)
    if isinstance(shape, Box):
        sx, sy, height = shape.size_m
        origin = np.array(shape.center_m) - z * height / 2
        corners = [(-sx / 2, -sy / 2), (sx / 2, -sy / 2), (sx / 2, sy / 2), (-sx / 2, sy / 2)]
    else:
        origin, height, corners = np.array(shape.origin_m), shape.height_m, list(shape.outline_m)
    own = points - origin
    flat = _polygon_m(corners, own @ x, own @ y)
    level = np.abs(own @ z - height / 2) - height / 2
    outside = np.hypot(np.maximum(flat, 0), np.maximum(level, 0))
    return outside + np.minimum(np.maximum(flat, level), 0)


def _polygon_m(corners: Sequence[tuple[float, float]], u: Array, v: Array) -> Array:
    """Distance in a plane to a polygon, negative inside, by its edges and crossing number."""
    nearest = np.full(len(u), np.inf)
    inside = np.zeros(len(u), dtype=bool)
    for (a, b), (c, d) in zip(corners, [*corners[1:], corners[0]], strict=True):
        length2 = (c - a) ** 2 + (d - b) ** 2
        if length2 == 0:
            continue
        share = np.clip(((u - a) * (c - a) + (v - b) * (d - b)) / length2, 0, 1)
        nearest = np.minimum(nearest, np.hypot(u - a - share * (c - a), v - b - share * (d - b)))
        if b != d:
            left = (b > v) != (d > v)
            inside ^= left & (u < a + (v - b) * (c - a) / (d - b))
    return np.where(inside, -nearest, nearest)
