"""How far a payload may drift, in closed form and against small steps."""

import math

import numpy as np
import pytest

from routing.graph.surroundings import Named
from routing.worksites.ties.drifting import Fast, room_to_drift
from routing.worksites.ties.stability import one_side
from structures.shapes import Box, Shape, Sphere

ALONG = (0.0, 0.0, 1.0)
NOTHING = Named((), ())


def named(*shapes: Shape) -> Named:
    return Named(shapes, tuple(f"B{i}" for i in range(len(shapes))))


def tight(place: tuple[float, ...], attach: tuple[float, ...], more_m: float = 0.0) -> Fast:
    return Fast(place, attach, math.dist(place, attach) + more_m)


def test_one_line_lets_it_through_to_the_other_side() -> None:
    assert room_to_drift([tight((0, 0, 0), (0, 0, -0.8))], ALONG, NOTHING) == (1.6, None)


def test_nearly_opposed_lines_leave_next_to_nothing() -> None:
    """Two lines of 1 m that pull 178 degrees apart: 2 sin 1 deg of it."""
    low = math.sin(math.radians(1.0))
    off = math.cos(math.radians(1.0))
    lines = [tight((-off, 0, low), (0, 0, 0)), tight((off, 0, low), (0, 0, 0))]
    found = room_to_drift(lines, ALONG, NOTHING)
    assert found.up_to_m == pytest.approx(2 * low)


def test_a_solid_stops_it_and_is_named() -> None:
    deck = Box(center_m=(0.0, 0.0, 0.5), size_m=(2.0, 2.0, 1.0))
    far = Sphere(center_m=(0.0, 0.0, 9.0), radius_m=0.5)
    found = room_to_drift([tight((0, 0, -0.1), (0, 0, -0.8))], ALONG, named(far, deck))
    assert found.solid == "B1"
    assert 0.8 <= found.up_to_m <= 0.8 + 1.1e-3


def test_a_solid_before_any_place_where_a_line_is_made_fast_stops_it() -> None:
    post = Box(center_m=(0.5, 0.0, 0.0), size_m=(0.1, 0.1, 0.2))
    lines = [tight((0, 0, 0.4), (0, 0, -0.8)), tight((0.5, 0, 0.4), (0.5, 0, -0.8))]
    assert room_to_drift(lines[:1], ALONG, named(post)).solid is None
    assert room_to_drift(lines, ALONG, named(post)).solid == "B0"


def test_no_shorter_than_by_small_steps() -> None:
    random = np.random.default_rng(4)
    asked = 0
    for _ in range(60):
        lines = [
            tight(tuple(random.uniform(-1, 1, 3)), tuple(random.uniform(-0.2, 0.2, 3)), more)
            for more in random.choice([0.0, 0.3], size=int(random.integers(1, 4)))
        ]
        pulls = [np.array(one.place_m) - one.attach_m for one in lines]
        side = one_side([tuple((p / np.linalg.norm(p)).tolist()) for p in pulls])
        if side is None:
            continue
        asked += 1
        found = room_to_drift(lines, side.direction, NOTHING)
        steps = np.linspace(0.0, 4.0, 4001)
        held = [
            all(
                math.dist(one.place_m, one.attach_m + by * np.array(side.direction))
                <= one.length_m + 1e-9
                for one in lines
            )
            for by in steps
        ]
        last = float(steps[np.flatnonzero(held)[-1]])
        assert last <= found.up_to_m + 1e-9
        assert found.up_to_m <= last + 1.1e-3
    assert asked > 30
