"""Line of sight: touching is allowed, going through is not; against dense sampling."""

import numpy as np
import pytest

from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.distance import signed_distance
from structures.solids.seams import line_blocked
from structures.solids.sight import SIGHT_TOLERANCE_M, crosses, crosses_any
from tests.structures.sample_shapes import KINDS, random_shape

BOX = Box(center_m=(0.0, 0.0, 0.0), size_m=(2.0, 2.0, 2.0))
DRUM = Cylinder(start_m=(0.0, 0.0, -1.0), end_m=(0.0, 0.0, 1.0), radius_m=1.0)
BALL = Sphere(center_m=(0.0, 0.0, 0.0), radius_m=1.0)
CONE = Cone(start_m=(0.0, 0.0, 0.0), end_m=(0.0, 0.0, 1.0), start_radius_m=1.0, end_radius_m=0.0)
FUNNEL = Cone(start_m=(0.0, 0.0, 0.0), end_m=(0.0, 0.0, 1.0), start_radius_m=1.0, end_radius_m=2.0)
ELL = Prism(
    origin_m=(0.0, 0.0, 0.0),
    outline_m=((0.0, 0.0), (4.0, 0.0), (4.0, 1.0), (1.0, 1.0), (1.0, 4.0), (0.0, 4.0)),
    height_m=2.0,
)
Point = tuple[float, float, float]


@pytest.mark.parametrize(
    ("shape", "start", "end", "expected"),
    [
        (BOX, (-3, 0, 0), (3, 0, 0), True),
        (BOX, (-3, 1, 0), (3, 1, 0), False),  # along a face
        (BOX, (-3, 1, 1), (3, 1, 1), False),  # along an edge
        (BOX, (-3, 1 - 1e-3, 0), (3, 1 - 1e-3, 0), True),
        (BOX, (-1, 3, 0), (3, -1, 0), False),  # over an edge: x + y = 2
        (BOX, (-1, 2.9, 0), (2.9, -1, 0), True),
        (BOX, (-3, 0, 0), (-1, 0, 0), False),  # ends on a face
        (BOX, (1, 0, 0), (3, 0, 0), False),  # begins on a face
        (BOX, (-1, 0, 0), (1, 0, 0), True),  # from face to face, through
        (BOX, (0, 0, 0), (0, 0, 0), True),  # a point inside
        (BOX, (2, 0, 0), (2, 0, 0), False),
        (BOX, (1, 0, 0), (1, 0, 0), False),  # a point on a face
        (BOX, (0, 0, 0), (9, 0, 0), True),  # starts inside
        (BOX, (0.1, 0, 0), (-0.1, 0, 0), True),  # lies inside
        (BOX, (2, 0, 0), (9, 0, 0), False),  # points away
        (DRUM, (-3, 1, 0), (3, 1, 0), False),  # tangent
        (DRUM, (1, 0, -3), (1, 0, 3), False),  # along the side
        (DRUM, (-3, 0, 1), (3, 0, 1), False),  # across an end face
        (DRUM, (0, 0, -3), (0, 0, 3), True),  # along the axis
        (DRUM, (-3, 0, 0.999), (3, 0, 0.999), True),
        (DRUM, (0, 0, 1), (0, 0, 3), False),
        (DRUM, (0, 2, 0), (0, 0, 2), False),  # over the rim: y + z = 2
        (DRUM, (0, 1.95, 0), (0, 0, 1.95), True),
        (DRUM, (0, 0, 0), (0, 0, 0), True),
        (BALL, (-3, 1, 0), (3, 1, 0), False),
        (BALL, (-3, 0.999, 0), (3, 0.999, 0), True),
        (BALL, (0, 0, 0), (0, 0, 0), True),
        (BALL, (1, 0, 0), (3, 0, 0), False),
        (CONE, (1, 0, 0), (0, 0, 1), False),  # along the side
        (CONE, (-3, 0, 1), (3, 0, 1), False),  # over the tip
        (CONE, (-3, 0, 0.99), (3, 0, 0.99), True),
        (CONE, (-3, 0, 0), (3, 0, 0), False),  # across the base
        (CONE, (0, 0, 2), (0, 0, -2), True),
        (CONE, (0.5, 0, 3), (0.5, 0, 1), False),  # stops above the side
        (CONE, (0.5, 0, 3), (0.5, 0, 0.4), True),
        (FUNNEL, (1, 0, 0), (2, 0, 1), False),  # along the side
        (FUNNEL, (1.5, 0, -1), (1.5, 0, 0.5), False),  # under the overhang, up to the side
        (FUNNEL, (1.5, 0, -1), (1.5, 0, 0.6), True),
        (FUNNEL, (1.5, -3, 0.5), (1.5, 3, 0.5), False),  # tangent
        (FUNNEL, (1.5, -3, 0.51), (1.5, 3, 0.51), True),
        (ELL, (2, 2, 1), (3, 3, 1), False),  # in the notch
        (ELL, (2, 0.5, 1), (0.5, 2, 1), True),  # out of one leg, into the other
        (ELL, (1, 4, 1), (4, 1, 1), False),  # across the notch
        (ELL, (3, 3, 1), (1, 1, 1), False),  # to the inner corner
        (ELL, (3, 3, 1), (0.9, 0.9, 1), True),
        (ELL, (1, 5, 1), (1, 1, 1), False),  # along an inner face, down to the inner corner
        (ELL, (1, 5, 1), (1, -1, 1), True),  # the same, and on through the leg
        (ELL, (-1, 0, 1), (5, 0, 1), False),  # along an outer face
        (ELL, (0.5, 0.5, 2), (0.5, 0.5, 3), False),
        (ELL, (-1, 0.5, 2), (5, 0.5, 2), False),  # along the top
        (ELL, (-1, 0.5, 1), (5, 0.5, 1), True),
        (ELL, (0.5, 0.5, 1), (0.5, 0.5, 1), True),
        (ELL, (2, 2, 1), (2, 2, 1), False),
        (ELL, (0, 0, 1), (0, 0, 1), False),  # a point on an edge
    ],
)
def test_by_hand(shape: Shape, start: Point, end: Point, expected: bool) -> None:
    one, other = np.array([start], dtype=float), np.array([end], dtype=float)
    assert crosses(shape, one, other).tolist() == [expected]
    assert crosses(shape, other, one).tolist() == [expected]


