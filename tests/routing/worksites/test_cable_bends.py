"""The bend test in closed forms, and spans with all that may stand against them."""

import math

import numpy as np
import pytest

from routing.graph.surroundings import Named
from routing.worksites.cables.spans import CableRules, Span, bend_at, joint, span_between
from structures.polylines import Polyline
from structures.shapes import Box, Cylinder, Shape, Sphere

Point = tuple[float, float, float]


def rules(*shapes: Shape, zones: tuple[Shape, ...] = (), **more: object) -> CableRules:
    values: dict[str, object] = {
        "bend_radius_m": 0.1,
        "spacing_m": 3.0,
        "play_m": 0.05,
        "rail_clear_m": 0.15,
        "rails": {},
    }
    return CableRules(
        solids=Named(shapes, tuple(f"B{i}" for i in range(len(shapes)))),
        zones=Named(zones, tuple(f"Z{i}" for i in range(len(zones)))),
        **(values | more),
    )


def place(
    name: str, at: Point, out: Point | None = None
) -> tuple[str, np.ndarray, np.ndarray | None]:
    return name, np.array(at, dtype=float), None if out is None else np.array(out, dtype=float)


def span(given: CableRules, start: Point, end: Point) -> Span:
    found = span_between(given, place("A", start), place("B", end))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("turn_deg", "first_m", "last_m", "play_m", "radius_m"),
    [
        # A right angle: the arc touches at R from the corner; half of the shorter piece.
        (90, 1.0, 0.4, math.inf, 0.2),
        (90, 0.4, 1.0, math.inf, 0.2),
        # 60 degrees: R tan 30 = 0.5.
        (60, 1.0, 1.0, math.inf, 0.5 * math.sqrt(3)),
        # Play decides: R (sqrt 2 - 1) = 0.05.
        (90, 9.0, 9.0, 0.05, 0.05 / (math.sqrt(2) - 1)),
        (0, 1.0, 1.0, 0.05, math.inf),
        (180, 1.0, 1.0, 0.05, 0.0),
    ],
)
def test_largest_radius(
    turn_deg: float, first_m: float, last_m: float, play_m: float, radius_m: float
) -> None:
    turn = math.radians(turn_deg)
    before = np.array([first_m, 0.0, 0.0])
    after = last_m * np.array([math.cos(turn), math.sin(turn), 0.0])
    assert bend_at(before, after, play_m).radius_m == pytest.approx(radius_m, rel=1e-6, abs=1e-9)


def test_the_arc_that_fits_touches_both_pieces_and_stays_within_play() -> None:
    """The arc itself, point by point: it starts and ends on the pieces, and is that far off."""
    turn, first_m, last_m = 1.1, 0.9, 0.7
    before = np.array([first_m, 0.0])
    after = last_m * np.array([math.cos(turn), math.sin(turn)])
    bend = bend_at(np.append(before, 0.0), np.append(after, 0.0), 0.02)
    touch_m = bend.radius_m * math.tan(turn / 2)
    center = np.array([-touch_m, bend.radius_m])  # the corner is the origin
    angles = -math.pi / 2 + np.linspace(0, turn, 400)
    arc = center + bend.radius_m * np.column_stack([np.cos(angles), np.sin(angles)])
    assert arc[0] == pytest.approx([-touch_m, 0.0])
    assert arc[-1] == pytest.approx(touch_m * after / last_m)
    assert touch_m <= min(first_m, last_m) / 2 + 1e-12
    assert np.hypot(*arc.T).min() == pytest.approx(0.02, abs=1e-6)


@pytest.mark.parametrize(("radius_m", "holds"), [(0.3, True), (0.09, False)])
def test_a_round_skin_must_be_round_enough(radius_m: float, holds: bool) -> None:
    drum = Cylinder(start_m=(0, 0, -5), end_m=(0, 0, 5), radius_m=radius_m)
    found = span(rules(drum, spacing_m=4.0), (-1.0, 0.01, 0.0), (1.0, 0.01, 0.0))
    assert ("bend" not in found.against) == holds


def test_cable_over_an_edge_takes_what_the_arc_stands_off() -> None:
    block = Box(center_m=(0, 0, 0), size_m=(2, 2, 2))
    found = span(rules(block), (-0.5, -1.0, 0.0), (-1.0, -0.5, 0.0))
    off_m = 0.1 * (math.sqrt(2) - 1)
    assert found.length_m == pytest.approx(1.0 + 2 * off_m)
    assert found.against == {}
    tight = span(rules(block, bend_radius_m=0.26), (-0.5, -1.0, 0.0), (-1.0, -0.5, 0.0))
    assert set(tight.against) == {"bend"}


