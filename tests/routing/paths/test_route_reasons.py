"""No route: why, how far one gets, and that what is named really opens one."""

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.answers.results import Protocol
from routing.paths.changes import Case, with_limit, without_closures, without_load, without_zones
from routing.paths.no_route.answer import NoRoute, NoRouteError
from routing.paths.no_route.limit_search import LIMIT_TRIALS, open_by_limit, worth_trying
from routing.paths.no_route.needed import all_needed
from routing.paths.no_route.shortfall import shortfalls
from routing.paths.request import Request
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.elements import Condition, Handrail, Item, Person, Solid, TetherPoint, Zone
from structures.model import Structure
from structures.shapes import Box
from tests.routing.paths.route_graphs import Arc, deck, made_graph, straight_rail


def why_not(
    structure: Structure,
    situation: Situation | None = None,
    protocol: Protocol = "leapfrog",
    kit: Kit | None = None,
    goal: str = "W1",
) -> NoRoute:
    options = RouteOptions(situation=situation or Situation(), kit=kit)
    with pytest.raises(NoRouteError) as caught:
        find_route(structure, "A1", goal, protocol=protocol, options=options)
    answer = caught.value.answer
    assert (caught.value.start, caught.value.goal) == ("A1", goal)
    assert caught.value.why == answer.why
    assert str(caught.value) == answer.message
    assert isinstance(caught.value, LookupError)
    return answer


def across(x_m: float, **more: object) -> Zone:
    """A keep-out zone right across the rails."""
    volume = Box(center_m=(x_m, 0.0, -0.6), size_m=(0.4, 8.0, 0.4))
    return Zone.model_validate({"id": f"Z{x_m:g}", "volume": volume, **more})


def test_a_zone_across_the_way_is_named_and_taking_it_away_opens_it() -> None:
    structure = deck(zones=(across(8.0), across(30.0)))
    answer = why_not(structure)
    assert answer.why == "zones"
    assert [o.zone for o in answer.openings] == ["Z8"]
    assert "zone Z30" not in answer.tried
    # Body places are out by the corridor's radius: 1.1 m before the zone's face at the latest.
    assert answer.closest is not None
    assert answer.closest.grip.startswith("H3@")
    assert 12.5 - 7.8 <= answer.closest.distance_m <= 12.5 - 6.5
    opened = find_route(deck(zones=(across(30.0),)), "A1", "W1")
    assert answer.openings[0].seconds == pytest.approx(opened.totals.seconds)
    assert "without zone Z8 a route" in answer.message


def test_a_zone_that_counts_under_a_condition_says_so() -> None:
    structure = deck(zones=(across(8.0, when=("radar",)),), conditions=(Condition(id="radar"),))
    assert find_route(structure, "A1", "W1").safe
    answer = why_not(structure, Situation(when=("radar",)))
    assert "radar" in answer.openings[0].message


@pytest.mark.parametrize("second_m", [8.3, 10.0])
def test_two_zones_one_behind_the_other_are_not_opened_by_one(second_m: float) -> None:
    answer = why_not(deck(zones=(across(8.0), across(second_m))))
    assert answer.why == "zones"
    assert answer.openings == ()
    assert "no single zone, closure or limit opens it" in answer.message
    assert "all keep-out zones together" in answer.tried
    # Far apart neither is near both what is reached and what lies beyond.
    assert ("zone Z8" in answer.tried) is (second_m == 8.3)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
@pytest.mark.parametrize(
    "places_m", [(8.0,), (8.0, 8.3), (8.0, 30.0), (2.0, 8.0), (-6.0, 4.7), (12.5,), (-0.4, 8.0)]
)
def test_zones_that_open_a_route_alone_are_all_found(
    places_m: tuple[float, ...], protocol: Protocol
) -> None:
    zones = [across(x_m) for x_m in places_m]
    opens = []
    for zone in zones:
        others = deck(zones=tuple(one for one in zones if one is not zone))
        try:
            find_route(others, "A1", "W1", protocol=protocol, options=RouteOptions(explain=False))
        except NoRouteError:
            continue
        opens.append(zone.id)
    answer = why_not(deck(zones=tuple(zones)), protocol=protocol)
    found = [o.zone for o in (*answer.openings, *answer.unsafe_openings) if o.zone]
    assert sorted(found) == sorted(opens)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
