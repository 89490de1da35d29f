"""No route for zones or closures: they are named, and without them there is one."""

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.no_route.answer import NoRouteError
from routing.paths.no_route.limit_search import LIMIT_TRIALS, open_by_limit, worth_trying
from routing.paths.no_route.needed import all_needed
from routing.paths.request import Request
from routing.paths.route import RouteOptions, find_route
from structures.elements import Condition
from tests.routing.paths.reason_ground import across, gapped, why_not
from tests.routing.paths.route_graphs import deck


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