def test_what_stands_against_a_span() -> None:
    beam = Polyline.through([(0.5, -0.5, 0.1), (0.5, 0.5, 0.1)])
    ball = Sphere(center_m=(0.5, 0.2, 0.0), radius_m=0.1)
    assert span(rules(), (0, 0, 0), (1, 0, 0)).against == {}
    near = rules(zones=(ball,), rails={"H1": beam}, spacing_m=1.0)
    assert span(near, (0, 0, 0), (1, 0, 0)).against == {"handrail": ("H1",)}
    wide = rules(zones=(Sphere(center_m=(0.5, 0.2, 0.0), radius_m=0.155),))
    assert span(wide, (0, 0, 0), (1, 0, 0)).against == {"zone": ("Z0",)}
    assert span_between(rules(), place("A", (0, 0, 0)), place("B", (3.1, 0, 0))) is None
    block = Box(center_m=(0.5, 0, 0), size_m=(0.2, 4, 4))
    assert set(span(rules(block), (0, 1.2, 0), (1, 1.2, 0)).against) >= set()
    long = span(rules(block, spacing_m=1.6), (0, 1.2, 0), (1, 1.2, 0))
    assert "spacing" in long.against


def test_a_plug_needs_room_to_leave_straight() -> None:
    found = span_between(rules(), place("C", (0, 0, 0), (0, 0, -1)), place("A", (0.5, 0, 0)))
    assert found is not None
    assert found.points_m[:2].tolist() == [[0, 0, 0], [0, 0, -0.2]]
    assert found.against == {}
    lid = Box(center_m=(0, 0, -0.15), size_m=(0.2, 0.2, 0.02))
    blocked = span_between(rules(lid), place("C", (0, 0, 0), (0, 0, -1)), place("A", (0.5, 0, 0)))
    assert blocked is not None
    assert blocked.against["solid"] == ("B0",)
    back = blocked.turned()
    assert (back.tail, back.head, back.plug_last) == ("A", "C", True)
    assert back.points_m[-1].tolist() == [0, 0, 0]


def test_nothing_in_the_way_of_the_last_plug_is_missed() -> None:
    # The way is one straight piece, so the corner before the plug is the first one as well.
    plate = Box(center_m=(2.1, 0, 0), size_m=(0.02, 1, 1))
    tie, plug = place("A", (0, 0, 0)), place("B", (2.2, 0, 0), (-1, 0, 0))
    for ends in ((tie, plug), (plug, tie)):
        found = span_between(rules(plate), *ends)
        assert found is not None
        assert found.against == {"solid": ("B0",)}


def test_handrails_and_zones_against_samples() -> None:
    random = np.random.default_rng(6)
    starts = random.uniform(-2, 2, (60, 3))
    rails = {
        f"H{i}": Polyline.through([tuple(at), tuple(at + random.uniform(-1, 1, 3))])
        for i, at in enumerate(starts.tolist())
    }
    zones = tuple(
        Sphere(center_m=tuple(at), radius_m=0.3) for at in random.uniform(-2, 2, (40, 3)).tolist()
    )
    given = rules(zones=zones, rails=rails)
    off_m = given.play_m
    sure = 0
    for _ in range(20):
        start, end = random.uniform(-1.5, 1.5, (2, 3))
        found = span_between(given, place("A", tuple(start)), place("B", tuple(end)))
        if found is None:
            continue
        line = start + np.linspace(0, 1, 2001)[:, None] * (end - start)
        gaps_m = {name: rail.gap_to_m(line).min() - 0.15 - off_m for name, rail in rails.items()}
        gaps_m |= {
            f"Z{i}": np.linalg.norm(line - zone.center_m, axis=1).min() - 0.3 - off_m
            for i, zone in enumerate(zones)
        }
        against = {*found.against.get("handrail", ()), *found.against.get("zone", ())}
        for name, gap_m in gaps_m.items():
            if abs(gap_m) > 2e-3:  # a sample may be off the nearest point, and clearance 1 mm low
                assert (name in against) == (gap_m < 0), (name, gap_m)
                sure += gap_m < 0
    assert sure > 20


def test_the_corner_at_a_tie() -> None:
    given = rules()
    first, second = span(given, (0, 0, 0), (1, 0, 0)), span(given, (1, 0, 0), (1, 1, 0))
    assert joint(given, first, second).radius_m == pytest.approx(0.05 / (math.sqrt(2) - 1))
    assert joint(given, first, first.turned()).radius_m == 0.0
