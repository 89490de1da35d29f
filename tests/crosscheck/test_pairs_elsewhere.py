"""All pairs against other libraries, and every trip of the examples against its own route."""

import random

import networkx as nx
import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.search import all_goals
from routing.paths.search.all_goals import ways_to_all
from routing.paths.search.arrays import Network
from routing.paths.tethers.kit import Kit, default_kit
from routing.studies.pairs.case import make_pairs
from routing.studies.pairs.trips import Trip
from structures.files.reader import read_structure
from tests.benchmarks.stations import make_station
from tests.cli.command_ground import EXAMPLES


@pytest.fixture(scope="module")
def ground() -> Network:
    graph = build_graph(make_station(1000), Situation())
    sockets = np.flatnonzero(graph.grips.kind == 3)
    return Network.of_moves(graph.moves, terminal=sockets)


@pytest.mark.parametrize("engine", ["plain", "compiled"])
def test_all_pairs_equal_scipy_and_networkx(ground: Network, engine: str) -> None:
    nodes = len(ground)
    passed = np.flatnonzero(ground.terminal == 0)
    sites = np.sort(np.random.default_rng(7).choice(passed, 60, replace=False))
    alone = [np.array([site]) for site in sites]
    found = list(
        ways_to_all(ground, alone, alone, engine="plain" if engine == "plain" else "compiled")
    )
    ours = np.array([ways.seconds for ways in found])
    # Nobody passes through a socket: scipy is given the moves that do not end at one.
    open_ = ground.terminal[ground.head] == 0
    tails = ground.tail[open_]
    matrix = csr_array((ground.cost[open_], (tails, ground.head[open_])), shape=(nodes, nodes))
    assert ours == pytest.approx(dijkstra(matrix, indices=sites)[:, sites], rel=1e-9)
    reference = nx.DiGraph()
    reference.add_nodes_from(range(nodes))
    reference.add_weighted_edges_from(
        zip(tails.tolist(), ground.head[open_].tolist(), ground.cost[open_].tolist(), strict=True)
    )
    for row in (0, 17, 41):
        lengths = nx.single_source_dijkstra_path_length(reference, int(sites[row]))
        expected = [lengths.get(int(site), np.inf) for site in sites]
        assert ours[row] == pytest.approx(expected, rel=1e-9)
    for row, ways in enumerate(found):
        for goal, site in enumerate(sites.tolist()):
            steps = ways.steps[ways.first[goal] : ways.first[goal + 1]][::-1]
            if np.isfinite(ways.seconds[goal]):
                # The moves told lead from start to goal and cost what is said.
                walk = [int(sites[row]), *ground.head[steps].tolist()]
                assert ground.tail[steps].tolist() == walk[:-1]
                assert walk[-1] == site
                assert ground.cost[steps].sum() == pytest.approx(ways.seconds[goal], rel=1e-9)
            else:
                assert len(steps) == 0


