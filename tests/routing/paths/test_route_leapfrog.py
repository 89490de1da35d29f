"""Leapfrog routes: hand-worked times, transfers counted and costed, hooks that reach or not."""

import math
from dataclasses import replace

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.no_route.answer import NoRouteError
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, find_route
from structures.elements import Handhold, Hatch, Item, Person, TetherPoint
from structures.errors import UnknownIdError
from structures.units import FOOT_M
from tests.routing.paths.route_graphs import UP, Arc, deck, made_graph, straight_rail

RATE_M_PER_S = 0.5 * FOOT_M
SHALLOW = RouteOptions(explain=False)


def with_limits(**limits: float) -> RouteOptions:
    return RouteOptions(situation=Situation(limits=Limits(**limits)), explain=False)


def test_the_way_along_the_deck_takes_what_it_takes_by_hand() -> None:
    # From x = -0.4 to 12.5: 12.9 m at 0.5 ft/s; four changes of element at 2 s;
    # a transfer onto each of three rails at 60 s, none onto the socket.
    route = find_route(deck(), "A1", "W1")
    sums = route.totals
    assert sums.distance_m == pytest.approx(12.9, abs=1e-9)
    assert sums.travel_s == pytest.approx(12.9 / RATE_M_PER_S, rel=1e-12)
    assert sums.gap_s == 4 * 2.0
    assert (sums.turn_s, sums.face_s, sums.slow_s, sums.exposure_s) == (0.0, 0.0, 0.0, 0.0)
    assert (sums.transfers, sums.transfers_s) == (3, 180.0)
    assert sums.seconds == pytest.approx(12.9 / RATE_M_PER_S + 8 + 180, rel=1e-12)
    assert [s.id for s in route.handrails] == ["A1", "H1", "H2", "H3", "S1"]
    assert [(s.from_m, s.to_m) for s in route.handrails[1:4]] == [
        (0.0, 3.0),
        (0.0, pytest.approx(2.6)),
        (0.0, 5.5),
    ]
    assert [s.heading for s in route.handrails] == [None, "forward", "forward", "forward", None]
    assert [(t.handrail, t.at_grip) for t in route.transfers] == [
        ("H1", "H1@0.000"),
        ("H2", "H2@0.000"),
        ("H3", "H3@0.000"),
    ]
    assert route.verdict == "answered and safe"


def test_the_parts_of_hand_overs_add_up_to_the_totals() -> None:
    route = find_route(deck(), "A1", "W1")
    parts = ("travel_s", "gap_s", "turn_s", "face_s", "slow_s")
    for over in route.hand_overs:
        assert over.seconds == pytest.approx(sum(getattr(over, p) for p in parts), abs=1e-12)
    moved = math.fsum(over.seconds for over in route.hand_overs)
    assert route.totals.seconds == pytest.approx(moved + route.totals.transfers_s, abs=1e-9)
    assert route.totals.hand_overs == len(route.hand_overs) == len(route.grips) - 1
    assert route.totals.transfers == len(route.transfers)


def test_a_transfer_that_costs_nothing_is_still_counted() -> None:
    route = find_route(deck(), "A1", "W1", options=with_limits(transfer_s=0.0))
    assert (route.totals.transfers, route.totals.transfers_s) == (3, 0.0)


def test_dear_transfers_make_a_detour_along_one_rail_worth_it() -> None:
    # 0 -a- 1 -b- 2: two rails, 20 s and two changes; or along rail a alone, 100 s.
    arcs = [
        Arc(tail=0, head=1, seconds=10.0),
        Arc(tail=1, head=2, seconds=10.0),
        Arc(tail=0, head=3, seconds=50.0),
        Arc(tail=3, head=2, seconds=50.0),
    ]
    graph = made_graph(["a", "b", "a", "a"], arcs)
    request = Request(start="a@0.000", goal="a@2.000")
    dear = solve(graph, request)
    assert dear is not None
    assert dear.grips == (0, 3, 2)
    cheap = replace(graph, situation=Situation(limits=Limits(transfer_s=39.0)))
    found = solve(cheap, request)
    assert found is not None
    assert found.grips == (0, 1, 2)
    assert [a.seconds for a in found.anchorings if not a.starts] == [39.0, 39.0]


