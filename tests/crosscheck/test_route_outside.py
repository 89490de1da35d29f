"""Routes held against networkx and scipy on the exported graph, and walked again move by move."""

import contextlib
import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import networkx as nx
import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from routing.graph.build import build_graph
from routing.graph.export import to_networkx
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.results import Protocol, Route
from routing.paths.course import course_seconds
from routing.paths.no_route.answer import NoRouteError
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.model import Structure
from tests.benchmarks.stations import make_station
from tests.crosscheck import walker
from tests.routing.graph.graph_structures import random_structure
from tests.routing.paths.route_graphs import deck

LIMITS = Limits(reach_m=1.1, hook_reach_m=0.8, corridor_radius_m=0.25, max_turn_deg=120.0)
SITUATIONS = (Situation(limits=LIMITS), Situation(limits=LIMITS, when=("hot",)))
RELATIVE = 1e-9


def outside_graph(
    graph: ReachGraph, ends: set[str], protocol: Protocol | None
) -> "nx.DiGraph[str]":
    """The exported graph with the protocol put on it, from its attributes alone."""
    found = to_networkx(graph)
    limits = found.graph["limits"]
    hooks = nx.get_node_attributes(found, "tether_hook")
    element = nx.get_node_attributes(found, "element")
    # Tether points of these structures are in clear line from their hatch, if not too far.
    points = {point.id: point.position_m for point in graph.structure.tether_points}
    hatch = {
        one.id
        for one in graph.structure.hatches
        if math.dist(one.position_m, points[one.tether_point]) <= limits["hook_reach_m"]
    }
    takes_hook = {n: hooks[n] or n in hatch for n in found}
    found.remove_nodes_from(
        [n for n, only in found.nodes(data="ends_only") if only and n not in ends]
    )
    for a, b, move in list(found.edges(data=True)):
        allowed = protocol is None or move["line_clear"]
        if protocol == "leapfrog":
            same = element[a] == element[b] and takes_hook[a]
            spanned = max(move["gap_m"], 0) <= limits["hook_reach_m"] + RELATIVE
            spanned &= move["way_m"] <= limits["short_tether_m"] + RELATIVE
            allowed &= same or (spanned and (takes_hook[a] or takes_hook[b]))
            if element[a] != element[b] and takes_hook[b]:
                move["seconds"] += limits["transfer_s"]
        if not allowed:
            found.remove_edge(a, b)
    return found


def least_outside(
    graph: ReachGraph, start: list[str], goal: list[str], protocol: Protocol | None
) -> float:
    found = outside_graph(graph, {*start, *goal}, protocol)
    known = [one for one in start if one in found]
    costs = nx.multi_source_dijkstra_path_length(found, known, weight="seconds") if known else {}
    return min((costs[one] for one in goal if one in costs), default=math.inf)


def grip_ids(graph: ReachGraph, element: str) -> list[str]:
    grips = graph.grips
    return [grips.ids[i] for i, one in enumerate(grips.element_ids) if one == element]


@pytest.mark.parametrize("protocol", ["leapfrog", None])
@pytest.mark.parametrize("draw", range(30))
def test_costs_are_those_of_networkx_on_the_exported_graph(
    draw: int, protocol: Protocol | None
) -> None:
    structure = random_structure(draw)
    graph = build_graph(structure, SITUATIONS[draw % 2])
    for goal in ("G", "S", structure.handrails[-1].id):
        course = solve(graph, Request(start="A", goal=goal, protocol=protocol))
        least = least_outside(graph, ["A"], grip_ids(graph, goal), protocol)
        if course is None:
            assert least == math.inf
        else:
            assert course_seconds(graph, course) == pytest.approx(least, rel=RELATIVE)


