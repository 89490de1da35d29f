"""Small structures for the tests of the reach graph, checked by hand or made at random."""

import numpy as np

from structures.elements import (
    Condition,
    Handhold,
    Handrail,
    Hatch,
    Socket,
    Solid,
    TetherPoint,
    Zone,
)
from structures.frames import Vector
from structures.model import Structure
from structures.shapes import Box, Cylinder, Sphere

__all__ = ["STANDOFF_M", "UP", "flat_deck", "rail", "random_structure"]

UP: Vector = (0.0, 0.0, -1.0)
STANDOFF_M = 0.07


def rail(name: str, *points: Vector, normal: Vector = UP) -> Handrail:
    """Make a handrail through points."""
    return Handrail(id=name, points_m=points, normal=normal)


def flat_deck(*rails: Handrail, **lists: object) -> Structure:
    """Make a deck of 20 m x 20 m whose top face is at z = 0, with rails and whatever else."""
    content: dict[str, object] = {
        "name": "deck",
        "revision": "1",
        "solids": (
            Solid(id="deck", volume=Box(center_m=(0.0, 0.0, 1.0), size_m=(20.0, 20.0, 2.0))),
        ),
        "handrails": rails,
    }
    return Structure.model_validate(content | lists)


_FACES = (
    ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    ((-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    ((0.0, 1.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    ((0.0, 0.0, -1.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
)
_SIZE_M = np.array([1.6, 1.4, 1.0])


def _vector(array: "np.ndarray[tuple[int, ...], np.dtype[np.float64]]") -> Vector:
    x, y, z = (float(a) for a in array)
    return (x, y, z)


def random_structure(draw: int) -> Structure:
    """Make a box with rails on four faces, a pipe along one edge, obstacles and zones."""
    random = np.random.default_rng(draw)
    rails, solids = [], [Solid(id="core", volume=Box(center_m=(0, 0, 0), size_m=(1.6, 1.4, 1.0)))]
    for i in range(int(random.integers(3, 7))):
        out, u, v = (np.array(a) for a in _FACES[int(random.integers(4))])
        half_u, half_v = abs(u @ _SIZE_M) / 2, abs(v @ _SIZE_M) / 2
        base = out * (abs(out @ _SIZE_M) / 2 + STANDOFF_M)
        # Ends near the edges, so that ways round the edges come up often.
        a = base + u * random.uniform(-half_u, half_u) + v * random.uniform(-half_v, half_v)
        b = base + u * random.uniform(-half_u, half_u) + v * half_v * random.choice([-0.97, 0.97])
        rails.append(rail(f"H{i}", _vector(a), _vector(b), normal=_vector(out)))
    if random.random() < 0.5:
        solids.append(
            Solid(
                id="pipe",
                volume=Cylinder(
                    start_m=(-1.0, 0.75, -0.55), end_m=(1.0, 0.75, -0.55), radius_m=0.05
                ),
            )
        )
    for i in range(int(random.integers(0, 3))):
        out = np.array(_FACES[int(random.integers(4))][0])
        at = out * (abs(out @ _SIZE_M) / 2) + random.uniform(-0.5, 0.5, 3)
        edge = float(random.uniform(0.05, 0.3))
        solids.append(
            Solid(id=f"B{i}", volume=Box(center_m=_vector(at), size_m=(edge, edge, edge)))
        )
    zones = [_random_zone(f"Z{i}", random) for i in range(int(random.integers(1, 4)))]
    at = np.array([0.8 + STANDOFF_M, *random.uniform(-0.4, 0.4, 2)])
    return Structure(
        name="random",
        revision=str(draw),
        solids=tuple(solids),
        handrails=tuple(rails),
        zones=tuple(zones),
        conditions=(Condition(id="hot"),),
        handholds=(Handhold(id="G", position_m=_vector(at), normal=(1.0, 0.0, 0.0)),),
        sockets=(
            Socket(
                id="S",
                position_m=(0.1, 0.1, -0.5 - STANDOFF_M),
                normal=UP,
                clock_zero=(1.0, 0.0, 0.0),
            ),
        ),
        tether_points=(TetherPoint(id="T", position_m=(0.0, 0.0, -0.5)),),
        hatches=(
            Hatch(id="A", position_m=(-0.4, 0.2, -0.5 - STANDOFF_M), normal=UP, tether_point="T"),
        ),
    )


def _random_zone(name: str, random: np.random.Generator) -> Zone:
    at = random.uniform(-1.1, 1.1, 3)
    return Zone.model_validate(
        {
            "id": name,
            "kind": str(random.choice(["keep-out", "slow-down"])),
            "volume": Sphere(center_m=_vector(at), radius_m=float(random.uniform(0.1, 0.7))),
            "applies_to": [("body",), ("tether",), ("item",), ("body", "tether", "item")][
                int(random.integers(4))
            ],
            "when": ("hot",) if random.random() < 0.3 else (),
            "slow_factor": float(random.choice([1.0, 1.5, 3.0])),
        }
    )