@pytest.mark.parametrize(("hook_reach_m", "there"), [(0.5, True), (0.4999, False), (0.61, True)])
def test_hook_reach_decides_at_the_gap(hook_reach_m: float, there: bool) -> None:
    options = with_limits(hook_reach_m=hook_reach_m)
    if there:
        assert find_route(deck(), "A1", "W1", options=options).totals.transfers == 3
    else:
        with pytest.raises(NoRouteError, match="safety tether cannot"):
            find_route(deck(), "A1", "W1", options=options)


@pytest.mark.parametrize(("short_tether_m", "there"), [(0.5, True), (0.4999, False)])
def test_the_short_tether_must_span_the_way(short_tether_m: float, there: bool) -> None:
    options = with_limits(short_tether_m=short_tether_m)
    if there:
        find_route(deck(), "A1", "W1", options=options)
    else:
        with pytest.raises(NoRouteError) as caught:
            find_route(deck(), "A1", "W1", options=options)
        assert caught.value.why == "tether"


def test_a_rail_that_takes_no_hook_is_not_followed() -> None:
    rails = (
        straight_rail("H1", 0.0, 3.0),
        straight_rail("H2", 3.4, 6.0, tether_hook=False),
        straight_rail("H3", 6.5, 12.0),
    )
    with pytest.raises(NoRouteError) as caught:
        find_route(deck(handrails=rails), "A1", "W1", options=SHALLOW)
    assert caught.value.why == "tether"


@pytest.mark.parametrize(
    ("hooks", "transfers"), [((False,), 1), ((True,), 2), ((False, False), None)]
)
def test_one_hold_without_hook_may_be_passed_but_not_two(
    hooks: tuple[bool, ...], transfers: int | None
) -> None:
    holds = tuple(
        Handhold(id=f"K{i}", position_m=(1.5 + 0.5 * i, 0.0, -0.07), normal=UP, tether_hook=hook)
        for i, hook in enumerate(hooks)
    )
    far = 1.5 + 0.5 * len(hooks)
    rails = (straight_rail("H1", 0.0, 1.0), straight_rail("H2", far, far + 1))
    structure = deck(handrails=rails, handholds=holds)
    if transfers is None:
        with pytest.raises(NoRouteError):
            find_route(structure, "H1@0.000", "H2", options=SHALLOW)
    else:
        assert find_route(structure, "H1@0.000", "H2").totals.transfers == transfers


def test_a_hatch_takes_a_hook_only_if_its_tether_point_is_in_hook_reach() -> None:
    near = find_route(deck(), "A1", "H1")
    assert near.verdict == "answered and safe"
    points = (TetherPoint(id="T1", position_m=(-2.0, 0.3, 0.0), rating_n=3000.0),)
    far = find_route(deck(tether_points=points), "A1", "H1")
    # Nothing holds the person who comes out of it: that is never shown as safe.
    assert far.verdict == "unsafe"
    assert far.findings[0].code == "hatch-without-hook"
    closed = RouteOptions(situation=Situation(closed=("T1",)))
    assert find_route(deck(), "A1", "H1", options=closed).verdict == "unsafe"
    from_socket = find_route(deck(), "S1", "H1")
    assert from_socket.verdict == "answered and safe"
    assert "start-without-hook" in {f.code for f in from_socket.findings}
    # Through such a hatch, from rail to rail: the hook stays behind, one transfer only.
    rails = (straight_rail("H0", -2.0, -0.8), straight_rail("H1", 0.0, 3.0))
    lists = {"handrails": rails, "worksites": ()}
    over = find_route(deck(tether_points=points, **lists), "H0", "H1")
    assert over.totals.transfers == 1
    closer = find_route(deck(**lists), "H0", "H1")
    assert [t.kind for t in closer.transfers] == ["hatch", "handrail"]


def test_sockets_are_reached_and_left_but_not_passed_through() -> None:
    kinds = {"s": GripKind.SOCKET}
    arcs = [
        Arc(tail=0, head=1, seconds=1.0),
        Arc(tail=1, head=2, seconds=1.0),
        Arc(tail=0, head=2, seconds=500.0),
    ]
    graph = made_graph(["a", "s", "b"], arcs, kinds=kinds)
    direct = find_route(graph, "a", "b")
    assert [g.grip for g in direct.grips] == ["a@0.000", "b@2.000"]
    by = find_route(graph, "a", "b", via=("W-s",))
    assert [g.grip for g in by.grips] == ["a@0.000", "s", "b@2.000"]
    assert by.via_grips == (1,)
    assert by.to_document()["via"] == [{"worksite": "W-s"}]
    assert by.to_document()["start"] == {"handrail": "a"}