def least_by_way_of(graph: ReachGraph, sites: list[str]) -> float:
    """Least seconds through sites in order, on one copy of the graph per leg."""
    ids = [grip_ids(graph, site) for site in sites]
    legs: nx.DiGraph[tuple[int, str]] = nx.DiGraph()
    for leg, (begin, end) in enumerate(itertools.pairwise(ids)):
        one = outside_graph(graph, {*begin, *end}, "leapfrog")
        legs.add_nodes_from((leg, node) for node in one)
        legs.add_edges_from(
            ((leg, a), (leg, b), {"seconds": s}) for a, b, s in one.edges(data="seconds")
        )
        if leg + 2 < len(ids):
            legs.add_edges_from(((leg, n), (leg + 1, n), {"seconds": 0.0}) for n in end)
    sources = [(0, one) for one in ids[0]]
    costs = nx.multi_source_dijkstra_path_length(legs, sources, weight="seconds")
    return min((costs[n] for n in ((len(ids) - 2, g) for g in ids[-1]) if n in costs), default=1e99)


def test_ways_by_several_handrails_cost_what_networkx_says() -> None:
    # Far apart, so that the bounds that lead the search to each via site are put to the test.
    structure = make_station(1000)
    graph = build_graph(structure, Situation())
    random = np.random.default_rng(5)
    rails = [rail.id for rail in structure.handrails]
    found = 0
    for _ in range(16):
        sites = [str(one) for one in random.choice(rails, size=int(random.integers(3, 6)))]
        request = Request(start=sites[0], goal=sites[-1], via=tuple(sites[1:-1]))
        course = solve(graph, request)
        if course is None:
            assert least_by_way_of(graph, sites) > 1e98
            continue
        found += 1
        least = least_by_way_of(graph, sites)
        assert course_seconds(graph, course) == pytest.approx(least, rel=RELATIVE)
    assert found >= 5


@pytest.mark.parametrize("draw", range(15))
def test_a_reel_that_never_runs_out_costs_what_scipy_says(draw: int) -> None:
    structure = random_structure(draw)
    graph = build_graph(structure, SITUATIONS[draw % 2])
    moves, count = graph.moves, len(graph.grips)
    tail = np.repeat(np.arange(count), np.diff(moves.indptr))
    goal = structure.handrails[-1].id
    inner = np.array([element != "S" for element in graph.grips.element_ids])
    kept = moves.line_clear & inner[tail] & inner[moves.head]
    weights = csr_array((moves.seconds[kept], (tail[kept], moves.head[kept])), shape=(count, count))
    source = graph.grips.element_ids.index("A")
    costs = dijkstra(weights, indices=source)
    least = min(
        (costs[i] for i, one in enumerate(graph.grips.element_ids) if one == goal),
        default=math.inf,
    )
    request = Request(start="A", goal=goal, protocol="reel", kit=Kit(reels_m=(1000.0,)))
    course = solve(graph, request)
    if course is None:
        assert least == math.inf or not graph.grips.usable[source]
    else:
        assert course_seconds(graph, course) == pytest.approx(float(least), rel=RELATIVE)


@dataclass(frozen=True)
class Walked:
    """A route, and the claims that its graph makes about its moves."""

    structure: Structure
    situation: Situation
    route: Route
    claims: list[walker.Claim]


def found_routes() -> list[Walked]:
    """Routes on random small structures, and longer ones on a made-up station."""
    found = []
    for draw in range(24):
        structure = random_structure(draw)
        asked = ("A", structure.handrails[-1].id)
        found += list(walked(structure, SITUATIONS[draw % 2], [asked]))
    station = make_station(1000)
    hatch = station.hatches[0].id
    asked_all = [(hatch, worksite.id) for worksite in station.worksites]
    return [*found, *walked(station, Situation(), asked_all)]


def walked(
    structure: Structure, situation: Situation, asked: list[tuple[str, str]]
) -> Iterator[Walked]:
    graph = build_graph(structure, situation)
    index = {grip: i for i, grip in enumerate(graph.grips.ids)}
    for (start, goal), protocol in itertools.product(asked, ("leapfrog", "reel")):
        with contextlib.suppress(NoRouteError):
            route = find_route(
                graph, start, goal, protocol=protocol, options=RouteOptions(explain=False)
            )
            path = [index[place.grip] for place in route.grips]
            yield Walked(structure, situation, route, walker.claims_of(graph, path))


