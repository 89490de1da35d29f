"""Taut lines round solids: real lines, never longer than what a blind search finds."""

import math
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.frames import Vector
from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.distance import signed_distance
from structures.solids.taut import NoWayError, Way, shortest_way
from tests.structures.sample_shapes import KINDS, Floats, random_shape, vector


def outside_pair(
    random: np.random.Generator, shapes: tuple[Shape, ...], spread_m: float
) -> tuple[Vector, Vector]:
    while True:
        ends = random.uniform(-spread_m, spread_m, (2, 3))
        if all((signed_distance(shape, ends) > 1e-3).all() for shape in shapes):
            return vector(ends[0]), vector(ends[1])


def dense(points: Floats, count: int = 200) -> Floats:
    share = np.linspace(0, 1, count)[:, None]
    return np.concatenate([a + share * (b - a) for a, b in pairwise(points)])


def check_real(way: Way, shapes: tuple[Shape, ...], bulge_m: float = 0.0) -> None:
    """Check that a line goes through nothing and is as long as it says."""
    for shape in shapes:
        assert signed_distance(shape, dense(way.points_m)).min() > -2e-6 - bulge_m
    pieces_m = np.linalg.norm(np.diff(way.points_m, axis=0), axis=1).sum()
    # Points on a round skin are 7.5 deg apart at most: chords are 0.072 % short of the arc.
    assert way.length_m * (1 - 1e-3 * (bulge_m > 0)) - 1e-9 <= pieces_m <= way.length_m + 1e-9


def surface_graph_m(skin: Floats, faces: list[list[int]], start: Vector, end: Vector) -> float:
    """Return the shortest line over sampled points of a convex body's skin.

    Points of one face see each other; an end sees the points of all faces that
    it is in front of. A real line outside the body: never below the true length.
    """
    graph = nx.Graph()
    center = skin.mean(axis=0)
    for name, end_m in (("start", np.array(start)), ("end", np.array(end))):
        for face in faces:
            a, b, c = skin[face[0]], skin[face[1]], skin[face[-1]]
            normal = np.cross(b - a, c - a)
            normal *= np.sign(normal @ (a - center))
            if normal @ (end_m - a) >= -1e-9 * np.linalg.norm(normal):
                for i in face:
                    graph.add_edge(name, i, length=float(np.linalg.norm(skin[i] - end_m)))
    for face in faces:
        gaps = np.linalg.norm(skin[face][:, None] - skin[face][None], axis=2)
        for i, a in enumerate(face):
            for j, b in enumerate(face[:i]):
                graph.add_edge(a, b, length=float(gaps[i, j]))
    return float(nx.dijkstra_path_length(graph, "start", "end", weight="length"))


def box_skin(shape: Box, steps: int) -> tuple[Floats, list[list[int]]]:
    """Return points on the edges of a box, and which of them lie in each face."""
    share = np.linspace(-1, 1, steps)
    rows = []
    for axis in range(3):
        for u in (-1.0, 1.0):
            for v in (-1.0, 1.0):
                row = np.empty((steps, 3))
                row[:, axis], row[:, axis - 1], row[:, axis - 2] = share, u, v
                rows.append(row)
    unit_cube = np.unique(np.concatenate(rows).round(12), axis=0)
    faces = [
        np.flatnonzero(unit_cube[:, axis] == side).tolist() for axis in range(3) for side in (-1, 1)
    ]
    # The first two and the last must span the face, whatever the order.
    for face in faces:
        corners = [i for i in face if (np.abs(unit_cube[i]) == 1).all()]
        face[:] = [corners[0], corners[1], *[i for i in face if i not in corners], *corners[2:]]
    x, y = (np.array(a) / np.linalg.norm(a) for a in (shape.x_axis, shape.y_axis))
    turn = np.stack([x, y, np.cross(x, y)])
    own = unit_cube * np.array(shape.size_m) / 2
    return np.array(shape.center_m) + own @ turn, faces


def test_box_against_surface_graph() -> None:
    """Equal to within the samples' spacing, on 60 random boxes and pairs in each other's way."""
    random = np.random.default_rng(51)
    blocked = 0
    while blocked < 60:
        box = random_shape(random, "box", 0.3)
        assert isinstance(box, Box)
        start, end = outside_pair(random, (box,), 2.5)
        way = shortest_way((box,), start, end)
        assert way.exact
        straight_m = math.dist(start, end)
        if way.length_m <= straight_m + 1e-9:
            continue
        check_real(way, (box,))
        reference_m = surface_graph_m(*box_skin(box, 17), start, end)
        assert way.length_m <= reference_m + 1e-9
        # Bends that miss the samples by half a step make its line a little longer.
        assert way.length_m >= reference_m * 0.99 - 0.02
        blocked += 1


