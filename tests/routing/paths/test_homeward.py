"""Ways home worked out by hand on the deck, and what is said where there is none in time."""

import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.answers.results import Protocol, Route
from routing.paths.home.ground import HomeGround, NoWayHomeError
from routing.paths.home.homeward import home_from, homeward_table
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.anchored_states import states_along
from routing.paths.tethers.kit import Kit
from structures.elements import Hatch, Zone
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.shapes import Box
from structures.units import FOOT_M
from tests.routing.paths.route_graphs import UP, deck

RATE_M_PER_S = 0.5 * FOOT_M
WAY_S = 12.9 / RATE_M_PER_S + 8
"""From the hatch to worksite W1, four gaps on the way, without transfers."""
SHORT = Kit(reels_m=(8.2, 8.2))
LITTLE = Limits(reserve_m=0.1)


def _route(
    structure: Structure, *, leave: bool = False, protocol: Protocol = "reel", **limits: float
) -> Route:
    options = RouteOptions(
        situation=Situation(limits=Limits(**{"reserve_m": 0.1, **limits})),
        kit=SHORT,
        homeward="left" if leave else "recovered",
    )
    return find_route(structure, "A1", "W1", protocol=protocol, options=options)


def test_home_with_every_tether_recovered_is_all_the_way_back() -> None:
    home = _route(deck()).homeward
    assert home is not None
    assert home.worst_s == pytest.approx(WAY_S + 60, rel=1e-12)
    assert (home.worst_grip, home.worst_index) == ("S1", len(home.holds) - 1)
    assert (home.holds[0].seconds, home.holds[0].transfers) == (0.0, 0)
    assert (home.holds[-1].transfers, home.holds[-1].left_outside) == (1, ())
    assert (home.tethers, home.hatches, home.limit_s) == ("recovered", ("A1",), 1800.0)


def test_a_hold_with_a_transfer_counts_the_longer_time() -> None:
    route = _route(deck())
    assert route.homeward is not None
    (transfer,) = route.transfers
    x_m = route.grips[transfer.grip_index].position_m[0]
    gaps = 2 if x_m >= 3.4 else 1
    expected_s = (x_m + 0.4) / RATE_M_PER_S + 2 * gaps + 60
    assert route.homeward.holds[transfer.grip_index].seconds == pytest.approx(expected_s)


def test_a_tether_left_outside_saves_its_transfer() -> None:
    # Back along the second line to where it was hooked on, and on to the hatch on the same line.
    home = _route(deck(), leave=True).homeward
    assert home is not None
    assert home.tethers == "left"
    assert home.holds[-1].seconds == pytest.approx(WAY_S, rel=1e-12)
    assert (home.holds[-1].transfers, home.holds[-1].left_outside) == (0, ("T2",))


def test_a_limit_on_the_time_home_blocks_and_says_from_where() -> None:
    late = _route(deck(), time_home_limit_s=100.0)
    assert late.verdict == "unsafe"
    (finding,) = [one for one in late.findings if one.code == "home-too-late"]
    assert (finding.severity, finding.elements, finding.limit) == ("blocks", ("S1",), 100.0)
    assert finding.value == pytest.approx(WAY_S + 60)
    assert _route(deck(), time_home_limit_s=WAY_S + 61).safe


def test_no_hatch_is_never_in_time() -> None:
    nowhere = deck(hatches=())
    options = RouteOptions(homeward="recovered")
    route = find_route(nowhere, "H1", "W1", options=options)
    assert route.homeward is None
    assert "home-not-known" in {one.code for one in route.findings if one.severity == "blocks"}


