"""Each condition and each cost of a move, at its limit and to both sides of it."""

import math
from pathlib import Path

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.moves import ends_of
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.graph.ways import Legs, find_ways
from routing.limits import Limits
from structures.elements import Handhold, Handrail, Item, Person, Solid, Zone
from structures.files.reader import read_structure
from structures.frames import Vector
from structures.model import Structure
from structures.shapes import Box, Sphere
from structures.solids.sweep import sweep_touches
from structures.solids.tables import ShapeTables
from tests.routing.graph.graph_structures import UP, flat_deck, rail
from tests.structures.sample_shapes import KINDS, random_move, random_shape

STATION = Path(__file__).parents[3] / "examples" / "station" / "station.toml"
REACH_M = Limits().reach_m
RADIUS_M = Limits().corridor_radius_m


def holds(*places: tuple[str, Vector, Vector], **lists: object) -> Structure:
    """Single handholds in free space, with nothing in the way unless given."""
    made = tuple(Handhold(id=i, position_m=p, normal=n) for i, p, n in places)
    return Structure.model_validate({"name": "holds", "revision": "1", "handholds": made, **lists})


def two(gap_m: float, normal: Vector = UP, **lists: object) -> Structure:
    return holds(("a", (0.0, 0.0, 0.0), UP), ("b", (gap_m, 0.0, 0.0), normal), **lists)


def move(graph: ReachGraph, one: str, other: str) -> dict[str, float] | None:
    tail, head = graph.grips.ids.index(one), graph.grips.ids.index(other)
    moves = graph.moves
    for m in range(int(moves.indptr[tail]), int(moves.indptr[tail + 1])):
        if moves.head[m] == head:
            names = (
                "seconds travel_s gap_s turn_s face_s slow_s exposure_s gap_m way_m turn_rad "
                "changes_rail line_clear"
            )
            return {name: getattr(moves, name)[m].item() for name in names.split()}
    return None


def has_move(structure: Structure, situation: Situation | None = None) -> bool:
    return move(build_graph(structure, situation or Situation()), "a", "b") is not None


@pytest.mark.parametrize(
    ("gap_m", "there"),
    [(REACH_M - 1e-6, True), (REACH_M, True), (REACH_M + 1e-6, False), (0.01, True)],
)
def test_the_gap_is_within_reach(gap_m: float, *, there: bool) -> None:
    assert has_move(two(gap_m)) is there


@pytest.mark.parametrize(
    ("turn_deg", "there"), [(99.9999, True), (100.0, True), (100.0001, False), (0.0, True)]
)
def test_the_turn_is_within_its_limit(turn_deg: float, *, there: bool) -> None:
    angle = math.radians(turn_deg)
    assert has_move(two(0.3, (math.sin(angle), 0.0, -math.cos(angle)))) is there


def test_opposite_normals_have_no_known_way() -> None:
    assert not has_move(two(0.3, (0.0, 0.0, 1.0)), Situation(limits=Limits(max_turn_deg=180.0)))


def ball(at: Vector, radius_m: float, **fields: object) -> Zone:
    return Zone.model_validate(
        {"id": "Z", "volume": Sphere(center_m=at, radius_m=radius_m)} | fields
    )


def zone_under_the_middle(room_m: float, **fields: object) -> Zone:
    """A ball below the middle of a move of 0.5 m, so far from the body ball on its way.

    The body ball's lowest points are the hands themselves (z = 0). The zone's
    top is `room_m` below them, too low for the ball to be kept from raising.
    """
    return ball((0.25, 0.0, -2 * RADIUS_M - 0.3 - room_m), 0.3, **fields)


@pytest.mark.parametrize(("room_m", "there"), [(0.002, True), (0.0005, False), (-0.01, False)])
def test_the_body_corridor_keeps_clear_of_zones(room_m: float, *, there: bool) -> None:
    assert has_move(two(0.5, zones=(zone_under_the_middle(room_m),))) is there


def test_a_zone_that_only_the_middle_of_the_corridor_meets_blocks_it() -> None:
    middle = ball((0.25, RADIUS_M + 0.04, -RADIUS_M), 0.05)
    graph = build_graph(two(0.5, zones=(middle,)), Situation())
    assert graph.grips.usable.all()
    assert len(graph.moves) == 0