@pytest.mark.parametrize("kind", KINDS)
def test_against_dense_sampling(kind: str) -> None:
    """5000 random pairs a kind: deeper samples always count, far misses never do."""
    random = np.random.default_rng(21)
    seen = 0
    for _ in range(50):
        shape = random_shape(random, kind)
        starts, ends = random.uniform(-5, 5, (2, 100, 3))
        found = crosses(shape, starts, ends)
        samples = [
            signed_distance(shape, starts + share * (ends - starts))
            for share in np.linspace(0, 1, 401)
        ]
        deepest = np.min(samples, axis=0)
        half_step = np.linalg.norm(ends - starts, axis=1) / 800
        assert found[deepest < -SIGHT_TOLERANCE_M].all()
        assert not found[deepest > half_step].any()
        seen += int(found.sum())
    assert 200 < seen < 4800


@pytest.mark.parametrize("kind", KINDS)
def test_lines_that_just_touch(kind: str) -> None:
    """Lines tangent at the nearest skin point stay out; lines that end 20 um below it do not."""
    random = np.random.default_rng(22)
    touched = 0
    for _ in range(60):
        shape = random_shape(random, kind)
        point = random.uniform(-4, 4, (1, 3))
        gap = signed_distance(shape, point)[0]
        normal = np.array(
            [
                (signed_distance(shape, point + h) - signed_distance(shape, point - h))[0] / 2e-6
                for h in np.eye(3) * 1e-6
            ]
        )
        if gap < 0.1 or abs(np.linalg.norm(normal) - 1) > 1e-6:
            continue
        skin = point - gap * normal
        along = np.cross(normal, random.normal(size=3))[None] * 1e-3
        # A millimetre-long line, so that concave prisms do not bend back into it.
        lift = 1e-5 * normal
        assert not crosses(shape, skin - along + lift, skin + along + lift)[0]
        sunk = skin - 2e-5 * normal
        if signed_distance(shape, sunk)[0] < -1.9e-5:  # on a face, not at an edge
            assert crosses(shape, skin + 1e-3 * normal, sunk)[0]
            touched += 1
    assert touched > 5


def test_any() -> None:
    starts = np.array([[-3.0, 0, 0], [-3.0, 5, 0], [-3.0, 8, 0]])
    ends = starts + np.array([6.0, 0, 0])
    other = Sphere(center_m=(0.0, 5.0, 0.0), radius_m=1.0)
    assert crosses_any((BOX, other), starts, ends).tolist() == [True, True, False]
    assert crosses_any((), starts, ends).tolist() == [False] * 3
    assert crosses_any((BOX,), starts[:0], ends[:0]).tolist() == []


def test_any_is_each_of_them() -> None:
    random = np.random.default_rng(23)
    shapes = tuple(random_shape(random, kind, 6.0) for kind in KINDS for _ in range(6))
    starts = random.uniform(-9, 9, (3000, 3))
    ends = starts + random.normal(size=(3000, 3)) * random.choice([0.2, 3.0], (3000, 1))
    each = np.stack([crosses(shape, starts, ends) for shape in shapes])
    assert (crosses_any(shapes, starts, ends) == each.any(axis=0)).all()
    assert (line_blocked(shapes, starts, ends) == each.any(axis=0)).all()