@pytest.mark.parametrize("gap_m", [0.65, 0.75, 0.9, 0.95, 1.5])
def test_a_limit_that_is_not_worth_trying_opens_nothing(gap_m: float, protocol: Protocol) -> None:
    graph = build_graph(gapped(gap_m), Situation())
    request = Request(start="A1", goal="W1", protocol=protocol)
    worth = worth_trying(graph, request)
    assert (len(worth) == len([t for t in LIMIT_TRIALS if protocol in t.protocols])) is (
        gap_m < 0.92
    )
    left_out = [trial for trial in LIMIT_TRIALS if trial not in worth]
    assert all(open_by_limit(trial, graph, request) is None for trial in left_out)


def test_a_closure_is_named_and_reopening_it_opens_the_way() -> None:
    answer = why_not(deck(), Situation(closed=("H2",)))
    assert answer.why == "closures"
    assert [o.closure for o in answer.openings] == ["H2"]
    assert answer.openings[0].seconds == pytest.approx(
        find_route(deck(), "A1", "W1").totals.seconds
    )
    assert answer.closest is not None
    assert answer.closest.grip == "H1@3.000"
    assert answer.closest.distance_m == pytest.approx(9.5)


def test_a_rail_closed_by_a_condition_says_by_which() -> None:
    structure = deck(conditions=(Condition(id="loose", closes=("H2",)),))
    answer = why_not(structure, Situation(when=("loose",)))
    assert [o.closure for o in answer.openings] == ["H2"]
    assert "loose" in answer.openings[0].message


def test_a_closed_goal_is_opened_by_itself() -> None:
    answer = why_not(deck(), Situation(closed=("S1",)))
    assert answer.why == "closures"
    assert [o.closure for o in answer.openings] == ["S1"]
    assert "worksite W1 has no grip that can be used" in answer.message


def test_a_closed_start_is_opened_by_itself() -> None:
    answer = why_not(deck(), Situation(closed=("A1",)))
    assert [o.closure for o in answer.openings] == ["A1"]
    assert answer.reached_grips == 0
    assert answer.closest is None


def test_zones_and_closures_together() -> None:
    answer = why_not(deck(zones=(across(8.0), across(30.0))), Situation(closed=("H2", "T2")))
    assert answer.why == "zones and closures"
    assert answer.openings == ()
    # The zone far off and the tether point that leapfrog never hooks to are in nobody's way.
    found = answer.together
    assert found is not None
    assert (found.zones, found.closures, found.blocked_by) == (("Z8",), ("H2",), ())
    assert found.seconds == pytest.approx(find_route(deck(), "A1", "W1").totals.seconds)
    assert "zone Z8 off and H2 open, together and none of them left out, open" in answer.message


def test_two_zones_that_go_only_together() -> None:
    answer = why_not(deck(zones=(across(8.0), across(8.3), across(30.0))))
    assert (answer.why, answer.openings) == ("zones", ())
    assert answer.together is not None
    assert answer.together.zones == ("Z8", "Z8.3")
    assert answer.together.closures == ()


@given(st.lists(st.frozensets(st.integers(0, 6), min_size=1, max_size=3), min_size=1, max_size=4))
def test_of_what_opens_together_none_can_be_left_out(ways: list[frozenset[int]]) -> None:
    asked: list[frozenset[int]] = []

    def opens(some: Sequence[int]) -> bool:
        asked.append(frozenset(some))
        return any(way <= {*some} for way in ways)

    found = all_needed(range(7), opens)
    assert frozenset(found) in {way for way in ways if not any(one < way for one in ways)}
    assert list(found) == sorted(found)
    assert len(asked) <= 1 + 2 * 7


