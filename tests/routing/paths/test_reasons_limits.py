"""No route within the limits: the limit that would do opens one, and a little less does not."""

import pytest

from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.elements import Handrail, Item, Person, Solid
from structures.model import Structure
from structures.shapes import Box
from tests.routing.paths.reason_ground import gapped, why_not
from tests.routing.paths.route_graphs import deck, straight_rail


def test_the_reach_that_is_needed_is_the_gap() -> None:
    answer = why_not(gapped(0.75), protocol="reel")
    assert answer.why == "limit"
    (opening,) = [o for o in answer.openings if o.limit == "reach_m"]
    assert opening.value == pytest.approx(0.75, abs=1e-9)
    assert opening.now == DEFAULT_LIMITS.reach_m
    assert opening.smallest is True
    for reach_m, there in ((0.75 + 1e-6, True), (0.75 - 1e-6, False)):
        options = RouteOptions(situation=Situation(limits=Limits(reach_m=reach_m)), explain=False)
        if there:
            find_route(gapped(0.75), "A1", "W1", protocol="reel", options=options)
        else:
            with pytest.raises(NoRouteError):
                find_route(gapped(0.75), "A1", "W1", protocol="reel", options=options)


def test_in_leapfrog_hand_and_hook_must_both_get_there() -> None:
    answer = why_not(gapped(0.75))
    (opening,) = [o for o in answer.openings if o.limit == "reach_m"]
    assert opening.value == pytest.approx(0.75, abs=1e-9)
    assert "hook_reach to at least as much" in opening.message
    limits = Limits(reach_m=0.75 + 1e-9, hook_reach_m=0.75 + 1e-9)
    options = RouteOptions(situation=Situation(limits=limits))
    assert find_route(gapped(0.75), "A1", "W1", options=options).safe


def test_the_smallest_reach_is_over_all_ways_round() -> None:
    # By H4 two gaps of 0.7 m, straight one of 0.8 m.
    rails = (
        straight_rail("H1", 0.0, 3.0),
        straight_rail("H3", 3.8, 12.0),
        straight_rail("H4", 2.8, 4.0, y_m=0.7),
    )
    structure = deck(handrails=rails, worksites=deck().worksites[:1])
    answer = why_not(structure, protocol="reel")
    (opening,) = [o for o in answer.openings if o.limit == "reach_m"]
    assert opening.value == pytest.approx(0.7, abs=1e-9)


def test_a_gap_too_wide_for_anybody_is_not_opened_by_reach() -> None:
    answer = why_not(gapped(1.5))
    assert answer.why == "disconnected"
    assert answer.openings == ()
    assert "`gripway inspect FILE` tells" in answer.message


def test_the_reach_of_a_person_with_a_load_is_given_without_it() -> None:
    bag = Item(id="BAG", size_m=(0.1, 0.1, 0.1), mass_kg=5.0, envelope_m=0.01)
    person = Person(id="EV1", reach_m=0.6)
    structure = Structure.model_validate(
        dict(gapped(0.58)) | {"items": (bag,), "people": (person,)}
    )
    answer = why_not(structure, Situation(carry=bag, person=person), protocol="reel")
    (opening,) = [o for o in answer.openings if o.limit == "reach_m"]
    assert opening.now == 0.6
    assert opening.value == pytest.approx(0.58 / 0.9, abs=1e-9)
    (load,) = [o for o in answer.openings if o.carry is not None]
    assert load.carry == "BAG"
    options = RouteOptions(situation=Situation(person=person))
    assert find_route(structure, "A1", "W1", protocol="reel", options=options).totals.seconds == (
        pytest.approx(load.seconds)
    )


def test_a_load_that_is_too_wide_is_named() -> None:
    crate = Item(id="CRATE", size_m=(1.0, 1.0, 1.0), mass_kg=5.0)
    gate = tuple(
        Solid(
            id=f"P{side:+d}", volume=Box(center_m=(8.0, side * 1.2, -1.0), size_m=(0.2, 0.8, 2.0))
        )
        for side in (-1, 1)
    )
    structure = deck(solids=(*deck().solids, *gate), items=(crate,))
    situation = Situation(carry=crate, limits=Limits(load_reach_factor=1.0, max_lean_deg=10.0))
    answer = why_not(structure, situation)
    assert [o.carry for o in answer.openings if o.carry] == ["CRATE"]
    limits = {o.limit for o in answer.openings}
    if "corridor_radius_m" not in limits:
        assert answer.why == "load"