@pytest.mark.parametrize(
    ("applies_to", "carries", "there"),
    [
        (("body",), False, False),
        (("item",), False, True),
        (("item",), True, False),
        (("tether",), True, True),
    ],
)
def test_zones_count_for_what_they_apply_to(
    applies_to: tuple[str, ...], *, carries: bool, there: bool
) -> None:
    bag = Item(id="bag", size_m=(0.1, 0.1, 0.1), mass_kg=1.0, envelope_m=0.001)
    zone = zone_under_the_middle(-0.05, applies_to=applies_to)
    structure = two(0.5, zones=(zone,), items=(bag,))
    assert has_move(structure, Situation(carry=bag if carries else None)) is there


def test_a_zone_counts_only_under_its_condition() -> None:
    zone = zone_under_the_middle(-0.05, when=("radar",))
    structure = two(0.5, zones=(zone,), conditions=({"id": "radar"},))
    assert has_move(structure)
    assert not has_move(structure, Situation(when=("radar",)))


def test_a_wall_between_two_holds_blocks_the_way() -> None:
    wall = Solid(id="wall", volume=Box(center_m=(0.2, 0.0, 0.0), size_m=(0.02, 4.0, 4.0)))
    assert has_move(two(0.4))
    assert not has_move(two(0.4, solids=(wall,)))


def over_an_edge(below_m: float, beside_m: float) -> Structure:
    """A box with its edge along y at the origin and a low lip on it; a on top, b on the +x face.

    The lip blocks the way over the midpoint raised by 0.1 m.
    """
    lip = Solid(id="lip", volume=Box(center_m=(-0.035, 0.0, 0.035), size_m=(0.1, 4.0, 0.1)))
    box = Solid(id="box", volume=Box(center_m=(-2.0, 0.0, 2.0), size_m=(4.0, 4.0, 4.0)))
    return holds(
        ("a", (-beside_m, 0.0, -0.07), UP),
        ("b", (0.07, 0.0, below_m), (1.0, 0.0, 0.0)),
        solids=(box, lip),
    )


def test_the_way_over_an_edge_goes_by_the_meeting_of_the_tangent_planes() -> None:
    # By hand: from (-0.4, -0.07) to (0.07, -0.07) to (0.07, 0.03) in the x-z plane. Over the
    # midpoint raised by 0.2 m it would be 0.600 m.
    found = move(build_graph(over_an_edge(0.03, 0.4), Situation()), "a", "b")
    assert found is not None
    assert found["way_m"] == pytest.approx(0.47 + 0.10, abs=1e-12)
    assert found["gap_m"] == pytest.approx(math.hypot(0.47, 0.10), abs=1e-12)
    assert found["travel_s"] == pytest.approx(found["way_m"] / Limits().rate_m_per_s)
    assert found["face_s"] == 5.0


@pytest.mark.parametrize(("more_m", "there"), [(-1e-6, True), (0.0, True), (1e-6, False)])
def test_the_way_over_an_edge_is_within_reach(more_m: float, *, there: bool) -> None:
    beside_m = REACH_M - 0.14 - 0.03 + more_m
    assert has_move(over_an_edge(0.03, beside_m)) is there


def test_a_low_ridge_is_passed_over_the_raised_middle() -> None:
    ridge = Solid(id="ridge", volume=Box(center_m=(0.0, 0.0, -0.05), size_m=(0.04, 0.3, 0.1)))
    rails = (
        rail("a", (-0.2, 0.0, -0.07), (-0.19, 0.0, -0.07)),
        rail("b", (0.19, 0.0, -0.07), (0.2, 0.0, -0.07)),
    )
    deck = flat_deck(*rails)
    structure = flat_deck(*rails, solids=(*deck.solids, ridge))
    found = move(build_graph(structure, Situation()), "a@0.010", "b@0.000")
    assert found is not None
    assert found["way_m"] == pytest.approx(2 * math.hypot(0.19, 0.1))
    straight = move(build_graph(deck, Situation()), "a@0.010", "b@0.000")
    assert straight is not None
    assert straight["way_m"] == pytest.approx(0.38)