@pytest.fixture(scope="module")
def routes() -> list[Walked]:
    return found_routes()


def test_routes_stand_when_walked_again_by_a_checker_of_its_own(routes: list[Walked]) -> None:
    assert len(routes) >= 20
    assert sum(len(one.claims) for one in routes) > 200
    for one in routes:
        assert walker.walk_problems(one.structure, one.situation, one.claims) == []
        for claim, over in zip(one.claims, one.route.hand_overs, strict=True):
            assert (claim.tail.grip, claim.head.grip) == (over.from_grip, over.to_grip)
            assert (claim.way_m, claim.seconds) == (over.way_m, over.seconds)


def test_the_clearance_margin_is_never_above_what_dense_sampling_finds(
    routes: list[Walked],
) -> None:
    seen = 0
    for one in routes:
        tight = one.route.margins.clearance
        assert tight is not None
        radius_m = one.situation.ability.corridor_radius_m
        shapes = [solid.volume for solid in one.structure.solids]
        shapes += [
            walker.volume_of(zone)
            for zone in walker.in_force(one.structure, one.situation)
            if zone.kind == "keep-out" and "body" in zone.applies_to
        ]
        for claim in one.claims[:40]:
            # Of ways equally long the roomiest stands for the one that was taken.
            room_m = max(
                walker.room_on_way_m(shapes, way, radius_m)
                for way in walker.ways(claim.tail, claim.head, radius_m)
                if abs(walker.way_length_m(way) - claim.way_m) < 1e-6
            )
            assert tight.clearance_m <= room_m + 1e-9
            seen += 1
    assert seen > 200


def check_tethers(route: Route, points_m: dict[str, tuple[float, ...]], reserve_m: float) -> None:
    """The reel rules once more, over the records alone: lay, payout, reserve, transfers."""
    stay_starts = [stay.from_grip for stay in route.stays]
    assert stay_starts == sorted(stay_starts)
    assert len(route.transfers) == len(route.stays) - 1
    for number, stay in enumerate(route.stays):
        returns = number > 0 and route.transfers[number - 1].returns
        first = route.grips[stay.from_grip]
        out_m = math.dist(first.position_m, points_m[stay.tether_point])
        assert not returns
        lay = [(first.grip, out_m)]
        most_m = out_m
        for over in route.hand_overs[stay.from_grip : stay.to_grip]:
            lay.append((over.to_grip, lay[-1][1] + over.way_m))
            assert over.payout_m == pytest.approx(lay[-1][1], abs=1e-9)
            most_m = max(most_m, lay[-1][1])
        last = route.grips[stay.to_grip]
        if number + 1 < len(route.stays):
            following = points_m[route.stays[number + 1].tether_point]
            most_m = max(most_m, lay[-1][1] + math.dist(last.position_m, following))
        assert stay.most_payout_m == pytest.approx(most_m, abs=1e-9)
        assert most_m + reserve_m <= stay.length_m + 1e-9


@pytest.mark.parametrize("reels_m", [(14.0,), (8.2, 8.2), (10.0, 7.0), (7.0, 9.0, 5.0)])
def test_tethers_on_a_route_keep_the_rules_when_checked_from_the_records(
    reels_m: tuple[float, ...],
) -> None:
    structure = deck()
    points_m = {point.id: point.position_m for point in structure.tether_points}
    options = RouteOptions(
        kit=Kit(reels_m=reels_m), situation=Situation(limits=Limits(reserve_m=0.1)), explain=False
    )
    route = find_route(structure, "A1", "W1", protocol="reel", options=options)
    check_tethers(route, points_m, 0.1)
    hook_m = Limits().hook_reach_m
    for transfer in route.transfers:
        grip_m = route.grips[transfer.grip_index].position_m
        assert math.dist(grip_m, points_m[str(transfer.tether_point)]) <= hook_m + 1e-9
