"""Lines of straight pieces: gaps against a general optimiser, places along by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.polylines import Polyline, segment_gaps

COORDINATE = st.floats(-3, 3, allow_nan=False).map(lambda value: round(value, 2))
Point = tuple[float, float, float]
POINT = st.tuples(COORDINATE, COORDINATE, COORDINATE)


@given(POINT, POINT, POINT, POINT)
def test_segment_gap_against_dense_grid(a: Point, b: Point, c: Point, d: Point) -> None:
    gap_m, s, t = segment_gaps(*(np.array([p], dtype=float) for p in (a, b, c, d)))
    share = np.linspace(0, 1, 201)
    first = np.array(a) + share[:, None] * (np.array(b) - np.array(a))
    second = np.array(c) + share[:, None] * (np.array(d) - np.array(c))
    dense_m = np.sqrt(((first[:, None] - second[None]) ** 2).sum(axis=2)).min()
    step_m = (np.linalg.norm(np.subtract(b, a)) + np.linalg.norm(np.subtract(d, c))) / 400
    assert gap_m[0] <= dense_m + 1e-9
    assert gap_m[0] >= dense_m - step_m - 1e-9
    at = np.array(a) + s[0] * np.subtract(b, a) - np.array(c) - t[0] * np.subtract(d, c)
    assert np.linalg.norm(at) == pytest.approx(gap_m[0], abs=1e-12)


@pytest.mark.parametrize(
    ("segments", "expected_m"),
    [
        (((0, 0, 0), (2, 0, 0), (1, -1, 3), (1, 1, 3)), 3.0),  # crossing, 3 apart
        (((0, 0, 0), (2, 0, 0), (3, 4, 0), (9, 4, 0)), 17**0.5),  # end to end
        (((0, 0, 0), (2, 0, 0), (-1, 2, 0), (5, 2, 0)), 2.0),  # parallel
        (((0, 0, 0), (2, 0, 0), (1, 0, 0), (5, 0, 0)), 0.0),  # overlapping
        (((1, 1, 1), (1, 1, 1), (1, 1, 4), (1, 1, 4)), 3.0),  # points
    ],
)
def test_segment_gap_by_hand(segments: tuple[Point, ...], expected_m: float) -> None:
    gap_m, _, _ = segment_gaps(*(np.array([p], dtype=float) for p in segments))
    assert gap_m[0] == pytest.approx(expected_m, abs=1e-12)


def test_corners_are_met_exactly() -> None:
    corners = [(0.1, 0.2, 0.3), (1.7, 0.2, 0.9), (1.7, 3.3, -0.4)]
    line = Polyline.through(corners)
    assert line.points_at(line.along_m).tolist() == [list(corner) for corner in corners]


def test_samples_hold_every_corner_and_keep_the_step() -> None:
    line = Polyline.through([(0, 0, 0), (0.31, 0, 0), (0.31, 1.0, 0)])
    along_m = line.samples_m(0.1)
    assert np.isin(line.along_m, along_m).all()
    assert np.diff(along_m).max() <= 0.1 + 1e-9
    assert len(along_m) == 15


def test_one_point_is_a_line_of_no_length() -> None:
    point = Polyline.through([(1, 2, 3)])
    assert point.length_m == 0
    assert point.samples_m(0.1).tolist() == [0.0]
    assert point.points_at(np.array([0.0, 0.0])).tolist() == [[1, 2, 3], [1, 2, 3]]
    assert point.gap_to_m(np.array([[1.0, 2.0, 7.0]])).tolist() == [4.0]
