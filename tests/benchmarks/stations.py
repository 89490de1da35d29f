"""Made-up stations of any size, always the same for the same size and draw.

Cylinders stand nose to tail in rows, trusses join the rows, boxes stand on the
cylinders; each part has its handrails, and zones, tether points, sockets and
worksites are scattered over them. About 500 grips and 5.5 tether points a
cylinder, at a spacing of 0.25 m.
"""

from dataclasses import dataclass, field
from typing import TypeAlias

import numpy as np

from structures.elements import (
    AttachPoint,
    Handrail,
    Hatch,
    Item,
    Socket,
    Solid,
    Target,
    TetherPoint,
    Worksite,
    Zone,
)
from structures.frames import Vector
from structures.model import Structure
from structures.shapes import Box, Cylinder, Sphere

__all__ = ["SIZES", "make_station"]

SIZES = (1_000, 5_000, 20_000, 100_000)
"""Grips of the stations that the benchmarks use."""

GRIPS_A_MODULE = 500
RADIUS_M, LENGTH_M, NOSE_GAP_M, PITCH_M = 2.2, 10.0, 0.4, 9.0
STANDOFF_M = 0.07
LINES = 10
RAIL_M, RAILS_A_LINE = 1.25, 6

Floats: TypeAlias = "np.ndarray[tuple[int, ...], np.dtype[np.float64]]"


@dataclass
class Parts:
    """What has been made so far."""

    solids: list[Solid] = field(default_factory=list)
    handrails: list[Handrail] = field(default_factory=list)
    sockets: list[Socket] = field(default_factory=list)
    tether_points: list[TetherPoint] = field(default_factory=list)
    worksites: list[Worksite] = field(default_factory=list)
    zones: list[Zone] = field(default_factory=list)


def make_station(grips: int, draw: int = 1) -> Structure:
    """Make a station of about so many grips; another draw moves everything a little."""
    random = np.random.default_rng(draw)
    modules = max(2, round(grips / GRIPS_A_MODULE))
    in_row = max(2, round(np.sqrt(modules * PITCH_M / LENGTH_M)))
    parts = Parts()
    for number in range(modules):
        row, place = divmod(number, in_row)
        center = np.array([place * (LENGTH_M + NOSE_GAP_M), row * PITCH_M, 0.0])
        _add_module(parts, number, center, random)
        if row:
            _add_truss(parts, number, center)
    hatch = Hatch(
        id="A1",
        position_m=(0.3 - LENGTH_M / 2, 0.0, -RADIUS_M - STANDOFF_M),
        normal=(0.0, 0.0, -1.0),
        tether_point="T0000-0",
    )
    return Structure(
        name=f"station of {modules} cylinders",
        revision=str(draw),
        solids=tuple(parts.solids),
        handrails=tuple(parts.handrails),
        sockets=tuple(parts.sockets),
        tether_points=tuple(parts.tether_points),
        worksites=tuple(parts.worksites),
        zones=tuple(parts.zones),
        hatches=(hatch,),
        items=(Item(id="bag", size_m=(0.3, 0.3, 0.4), mass_kg=20.0),),
    )


def _outward(angle: float) -> Floats:
    """Return the direction at a clock angle round the x axis, zenith at 0."""
    return np.array([0.0, np.sin(angle), -np.cos(angle)])


def _vector(array: Floats) -> Vector:
    x, y, z = (float(a) for a in array)
    return (x, y, z)


def _on_skin(center: Floats, x: float, angle: float, height_m: float) -> Floats:
    return center + np.array([x, 0.0, 0.0]) + (RADIUS_M + height_m) * _outward(angle)


def _add_module(parts: Parts, number: int, center: Floats, random: np.random.Generator) -> None:
    half = LENGTH_M / 2
    along = np.array([half, 0.0, 0.0])
    name = f"{number:04d}"
    parts.solids.append(
        Solid(
            id=f"M{name}",
            volume=Cylinder(
                start_m=_vector(center - along),
                end_m=_vector(center + along),
                radius_m=RADIUS_M,
            ),
        )
    )
    angles = np.arange(LINES) * 2 * np.pi / LINES + random.uniform(-0.05, 0.05, LINES)
    for line, angle in enumerate(angles):
        _add_line_of_rails(parts, f"{name}-{line}", (center, float(angle)), random)
    for end, x in (("a", -half + 0.2), ("f", half - 0.2)):
        _add_ring(parts, f"{name}-{end}", center, x)
    for box in range(2):
        _add_box(parts, f"{name}-{box}", center, random)
    for i in range(5 + number % 2):
        at = _on_skin(center, random.uniform(-half, half), angles[i % LINES] + 0.1, 0.0)
        parts.tether_points.append(
            TetherPoint(id=f"T{name}-{i}", position_m=_vector(at), rating_n=3000.0)
        )
    for i in range(3):
        _add_worksite(parts, f"{name}-{i}", center, random)
    kind = ("keep-out", "slow-down")[number % 2]
    at = _on_skin(center, random.uniform(-half, half), random.uniform(0, 2 * np.pi), 0.3)
    parts.zones.append(
        Zone.model_validate(
            {
                "id": f"Z{name}",
                "kind": kind,
                "volume": Sphere(center_m=_vector(at), radius_m=0.8),
            }
        )
    )


