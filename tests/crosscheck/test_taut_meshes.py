"""Shortest ways over a convex solid against exact geodesics on fine meshes (pygeodesic).

Between two points on the skin of a convex solid the shortest way outside it
lies on the skin. pygeodesic computes geodesics of a triangle mesh exactly
(Mitchell, Mount and Papadimitriou 1987), so that what is left is the mesh's
own error: none for a box, and for a round section of n sides the chords.
"""

import math
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray
from pygeodesic import geodesic

from structures.shapes import Box, Cylinder, Shape, Sphere
from structures.solids.taut import shortest_way

Floats = NDArray[np.float64]
Mesh = tuple[Floats, NDArray[np.int32]]

SIDES = 96
HALF_COS = math.cos(math.pi / SIDES)


def box_mesh(shape: Box, parts: int = 6) -> Mesh:
    """Grids on all six faces, joined along the edges."""
    half = np.array(shape.size_m) / 2
    points: dict[tuple[int, ...], int] = {}
    faces = []
    for axis in range(3):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        for side in (0, parts):
            for i in range(parts):
                for j in range(parts):
                    corners = []
                    for a, b in ((i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)):
                        at = [0, 0, 0]
                        at[axis], at[u], at[v] = side, a, b
                        corners.append(points.setdefault(tuple(at), len(points)))
                    faces += [corners[:3], [corners[0], *corners[2:]]]
    grid = np.array(list(points), dtype=np.float64) / parts
    return np.array(shape.center_m) + (2 * grid - 1) * half, np.array(faces, dtype=np.int32)


def lathe_mesh(outline: list[tuple[float, float]]) -> Mesh:
    """Turn an outline of (radius, height) from axis to axis round z, in `SIDES` steps."""
    turn = 2 * np.pi * np.arange(SIDES) / SIDES
    rings, points = [], []
    for radius, height in outline:
        start = len(points)
        if radius == 0:
            points.append((0.0, 0.0, height))
            rings.append([start] * SIDES)
        else:
            points += [(radius * np.cos(a), radius * np.sin(a), height) for a in turn]
            rings.append(list(range(start, start + SIDES)))
    faces = []
    for low, high in pairwise(rings):
        for k in range(SIDES):
            m = (k + 1) % SIDES
            faces += [(low[k], low[m], high[m]), (low[k], high[m], high[k])]
    kept = [face for face in faces if len(set(face)) == 3]
    return np.array(points), np.array(kept, dtype=np.int32)


def cylinder_mesh(shape: Cylinder) -> Mesh:
    radius, height = shape.radius_m, shape.end_m[2]
    caps = [radius * k / 4 for k in range(4)]
    return lathe_mesh(
        [
            *((r, 0.0) for r in caps),
            *((radius, height * k / 8) for k in range(9)),
            *((r, height) for r in reversed(caps)),
        ]
    )


def sphere_mesh(shape: Sphere) -> Mesh:
    lean = np.pi * np.arange(SIDES // 2 + 1) / (SIDES // 2)
    inner = [(shape.radius_m * math.sin(a), -shape.radius_m * math.cos(a)) for a in lean[1:-1]]
    return lathe_mesh([(0.0, -shape.radius_m), *inner, (0.0, shape.radius_m)])


BOX = Box(center_m=(0.5, -1.0, 2.0), size_m=(6.0, 5.0, 3.0))
DRUM = Cylinder(start_m=(0, 0, 0), end_m=(0, 0, 3.0), radius_m=1.0)
FLAT = Cylinder(start_m=(0, 0, 0), end_m=(0, 0, 0.4), radius_m=2.0)
BALL = Sphere(center_m=(0, 0, 0), radius_m=1.5)


def distances(mesh: Mesh, source: int) -> Floats:
    points, faces = mesh
    solver = geodesic.PyGeodesicAlgorithmExact(points, faces)
    found, _ = solver.geodesicDistances(np.array([source]), None)
    result: Floats = np.asarray(found, dtype=np.float64)
    return result


def way_m(shape: Shape, start: Floats, end: Floats) -> float:
    way = shortest_way((shape,), tuple(start.tolist()), tuple(end.tolist()))
    assert way.exact
    return way.length_m


@pytest.mark.parametrize("number", range(4))
def test_over_a_box_to_rounding(number: int) -> None:
    random = np.random.default_rng(number)
    mesh = box_mesh(BOX)
    points = mesh[0]
    source = int(random.integers(len(points)))
    lengths = distances(mesh, source)
    for end in random.choice(len(points), 12, replace=False).tolist():
        assert way_m(BOX, points[source], points[end]) == pytest.approx(lengths[end], abs=1e-6)


def test_dudeneys_spider_on_the_outside_of_a_box() -> None:
    # W11: box 30 x 12 x 12, ends centred on opposite square faces, 1 below the top and 1 above
    # the bottom edge: 40 over five faces; the same inside and outside.
    box = Box(center_m=(15.0, 6.0, 6.0), size_m=(30.0, 12.0, 12.0))
    mesh = box_mesh(box, parts=12)
    points = mesh[0]
    source = int(np.flatnonzero((points == (0.0, 6.0, 11.0)).all(axis=1))[0])
    goal = int(np.flatnonzero((points == (30.0, 6.0, 1.0)).all(axis=1))[0])
    assert distances(mesh, source)[goal] == pytest.approx(40.0, abs=1e-6)
    assert way_m(box, points[source], points[goal]) == pytest.approx(40.0, abs=1e-6)


@pytest.mark.parametrize(
    ("shape", "number"), [(DRUM, 0), (DRUM, 1), (DRUM, 2), (FLAT, 0), (FLAT, 1), (FLAT, 2)]
)
def test_over_a_cylinder_within_the_mesh_error(shape: Cylinder, number: int) -> None:
    """The many-sided body lies inside the round one, and blown up by 1 / cos(pi / n) round it.

    Drawing a line in to a convex body never makes it longer, so a line over the
    mesh is no longer than one over the drum; and blown up it leads round the
    drum between points that are off the true ones by no more than the blow-up.
    """
    random = np.random.default_rng(number)
    mesh = cylinder_mesh(shape)
    points = mesh[0]
    source = int(random.integers(len(points)))
    lengths = distances(mesh, source)
    off_m = shape.radius_m * (1 / HALF_COS - 1)
    for end in random.choice(len(points), 12, replace=False).tolist():
        found_m = way_m(shape, points[source], points[end])
        assert lengths[end] <= found_m + 1e-6
        assert found_m <= lengths[end] / HALF_COS + 2 * off_m + 1e-6


def test_over_a_ball_within_the_mesh_error() -> None:
    """The mesh lies between the ball and one smaller by the sagitta of its faces."""
    mesh = sphere_mesh(BALL)
    points, faces = mesh
    normals = np.cross(
        points[faces[:, 1]] - points[faces[:, 0]], points[faces[:, 2]] - points[faces[:, 0]]
    )
    heights = np.abs((normals * points[faces[:, 0]]).sum(axis=1)) / np.linalg.norm(normals, axis=1)
    shrink = float(heights.min()) / BALL.radius_m
    random = np.random.default_rng(5)
    source = int(random.integers(len(points)))
    lengths = distances(mesh, source)
    for end in random.choice(len(points), 12, replace=False).tolist():
        found_m = way_m(BALL, points[source], points[end])
        assert lengths[end] <= found_m + 1e-6
        assert found_m <= lengths[end] / shrink + 2 * BALL.radius_m * (1 / shrink - 1) + 1e-6
