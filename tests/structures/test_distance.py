"""Signed distance: values by hand, and what must hold for every shape and point."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.axes import is_convex
from structures.solids.distance import bounding_box, signed_distance
from tests.structures.sample_shapes import KINDS, random_shape, unit, vector

DRUM = Cylinder(start_m=(0.0, 0.0, 0.0), end_m=(10.0, 0.0, 0.0), radius_m=2.0)
CONE = Cone(start_m=(0.0, 0.0, 0.0), end_m=(0.0, 0.0, 4.0), start_radius_m=3.0, end_radius_m=0.0)
FRUSTUM = Cone(start_m=(0.0, 0.0, 0.0), end_m=(0.0, 0.0, 4.0), start_radius_m=1.0, end_radius_m=4.0)
BALL = Sphere(center_m=(1.0, 2.0, 3.0), radius_m=2.0)
TURNED = Box(
    center_m=(1.0, 0.0, 0.0),
    size_m=(2.0, 4.0, 6.0),
    x_axis=(0.0, 5.0, 0.0),
    y_axis=(-1.0, 0.0, 0.0),
)
ELL = Prism(
    origin_m=(0.0, 0.0, 1.0),
    outline_m=((0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (1.0, 1.0), (1.0, 4.0), (0.0, 4.0)),
    height_m=2.0,
)


@pytest.mark.parametrize(
    ("shape", "point_m", "expected_m"),
    [
        (DRUM, (5.0, 3.0, 0.0), 1.0),
        (DRUM, (5.0, 0.0, 0.5), -1.5),
        (DRUM, (0.25, 0.0, 0.0), -0.25),
        (DRUM, (13.0, 6.0, 0.0), 5.0),  # 3, 4, 5 from the rim
        (DRUM, (-3.0, 0.0, 1.0), 3.0),
        (DRUM, (10.0, 2.0, 0.0), 0.0),
        # The side of this cone is 5 long, its outward normal (4, 3)/5.
        (CONE, (3.0, 0.0, 4.0), 2.4),
        (CONE, (0.0, 0.0, 5.0), 1.0),
        (CONE, (0.0, 0.0, -2.0), 2.0),
        (CONE, (6.0, 0.0, -4.0), 5.0),
        (CONE, (0.0, 0.0, 1.5), -1.5),  # both 1.5 from base and side
        (CONE, (0.0, 0.0, 2.0), -1.2),
        (CONE, (0.0, 0.0, 4.0), 0.0),
        (FRUSTUM, (0.0, 0.0, 6.0), 2.0),
        (FRUSTUM, (0.0, 7.0, 8.0), 5.0),
        (FRUSTUM, (0.0, 4.0, 0.0), 2.4),  # side from (1, 0) to (4, 4), normal (4, -3)/5
        (FRUSTUM, (0.0, 0.5, 0.25), -0.25),
        (BALL, (1.0, 2.0, 3.0), -2.0),
        (BALL, (1.0, 5.0, 7.0), 3.0),
        # Own x along y, own y along -x: half edges 2 in x, 1 in y, 3 in z about (1, 0, 0).
        (TURNED, (1.0, 0.0, 0.0), -1.0),
        (TURNED, (4.0, 0.0, 0.0), 1.0),
        (TURNED, (6.0, 5.0, 3.0), 5.0),
        (TURNED, (1.0, 0.0, 2.75), -0.25),
        (ELL, (2.0, 2.0, 2.0), 1.0),  # in the notch, one from both legs
        (ELL, (0.5, 0.5, 2.0), -0.5),
        (ELL, (1.0, 1.0, 2.0), 0.0),
        (ELL, (0.9, 0.9, 2.0), -np.hypot(0.1, 0.1)),  # the inner corner is nearest
        (ELL, (0.5, 0.5, 1.1), -0.1),
        (ELL, (7.0, 0.5, 7.0), 5.0),
        (ELL, (2.0, 2.0, 4.0), np.sqrt(2)),
    ],
)
def test_by_hand(shape: Shape, point_m: tuple[float, float, float], expected_m: float) -> None:
    assert signed_distance(shape, np.array([point_m]))[0] == pytest.approx(expected_m, abs=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_changes_no_more_than_the_point_moves(kind: str) -> None:
    random = np.random.default_rng(11)
    for _ in range(40):
        shape = random_shape(random, kind)
        points = random.uniform(-6, 6, (500, 3))
        steps = unit(random, 500) * random.uniform(0, 2, (500, 1)) ** 3
        change = np.abs(signed_distance(shape, points + steps) - signed_distance(shape, points))
        assert (change <= np.linalg.norm(steps, axis=1) + 1e-12).all()


@pytest.mark.parametrize("kind", KINDS)
def test_nearest_skin_point_is_that_far_away(kind: str) -> None:
    """A step of the distance along the gradient lands on the skin: exact, not only a bound."""
    random = np.random.default_rng(12)
    landed = 0
    for _ in range(30):
        shape = random_shape(random, kind)
        points = random.uniform(-6, 6, (200, 3))
        here = signed_distance(shape, points)
        gradient = np.stack(
            [
                (signed_distance(shape, points + h) - signed_distance(shape, points - h)) / 2e-6
                for h in np.eye(3) * 1e-6
            ],
            axis=1,
        )
        # Where two skin points are as near, the gradient is shorter: leave those out.
        smooth = np.abs(np.linalg.norm(gradient, axis=1) - 1) < 1e-5
        skin = points[smooth] - here[smooth, None] * gradient[smooth]
        assert np.abs(signed_distance(shape, skin)).max() < 1e-3
        landed += int(smooth.sum())
    assert landed > 5000


@pytest.mark.parametrize("kind", KINDS)
def test_box_is_tight(kind: str) -> None:
    random = np.random.default_rng(13)
    for _ in range(40):
        shape = random_shape(random, kind)
        low, high = bounding_box(shape)
        for axis in range(3):
            # A plane of points on each side of the box: none inside, and some within 2 % of it.
            grid = np.stack(np.meshgrid(np.linspace(0, 1, 61), np.linspace(0, 1, 61)), -1)
            side = np.insert(grid.reshape(-1, 2), axis, 0.0, axis=1)
            for edge, value in ((low, 0.0), (high, 1.0)):
                side[:, axis] = value
                distance = signed_distance(shape, low + side * (high - low))
                assert edge.shape == (3,)
                assert distance.min() >= -1e-9
                assert distance.min() <= 0.05 * np.linalg.norm(high - low)


ANGLE = st.floats(-3.2, 3.2)


@given(ANGLE, ANGLE, st.tuples(*[st.floats(-5, 5)] * 3), st.tuples(*[st.floats(0.1, 4)] * 3))
def test_turning_box_and_point_together_changes_nothing(
    yaw: float, pitch: float, point: tuple[float, float, float], size: tuple[float, float, float]
) -> None:
    cy, sy, cp, sp = np.cos(yaw), np.sin(yaw), np.cos(pitch), np.sin(pitch)
    turn = np.array([[cy, -sy, 0], [sy, cy, 0], [0, 0, 1]]) @ np.array(
        [[cp, 0, sp], [0, 1, 0], [-sp, 0, cp]]
    )
    shift = np.array([3.0, -1.0, 2.0])
    still = Box(center_m=(0.0, 0.0, 0.0), size_m=size)
    moved = Box(
        center_m=vector(shift), size_m=size, x_axis=vector(turn[:, 0]), y_axis=vector(turn[:, 1])
    )
    before = signed_distance(still, np.array([point]))
    after = signed_distance(moved, np.array([point]) @ turn.T + shift)
    assert after == pytest.approx(before, abs=1e-9)


def test_same_body_as_two_kinds() -> None:
    points = np.random.default_rng(14).uniform(-4, 4, (3000, 3))
    box = Box(center_m=(0.5, 1.0, 1.5), size_m=(1.0, 2.0, 3.0))
    outline = ((0.0, 0.0), (1.0, 0.0), (1.0, 2.0), (0.0, 2.0))
    for order in (outline, outline[::-1]):
        prism = Prism(origin_m=(0.0, 0.0, 0.0), outline_m=order, height_m=3.0)
        assert signed_distance(prism, points) == pytest.approx(signed_distance(box, points))
    drum = Cylinder(start_m=(0.0, 1.0, 0.0), end_m=(2.0, 1.0, 1.0), radius_m=0.7)
    cone = Cone(
        start_m=(0.0, 1.0, 0.0), end_m=(2.0, 1.0, 1.0), start_radius_m=0.7, end_radius_m=0.7
    )
    assert signed_distance(cone, points) == pytest.approx(signed_distance(drum, points))


@pytest.mark.parametrize(
    ("points", "message"),
    [
        (np.zeros(3), r"shape \(3,\)"),
        (np.zeros((2, 2)), r"shape \(2, 2\)"),
        (np.array([[0.0, 0.0, 0.0], [0.0, np.nan, 0.0]]), r"points_m\[1\]"),
        (np.array([[np.inf, 0.0, 0.0]]), r"points_m\[0\]"),
    ],
)
def test_points_that_are_none(points: "np.ndarray", message: str) -> None:
    with pytest.raises(ValueError, match=message):
        signed_distance(DRUM, points)


def test_no_points() -> None:
    for shape in (DRUM, CONE, BALL, TURNED, ELL):
        assert signed_distance(shape, np.empty((0, 3))).shape == (0,)


def test_convex() -> None:
    hexagon = tuple((float(np.cos(a)), float(np.sin(a))) for a in np.arange(6) * np.pi / 3)
    assert all(is_convex(shape) for shape in (DRUM, CONE, BALL, TURNED))
    assert not is_convex(ELL)
    for order in (hexagon, hexagon[::-1]):
        assert is_convex(Prism(origin_m=(0.0, 0.0, 0.0), outline_m=order, height_m=1.0))
    assert not is_convex(ELL.model_copy(update={"outline_m": ELL.outline_m[::-1]}))