@pytest.mark.parametrize("pays_moves", [0, 10**9])
def test_both_engines_give_the_same_bits(
    ground: Network, pays_moves: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Plain Python all of it, or with the costs found by scipy."""
    monkeypatch.setattr(all_goals, "_SCIPY_PAYS_MOVES", pays_moves)
    sites = [np.arange(start, start + 3) for start in range(0, len(ground) - 3, 97)]
    plain = ways_to_all(ground, sites[:8], sites, engine="plain")
    compiled = ways_to_all(ground, sites[:8], sites, engine="compiled")
    for one, other in zip(plain, compiled, strict=True):
        for name in ("seconds", "grip", "first", "steps"):
            assert getattr(one, name).tolist() == getattr(other, name).tolist()


def test_sockets_are_entered_and_never_passed() -> None:
    network = Network.of_arcs(
        4, [(0, 1, 1.0), (1, 2, 1.0), (0, 2, 5.0), (2, 3, 0.0), (3, 0, 0.0)], terminal=[1]
    )
    every = [np.array([node]) for node in range(4)]
    table = np.array([ways.seconds for ways in ways_to_all(network, every, every)])
    # From 0 to 2 not through 1; from 1 out of it, as a start, but never back into itself.
    assert table.tolist() == [
        [0.0, 1.0, 5.0, 5.0],
        [1.0, 0.0, 1.0, 1.0],
        [0.0, 1.0, 0.0, 0.0],
        [0.0, 1.0, 5.0, 0.0],
    ]


@pytest.mark.parametrize("seed", range(30))
def test_random_networks_with_ties_and_free_moves(seed: int) -> None:
    """Costs of 0, many equal ones and rounding: still what networkx says."""
    chance = random.Random(seed)
    nodes = 25
    arcs = {
        (chance.randrange(nodes), chance.randrange(nodes)): chance.choice([0.0, 0.1, 0.2, 0.3, 7.7])
        for _ in range(90)
    }
    network = Network.of_arcs(nodes, [(a, b, c) for (a, b), c in sorted(arcs.items())])
    reference = nx.DiGraph()
    reference.add_nodes_from(range(nodes))
    reference.add_weighted_edges_from((a, b, c) for (a, b), c in arcs.items())
    every = [np.array([node]) for node in range(nodes)]
    for node, ways in enumerate(ways_to_all(network, every, every)):
        lengths = nx.single_source_dijkstra_path_length(reference, node)
        expected = [lengths.get(goal, np.inf) for goal in range(nodes)]
        assert ways.seconds.tolist() == pytest.approx(expected, rel=1e-12, abs=1e-12)


def _assert_trip(trip: Trip, graph: ReachGraph, ends: tuple[str, str], protocol: Protocol) -> None:
    """Hold a trip of the study against the route that is asked for by itself."""
    try:
        route = find_route(graph, *ends, protocol=protocol, options=RouteOptions(explain=False))
    except NoRouteError:
        assert trip.way == "no way", ends
        assert trip.why
        assert trip.seconds is None
        return
    assert trip.way == ("safe" if route.safe else "unsafe"), ends
    assert trip.seconds == pytest.approx(route.totals.seconds, rel=1e-9)
    blocks = [one.message for one in route.findings if one.severity == "blocks"]
    assert (trip.why or "").split("; ") == ("; ".join(blocks)).split("; ")
    if [g.grip for g in route.grips] and trip.hand_overs == route.totals.hand_overs:
        assert trip.transfers == route.totals.transfers
        assert trip.exposure_s == pytest.approx(route.totals.exposure_s)
        assert trip.distance_m == pytest.approx(route.totals.distance_m)
    margins = route.margins
    if margins.clearance is not None:
        assert trip.clearance_m == pytest.approx(margins.clearance.clearance_m, abs=1e-3)
    if margins.line is not None:
        assert trip.line_left_m == pytest.approx(margins.line.least_left_m)
    if margins.gap is not None:
        assert trip.reach_left_m == pytest.approx(margins.gap.left_m)
    if margins.turn is not None:
        assert trip.turn_left_deg == pytest.approx(margins.turn.left_deg)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
@pytest.mark.parametrize("example", ["small", "station"])
def test_trips_are_the_routes(example: str, protocol: str) -> None:
    structure = read_structure(EXAMPLES[example])
    person = structure.people[-1] if example == "small" else None
    graph = build_graph(structure, Situation(person=person))
    sites = [one.id for one in (*structure.hatches, *structure.worksites)]
    sites += [structure.tether_points[0].id, structure.handrails[0].id, structure.sockets[0].id]
    named: Protocol = "reel" if protocol == "reel" else "leapfrog"
    kit = default_kit(graph.situation.limits)
    pairs = make_pairs(graph, sites, named, kit)
    chance = random.Random(11)
    starts = range(len(sites)) if example == "small" else [0, *chance.sample(range(1, 30), 3)]
    for start, trips in zip(starts, pairs.trips(list(starts)), strict=True):
        goals = range(len(sites)) if example == "small" else chance.sample(range(len(sites)), 9)
        for goal in goals:
            if sites[goal] != sites[start]:
                _assert_trip(trips[goal], graph, (sites[start], sites[goal]), named)


def test_a_short_reel_cuts_what_it_should() -> None:
    structure = read_structure(EXAMPLES["small"])
    graph = build_graph(structure, Situation(person=structure.people[-1]))
    sites = ["hatch", *(one.id for one in structure.worksites)]
    long, short = (
        next(make_pairs(graph, sites, "reel", Kit(reels_m=(length_m,))).trips([0]))
        for length_m in (25.9, 3.0)
    )
    assert [trip.way for trip in long[1:]] == ["safe"] * 3
    assert "no way" in [trip.way for trip in short[1:]]
