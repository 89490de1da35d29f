"""Two hatches: a route may start at either and end at either, and home is the nearer by time."""

from dataclasses import replace
from pathlib import Path

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.results import Protocol, Route
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit, Outfitting
from routing.paths.worksite_routes import worksite_routes
from routing.worksites.safety_chains import safety_chains
from structures.elements import Hatch, TetherPoint
from structures.files.writer import write_structure
from structures.model import Structure
from tests.cli.command_ground import run
from tests.routing.paths.route_graphs import UP, deck

BOTH = ("A1", "A2")
PROTOCOLS: tuple[Protocol, ...] = ("leapfrog", "reel")


def two_hatches(**point: object) -> Structure:
    """The deck with a second hatch beside its far end, on a tether point of its own."""
    own = {"id": "T3", "position_m": (12.4, 0.6, 0.0), "rating_n": 3000.0, **point}
    return deck(
        hatches=(
            *deck().hatches,
            Hatch(id="A2", position_m=(12.4, 0.4, -0.07), normal=UP, tether_point="T3"),
        ),
        tether_points=(*deck().tether_points, TetherPoint.model_validate(own)),
    )


def graph_of(**point: object) -> ReachGraph:
    return build_graph(two_hatches(**point), Situation())


def route(graph: ReachGraph, start: str, goal: str, protocol: Protocol, **asked: object) -> Route:
    return find_route(graph, start, goal, protocol=protocol, options=RouteOptions(**asked))


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_a_route_starts_on_the_tether_point_of_its_own_hatch(protocol: Protocol) -> None:
    graph = graph_of()
    for hatch, point in zip(BOTH, ("T1", "T3"), strict=True):
        found = route(graph, hatch, "W2", protocol)
        assert found.safe
        assert found.start.hatch == hatch
        if protocol == "reel":
            assert [stay.tether_point for stay in found.stays] == [point]


def test_the_way_from_hatch_to_hatch_leaves_the_first_tether_outside() -> None:
    """Reels are recovered at the hatch they began at; under leapfrog both tethers come along."""
    graph = graph_of()
    across = route(graph, "A1", "A2", "reel")
    (left,) = (one for one in across.findings if one.code == "tether-left-outside")
    assert left.elements == ("T1", "T3")
    back = route(graph, "A1", "A1", "reel", kit=Kit(reels_m=(25.0,)))
    assert "tether-left-outside" not in {one.code for one in back.findings}
    by_hand = route(graph, "A1", "A2", "leapfrog")
    assert by_hand.safe
    assert "tether-left-outside" not in {one.code for one in by_hand.findings}
    assert by_hand.goal.hatch == "A2"


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_worksites_are_reached_from_the_hatch_that_is_nearer_by_time(protocol: Protocol) -> None:
    graph = graph_of()
    answers = worksite_routes(graph, protocol=protocol)
    starts = set()
    for worksite, answer in answers.items():
        each = {hatch: route(graph, hatch, worksite, protocol) for hatch in BOTH}
        nearer = min(BOTH, key=lambda hatch: (each[hatch].totals.seconds, hatch))
        assert isinstance(answer, Route)
        assert answer.start.hatch == nearer
        assert answer == replace(each[nearer], inputs=())
        starts.add(nearer)
    assert starts == set(BOTH)


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_the_farther_hatch_is_taken_where_only_it_is_safe(protocol: Protocol) -> None:
    graph = graph_of(rating_n=900.0)
    near = route(graph, "A2", "W1", protocol)
    assert not near.safe
    assert "tether-point-too-weak" in {one.code for one in near.findings}
    answers = worksite_routes(graph, protocol=protocol)
    assert {answer.start.hatch for answer in answers.values()} == {"A1"}
    chains = safety_chains(graph, Outfitting(name="kit", protocol=protocol))
    assert {(chain.start, chain.way) for chain in chains} == {("A1", "safe")}


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_home_from_every_hold_is_the_least_over_both_hatches(protocol: Protocol) -> None:
    """Tethers may be left outside here: then each hold's time is that of a route by itself."""
    graph = graph_of()
    found = route(graph, "A1", "W1", "leapfrog", homeward="recovered")
    assert found.homeward is not None
    assert found.homeward.hatches == BOTH
    homes = []
    for hold in found.homeward.holds:
        each = {hatch: route(graph, hold.grip, hatch, "leapfrog") for hatch in BOTH}
        assert hold.seconds == pytest.approx(min(one.totals.seconds for one in each.values()))
        homes.append(min(BOTH, key=lambda hatch: each[hatch].totals.seconds))
    assert set(homes) == set(BOTH)
    # One hatch fewer only makes the way home longer.
    alone = route(build_graph(deck(), Situation()), "A1", "W1", protocol, homeward="recovered")
    both = route(graph, "A1", "W1", protocol, homeward="recovered")
    assert alone.homeward is not None
    assert both.homeward is not None
    assert alone.homeward.worst_s is not None
    assert both.homeward.worst_s is not None
    assert both.homeward.worst_s <= alone.homeward.worst_s