def drum_skin(shape: Cylinder, sides: int, steps: int) -> tuple[Floats, list[list[int]]]:
    """Return points on a prism drawn round a cylinder, and which of them lie in each face."""
    start, end = np.array(shape.start_m), np.array(shape.end_m)
    axis = (end - start) / np.linalg.norm(end - start)
    x = np.cross(axis, [0.3, -0.5, 0.81])
    x /= np.linalg.norm(x)
    angles = np.arange(sides) * (2 * np.pi / sides)
    ring = np.cos(angles)[:, None] * x + np.sin(angles)[:, None] * np.cross(axis, x)
    ring *= shape.radius_m / np.cos(np.pi / sides)
    levels = np.linspace(0, 1, steps)[:, None, None]
    skin = (start + ring) + levels * (end - start)
    index = np.arange(steps * sides).reshape(steps, sides)
    faces = [
        [index[0, i], index[-1, i], *index[1:-1, i], *index[:, (i + 1) % sides]]
        for i in range(sides)
    ]
    third = sides // 3
    for level in (0, steps - 1):
        row = index[level].tolist()
        faces.append([row[0], row[third], *row[1:third], *row[third + 1 :]])
    return skin.reshape(-1, 3), [[int(i) for i in face] for face in faces]


def test_cylinder_against_surface_graph() -> None:
    """The same round cylinders: the graph's lines touch a 48-sided prism round the cylinder."""
    random = np.random.default_rng(52)
    blocked = over_rims = 0
    while blocked < 40:
        drum = random_shape(random, "cylinder", 0.3)
        assert isinstance(drum, Cylinder)
        start, end = outside_pair(random, (drum,), 3.0)
        way = shortest_way((drum,), start, end)
        assert way.exact
        if way.length_m <= math.dist(start, end) + 1e-9:
            continue
        check_real(way, (drum,), bulge_m=drum.radius_m * (1 - np.cos(np.radians(3.75))))
        reference_m = surface_graph_m(*drum_skin(drum, 48, 13), start, end)
        assert way.length_m <= reference_m + 1e-9
        assert way.length_m >= reference_m * 0.995 - 0.02
        blocked += 1
        axis = np.subtract(drum.end_m, drum.start_m)
        places = (np.array([start, end]) - drum.start_m) @ axis / (axis @ axis)
        over_rims += int(((places < 0) | (places > 1)).any())
    assert over_rims > 5


def test_drum_between_its_end_faces() -> None:
    """Over the rims of a flat drum: straight up, across the face, straight down."""
    drum = Cylinder(start_m=(0.0, 0.0, 0.0), end_m=(0.0, 0.0, 1.0), radius_m=2.0)
    way = shortest_way((drum,), (2.5, 0.0, 0.8), (-2.5, 0.0, 0.8))
    assert way.exact
    assert way.length_m == pytest.approx(2 * math.hypot(0.5, 0.2) + 4, abs=1e-9)
    # From under the middle to over the middle: out to a rim, up the side, back in.
    way = shortest_way((drum,), (0.0, 0.0, -1.5), (0.0, 0.0, 2.5))
    assert way.length_m == pytest.approx(2 * 2.5 + 1, abs=1e-9)
    # A tall one: over the rim is far, so round the side.
    tall = Cylinder(start_m=(0.0, 0.0, -9.0), end_m=(0.0, 0.0, 9.0), radius_m=2.0)
    way = shortest_way((tall,), (4.0, 0.0, 0.0), (-4.0, 0.0, 0.0))
    assert way.length_m == pytest.approx(2 * math.sqrt(12) + 2 * math.pi / 3, abs=1e-9)