def test_seam_between_two_solids_is_closed() -> None:
    """A line in the common face touches both; it is let through only where one of them ends."""
    left = Box(center_m=(-1.0, 0.0, 0.0), size_m=(2.0, 2.0, 2.0))
    right = Box(center_m=(1.0, 0.0, 0.0), size_m=(2.0, 2.0, 1.0))
    starts = np.array([[0.0, -3, 0], [0.0, -3, 0.7], [0.0, -3, 1.0], [0.0, -3, 0.5], [2.0, -3, 0]])
    ends = starts * [1, -1, 1]
    assert line_blocked((left, right), starts, ends).tolist() == [True, False, False, False, False]
    assert line_blocked((right, left), starts, ends).tolist() == [True, False, False, False, False]
    assert not crosses_any((left, right), starts[:4], ends[:4]).any()
    # Nose to tail: two cylinders with a common end face, seen along that face.
    fore = Cylinder(start_m=(0.0, 0.0, 0.0), end_m=(5.0, 0.0, 0.0), radius_m=2.0)
    aft = Cylinder(start_m=(-5.0, 0.0, 0.0), end_m=(0.0, 0.0, 0.0), radius_m=2.0)
    starts = np.array([[0.0, -3, 0], [0.0, -3, 1.99], [0.0, -3, 2.0], [0.0, -3, 2.1]])
    assert line_blocked((fore, aft), starts, starts * [1, -1, 1]).tolist() == [
        True,
        True,
        False,
        False,
    ]
    # A gap that no tether is thin enough for is closed as well.
    for gap_m, closed in ((1e-6, True), (1e-4, True), (0.0014, True), (0.002, False)):
        apart = aft.model_copy(update={"end_m": (-gap_m, 0.0, 0.0)})
        start = np.array([[-gap_m / 2, -3.0, 0.0]])
        assert line_blocked((fore, apart), start, start * [1, -1, 1]).tolist() == [closed]


@pytest.mark.parametrize("thick_m", [1e-4, 0.001, 0.004, 0.5])
@pytest.mark.parametrize("tilt_deg", [0.0, 40.0])
def test_a_gap_between_plates_is_open_from_two_millimetres_on(
    thick_m: float, tilt_deg: float
) -> None:
    """Lines in the middle of the gap and along either plate; tilted, across it and along it."""
    along = np.array([1.0, 0.0, np.tan(np.radians(tilt_deg))])
    for gap_m, closed in ((5e-5, True), (2e-4, True), (5e-4, True), (1e-3, True), (2e-3, False)):
        plates = tuple(
            Box(center_m=(0.4, side * (2.0 + gap_m / 2), 0.0), size_m=(thick_m, 4.0, 8.0))
            for side in (1.0, -1.0)
        )
        for off_m in (0.0, gap_m / 2, -gap_m / 2):
            middle = np.array([0.4, off_m, 0.1])
            start, end = (middle - 0.6 * along)[None], (middle + 0.7 * along)[None]
            assert line_blocked(plates, start, end).tolist() == [closed], (gap_m, off_m)
            # Off one plate's face before the other begins: nothing is on two sides.
            assert not line_blocked(plates[:1], start, end)[0]


def test_where_two_solids_only_stand_near_a_line_it_is_free() -> None:
    """In their right-angled corner, on their flush tops, and off a face beside the other."""
    deck = Box(center_m=(0.0, 0.0, -0.5), size_m=(4.0, 4.0, 1.0))
    block = Box(center_m=(0.0, 1.0, 0.5), size_m=(4.0, 2.0, 1.0))
    beside = Box(center_m=(0.0, 3.001, -0.5), size_m=(4.0, 2.0, 1.0))
    corner = np.array([[-3.0, 0.0, 0.0], [3.0, 0.0, 0.0]])
    rise = np.array([[0.0, -0.0005, 0.0], [0.0, -0.0005, 3.0]])
    slant = np.array([[0.0, -0.0005, 0.0], [0.0, -2.0, 2.0]])
    for start, end in (corner, rise, slant):
        assert not line_blocked((deck, block), start[None], end[None])[0], (start, end)
    tops = np.array([[0.0, -1.0, 0.0], [0.0, 4.0, 0.0]])
    assert not line_blocked((deck, beside), tops[:1], tops[1:])[0]


def test_box_thinner_than_the_tolerance_has_no_inside() -> None:
    sheet = Box(center_m=(0.0, 0.0, 0.0), size_m=(1.0, 1.0, 1e-6))
    assert not crosses(sheet, np.array([[0.0, 0, -1]]), np.array([[0.0, 0, 1]]))[0]


def test_ends_must_match() -> None:
    with pytest.raises(ValueError, match="2 starts but 1 ends"):
        crosses(BOX, np.zeros((2, 3)), np.zeros((1, 3)))
    with pytest.raises(ValueError, match=r"ends_m\[0\]"):
        crosses(BOX, np.zeros((1, 3)), np.full((1, 3), np.nan))