def gapped(gap_m: float) -> Structure:
    rails = (straight_rail("H1", 0.0, 3.0), straight_rail("H3", 3.0 + gap_m, 12.0))
    return deck(handrails=rails, worksites=deck().worksites[:1])


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


def with_point(**point: object) -> Structure:
    """The deck with another tether point at its hatch."""
    first = deck().tether_points[0].model_copy(update=point)
    return deck(tether_points=(first, *deck().tether_points[1:]))


@pytest.mark.parametrize(
    ("point", "code"),
    [
        ({"rating_n": None}, "tether-point-not-rated"),
        ({"rating_n": 900.0}, "tether-point-too-weak"),
        ({"position_m": (-0.4, 0.9, 0.0)}, "first-hook-out-of-reach"),
        ({"position_m": (-0.4, 0.1, 0.05)}, "first-line-blocked"),
    ],
)
def test_more_line_is_no_remedy_where_the_start_is_not_safe(
    point: dict[str, object], code: str
) -> None:
    answer = why_not(with_point(**point), protocol="reel", kit=Kit(reels_m=(9.0,)))
    assert answer.why == "tether"
    assert answer.openings == ()
    unsafe = {o.limit: o for o in answer.unsafe_openings}
    assert {"reel_length_m", "reels"} <= set(unsafe)
    for opening in unsafe.values():
        assert code in opening.blocked_by
        assert "NOT SAFE" in opening.message
    assert "no single zone, closure or limit opens it safely" in answer.message
    length_m = unsafe["reel_length_m"].value
    assert length_m is not None
    options = RouteOptions(kit=Kit(reels_m=(length_m,)))
    opened = find_route(with_point(**point), "A1", "W1", protocol="reel", options=options)
    assert not opened.safe
    assert opened.totals.seconds == pytest.approx(unsafe["reel_length_m"].seconds)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_a_zone_or_closure_is_no_remedy_where_the_start_is_not_safe(protocol: Protocol) -> None:
    weak = with_point(rating_n=900.0)
    for structure, situation in (
        (deck(zones=(across(8.0),), tether_points=weak.tether_points), Situation()),
        (weak, Situation(closed=("H2",))),
    ):
        answer = why_not(structure, situation, protocol)
        assert answer.openings == ()
        (one,) = (o for o in answer.unsafe_openings if o.zone == "Z8" or o.closure == "H2")
        assert one.blocked_by == ("tether-point-too-weak",)


def test_opening_what_made_the_start_unsafe_is_a_remedy() -> None:
    """What is offered is safe as an answer: only the closed tether point stood in the way."""
    answer = why_not(deck(), Situation(closed=("T1",)), "reel")
    assert [o.closure for o in answer.openings] == ["T1"]
    assert answer.unsafe_openings == ()
    assert "its tether point T1 is closed" in answer.message


def test_a_start_without_a_tether_point_is_said() -> None:
    far = deck(tether_points=deck().tether_points[:1])
    with pytest.raises(NoRouteError) as caught:
        find_route(far, "W1", "A1", protocol="reel")
    said = "no reel of the kit can be hooked on at W1: no open tether point is within hook reach"
    assert said in caught.value.answer.message
    home = "ask for the way home `gripway route STRUCTURE A1 W1 --protocol reel --homeward`, or"
    assert home in caught.value.answer.message
    with pytest.raises(NoRouteError) as caught_on:
        find_route(far, "W1", "W2", via=["H3"], protocol="reel")
    onward = "`gripway route STRUCTURE A1 W2 --via W1 --via H3 --protocol reel`, for the way home"
    assert onward in caught_on.value.answer.message
    places = {site: site_grips(build_graph(far, Situation()), site) for site in ("W1", "A1")}
    found = shortfalls(
        build_graph(far, Situation()),
        Request(start="W1", goal="A1", protocol="reel"),
        places["W1"],
        [places["A1"]],
    )
    assert found["A1"].message in caught.value.answer.message


