"""No route: what is said of it, and of what was not tried."""

import pytest

from routing.graph.reach_graph import GripKind
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS
from routing.paths.changes import Case, with_limit, without_closures, without_load, without_zones
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.elements import Condition, Item, Person, TetherPoint
from tests.routing.paths.reason_ground import across, why_not
from tests.routing.paths.route_graphs import Arc, deck, made_graph


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
