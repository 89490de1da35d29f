"""From a route to its profile: line out before and after a swap, room of every hand-over."""

from itertools import pairwise

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import Route
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from routing.show.maps.from_route import map_route, route_profile
from routing.show.sheets.inputs import DrawingError
from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES


@pytest.fixture(scope="module")
def graph() -> ReachGraph:
    structure = read_structure(EXAMPLES["small"])
    person = next(one for one in structure.people if one.id == "ev-large")
    return build_graph(structure, Situation(person=person))


def on_reels(graph: ReachGraph, *lengths_m: float) -> Route:
    options = RouteOptions(kit=Kit(reels_m=lengths_m))
    return find_route(graph, "hatch", "W1", protocol="reel", options=options)


def test_one_reel_pays_out_with_the_way(graph: ReachGraph) -> None:
    route = on_reels(graph, 25.908)
    profile = route_profile(graph, route)
    assert profile.person == "Larger person"
    # The line lies where the person went, so it grows by just the way.
    first_m = profile.payout_m[0]
    assert [line - first_m for line in profile.payout_m] == pytest.approx(profile.distance_m)
    # TP1 is 12 in from the hatch (small.toml): the line begins as long as that.
    assert first_m == pytest.approx(12 * 0.0254)
    assert profile.payout_limit_m == (25.908 - graph.situation.limits.reserve_m,) * len(
        profile.payout_m
    )
    assert profile.distance_m[-1] == pytest.approx(route.totals.distance_m)
    assert max(profile.gap_m) <= profile.reach_m


def test_a_grip_stands_twice_where_reels_are_swapped(graph: ReachGraph) -> None:
    route = on_reels(graph, 7.5, 6.0)
    assert len(route.stays) == 2
    profile = route_profile(graph, route)
    assert len(profile.distance_m) == len(route.grips) + 1
    twice = [i for i, (a, b) in enumerate(pairwise(profile.distance_m)) if a == b]
    assert len(twice) == 1
    before_m, after_m = profile.payout_m[twice[0]], profile.payout_m[twice[0] + 1]
    assert before_m > after_m
    assert before_m == route.hand_overs[route.stays[1].from_grip - 1].payout_m
    assert after_m == route.stays[1].first_payout_m
    assert profile.payout_limit_m[twice[0]] != profile.payout_limit_m[twice[0] + 1]
    assert max(profile.payout_m) <= max(stay.most_payout_m for stay in route.stays)
    assert [one.distance_m for one in profile.transfers] == [profile.distance_m[twice[0]]]


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_least_clearance_is_that_of_the_margins(graph: ReachGraph, protocol: str) -> None:
    route = find_route(graph, "hatch", "W1", protocol="reel" if protocol == "reel" else "leapfrog")
    profile = route_profile(graph, route)
    tight = route.margins.clearance
    assert tight is not None
    worst = min(range(len(profile.clearance_m)), key=profile.clearance_m.__getitem__)
    assert profile.clearance_m[worst] == tight.clearance_m
    assert route.grips[worst].grip == tight.from_grip
    assert bool(profile.payout_m) == (protocol == "reel")


def test_no_hand_over_no_profile(graph: ReachGraph) -> None:
    with pytest.raises(DrawingError, match="no hand-over"):
        route_profile(graph, find_route(graph, "W3", "SK2"))


def test_lines_on_the_map_begin_at_their_tether_points(graph: ReachGraph) -> None:
    route = on_reels(graph, 7.5, 6.0)
    drawn = map_route(graph.structure, route, "EV1")
    points = {point.id: point.position_m for point in graph.structure.tether_points}
    assert [lay[0] for lay in drawn.lays_m] == [points[stay] for stay in drawn.stays]
    assert drawn.lays_m[-1][-1] == route.grips[-1].position_m


def test_time_along_the_way_adds_up_to_that_of_the_route(graph: ReachGraph) -> None:
    route = on_reels(graph, 7.5, 6.0)
    profile = route_profile(graph, route)
    assert profile.elapsed_s[0] == 0.0
    assert profile.elapsed_s[-1] == pytest.approx(route.totals.seconds)
    assert profile.elapsed_m[-1] == profile.distance_m[-1]
    places = list(pairwise(profile.elapsed_m))
    stood = [i for i, (one, two) in enumerate(places) if one == two]
    (transfer,) = route.transfers
    assert [profile.elapsed_s[i + 1] - profile.elapsed_s[i] for i in stood] == pytest.approx(
        [transfer.seconds]
    )
