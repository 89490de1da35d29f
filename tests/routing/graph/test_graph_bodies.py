import numpy as np
import pytest

from routing.graph.bodies import UPRIGHT_MARGIN_M, lean_fan
from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.limits import Limits
from structures.elements import Solid, Zone
from structures.shapes import Box, Sphere
from tests.routing.graph.graph_structures import UP, flat_deck, rail

RADIUS_M = Limits().corridor_radius_m


def test_the_fan_is_upright_then_eight_half_and_eight_full_leans() -> None:
    fan = lean_fan(np.array([UP]), np.array([[1.0, 0.0, 0.0]]), np.deg2rad(40))[0]
    tilt_deg = np.rad2deg(np.arccos(np.clip(fan @ np.array(UP), -1, 1)))
    np.testing.assert_allclose(tilt_deg, [0] + 8 * [20] + 8 * [40], atol=1e-6)
    np.testing.assert_allclose(np.linalg.norm(fan, axis=1), 1, atol=1e-12)
    np.testing.assert_allclose(fan[1] - fan[5], [2 * np.sin(np.deg2rad(20)), 0, 0], atol=1e-12)
    np.testing.assert_allclose(
        fan[9:].mean(axis=0), np.cos(np.deg2rad(40)) * np.array(UP), atol=1e-12
    )


def test_a_fan_without_sideways_is_still_round_the_normal() -> None:
    normal = np.array([[0.0, 0.6, -0.8]])
    for sideways in (np.zeros((1, 3)), normal):
        fan = lean_fan(normal, sideways, 0.5)[0]
        np.testing.assert_allclose(fan[9:] @ normal[0], np.cos(0.5), atol=1e-12)


def by_a_wall(off_m: float) -> Box:
    """A wall across y, its near face so far from the rail at y = 0."""
    return Box(center_m=(0.0, off_m + 0.5, 0.0), size_m=(20.0, 1.0, 8.0))


@pytest.mark.parametrize(
    ("off_m", "leans"),
    [(RADIUS_M + UPRIGHT_MARGIN_M + 0.001, False), (RADIUS_M + UPRIGHT_MARGIN_M - 0.001, True)],
)
def test_people_stand_upright_where_that_leaves_the_margin(off_m: float, *, leans: bool) -> None:
    deck = flat_deck(rail("H", (-0.5, 0.0, -0.07), (0.5, 0.0, -0.07)))
    wall = Solid(id="wall", volume=by_a_wall(off_m))
    grips = build_graph(deck.model_copy(update={"solids": (*deck.solids, wall)}), Situation()).grips
    # Leaning away would leave less room to the deck than upright leaves to the wall.
    assert grips.usable.all()
    np.testing.assert_allclose(grips.lean, np.tile(UP, (len(grips), 1)), atol=0.5 if leans else 0)


def test_people_lean_away_from_a_wall_where_there_is_no_room_upright() -> None:
    # A rail high above the deck, beside a wall 0.3 m off: upright lacks 0.25 m,
    # the full lean of 45 deg away has 0.3 + 0.546 * (sin 45 deg - 1) = 0.14 m.
    free = flat_deck(rail("H", (-0.5, 0.0, -3.0), (0.5, 0.0, -3.0)))
    wall = Solid(id="wall", volume=by_a_wall(0.3))
    grips = build_graph(free.model_copy(update={"solids": (wall,)}), Situation()).grips
    lean = (0.0, -np.sqrt(0.5), -np.sqrt(0.5))
    np.testing.assert_allclose(grips.lean, np.tile(lean, (len(grips), 1)), atol=1e-12)
    np.testing.assert_allclose(grips.body_m, grips.position_m + RADIUS_M * grips.lean, atol=1e-12)
    assert grips.usable.all()


def test_a_grip_in_a_narrow_slot_is_unusable_and_has_no_moves() -> None:
    free = flat_deck(rail("H", (-0.5, 0.0, -0.07), (0.5, 0.0, -0.07)))
    solids = (
        Solid(id="wall", volume=by_a_wall(0.3)),
        Solid(id="back", volume=Box(center_m=(0.0, -0.8, 0.0), size_m=(20.0, 1.0, 8.0))),
    )
    graph = build_graph(free.model_copy(update={"solids": solids}), Situation())
    assert not graph.grips.usable.any()
    assert len(graph.moves) == 0


def test_zones_take_places_away_and_never_change_a_lean() -> None:
    deck = flat_deck(rail("H", (-2.0, 0.0, -0.07), (2.0, 0.0, -0.07)))
    zone = Zone(id="Z", volume=Sphere(center_m=(1.0, 0.6, -0.6), radius_m=0.3))
    without = build_graph(deck, Situation()).grips
    grips = build_graph(deck.model_copy(update={"zones": (zone,)}), Situation()).grips
    np.testing.assert_array_equal(grips.lean, without.lean)
    distance_m = np.linalg.norm(grips.body_m - (1.0, 0.6, -0.6), axis=1) - 0.3 - RADIUS_M
    assert (grips.usable == (distance_m > 0.001)).all()
    assert grips.usable.any()
    assert not grips.usable.all()


def test_no_lean_at_all_can_be_asked_for() -> None:
    free = flat_deck(rail("H", (-0.5, 0.0, -3.0), (0.5, 0.0, -3.0)))
    wall = Solid(id="wall", volume=by_a_wall(0.3))
    situation = Situation(limits=Limits(max_lean_deg=0.0))
    grips = build_graph(free.model_copy(update={"solids": (wall,)}), situation).grips
    np.testing.assert_array_equal(grips.lean, np.tile(UP, (len(grips), 1)))
    assert not grips.usable.any()


@pytest.mark.parametrize(("room_m", "usable"), [(0.002, True), (0.0005, False), (-0.001, False)])
def test_a_place_is_usable_when_it_is_clear_by_the_tolerance(
    room_m: float, *, usable: bool
) -> None:
    deck = flat_deck(rail("H", (0.0, 0.0, -0.07), (0.1, 0.0, -0.07)))
    far_m = -0.07 - 2 * RADIUS_M - room_m
    zone = Zone(id="Z", volume=Box(center_m=(0.0, 0.0, far_m - 0.5), size_m=(4.0, 4.0, 1.0)))
    grips = build_graph(deck.model_copy(update={"zones": (zone,)}), Situation()).grips
    assert (grips.usable == usable).all()