def _add_line_of_rails(
    parts: Parts, name: str, place: tuple[Floats, float], random: np.random.Generator
) -> None:
    center, angle = place
    step_m = (LENGTH_M - 0.1 - RAIL_M) / (RAILS_A_LINE - 1)
    for number in range(RAILS_A_LINE):
        x = 0.05 - LENGTH_M / 2 + number * step_m
        if 0 < number < RAILS_A_LINE - 1:
            x += float(random.uniform(-0.05, 0.05))
        parts.handrails.append(
            Handrail(
                id=f"H{name}-{number}",
                points_m=(
                    _vector(_on_skin(center, x, angle, STANDOFF_M)),
                    _vector(_on_skin(center, x + RAIL_M, angle, STANDOFF_M)),
                ),
                normal=_vector(_outward(angle)),
            )
        )


def _add_ring(parts: Parts, name: str, center: Floats, x: float) -> None:
    """Short rails across, all the way round near one end."""
    for i in range(LINES):
        angle = (i + 0.5) * 2 * np.pi / LINES
        middle = _on_skin(center, x, angle, STANDOFF_M + 0.02)
        across = 0.45 * np.array([0.0, np.cos(angle), np.sin(angle)])
        parts.handrails.append(
            Handrail(
                id=f"R{name}-{i}",
                points_m=(_vector(middle - across), _vector(middle + across)),
                normal=_vector(_outward(angle)),
            )
        )


def _add_box(parts: Parts, name: str, center: Floats, random: np.random.Generator) -> None:
    """A box standing on the skin, with rails on its top and up one side."""
    angle, x = float(random.uniform(0, 2 * np.pi)), float(random.uniform(-3.5, 3.5))
    out, side = _outward(angle), np.array([0.0, np.cos(angle), np.sin(angle)])
    middle = _on_skin(center, x, angle, 0.4)
    parts.solids.append(
        Solid(
            id=f"B{name}",
            volume=Box(
                center_m=_vector(middle),
                size_m=(1.0, 0.8, 1.0),
                x_axis=(1.0, 0.0, 0.0),
                y_axis=_vector(side),
            ),
        )
    )
    top = middle + (0.5 + STANDOFF_M) * out
    along = np.array([0.4, 0.0, 0.0])
    for i, sign in enumerate((-1.0, 1.0)):
        edge = top + sign * 0.3 * side
        parts.handrails.append(
            Handrail(
                id=f"E{name}-{i}",
                points_m=(_vector(edge - along), _vector(edge + along)),
                normal=_vector(out),
            )
        )
    foot = middle + np.array([0.5 + STANDOFF_M, 0.0, 0.0]) + 0.3 * side
    parts.handrails.append(
        Handrail(
            id=f"U{name}",
            points_m=(_vector(foot - 0.3 * out), _vector(foot + 0.4 * out)),
            normal=(1.0, 0.0, 0.0),
        )
    )


def _add_truss(parts: Parts, number: int, center: Floats) -> None:
    """A square beam to the row before, with rails along its zenith face."""
    name = f"{number:04d}"
    length_m = PITCH_M - 2 * RADIUS_M
    middle = center - np.array([0.0, PITCH_M / 2, 0.0])
    parts.solids.append(
        Solid(id=f"K{name}", volume=Box(center_m=_vector(middle), size_m=(1.0, length_m, 1.0)))
    )
    for i, x in enumerate((-0.4, 0.4)):
        start = middle + np.array([x, -length_m / 2 + 0.2, -0.5 - STANDOFF_M])
        while start[1] + 0.5 < middle[1] + length_m / 2:
            end = start + np.array([0.0, 1.3, 0.0])
            end[1] = min(end[1], middle[1] + length_m / 2 - 0.2)
            parts.handrails.append(
                Handrail(
                    id=f"L{name}-{i}-{len(parts.handrails)}",
                    points_m=(_vector(start), _vector(end)),
                    normal=(0.0, 0.0, -1.0),
                )
            )
            start = end + np.array([0.0, 0.3, 0.0])


def _add_worksite(parts: Parts, name: str, center: Floats, random: np.random.Generator) -> None:
    """A socket with a worksite a little off some handrail."""
    angle, x = float(random.uniform(0, 2 * np.pi)), float(random.uniform(-4.5, 4.5))
    at = _on_skin(center, x, angle, STANDOFF_M)
    out = _outward(angle)
    parts.sockets.append(
        Socket(
            id=f"S{name}",
            position_m=_vector(at),
            normal=_vector(out),
            clock_zero=(1.0, 0.0, 0.0),
        )
    )
    target = Target(id="panel", position_m=_vector(at + 0.5 * out), facing=_vector(out))
    attach = AttachPoint(id="eye", held_m=_vector(at + 0.8 * out), seated_m=_vector(at + 0.4 * out))
    parts.worksites.append(
        Worksite(id=f"W{name}", socket=f"S{name}", targets=(target,), attach=(attach,))
    )
