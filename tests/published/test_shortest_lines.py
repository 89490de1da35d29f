"""Shortest lines round bodies, against printed puzzles and standard constructions.

W10, cylinder: unrolled, L = sqrt(dz^2 + (R dtheta)^2). Printed: a string round a rod of
circumference 4 and length 12, exactly 4 turns, is 20 long (www.theguardian.com/science/2017/jun/05/
did-you-solve-it-are-you-in-the-smartest-10-per-cent).
W11, box: the spider and the fly, box 30 x 12 x 12, is 40 over five faces; other unfoldings give
42, 43.174 and 40.718 (stochastix.wordpress.com/2007/04 and
wikimili.com/en/The_spider_and_the_fly_problem).
Cuboid 6 x 5 x 3, opposite corners: 10 (published problem, from memory; checked on a surface graph).
W12, disc: tangent, arc, tangent; checked against the hull of a 2880-sided polygon, outside this
project, to 1e-6.
W13, visibility graphs: (a) pyvisgraph README.md at 0460615f615b0684c34e8286500941297ee0a8bc, path
printed, length computed; (b)-(f) inputs public, answers computed by other means to all digits.
"""

import math

import numpy as np
import pytest

from structures.shapes import Box, Cylinder, Prism
from structures.solids.taut import Way, shortest_way

TALL_M = 1000.0
Pair = tuple[float, float]


def rod(radius_m: float) -> Cylinder:
    half = TALL_M / 2
    return Cylinder(start_m=(0.0, 0.0, -half), end_m=(0.0, 0.0, half), radius_m=radius_m)


@pytest.mark.parametrize(
    ("radius_m", "dz_m", "turn_rad", "expected_m"),
    [
        (2.2, 3.0, math.pi / 2, 4.576267182466308),
        (2.2, 0.0, math.pi, 6.911503837897546),
        (2.2, 5.0, math.pi, 8.530468058745223),
        (1.0, 1.0, 3 * math.pi / 2, 1.8620958891185866),  # the short way round
    ],
)
def test_w10_helix(radius_m: float, dz_m: float, turn_rad: float, expected_m: float) -> None:
    start = (radius_m, 0.0, 0.0)
    end = (radius_m * math.cos(turn_rad), radius_m * math.sin(turn_rad), dz_m)
    way = shortest_way((rod(radius_m),), start, end)
    assert way.exact
    assert way.length_m == pytest.approx(expected_m, abs=1e-9)


def test_w10_four_turns_of_a_string() -> None:
    """Eight half turns, each a shortest line of its own, make the printed string of 20."""
    radius_m = 4 / (2 * math.pi)
    stops = [(radius_m * (-1.0) ** i, 0.0, 12 * i / 8) for i in range(9)]
    halves = [shortest_way((rod(radius_m),), stops[i], stops[i + 1]).length_m for i in range(8)]
    assert sum(halves) == pytest.approx(20.0, abs=1e-6)


def test_w11_spider_and_fly() -> None:
    room = Box(center_m=(15.0, 6.0, 6.0), size_m=(30.0, 12.0, 12.0))
    way = shortest_way((room,), (0.0, 6.0, 11.0), (30.0, 6.0, 1.0))
    assert way.exact
    assert way.length_m == pytest.approx(40.0, abs=1e-12)
    assert len(way.points_m) == 6  # five faces, four bends


def test_w11_corner_to_corner() -> None:
    box = Box(center_m=(3.0, 2.5, 1.5), size_m=(6.0, 5.0, 3.0))
    way = shortest_way((box,), (0.0, 0.0, 0.0), (6.0, 5.0, 3.0))
    assert way.exact
    assert way.length_m == pytest.approx(10.0, abs=1e-12)


@pytest.mark.parametrize(
    ("start", "end", "radius_m", "expected_m"),
    [
        ((-2.0, 0.0), (2.0, 0.0), 1.0, 2 * math.sqrt(3) + math.pi / 3),
        ((-3.0, 1.0), (4.0, 0.5), 2.0, 7.465009279393983),
        ((-2.0, 1.5), (2.0, 1.5), 1.0, 4.0),
        ((5.0, 0.0), (-2.5, 2.5), 2.2, 8.009661689644958),
    ],
)
def test_w12_taut_round_a_disc(start: Pair, end: Pair, radius_m: float, expected_m: float) -> None:
    way = shortest_way((rod(radius_m),), (*start, 0.0), (*end, 0.0))
    assert way.exact
    assert way.length_m == pytest.approx(expected_m, abs=1e-9)


def test_w12_in_space() -> None:
    way = shortest_way((rod(1.0),), (-2.0, 0.0, 0.0), (2.0, 0.0, 3.0))
    assert way.length_m == pytest.approx(5.417732013321535, abs=1e-9)


def post(outline: list[Pair]) -> Prism:
    return Prism(origin_m=(0.0, 0.0, -TALL_M / 2), outline_m=tuple(outline), height_m=TALL_M)


def rectangles(*corners: tuple[float, float, float, float]) -> tuple[Prism, ...]:
    return tuple(post([(x, y), (u, y), (u, v), (x, v)]) for x, y, u, v in corners)


def flat_way(shapes: tuple[Prism, ...], start: Pair, end: Pair) -> Way:
    way = shortest_way(shapes, (*start, 0.0), (*end, 0.0))
    # A line over posts of great height stays in the plane of its ends.
    assert np.abs(way.points_m[:, 2]).max() < 1e-9
    return way


def test_w13_a() -> None:
    posts = (
        post([(0.0, 1.0), (3.0, 1.0), (1.5, 4.0)]),
        post([(4.0, 4.0), (7.0, 4.0), (5.5, 8.0)]),
    )
    way = flat_way(posts, (1.5, 0.0), (4.0, 6.0))
    assert way.length_m == pytest.approx(6.901795151324779, abs=1e-9)
    assert way.points_m[:, :2] == pytest.approx(np.array([(1.5, 0), (3, 1), (4, 6)]))


@pytest.mark.parametrize(
    ("boxes", "start", "end", "expected_m"),
    [
        ([(0.4, 0.4, 0.6, 0.6)], (0.0, 0.0), (1.0, 1.0), 1.4422205101855956),
        ([(-1.0, -1.0, 1.0, 1.0)], (-3.0, 0.0), (3.0, 0.0), 6.47213595499958),
        ([(20, 10, 60, 40), (50, 60, 70, 80)], (4, 4), (90, 85), 125.2627004656937),
        (
            [(20, 10, 60, 30), (70, 10, 90, 50), (10, 40, 50, 60), (20, 70, 80, 90)],
            (4, 4),
            (90, 85),
            122.60561489514409,
        ),
        (
            [
                (20, 10, 40, 30),
                (70, 10, 90, 30),
                (10, 40, 30, 60),
                (20, 70, 40, 90),
                (50, 5, 65, 25),
                (40, 40, 75, 60),
                (10, 70, 15, 90),
                (50, 65, 70, 90),
                (80, 35, 95, 75),
            ],
            (4, 4),
            (90, 85),
            125.72957434262935,
        ),
    ],
)
def test_w13_b_to_f(
    boxes: list[tuple[float, float, float, float]], start: Pair, end: Pair, expected_m: float
) -> None:
    way = flat_way(rectangles(*boxes), start, end)
    assert way.length_m == pytest.approx(expected_m, abs=1e-9)