def test_what_would_do_is_said_not_to_be_safe_for_many_goals_too() -> None:
    graph = build_graph(with_point(rating_n=900.0), Situation())
    request = Request(start="A1", goal="W1", protocol="reel", kit=Kit(reels_m=(9.0,)))
    start, goal = (site_grips(graph, site) for site in ("A1", "W1"))
    message = shortfalls(graph, request, start, [goal])["W1"].message
    assert message.count("that way is NOT SAFE: tether point T1 is rated 900 N") == 2


def test_a_zone_is_not_blamed_alone_if_the_tether_would_not_do_either() -> None:
    answer = why_not(deck(zones=(across(8.0),)), protocol="reel", kit=Kit(reels_m=(3.0,)))
    assert answer.why == "zones"
    assert answer.openings == ()
    assert "the safety tether would still not do" in answer.message


def test_the_leg_that_fails_is_named() -> None:
    with pytest.raises(NoRouteError) as caught:
        find_route(
            deck(),
            "A1",
            "W2",
            via=("H1", "W1"),
            options=RouteOptions(situation=Situation(closed=("H3",))),
        )
    answer = caught.value.answer
    assert (answer.from_site.id, answer.to_site.id) == ("H1", "W1")
    assert "the leg from H1 to W1 fails" in answer.message
    assert [o.closure for o in answer.openings] == ["H3"]


def test_not_explaining_says_what_was_not_tried() -> None:
    options = RouteOptions(situation=Situation(closed=("H2",)), explain=False)
    with pytest.raises(NoRouteError) as caught:
        find_route(deck(), "A1", "W1", options=options)
    assert caught.value.why == "unknown"
    assert caught.value.answer.not_tried
    assert "no single" not in str(caught.value)


def test_more_zones_than_are_tried_are_listed() -> None:
    zones = tuple(across(7.5 + 0.01 * i) for i in range(14))
    answer = why_not(deck(zones=zones))
    assert len([t for t in answer.not_tried if t.startswith("zone")]) == 2
    assert answer.openings == ()
    assert "not tried: zone" in answer.message


def test_a_graph_of_islands_is_disconnected() -> None:
    arcs = [Arc(tail=0, head=1, seconds=1.0), Arc(tail=2, head=3, seconds=1.0)]
    graph = made_graph(["a", "b", "c", "s"], arcs, kinds={"s": GripKind.SOCKET})
    with pytest.raises(NoRouteError) as caught:
        find_route(graph, "a", "W-s", options=RouteOptions(explain=False))
    assert caught.value.answer.reached_grips == 2
    assert caught.value.closest is not None
    assert caught.value.closest.grip == "b@1.000"


def test_changes_leave_the_original_alone_and_look_things_up_anew() -> None:
    bag = Item(id="BAG", size_m=(0.1, 0.1, 0.1), mass_kg=5.0)
    structure = deck(zones=(across(8.0),), conditions=(Condition(id="loose", closes=("H1", "H2")),))
    assert structure.by_id["Z8"]
    case = Case(
        structure=structure, situation=Situation(carry=bag, closed=("H2", "T2"), when=("loose",))
    )
    fewer = without_zones(case, ["Z8"])
    assert "Z8" not in fewer.structure.by_id
    assert "Z8" in structure.by_id
    opened = without_closures(case, ["H2"])
    assert opened.situation.closed == ("T2",)
    assert opened.structure.by_id["loose"] == Condition(id="loose", closes=("H1",))
    assert without_load(case).situation.carry is None
    person = Person(id="EV1", reach_m=0.5)
    own = with_limit(Situation(person=person), "reach_m", 0.7)
    assert own.ability.reach_m == 0.7
    assert own.limits == DEFAULT_LIMITS
    assert with_limit(Situation(person=person), "gap_s", 1.0).limits.gap_s == 1.0
    assert TetherPoint(id="T", position_m=(0.0, 0.0, 0.0)).rating_n is None