def test_with_every_reel_recovered_home_is_the_hatch_where_the_first_began() -> None:
    graph = graph_of()
    recovered = route(graph, "A1", "W1", "reel", homeward="recovered").homeward
    left = route(graph, "A1", "W1", "reel", homeward="left").homeward
    assert recovered is not None
    assert left is not None
    out = route(graph, "A1", "W1", "reel")
    assert recovered.holds[-1].seconds == pytest.approx(out.totals.seconds)
    # The second hatch is a few grips from W1.
    assert left.holds[-1].left_outside == ("T1",)
    assert left.holds[-1].seconds is not None
    assert recovered.holds[-1].seconds is not None
    assert left.holds[-1].seconds < recovered.holds[-1].seconds


def test_a_hatch_that_is_closed_is_no_way_home_and_no_start() -> None:
    situation = Situation(closed=("A2",))
    graph = build_graph(two_hatches(), situation)
    answers = worksite_routes(graph, protocol="leapfrog")
    assert {answer.start.hatch for answer in answers.values()} == {"A1"}
    home = route(graph, "A1", "W1", "leapfrog", homeward="recovered").homeward
    assert home is not None
    assert home.hatches == ("A1",)
    with pytest.raises(NoRouteError, match="hatch A2 has no grip that can be used"):
        route(graph, "A1", "A2", "leapfrog", situation=situation)


def test_the_shortfall_is_told_from_the_hatch_that_comes_nearer() -> None:
    """W2 is 4.4 m from A1 and 8.4 m from A2: less line is missing from A1."""
    limits = Limits(reserve_m=0.1)
    graph = build_graph(two_hatches(), Situation(limits=limits))
    kit = Outfitting(name="short", protocol="reel", kit=Kit(reels_m=(2.0,)))
    (chain,) = (one for one in safety_chains(graph, kit) if one.worksite == "W2")
    assert chain.way == "no route"
    assert chain.start == "A1"
    assert chain.shortfall is not None
    assert chain.shortfall.tether_point == "T1"
    (other,) = (one for one in safety_chains(graph, kit, start="A2") if one.worksite == "W2")
    assert other.shortfall is not None
    assert other.shortfall.line_short_m is not None
    assert chain.shortfall.line_short_m is not None
    assert other.shortfall.line_short_m > chain.shortfall.line_short_m


def test_reach_and_route_say_from_which_hatch(tmp_path: Path) -> None:
    path = tmp_path / "two.toml"
    write_structure(two_hatches(), path)
    rows = {one["worksite"]: one for one in run("reach", path, "--json").answer["worksites"]}
    assert {site: row["start"] for site, row in rows.items()} == {"W1": "A2", "W2": "A1"}
    from_second = run("route", path, "A2", "W1", "--homeward")
    assert from_second.code == 0
    assert "Start at hatch A2" in from_second.out
