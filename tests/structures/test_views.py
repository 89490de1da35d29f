"""Projections worked by hand, and silhouettes against closed forms and dense sampling."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from structures.frames import DIRECTIONS
from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.distance import bounding_box, signed_distance
from structures.views import CIRCLE_CORNERS, VIEWS, named_direction, silhouette
from tests.draws import draws

# A point 3 m forward, 5 m to starboard and 7 m to nadir, drawn by hand in every view.
BY_HAND = {
    "plan": (3.0, -5.0),  # forward right, port up
    "starboard": (3.0, -7.0),  # forward right, zenith up
    "port": (-3.0, -7.0),  # aft right, zenith up
    "forward": (-5.0, -7.0),  # port right: whoever looks aft has port on the right
    "aft": (5.0, -7.0),  # starboard right, zenith up
    "zenith": (5.0, 3.0),  # starboard right, forward up
    "nadir": (3.0, 5.0),  # forward right, starboard up
}
VIEWER_AT = {
    "plan": "zenith",
    "starboard": "starboard",
    "port": "port",
    "forward": "forward",
    "aft": "aft",
    "zenith": "zenith",
    "nadir": "nadir",
}


def test_every_view_is_worked_by_hand() -> None:
    assert set(BY_HAND) == set(VIEWER_AT) == set(VIEWS)


@pytest.mark.parametrize("name", sorted(VIEWS))
def test_projection_by_hand(name: str) -> None:
    point = np.array([[3.0, 5.0, 7.0]])
    assert tuple(VIEWS[name].project(point)[0]) == BY_HAND[name]


@pytest.mark.parametrize("name", sorted(VIEWS))
def test_viewer_is_where_the_name_says(name: str) -> None:
    view = VIEWS[name]
    assert view.seen_from == VIEWER_AT[name]
    assert view.toward == DIRECTIONS[VIEWER_AT[name]]
    axes = np.array([view.right, view.up, view.toward])
    # A left-handed view would mirror the structure.
    assert np.linalg.det(axes) == 1.0
    assert np.array_equal(axes @ axes.T, np.eye(3))


def test_depth_grows_toward_the_viewer() -> None:
    points = np.array([[0.0, 0.0, -4.0], [0.0, 0.0, 6.0]])
    assert VIEWS["plan"].depth_m(points).tolist() == [4.0, -6.0]


def test_what_faces_the_viewer() -> None:
    normals = np.array([[0, 0, -2.0], [0, 0, 0.5], [9.0, 0, 0], [1.0, 0, 0.09], [1.0, 0, 0.12]])
    assert VIEWS["plan"].faces_viewer(normals).tolist() == [True, False, True, True, False]


@pytest.mark.parametrize("name", sorted(DIRECTIONS))
def test_directions_are_named(name: str) -> None:
    x, y, z = DIRECTIONS[name]
    assert named_direction((3 * x + 0.1, 3 * y - 0.2, 3 * z + 0.1)) == name


def test_cylinder_along_and_end_on() -> None:
    cylinder = Cylinder(start_m=(1, 0, 0), end_m=(9, 0, 0), radius_m=2.0)
    side = silhouette(cylinder, VIEWS["starboard"])
    left, bottom, right, top = side.bounds
    assert (left, right) == pytest.approx((1.0, 9.0))
    assert (bottom, top) == pytest.approx((-2.0, 2.0), rel=1e-3)
    assert side.area == pytest.approx(8.0 * 4.0, rel=2e-3)
    end = silhouette(cylinder, VIEWS["forward"])
    # The polygon round a circle: n tan(pi / n) r^2, never less than the circle.
    area = CIRCLE_CORNERS * math.tan(math.pi / CIRCLE_CORNERS) * 4.0
    assert end.area == pytest.approx(area, rel=1e-9)
    assert end.area > math.pi * 4.0


def test_turned_box_by_hand() -> None:
    half = math.sqrt(0.5)
    box = Box(center_m=(0, 0, 0), size_m=(2, 2, 6), x_axis=(half, half, 0), y_axis=(-half, half, 0))
    assert silhouette(box, VIEWS["plan"]).area == pytest.approx(4.0)
    # From starboard the square is seen over its diagonal: 2 sqrt(2) wide, 6 high.
    assert silhouette(box, VIEWS["starboard"]).area == pytest.approx(12 * math.sqrt(2))


def test_notched_prism_keeps_its_notch_and_its_hole() -> None:
    # A letter C, 4 x 4 with a notch of 2 x 2, 1 m high, standing upright.
    outline = ((0, 0), (4, 0), (4, 1), (2, 1), (2, 3), (4, 3), (4, 4), (0, 4))
    flat = Prism(origin_m=(0, 0, 0), outline_m=outline, height_m=1.0)
    assert silhouette(flat, VIEWS["plan"]).area == pytest.approx(16.0 - 4.0)
    assert silhouette(flat, VIEWS["starboard"]).area == pytest.approx(4.0)
    # Swept 3 m along the way the notch opens, seen from above at a slant, it closes to a hole.
    leaning = Prism(
        origin_m=(0, 0, 0), outline_m=outline, height_m=1.0, x_axis=(0.6, 0, 0.8), y_axis=(0, 1, 0)
    )
    seen = silhouette(leaning, VIEWS["plan"])
    swept = shapely.Polygon([(0.6 * x, -y) for x, y in outline])
    shift_m = 0.8  # |(x_axis x y_axis) . forward|
    points = [
        shapely.affinity.translate(swept, -shift_m * share) for share in np.linspace(0, 1, 401)
    ]
    assert seen.area == pytest.approx(shapely.union_all(points).area, rel=1e-3)


coordinate = st.floats(-5, 5).map(lambda value: round(value, 3))
point = st.tuples(coordinate, coordinate, coordinate)
size = st.floats(0.1, 4).map(lambda value: round(value, 3))


@st.composite
def shapes(draw: st.DrawFn) -> Shape:
    kind = draw(st.sampled_from(["cylinder", "cone", "sphere", "box", "prism"]))
    start, end = draw(st.tuples(point, point).filter(lambda pair: math.dist(*pair) > 0.1))
    if kind == "cylinder":
        return Cylinder(start_m=start, end_m=end, radius_m=draw(size))
    if kind == "cone":
        return Cone(start_m=start, end_m=end, start_radius_m=draw(size), end_radius_m=draw(size))
    if kind == "sphere":
        return Sphere(center_m=start, radius_m=draw(size))
    angle = draw(st.floats(0, 3))
    axes = {
        "x_axis": (math.cos(angle), math.sin(angle), 0.0),
        "y_axis": (-0.6 * math.sin(angle), 0.6 * math.cos(angle), 0.8),
    }
    if kind == "box":
        return Box(center_m=start, size_m=(draw(size), draw(size), draw(size)), **axes)
    outline = ((0, 0), (3, 0), (3, 3), (2, 1), (0, 2))
    return Prism(origin_m=start, outline_m=outline, height_m=draw(size), **axes)


@settings(max_examples=draws(60))
@given(shapes(), st.sampled_from(sorted(VIEWS)), st.integers(0, 2**16))
def test_silhouette_holds_the_shape_and_fits_it(shape: Shape, name: str, draw: int) -> None:
    view = VIEWS[name]
    outline = silhouette(shape, view)
    low, high = bounding_box(shape)
    points = np.random.default_rng(draw).uniform(low, high, (400, 3))
    inside = view.project(points[signed_distance(shape, points) < 0])
    assert shapely.contains_xy(outline, inside).all()
    # And no larger: its bounds are those of the shape's box, to the polygon's 0.1 % of a radius.
    corners = view.project(np.array([low, high]))
    bounds = np.array([*corners.min(axis=0), *corners.max(axis=0)])
    slack_m = 4.0 * (1 / math.cos(math.pi / CIRCLE_CORNERS) - 1) * 1.5 + 1e-9
    assert np.abs(np.array(outline.bounds) - bounds).max() <= slack_m