def test_the_turn_that_is_needed() -> None:
    # Over the edge of a cube, from its top to its side: a right angle.
    cube = Solid(id="CUBE", volume=Box(center_m=(0.0, 0.0, 2.0), size_m=(4.0, 4.0, 4.0)))
    top = straight_rail("H1", 0.0, 1.93)
    side = Handrail(id="H2", points_m=((2.07, 0.0, 0.07), (2.07, 0.0, 3.0)), normal=(1.0, 0.0, 0.0))
    structure = deck(solids=(cube,), handrails=(top, side), worksites=(), sockets=())
    situation = Situation(limits=Limits(max_turn_deg=80.0))
    answer = why_not(structure, situation, goal="H2")
    (opening,) = [o for o in answer.openings if o.limit == "max_turn_deg"]
    assert opening.value == pytest.approx(90.0, abs=1e-6)
    for turn_deg, there in ((90.0, True), (89.999, False)):
        options = RouteOptions(
            situation=Situation(limits=Limits(max_turn_deg=turn_deg)), explain=False
        )
        if there:
            assert find_route(structure, "A1", "H2", options=options).totals.transfers == 2
        else:
            with pytest.raises(NoRouteError):
                find_route(structure, "A1", "H2", options=options)


def test_a_narrow_gate_is_opened_by_a_smaller_corridor() -> None:
    gate = tuple(
        Solid(
            id=f"P{side:+d}", volume=Box(center_m=(8.0, side * 0.9, -1.0), size_m=(0.2, 0.8, 2.0))
        )
        for side in (-1, 1)
    )
    # Half the opening is 0.5 m, the corridor's radius 0.546 m.
    structure = deck(solids=(*deck().solids, *gate))
    answer = why_not(structure)
    assert answer.why == "limit"
    (opening,) = [o for o in answer.openings if o.limit == "corridor_radius_m"]
    assert opening.value is not None
    assert 0.46 <= opening.value <= 0.5
    limits = Limits(corridor_radius_m=opening.value)
    options = RouteOptions(situation=Situation(limits=limits))
    opened = find_route(structure, "A1", "W1", options=options)
    assert opened.totals.seconds == pytest.approx(opening.seconds)


def test_hook_reach_and_short_tether_are_given_exactly_enough() -> None:
    answer = why_not(deck(), Situation(limits=Limits(short_tether_m=0.45)))
    assert answer.why == "tether"
    (opening,) = [o for o in answer.openings if o.limit == "short_tether_m"]
    assert opening.value == pytest.approx(0.5, abs=1e-9)
    assert opening.smallest is True
    answer = why_not(deck(), Situation(limits=Limits(hook_reach_m=0.45)))
    assert answer.why == "tether"
    (opening,) = [o for o in answer.openings if o.limit == "hook_reach_m"]
    assert opening.value is not None
    assert 0.5 - 1e-9 <= opening.value <= 0.52
    options = RouteOptions(situation=Situation(limits=Limits(hook_reach_m=opening.value)))
    assert find_route(deck(), "A1", "W1", options=options).safe


def test_line_and_reels_that_would_do() -> None:
    # On one reel 0.308 + 12.9 m and the reserve of 0.6096 m; or a second one of 9 m at T2.
    answer = why_not(deck(), protocol="reel", kit=Kit(reels_m=(9.0,)))
    assert answer.why == "tether"
    openings = {o.limit: o for o in answer.openings}
    assert openings["reel_length_m"].value == pytest.approx(0.30806 + 12.9 + 0.6096, abs=0.011)
    assert openings["reels"].value == 2
    assert answer.line is not None
    assert answer.line.runs_out_at is not None
    for key, reels_m in (
        ("reel_length_m", (openings["reel_length_m"].value,)),
        ("reels", (9.0, 9.0)),
    ):
        options = RouteOptions(kit=Kit(reels_m=tuple(r for r in reels_m if r is not None)))
        opened = find_route(deck(), "A1", "W1", protocol="reel", options=options)
        assert opened.totals.seconds == pytest.approx(openings[key].seconds)
