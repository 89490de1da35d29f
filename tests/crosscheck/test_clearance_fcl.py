"""Distance and clearance against python-fcl and trimesh, general collision libraries.

Box, cylinder, sphere and cone are measured by fcl's own primitives; prisms and frusta as
triangle meshes made here or by trimesh. A prism's mesh is the prism. A frustum's mesh has
256 flat sides inside the round one: it is up to r (1 - cos(pi/256)) = 7.6e-5 r smaller.
"""

import fcl
import numpy as np
import pytest
import trimesh

from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.distance import signed_distance
from structures.solids.sight import crosses
from structures.solids.sweep import SWEEP_TOLERANCE_M, sweep_clearance, sweep_clears
from tests.structures.sample_shapes import KINDS, Floats, random_move, random_shape, slerp

SIDES = 256
MESH_ERROR = 2 * (1 - np.cos(np.pi / SIDES))  # radii are at most 2 m
FCL_ERROR = 1e-4  # its iterations stop early: up to 3.4e-5 off trimesh's exact distance, seen here
RADIUS_M = 0.546


def along_z(start: object, end: object) -> tuple[Floats, Floats]:
    """Return a rotation that turns z to start-end, and the middle."""
    first, last = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    z = (last - first) / np.linalg.norm(last - first)
    x = np.cross(z, np.eye(3)[np.abs(z).argmin()])
    x /= np.linalg.norm(x)
    return np.column_stack([x, np.cross(z, x), z]), (first + last) / 2


def box_axes(shape: Box | Prism) -> Floats:
    x, y = (np.asarray(axis) / np.linalg.norm(axis) for axis in (shape.x_axis, shape.y_axis))
    return np.column_stack([x, y, np.cross(x, y)])


def mesh_of(shape: Shape) -> trimesh.Trimesh:
    """Return a closed triangle mesh of a prism over a star-shaped outline, or of a frustum."""
    if isinstance(shape, Prism):
        outline = np.asarray(shape.outline_m)
        low, high, turn = 0.0, shape.height_m, box_axes(shape)
        foot = np.column_stack([outline, np.full(len(outline), low)])
        head = foot + np.array([0, 0, high])
        zero = np.asarray(shape.origin_m)
        feet, heads = zero + foot @ turn.T, zero + head @ turn.T
        hubs = zero + np.array([[0, 0, low], [0, 0, high]]) @ turn.T
    else:
        assert isinstance(shape, Cone)
        turn, _ = along_z(shape.start_m, shape.end_m)
        angles = np.arange(SIDES) * (2 * np.pi / SIDES)
        ring = np.column_stack([np.cos(angles), np.sin(angles), 0 * angles]) @ turn.T
        feet = np.asarray(shape.start_m) + shape.start_radius_m * ring
        heads = np.asarray(shape.end_m) + shape.end_radius_m * ring
        hubs = np.array([shape.start_m, shape.end_m])
    n = len(feet)
    i, j = np.arange(n), (np.arange(n) + 1) % n
    faces = np.concatenate(
        [
            np.column_stack([i, j, j + n]),
            np.column_stack([i, j + n, i + n]),
            np.column_stack([np.full(n, 2 * n), j, i]),
            np.column_stack([np.full(n, 2 * n + 1), i + n, j + n]),
        ]
    )
    corners = np.concatenate([feet, heads, hubs])
    # At a tip triangles have no area, and fcl takes those for a hit everywhere.
    a, b, c = (corners[faces[:, k]] for k in range(3))
    faces = faces[np.linalg.norm(np.cross(b - a, c - a), axis=1) > 1e-12]
    return trimesh.Trimesh(corners, faces, process=False)