@given(st.integers(0, 100_000))
def test_ball_is_closed_form(draw: int) -> None:
    random = np.random.default_rng(draw)
    ball = random_shape(random, "sphere", 0.2)
    assert isinstance(ball, Sphere)
    start, end = outside_pair(random, (ball,), 3.0)
    way = shortest_way((ball,), start, end)
    a, b = np.array(start) - ball.center_m, np.array(end) - ball.center_m
    d, e = np.linalg.norm(a), np.linalg.norm(b)
    angle = math.acos(np.clip(a @ b / d / e, -1, 1))
    arc = angle - math.acos(ball.radius_m / d) - math.acos(ball.radius_m / e)
    tangents = math.sqrt(d**2 - ball.radius_m**2) + math.sqrt(e**2 - ball.radius_m**2)
    expected_m = tangents + ball.radius_m * arc if arc > 0 else math.dist(start, end)
    assert way.exact
    assert way.length_m == pytest.approx(expected_m, abs=1e-6)
    check_real(way, (ball,), bulge_m=ball.radius_m * (1 - np.cos(np.radians(3.75))))


def test_ball_between_opposite_ends() -> None:
    ball = Sphere(center_m=(1.0, 0.0, 0.0), radius_m=1.0)
    way = shortest_way((ball,), (-1.0, 0.0, 0.0), (3.0, 0.0, 0.0))
    assert way.length_m == pytest.approx(2 * math.sqrt(3) + math.pi / 3, abs=1e-9)


@pytest.mark.parametrize("count", [1, 2, 4])
def test_several_solids_give_a_real_line(count: int) -> None:
    random = np.random.default_rng(53 + count)
    bounds = 0
    for _ in range(25):
        shapes = tuple(
            random_shape(random, str(kind), 1.5) for kind in random.choice(list(KINDS), count)
        )
        start, end = outside_pair(random, shapes, 4.0)
        way = shortest_way(shapes, start, end)
        straight_m = math.dist(start, end)
        assert way.length_m >= straight_m - 1e-12
        assert (way.points_m[0] == start).all()
        assert (way.points_m[-1] == end).all()
        check_real(way, shapes, bulge_m=0.005 if way.exact else 0.0)
        if not way.exact:
            bounds += 1
            assert way.bound.startswith("upper bound")
            # Round each single solid is never longer than round all of them.
            for shape in shapes:
                alone = shortest_way((shape,), start, end)
                if alone.exact:
                    assert alone.length_m <= way.length_m + 1e-9
    assert bounds > 0


def test_bound_is_close_to_the_exact_length() -> None:
    """Where the exact length is known, a second body far from the line must not change it much."""
    random = np.random.default_rng(57)
    from structures.solids.taut_graph import way_round_many

    worst = 0.0
    for kind in ("box", "cylinder", "sphere"):
        for _ in range(12):
            shape = random_shape(random, kind, 0.3)
            start, end = outside_pair(random, (shape,), 3.0)
            exact = shortest_way((shape,), start, end)
            if exact.length_m <= math.dist(start, end) + 1e-6:
                continue
            points = way_round_many((shape,), np.array(start), np.array(end))
            assert points is not None
            bound_m = np.linalg.norm(np.diff(points, axis=0), axis=1).sum()
            assert bound_m >= exact.length_m - 1e-9
            worst = max(worst, bound_m / exact.length_m - 1)
    assert worst < 0.02


def test_two_drums_in_a_row() -> None:
    """The hull of both sections: tangents and two arcs, known in closed form; ours is above it."""
    drums = tuple(
        Cylinder(start_m=(x, 0.0, -10.0), end_m=(x, 0.0, 10.0), radius_m=2.0) for x in (0.0, 6.0)
    )
    way = shortest_way(drums, (-4.0, 0.0, 0.0), (10.0, 0.0, 0.0))
    arc = math.pi / 2 - math.acos(2 / 4)
    closed_m = 2 * math.sqrt(12) + 2 * 2 * arc + 6
    assert not way.exact
    assert closed_m <= way.length_m <= closed_m * 1.006


def test_helix_that_would_meet_another_solid_is_not_called_exact() -> None:
    drum = Cylinder(start_m=(0.0, 0.0, -5.0), end_m=(0.0, 0.0, 5.0), radius_m=1.0)
    fins = tuple(Box(center_m=(0.0, y, 0.0), size_m=(0.2, 1.0, 10.0)) for y in (-1.5, 1.5))
    start, end = (-2.0, 0.0, 0.0), (2.0, 0.0, 0.0)
    way = shortest_way((drum, *fins), start, end)
    assert not way.exact
    assert way.length_m > shortest_way((drum,), start, end).length_m + 0.3
    check_real(way, (drum, *fins))
    # A sheet that only just cuts the bulge of the line between its points on the skin.
    sheet = Box(center_m=(0.0, 1.0005 + 0.5, 0.0), size_m=(0.02, 1.0, 30.0))
    both = (sheet, sheet.model_copy(update={"center_m": (0.0, -1.5005, 0.0)}))
    assert not shortest_way((drum, *both), start, end).exact


