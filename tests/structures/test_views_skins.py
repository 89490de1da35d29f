"""The unrolled skin against W10: a geodesic of a cylinder is a straight line on it.

Closed form (unroll): L = sqrt(dz^2 + (R dtheta)^2), dtheta in 0..pi for the shorter way round.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.shapes import Cylinder
from structures.skins import Skin, unrolled_skin


def skin_of(radius_m: float, axis: tuple[float, float, float] = (1, 0, 0)) -> Skin:
    end = tuple(12.0 * value for value in axis)
    return unrolled_skin(Cylinder(start_m=(0, 0, 0), end_m=end, radius_m=radius_m))


def on_skin(skin: Skin, along_m: float, angle: float) -> tuple[float, float, float]:
    x, y, z = skin.direction(math.degrees(angle))
    place = skin.start_m + along_m * skin.axis + skin.radius_m * np.array([x, y, z])
    return (float(place[0]), float(place[1]), float(place[2]))


# worked example W10: R, dz, dtheta, geodesic, straight chord
W10 = [
    (2.2, 3.0, math.pi / 2, 4.576267182466308, 4.3220365569948616),
    (2.2, 0.0, math.pi, 6.911503837897546, 4.4),
    (2.2, 5.0, math.pi, 8.530468058745223, 6.660330322138685),
    (1.0, 1.0, 3 * math.pi / 2, 1.8620958891185866, 1.7320508075688772),  # folds to pi / 2
]


@pytest.mark.parametrize("first", [0.0, 0.3, 2.9, -1.7])
@pytest.mark.parametrize(("radius", "dz", "dtheta", "geodesic", "chord"), W10)
def test_geodesic_lengths_of_w10(
    radius: float, dz: float, dtheta: float, geodesic: float, chord: float, first: float
) -> None:
    skin = skin_of(radius)
    a, b = on_skin(skin, 1.0, first), on_skin(skin, 1.0 + dz, first + dtheta)
    assert skin.distance_m(a, b) == pytest.approx(geodesic, rel=1e-12)
    assert math.dist(a, b) == pytest.approx(chord, rel=1e-12)


def test_the_string_round_the_rod_is_20_long() -> None:
    """Published: circumference 4, length 12, exactly 4 turns -> 20 (the Guardian, 2017-06-05)."""
    skin = skin_of(4 / (2 * math.pi))
    turns = np.linspace(0, 4, 4001)
    helix = np.array([on_skin(skin, 12 * t / 4, 2 * math.pi * t) for t in turns])
    pieces = skin.unroll_path(helix)
    length = sum(float(np.hypot(*np.diff(piece, axis=0).T).sum()) for piece in pieces)
    assert length == pytest.approx(20.0, rel=1e-6)
    assert len(pieces) == 5  # half a turn, three whole ones, half a turn
    for piece in pieces:
        # 16 m round for 12 m along, everywhere.
        straight = piece[0, 1] + 16 / 12 * (piece[:, 0] - piece[0, 0])
        assert np.abs(piece[:, 1] - straight).max() < 1e-4, "a helix is not straight"


def test_a_straight_chord_is_longer_on_the_skin_than_the_geodesic() -> None:
    """The chord's foot on the skin is a curve; only the geodesic is straight."""
    skin = skin_of(2.2)
    a, b = on_skin(skin, 1.0, 0.2), on_skin(skin, 4.0, 1.8)
    (piece,) = skin.unroll_path(np.array([a, b]), step_m=0.01)
    length = float(np.hypot(*np.diff(piece, axis=0).T).sum())
    assert length > skin.distance_m(a, b) + 1e-3


def test_clock_angle_runs_clockwise_looking_forward() -> None:
    skin = skin_of(2.0)
    assert skin.direction(0) == pytest.approx((0, 0, -1))  # zenith
    assert skin.direction(90) == pytest.approx((0, 1, 0))  # starboard
    assert skin.direction(180) == pytest.approx((0, 0, 1), abs=1e-15)  # nadir
    along, round_m, height = skin.unroll(np.array([[3.0, 2.5, 0.0]]))[0]
    assert (along, round_m, height) == pytest.approx((3.0, 2.0 * math.pi / 2, 0.5))


def test_an_upright_cylinder_takes_forward_as_zero() -> None:
    skin = skin_of(2.0, (0, 0, 1))
    assert skin.direction(0) == (1.0, 0.0, 0.0)
    assert skin.direction(90) == pytest.approx((0, 1, 0), abs=1e-15)


def test_a_ring_is_cut_once_at_180() -> None:
    skin = skin_of(2.0)
    ring = np.array([on_skin(skin, 5.0, math.radians(a)) for a in range(90, 271, 2)])
    first, second = skin.unroll_path(ring)
    assert first[0, 1] == pytest.approx(math.pi)  # 2 m x 90 deg
    assert first[-1, 1] == pytest.approx(skin.half_m)
    assert second[0, 1] == pytest.approx(-skin.half_m)
    assert second[-1, 1] == pytest.approx(-math.pi)


def test_a_line_along_the_cut_stays_on_the_sheet() -> None:
    skin = skin_of(2.0)
    line = np.array([on_skin(skin, 1.0, math.pi), on_skin(skin, 4.0, math.pi)])
    pieces = skin.unroll_path(line)
    assert all(np.abs(piece[:, 1]).max() <= skin.half_m * (1 + 1e-12) for piece in pieces)
    assert sum(np.ptp(piece[:, 0]) for piece in pieces) == pytest.approx(3.0)


@given(
    st.floats(0, 12),
    st.floats(-3.1, 3.1),
    st.floats(0, 12),
    st.floats(-3.1, 3.1),
    st.floats(0.5, 4),
)
def test_pieces_stay_on_the_sheet_and_reach_both_ends(
    z1: float, a1: float, z2: float, a2: float, radius: float
) -> None:
    skin = skin_of(radius)
    ends = np.array([on_skin(skin, z1, a1), on_skin(skin, z2, a2)])
    pieces = skin.unroll_path(ends)
    flat = skin.unroll(ends)[:, :2]
    turn = 2 * skin.half_m
    for mine, end in ((pieces[0][0], flat[0]), (pieces[-1][-1], flat[1])):
        assert mine[0] == pytest.approx(end[0], abs=1e-9)
        assert math.remainder(mine[1] - end[1], turn) == pytest.approx(0.0, abs=1e-9)
    for piece in pieces:
        assert np.abs(piece[:, 1]).max() <= skin.half_m * (1 + 1e-12)