def test_every_part_of_the_cost_by_hand() -> None:
    angle = math.radians(60)
    found = move(
        build_graph(two(0.5, (math.sin(angle), 0.0, -math.cos(angle))), Situation()), "a", "b"
    )
    assert found is not None
    # 0.5 m at 0.1524 m/s; 2 s gap; 4 s/rad; 5 s for a turn of at least 45 deg.
    assert found["travel_s"] == pytest.approx(0.5 / 0.1524)
    assert found["gap_s"] == 2.0
    assert found["turn_s"] == pytest.approx(4 * math.pi / 3)
    assert found["face_s"] == 5.0
    assert found["slow_s"] == 0.0
    assert found["exposure_s"] == 0.0
    assert found["seconds"] == pytest.approx(0.5 / 0.1524 + 7 + 4 * math.pi / 3)


@pytest.mark.parametrize(("turn_deg", "face_s"), [(44.999, 0.0), (45.0, 5.0), (45.001, 5.0)])
def test_a_change_of_face_begins_at_its_limit(turn_deg: float, face_s: float) -> None:
    angle = math.radians(turn_deg)
    graph = build_graph(two(0.5, (math.sin(angle), 0.0, -math.cos(angle))), Situation())
    found = move(graph, "a", "b")
    assert found is not None
    assert found["face_s"] == face_s


def test_along_one_rail_there_is_no_gap_allowance_and_no_turn() -> None:
    graph = build_graph(flat_deck(rail("H", (0.0, 0.0, -0.07), (1.0, 0.0, -0.07))), Situation())
    found = move(graph, "H@0.250", "H@0.750")
    assert found is not None
    assert found["gap_s"] == found["turn_s"] == found["turn_rad"] == 0.0
    assert not found["changes_rail"]
    # 5 grips, any two no farther than 0.6096 m: 4 + 3 pairs, both ways.
    assert len(graph.moves) == 14


def test_slow_zones_multiply_by_the_largest_factor_and_count_as_exposure() -> None:
    zones = tuple(
        ball((0.0, 0.0, -0.5), 0.1, id=f"Z{factor}", kind="slow-down", slow_factor=factor)
        for factor in (3.0, 1.5)
    )
    found = move(build_graph(two(0.5, zones=zones), Situation()), "a", "b")
    plain = move(build_graph(two(0.5), Situation()), "a", "b")
    assert found is not None
    assert plain is not None
    assert found["slow_s"] == pytest.approx(2 * plain["seconds"])
    assert found["seconds"] == found["exposure_s"] == pytest.approx(3 * plain["seconds"])


def test_a_slow_zone_of_factor_one_exposes_without_slowing() -> None:
    zone = ball((0.0, 0.0, -0.5), 0.1, kind="slow-down", slow_factor=1.0)
    found = move(build_graph(two(0.5, zones=(zone,)), Situation()), "a", "b")
    assert found is not None
    assert found["slow_s"] == 0.0
    assert found["exposure_s"] == found["seconds"]


@pytest.mark.parametrize(("room_m", "inside"), [(-0.01, True), (0.0, True), (0.01, False)])
def test_a_move_is_in_a_slow_zone_as_soon_as_the_ball_may_touch_it(
    room_m: float, *, inside: bool
) -> None:
    zone = zone_under_the_middle(room_m, kind="slow-down")
    found = move(build_graph(two(0.5, zones=(zone,)), Situation()), "a", "b")
    assert found is not None
    assert (found["exposure_s"] > 0) is inside


@pytest.mark.parametrize(("off_m", "clear"), [(0.1 - 1e-6, False), (0.1, False), (0.11, True)])
def test_the_line_keeps_out_of_zones_for_tethers(off_m: float, *, clear: bool) -> None:
    zone = ball((0.25, off_m, 0.0), 0.1, applies_to=("tether",))
    found = move(build_graph(two(0.5, zones=(zone,)), Situation()), "a", "b")
    assert found is not None
    assert found["line_clear"] is clear