def primitive(shape: Shape) -> fcl.CollisionObject | None:
    if isinstance(shape, Sphere):
        return fcl.CollisionObject(
            fcl.Sphere(shape.radius_m), fcl.Transform(np.array(shape.center_m))
        )
    if isinstance(shape, Box):
        place = fcl.Transform(box_axes(shape), np.array(shape.center_m))
        return fcl.CollisionObject(fcl.Box(*shape.size_m), place)
    if isinstance(shape, Cylinder):
        turn, middle = along_z(shape.start_m, shape.end_m)
        length = float(np.linalg.norm(np.subtract(shape.end_m, shape.start_m)))
        return fcl.CollisionObject(
            fcl.Cylinder(shape.radius_m, length), fcl.Transform(turn, middle)
        )
    if isinstance(shape, Cone) and shape.end_radius_m == 0:
        turn, middle = along_z(shape.start_m, shape.end_m)
        length = float(np.linalg.norm(np.subtract(shape.end_m, shape.start_m)))
        return fcl.CollisionObject(
            fcl.Cone(shape.start_radius_m, length), fcl.Transform(turn, middle)
        )
    return None


def skin(shape: Shape) -> fcl.CollisionObject:
    mesh = mesh_of(shape)
    model = fcl.BVHModel()
    model.beginModel(len(mesh.vertices), len(mesh.faces))
    model.addSubModel(np.asarray(mesh.vertices), np.asarray(mesh.faces))
    model.endModel()
    return fcl.CollisionObject(model)


def fcl_distance(body: fcl.CollisionObject, points: Floats) -> Floats:
    """Return the distance from each point, as a tiny ball, to a body."""
    tiny = 1e-4
    ball = fcl.CollisionObject(fcl.Sphere(tiny))
    found = np.empty(len(points))
    for i, point in enumerate(points):
        ball.setTranslation(point)
        found[i] = fcl.distance(body, ball) + tiny
    return found


@pytest.mark.parametrize("kind", ["cylinder", "cone", "sphere", "box"])
def test_distance_against_fcl_primitives(kind: str) -> None:
    """Points outside, 3000 pairs of each kind."""
    random = np.random.default_rng(41)
    pairs = 0
    while pairs < 3000:
        shape = random_shape(random, kind)
        body = primitive(shape)
        if body is None:
            continue
        points = random.uniform(-5, 5, (100, 3))
        ours = signed_distance(shape, points)
        outside = ours > 0.01
        theirs = fcl_distance(body, points[outside])
        assert np.abs(ours[outside] - theirs).max() < FCL_ERROR
        pairs += int(outside.sum())


@pytest.mark.parametrize("kind", ["cone", "prism"])
def test_distance_against_meshes(kind: str) -> None:
    """Points outside and inside (a skin's distance has no sign), 2000 pairs each, two libraries."""
    random = np.random.default_rng(42)
    error = MESH_ERROR if kind == "cone" else 1e-9
    inside = pairs = 0
    while pairs < 2000:
        shape = random_shape(random, kind)
        points = random.uniform(-2.5, 2.5, (100, 3))
        ours = signed_distance(shape, points)
        exact = trimesh.proximity.closest_point_naive(mesh_of(shape), points)[1]
        assert np.abs(np.abs(ours) - exact).max() < error
        off = np.abs(ours) > 1e-2
        theirs = fcl_distance(skin(shape), points[off])
        assert np.abs(np.abs(ours[off]) - theirs).max() < error + FCL_ERROR
        inside += int((ours < 0).sum())
        pairs += len(points)
    assert inside > 80


