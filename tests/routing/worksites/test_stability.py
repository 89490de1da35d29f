"""Whether all pulls come from one side: closed forms, and linear programming as a second way."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from routing.worksites.ties.stability import one_side
from tests.draws import draws

X, Y, Z = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)


def unit(*parts: float) -> tuple[float, float, float]:
    x, y, z = (np.array(parts) / np.linalg.norm(parts)).tolist()
    return x, y, z


@pytest.mark.parametrize(
    ("pulls", "direction", "within_deg"),
    [
        ([X], X, 0.0),
        ([X, X], X, 0.0),
        ([X, Y], unit(1, 1, 0), 45.0),
        ([X, Y, Z], unit(1, 1, 1), math.degrees(math.acos(1 / math.sqrt(3)))),
        # The third pull lies between the two others and changes nothing.
        ([X, Y, unit(1, 1, 0)], unit(1, 1, 0), 45.0),
    ],
)
def test_one_side(
    pulls: list[tuple[float, float, float]],
    direction: tuple[float, float, float],
    within_deg: float,
) -> None:
    found = one_side(pulls)
    assert found is not None
    assert found.direction == pytest.approx(direction, abs=1e-9)
    assert found.within_deg == pytest.approx(within_deg, abs=1e-6)


@pytest.mark.parametrize(
    "pulls",
    [
        [X, (-1.0, 0.0, 0.0)],
        [X, unit(-1, 1, 0), unit(-1, -1, 0)],
        [unit(1, 1, 1), unit(1, -1, -1), unit(-1, 1, -1), unit(-1, -1, 1)],
        # All in one plane on both sides: square to the plane no line gives way, nor holds.
        [X, Y, (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0)],
    ],
)
def test_not_from_one_side(pulls: list[tuple[float, float, float]]) -> None:
    assert one_side(pulls) is None


sphere = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda p: math.hypot(*p) > 0.1)


@settings(max_examples=draws(200))
@given(st.lists(sphere.map(lambda p: unit(*p)), min_size=1, max_size=7))
def test_against_linear_programming(pulls: list[tuple[float, float, float]]) -> None:
    """Largest t with u . d >= t for all pulls and d in the unit cube: above 0 on one side only."""
    rows = np.hstack([-np.array(pulls), np.ones((len(pulls), 1))])
    solved = linprog(
        [0, 0, 0, -1], A_ub=rows, b_ub=np.zeros(len(pulls)), bounds=[(-1, 1)] * 3 + [(None, None)]
    )
    found = one_side(pulls)
    if solved.x[3] > 1e-5:
        assert found is not None
    if solved.x[3] < 1e-9:
        assert found is None or found.within_deg > 89.99
    if found is not None:
        cosines = np.array(pulls) @ np.array(found.direction)
        assert cosines.min() > 0
        assert math.degrees(math.acos(min(1.0, cosines.min()))) == pytest.approx(
            found.within_deg, abs=1e-5
        )
        # No direction has all pulls nearer to it: the linear programme's own is none better.
        other = solved.x[:3] / np.linalg.norm(solved.x[:3])
        assert (np.array(pulls) @ other).min() <= cosines.min() + 1e-7