def test_what_did_not_begin_at_the_hatch_is_not_called_recovered() -> None:
    graph = build_graph(deck(), Situation(limits=LITTLE))
    kit = Kit(reels_m=(20.0,))
    course = solve(graph, Request(start="H2@1.600", goal="W1", protocol="reel", kit=kit))
    assert course is not None
    for hold in homeward_table(HomeGround(graph=graph, protocol="reel", kit=kit), course):
        assert hold.seconds is None
        assert "the first tether is on T2" in hold.why
    left = homeward_table(HomeGround(graph=graph, protocol="reel", kit=kit, leave=True), course)
    assert left[-1].seconds == pytest.approx(WAY_S, rel=1e-12)
    assert left[-1].left == ("T2",)


def test_a_way_back_that_is_barred_since_is_said() -> None:
    kit = Kit(reels_m=(20.0,))
    graph = build_graph(deck(), Situation(limits=LITTLE))
    course = solve(graph, Request(start="A1", goal="W1", protocol="reel", kit=kit))
    assert course is not None
    gone = Zone(
        id="Z", volume=Box(center_m=(3.2, 0.0, -0.07), size_m=(0.1, 1, 1)), applies_to=("tether",)
    )
    barred = build_graph(deck(zones=(gone,)), Situation(limits=LITTLE))
    assert barred.grips.ids == graph.grips.ids
    ground = HomeGround(graph=barred, protocol="reel", kit=kit)
    holds = homeward_table(ground, course)
    assert holds[-1].seconds is None
    assert "the way back along the line from H2@0.000 to H1@3.000 is not allowed" in holds[-1].why
    state = states_along(course, ground.outfit)[-1][-1]
    with pytest.raises(NoWayHomeError, match="way back along the line"):
        home_from(ground, state)


def test_leapfrog_home_is_the_way_back_with_its_transfers() -> None:
    route = _route(deck(), protocol="leapfrog")
    assert route.homeward is not None
    assert route.homeward.tethers is None
    # Back from socket S1: on to H3, to H2, to H1 and to the hatch.
    assert route.homeward.holds[-1].transfers == 4
    assert route.homeward.worst_s == pytest.approx(WAY_S + 4 * 60, rel=1e-12)


def test_home_must_be_a_hatch() -> None:
    graph = build_graph(deck(), Situation())
    with pytest.raises(NoWayHomeError, match="'H1' is no hatch"):
        HomeGround(graph=graph, protocol="reel", hatch="H1")
    with pytest.raises(UnknownIdError):
        HomeGround(graph=graph, protocol="reel", hatch="A7")
    with pytest.raises(NoWayHomeError, match="has no hatch to go home to"):
        HomeGround(graph=build_graph(deck(hatches=()), Situation()), protocol="leapfrog")


def test_the_nearest_of_two_hatches_counts() -> None:
    second = Hatch(id="A2", position_m=(12.4, 0.3, -0.07), normal=UP, tether_point="T1")
    graph = build_graph(deck(hatches=(*deck().hatches, second)), Situation())
    (grip,) = [i for i, one in enumerate(graph.grips.ids) if one == "H3@5.500"]
    both = HomeGround(graph=graph, protocol="leapfrog")
    assert home_from(both, grip).hatch == "A2"
    assert home_from(HomeGround(graph=graph, protocol="leapfrog", hatch="A1"), grip).hatch == "A1"


def test_each_protocol_starts_from_what_it_needs() -> None:
    graph = build_graph(deck(), Situation())
    with pytest.raises(ValueError, match="starts from a tether state"):
        home_from(HomeGround(graph=graph, protocol="reel"), 0)
    course = solve(graph, Request(start="A1", goal="W1", protocol="leapfrog"))
    assert course is not None
    with pytest.raises(ValueError, match="only a course on reels"):
        homeward_table(HomeGround(graph=graph, protocol="reel"), course)


def test_a_course_of_another_kit_is_refused() -> None:
    graph = build_graph(deck(), Situation())
    course = solve(graph, Request(start="A1", goal="W1", protocol="reel"))
    assert course is not None
    assert DEFAULT_LIMITS.reel_length_m not in SHORT.reels_m
    with pytest.raises(ValueError, match="which this kit does not have"):
        homeward_table(HomeGround(graph=graph, protocol="reel", kit=SHORT), course)