@pytest.mark.parametrize("kind", ["cone", "prism"])
def test_inside_against_trimesh(kind: str) -> None:
    """The sign, by the winding number of trimesh's own triangles seen from the point."""
    random = np.random.default_rng(43)
    inside = 0
    for _ in range(30):
        shape = random_shape(random, kind)
        mesh = mesh_of(shape)
        points = random.uniform(-2.5, 2.5, (60, 3))
        ours = signed_distance(shape, points)
        a, b, c = (mesh.triangles[None, :, k] - points[:, None] for k in range(3))
        la, lb, lc = (np.linalg.norm(v, axis=2) for v in (a, b, c))
        above = np.einsum("ijk,ijk->ij", a, np.cross(b, c))
        below = (
            la * lb * lc
            + np.einsum("ijk,ijk->ij", a, b) * lc
            + np.einsum("ijk,ijk->ij", b, c) * la
            + np.einsum("ijk,ijk->ij", c, a) * lb
        )
        winding = np.abs(np.arctan2(above, below).sum(axis=1)) / (2 * np.pi)
        sure = np.abs(ours) > 1e-3
        assert ((winding > 0.5) == (ours < 0))[sure].all()
        inside += int((ours < 0).sum())
    assert inside > 50


@pytest.mark.parametrize("kind", KINDS)
def test_moving_ball_against_fcl(kind: str) -> None:
    """A ball of the corridor's radius at 41 poses on each of 1500 moves of each kind.

    Poses miss the least clearance by at most half of a pose's step, so ours lies
    between what the poses show and that much below it.
    """
    random = np.random.default_rng(44)
    hits = pairs = 0
    while pairs < 1500:
        shape = random_shape(random, kind)
        body = primitive(shape)
        error = FCL_ERROR
        if body is None:
            body, error = skin(shape), MESH_ERROR + FCL_ERROR
        sweep = random_move(random, 15, 3.0, RADIUS_M)
        poses = np.stack([slerp(sweep, share) for share in np.linspace(0, 1, 41)])
        half_step = np.linalg.norm(np.diff(poses, axis=0), axis=2).max(axis=0) / 2 * 1.001
        ball = fcl.CollisionObject(fcl.Sphere(RADIUS_M))
        theirs = np.full(15, np.inf)
        for way in poses:
            for i, center in enumerate(way):
                ball.setTranslation(center)
                # fcl gives a negative number, not a depth, where bodies overlap.
                theirs[i] = min(theirs[i], max(fcl.distance(body, ball), -1.0))
        ours, _ = sweep_clearance((shape,), sweep, RADIUS_M)
        clear = sweep_clears((shape,), sweep, RADIUS_M)
        # A mesh's skin does not feel a ball that is wholly inside it: judge those by our sign.
        free = theirs > error
        buried = ours < -RADIUS_M
        known = free & ~buried
        assert (ours[known] <= theirs[known] + error).all()
        assert (ours[known] >= theirs[known] - half_step[known] - SWEEP_TOLERANCE_M - error).all()
        assert not clear[theirs < -error].any()
        assert not ours[theirs < -error].max(initial=-1.0) > error
        assert clear[known & (theirs - half_step - error > SWEEP_TOLERANCE_M)].all()
        hits += int((~clear).sum())
        pairs += 15
    assert 100 < hits < 1400


@pytest.mark.parametrize("kind", ["box", "cylinder", "sphere"])
def test_sight_against_fcl(kind: str) -> None:
    """A thin needle as fcl's capsule along the line: they meet, or stay apart, as we say."""
    random = np.random.default_rng(45)
    thin = 1e-5
    through = 0
    for _ in range(40):
        shape = random_shape(random, kind)
        body = primitive(shape)
        starts, ends = random.uniform(-4, 4, (2, 50, 3))
        ours = crosses(shape, starts, ends)
        for start, end, blocked in zip(starts, ends, ours, strict=True):
            turn, middle = along_z(start, end)
            needle = fcl.Capsule(thin, float(np.linalg.norm(end - start)))
            apart = fcl.distance(body, fcl.CollisionObject(needle, fcl.Transform(turn, middle)))
            if blocked:
                assert apart < FCL_ERROR
            else:
                assert apart > -thin or apart == -1.0
                samples = start + np.linspace(0, 1, 300)[:, None] * (end - start)
                assert signed_distance(shape, samples).min() > -1e-5
            through += int(blocked)
    assert 100 < through < 1900