def test_from_a_site_to_itself_is_a_route_of_nothing() -> None:
    for site in ("W1", "S1", "A1", "H2", "T2", "H1@0.250"):
        route = find_route(deck(), site, site)
        assert route.totals.seconds == 0.0
        assert route.totals.hand_overs == 0
        assert len(route.grips) == 1
        assert route.margins.gap is None
        assert route.margins.turn is None
        assert route.margins.clearance is not None
    worksite = find_route(deck(), "W1", "S1")
    assert worksite.totals.seconds == 0.0


def test_a_site_of_many_grips_is_entered_at_the_nearest() -> None:
    route = find_route(deck(), "A1", "H2")
    assert route.grips[-1].grip == "H2@0.000"
    route = find_route(deck(), "T2", "H3")
    # The hook reaches T2 from y 0.2 and z 0.07 off the rail: along x to 5.5704.
    by_hand_m = math.sqrt(DEFAULT_LIMITS.hook_reach_m**2 - 0.2**2 - 0.07**2)
    assert route.grips[0].position_m[0] <= 5.0 + by_hand_m
    assert route.grips[0].position_m[0] > 5.0 + by_hand_m - DEFAULT_LIMITS.grip_spacing_m


def test_unknown_ids_name_the_nearest() -> None:
    with pytest.raises(UnknownIdError, match="W1") as caught:
        find_route(deck(), "A1", "W11")
    assert caught.value.nearest[0] == "W1"
    with pytest.raises(UnknownIdError):
        find_route(deck(), "A1", "W1", via=("H99",))
    with pytest.raises(UnknownIdError):
        find_route(deck(), "floor", "W1")


def test_person_and_load_change_reach_and_rate() -> None:
    slow = Person(id="EV1", rate_m_per_s=0.1)
    route = find_route(
        deck(people=(slow,)), "A1", "W1", options=RouteOptions(situation=Situation(person=slow))
    )
    assert route.totals.travel_s == pytest.approx(129.0, rel=1e-12)
    assert route.situation.person == "EV1"
    bag = Item(id="BAG", size_m=(0.1, 0.1, 0.1), mass_kg=5.0, envelope_m=0.01)
    loaded = find_route(
        deck(items=(bag,)), "A1", "W1", options=RouteOptions(situation=Situation(carry=bag))
    )
    assert loaded.totals.travel_s == pytest.approx(2 * 12.9 / RATE_M_PER_S, rel=1e-12)
    assert loaded.margins.gap is not None
    assert loaded.margins.gap.reach_m == pytest.approx(0.9 * DEFAULT_LIMITS.reach_m)
    short = Person(id="EV2", reach_m=0.45)
    with pytest.raises(NoRouteError):
        find_route(
            deck(people=(short,)),
            "A1",
            "W1",
            options=RouteOptions(situation=Situation(person=short), explain=False),
        )


def test_a_graph_gives_what_its_structure_gives() -> None:
    situation = Situation(limits=Limits(transfer_s=10.0))
    graph = build_graph(deck(), situation)
    direct = find_route(deck(), "A1", "W1", options=RouteOptions(situation=situation))
    assert find_route(graph, "A1", "W1") == direct
    assert direct.limits_changed["transfer_s"].value == 10.0
    assert direct.limits_changed["transfer_s"].default == 60.0


def test_shuffled_elements_give_the_same_answer() -> None:
    one = deck()
    content = {name: getattr(one, name) for name in type(one).model_fields}
    turned = {k: v[::-1] if isinstance(v, tuple) else v for k, v in content.items()}
    other = type(one).model_validate(turned)
    for protocol in ("leapfrog", "reel"):
        first = find_route(one, "A1", "W1", via=("W2",), protocol=protocol)
        assert find_route(other, "A1", "W1", via=("W2",), protocol=protocol) == first


def test_an_unrated_tether_point_at_the_hatch_makes_it_unsafe() -> None:
    for rating_n, verdict, code in (
        (None, "unsafe", "tether-point-not-rated"),
        (2552.9, "unsafe", "tether-point-too-weak"),
        (2553.0, "answered and safe", None),
    ):
        points = (TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=rating_n),)
        route = find_route(deck(tether_points=points), "A1", "W1")
        assert route.verdict == verdict
        assert route.safe == (verdict != "unsafe")
        blocking = {f.code for f in route.findings if f.severity == "blocks"}
        assert blocking == ({code} if code else set())
    hatch = Hatch(id="A1", position_m=(-0.4, 0.0, -0.07), normal=UP, tether_point="T1")
    assert hatch in deck().hatches