def test_seam_is_no_way_through() -> None:
    """Two boxes side by side are one obstacle: no line in their common face."""
    halves = tuple(Box(center_m=(x, 0.0, 0.0), size_m=(2.0, 2.0, 2.0)) for x in (-1.0, 1.0))
    whole = Box(center_m=(0.0, 0.0, 0.0), size_m=(4.0, 2.0, 2.0))
    for start, end in [
        ((0.0, -3.0, 0.0), (0.0, 3.0, 0.0)),  # straight through the seam
        ((-0.5, -3.0, 0.0), (0.5, 3.0, 0.0)),  # both in the way
        ((0.0, -3.0, -0.9), (0.3, 3.0, 0.9)),
    ]:
        exact = shortest_way((whole,), start, end)
        way = shortest_way(halves, start, end)
        assert exact.length_m - 1e-9 <= way.length_m <= exact.length_m * 1.02
        check_real(way, (whole,))


def test_order_of_solids_changes_nothing() -> None:
    random = np.random.default_rng(58)
    shapes = tuple(random_shape(random, kind, 1.5) for kind in KINDS)
    for _ in range(5):
        start, end = outside_pair(random, shapes, 4.0)
        one = shortest_way(shapes, start, end)
        other = shortest_way(shapes[::-1], start, end)
        assert other.length_m == pytest.approx(one.length_m, rel=1e-3)
        again = shortest_way(shapes, start, end)
        assert (again.points_m == one.points_m).all()


def test_ends_on_the_skin() -> None:
    box = Box(center_m=(0.0, 0.0, 0.0), size_m=(2.0, 2.0, 2.0))
    way = shortest_way((box,), (-1.0, 0.0, 0.0), (1.0, 0.0, 0.0))
    assert way.length_m == pytest.approx(4.0)
    way = shortest_way((box,), (-1.0, 0.0, 0.0), (-1.0, 0.5, 0.0))
    assert way.length_m == pytest.approx(0.5)
    assert way.exact


def test_no_length() -> None:
    assert shortest_way((), (1.0, 2.0, 3.0), (1.0, 2.0, 3.0)).length_m == 0


def test_end_inside_a_solid() -> None:
    box = Box(center_m=(0.0, 0.0, 0.0), size_m=(2.0, 2.0, 2.0))
    with pytest.raises(NoWayError, match=r"end of the line.* 0\.250 m \(.* inside solid number 1"):
        shortest_way(
            (Sphere(center_m=(9.0, 0.0, 0.0), radius_m=1.0), box), (5.0, 0, 0), (0.75, 0, 0)
        )


def test_closed_in() -> None:
    """A point in a closed chamber of six overlapping slabs has no way out."""
    slabs = tuple(
        Box(center_m=vector(side * axis), size_m=vector(4.0 - 3.5 * axis))
        for axis in np.eye(3)
        for side in (-1.5, 1.5)
    )
    with pytest.raises(NoWayError, match="no line found"):
        shortest_way(slabs, (0.0, 0.0, 0.0), (5.0, 0.0, 0.0))


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_ends_must_be_points(bad: float) -> None:
    with pytest.raises(ValueError, match="finite"):
        shortest_way((), (0.0, 0.0, bad), (0.0, 0.0, 0.0))


def test_cone_and_prism_are_bounds() -> None:
    cone = Cone(
        start_m=(0.0, 0.0, -1.0), end_m=(0.0, 0.0, 1.0), start_radius_m=1.0, end_radius_m=0.5
    )
    ell = Prism(
        origin_m=(0.0, 0.0, -2.0),
        outline_m=((0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0), (1.0, 2.0), (0.0, 2.0)),
        height_m=4.0,
    )
    way = shortest_way((cone,), (-3.0, 0.0, 0.0), (3.0, 0.0, 0.0))
    assert not way.exact
    over_m = 2 * math.hypot(2.5, 1.0) + 1.0  # over the upper face, in the plane of the axis
    assert way.length_m <= over_m + 1e-6
    check_real(way, (cone,))
    # Into the notch: round the tip of one leg.
    way = shortest_way((ell,), (1.5, 1.5, 0.0), (1.5, -1.0, 0.0))
    assert way.length_m == pytest.approx(math.hypot(0.5, 0.5) + 1 + math.hypot(0.5, 1.0), abs=1e-6)
