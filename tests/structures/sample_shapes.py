"""Random shapes and moves for the geometry tests, and slow ways to measure them."""

from collections.abc import Callable
from typing import TypeAlias

import numpy as np

from structures.frames import Vector
from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.sweep import Sweep

__all__ = ["KINDS", "Floats", "random_move", "random_shape", "slerp", "unit", "vector"]

Floats: TypeAlias = "np.ndarray[tuple[int, ...], np.dtype[np.float64]]"
Random: TypeAlias = np.random.Generator


def vector(values: Floats) -> Vector:
    x, y, z = np.asarray(values, dtype=float).tolist()
    return (x, y, z)


def unit(random: Random, count: int) -> Floats:
    rows = random.normal(size=(count, 3))
    return rows / np.linalg.norm(rows, axis=1)[:, None]


def axes(random: Random) -> tuple[Vector, Vector]:
    turned, _ = np.linalg.qr(random.normal(size=(3, 3)))
    # Axes need not be unit vectors; a third of the time they are not.
    return vector(turned[:, 0] * random.choice([1.0, 1.0, 3.0])), vector(turned[:, 1])


def _cylinder(random: Random, spread_m: float) -> Shape:
    start = random.uniform(-spread_m, spread_m, 3)
    end = start + unit(random, 1)[0] * random.uniform(0.5, 5)
    return Cylinder(start_m=vector(start), end_m=vector(end), radius_m=random.uniform(0.2, 2))


def _cone(random: Random, spread_m: float) -> Shape:
    start = random.uniform(-spread_m, spread_m, 3)
    radii = random.uniform(0.2, 2, 2) * random.choice([[1, 1], [0, 1], [1, 0]])
    return Cone(
        start_m=vector(start),
        end_m=vector(start + unit(random, 1)[0] * random.uniform(0.5, 5)),
        start_radius_m=float(radii[0]),
        end_radius_m=float(radii[1]),
    )


def _sphere(random: Random, spread_m: float) -> Shape:
    center = random.uniform(-spread_m, spread_m, 3)
    return Sphere(center_m=vector(center), radius_m=random.uniform(0.3, 2))


def _box(random: Random, spread_m: float) -> Shape:
    x_axis, y_axis = axes(random)
    return Box(
        center_m=vector(random.uniform(-spread_m, spread_m, 3)),
        size_m=vector(random.uniform(0.2, 4, 3)),
        x_axis=x_axis,
        y_axis=y_axis,
    )


def _prism(random: Random, spread_m: float) -> Shape:
    """Make a prism over a star-shaped polygon about the origin, rarely convex, either way round."""
    corners = int(random.integers(3, 10))
    angles = np.arange(corners) * (2 * np.pi / corners) + random.uniform(0, 1)
    radii = random.uniform(0.3, 2, corners)
    outline = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    x_axis, y_axis = axes(random)
    return Prism(
        origin_m=vector(random.uniform(-spread_m, spread_m, 3)),
        outline_m=tuple((x, y) for x, y in outline[:: random.choice([-1, 1])].tolist()),
        height_m=random.uniform(0.3, 4),
        x_axis=x_axis,
        y_axis=y_axis,
    )


KINDS: dict[str, Callable[[Random, float], Shape]] = {
    "cylinder": _cylinder,
    "cone": _cone,
    "sphere": _sphere,
    "box": _box,
    "prism": _prism,
}


def random_shape(random: Random, kind: str, spread_m: float = 1.0) -> Shape:
    return KINDS[kind](random, spread_m)


def random_move(random: Random, count: int, spread_m: float, offset_m: float) -> Sweep:
    """Make moves like those from handrail to handrail: up to 0.8 m, turns up to about 2 rad."""
    start = random.uniform(-spread_m, spread_m, (count, 3))
    end = start + unit(random, count) * random.uniform(0, 0.8, (count, 1))
    first = unit(random, count)
    last = first + random.normal(size=(count, 3)) * random.choice([0.0, 0.3, 1.0], (count, 1))
    last /= np.linalg.norm(last, axis=1)[:, None]
    return Sweep(start, end, first, last, offset_m)


def slerp(sweep: Sweep, share: float) -> Floats:
    """Return the ball's centres at one time, by the textbook formula, shape (n, 3)."""
    dot = np.clip((sweep.start_lean * sweep.end_lean).sum(axis=1), -1, 1)
    angle = np.arccos(dot)[:, None]
    turns = np.sin(angle) > 1e-7
    sine = np.where(turns, np.sin(angle), 1.0)
    first = np.where(turns, np.sin((1 - share) * angle) / sine, 1 - share)
    last = np.where(turns, np.sin(share * angle) / sine, share)
    lean = first * sweep.start_lean + last * sweep.end_lean
    return sweep.start_m + share * (sweep.end_m - sweep.start_m) + sweep.offset_m * lean