def test_the_line_over_an_edge_is_held_against_zones_on_the_hands_way() -> None:
    structure = over_an_edge(0.03, 0.4)
    corner = ball((0.07, 0.0, -0.07), 0.02, applies_to=("tether",))
    found = move(
        build_graph(structure.model_copy(update={"zones": (corner,)}), Situation()), "a", "b"
    )
    assert found is not None
    assert not found["line_clear"]


def test_a_load_shortens_the_reach_slows_the_rate_and_widens_the_corridor() -> None:
    bag = Item(id="bag", size_m=(0.3, 0.4, 1.2), mass_kg=9.0)
    situation = Situation(carry=bag)
    assert has_move(two(0.9 * REACH_M), situation)
    assert not has_move(two(0.9 * REACH_M + 1e-6), situation)
    graph = build_graph(two(0.5), situation)
    found = move(graph, "a", "b")
    assert found is not None
    assert found["travel_s"] == pytest.approx(0.5 / (0.5 * 0.1524))
    # Half the diagonal of 0.3 x 0.4 x 1.2 m is 0.65 m.
    body_m = np.linalg.norm(graph.grips.body_m - graph.grips.position_m, axis=1)
    np.testing.assert_allclose(body_m, RADIUS_M + 0.65, rtol=1e-12)


def test_a_persons_own_reach_and_rate_count() -> None:
    person = Person(id="P", reach_m=0.8, rate_m_per_s=0.2)
    found = move(build_graph(two(0.75), Situation(person=person)), "a", "b")
    assert found is not None
    assert found["travel_s"] == pytest.approx(0.75 / 0.2)


def test_moves_are_the_same_both_ways_and_sorted() -> None:
    rails: list[Handrail] = [
        rail(f"H{i}", (0.4 * i, 0.1 * i, -0.07), (0.4 * i, 1.3, -0.07)) for i in range(4)
    ]
    moves = build_graph(flat_deck(*rails), Situation()).moves
    tail = np.repeat(np.arange(len(moves.indptr) - 1), np.diff(moves.indptr))
    keys = list(zip(tail.tolist(), moves.head.tolist(), strict=True))
    assert keys == sorted(set(keys))
    back = [keys.index((head, tail)) for tail, head in keys]
    for name in ("seconds", "way_m", "gap_m", "exposure_s", "turn_rad", "line_clear"):
        column = getattr(moves, name)
        assert np.isfinite(column).all()
        assert (column == column[back]).all()
    parts = moves.travel_s + moves.gap_s + moves.turn_s + moves.face_s + moves.slow_s
    np.testing.assert_array_equal(moves.seconds, parts)


def test_the_way_that_is_kept_is_the_one_that_is_found_again() -> None:
    graph = build_graph(read_structure(STATION), Situation())
    moves, ability = graph.moves, graph.situation.ability
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(moves.indptr))
    out = tail < moves.head
    ends = ends_of(graph.grips, tail[out], moves.head[out])
    ways = find_ways(
        ends, graph.surroundings.body.tables, ability.corridor_radius_m, ability.reach_m
    )
    np.testing.assert_array_equal(moves.way_kind[out], ways.kind)
    assert set(moves.way_kind.tolist()) >= {0, 1, 2}


@pytest.mark.parametrize("radius_m", [0.0, 0.3])
def test_legs_near_shapes_are_all_that_can_touch_one(radius_m: float) -> None:
    random = np.random.default_rng(41)
    shapes = ShapeTables(tuple(random_shape(random, kind, 8.0) for kind in KINDS))
    legs = Legs(random_move(random, 20_000, 11.0, RADIUS_M), np.arange(20_000))
    near = legs.near(shapes, radius_m)
    assert 0 < len(near.owner) < len(legs.owner)
    _, whole = sweep_touches(shapes, legs.sweep, radius_m)
    _, part = sweep_touches(shapes, near.sweep, radius_m)
    np.testing.assert_array_equal(near.owner[part], whole)
    assert len(whole) > 50


def test_no_grips_and_no_moves_are_empty_arrays() -> None:
    graph = build_graph(Structure(name="void", revision="1"), Situation())
    assert len(graph.grips) == len(graph.moves) == 0
    assert graph.moves.indptr.tolist() == [0]
