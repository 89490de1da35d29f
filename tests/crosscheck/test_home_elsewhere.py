"""Return times of every grip against networkx on the reversed graph, and against routes."""

from dataclasses import replace
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import default_kit
from routing.paths.tethers.short_tethers import hook_rule
from routing.studies.home.places import HomePlace, HomePlaces, verdict_of
from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES

STATION = read_structure(EXAMPLES["station"])
SMALL = read_structure(EXAMPLES["small"])


def places_of(
    name: str, protocol: str, *, leave: bool = False
) -> tuple[HomePlaces, list[HomePlace]]:
    structure = SMALL if name == "small" else STATION
    person = structure.people[-1] if name == "small" else None
    situation = Situation(person=person)
    found = HomePlaces(
        structure,
        situation,
        "reel" if protocol == "reel" else "leapfrog",
        default_kit(situation.limits),
        leave=leave,
    )
    return found, list(found.places(0, len(found)))


def reversed_graph(graph: ReachGraph) -> nx.DiGraph:
    """Return the moves that leapfrog allows, turned round; sockets are only starts of a way."""
    rule, moves = hook_rule(graph), graph.moves
    tails = np.repeat(np.arange(len(graph.grips)), np.diff(moves.indptr))
    found = nx.DiGraph()
    found.add_nodes_from(range(len(graph.grips)))
    for move in np.flatnonzero(rule.allowed).tolist():
        if graph.grips.kind[moves.head[move]] != GripKind.SOCKET:
            seconds = float(moves.seconds[move] + rule.transfer_s[move])
            found.add_edge(int(moves.head[move]), int(tails[move]), weight=seconds)
    return found


@pytest.mark.parametrize("name", ["small", "station"])
@pytest.mark.parametrize("tow", [False, True])
def test_leapfrog_equals_networkx_backwards(name: str, tow: bool) -> None:
    found, places = places_of(name, "leapfrog")
    graph = build_graph(found.graph.structure, replace(found.graph.situation, tow=tow))
    hatches = np.flatnonzero(graph.grips.kind == GripKind.HATCH).tolist()
    lengths = nx.multi_source_dijkstra_path_length(reversed_graph(graph), hatches)
    reached = 0
    for place in places:
        home = place.tow if tow else place.alone
        if place.out_s is None:
            assert home.seconds is None
            continue
        reached += 1
        expected = lengths.get(place.grip)
        assert home.seconds == (None if expected is None else pytest.approx(expected, rel=1e-9))
        assert bool(home.why) == (expected is None)
    assert reached > 50


def test_leapfrog_transfers_are_those_of_the_route_home() -> None:
    found, places = places_of("small", "leapfrog")
    for place in places[::7]:
        if place.alone.seconds is None or not place.grip:
            continue
        start = found.graph.grips.ids[place.grip]
        if found.graph.grips.element_ids[place.grip] == "hatch":
            continue
        route = find_route(found.graph, start, "hatch")
        assert place.alone.seconds == pytest.approx(route.totals.seconds)
        assert place.alone.transfers == route.totals.transfers


@pytest.mark.parametrize("name", ["small", "station"])
def test_on_reels_home_is_the_way_out_walked_back(name: str) -> None:
    """Summed up by hand: each move of the way out the other way round, each tether again."""
    found, places = places_of(name, "reel")
    graph, moves = found.graph, found.graph.moves
    number = {grip: i for i, grip in enumerate(graph.grips.ids)}
    options = RouteOptions(kit=default_kit(graph.situation.limits), explain=False)
    compared = 0
    for place in places[:: max(1, len(places) // 40)]:
        if place.out_s is None:
            continue
        goal = graph.grips.ids[place.grip]
        if goal == "hatch":
            continue
        route = find_route(graph, "hatch", goal, protocol="reel", options=options)
        assert place.out_s == pytest.approx(route.totals.seconds)
        walked = [number[grip.grip] for grip in route.grips]
        back_s = 0.0
        for tail, head in pairwise(walked[::-1]):
            heads = moves.head[moves.indptr[tail] : moves.indptr[tail + 1]].tolist()
            back_s += float(moves.seconds[moves.indptr[tail] + heads.index(head)])
        back_s += route.totals.transfers * graph.situation.limits.transfer_s
        assert place.alone.seconds == pytest.approx(back_s)
        compared += 1
    assert compared > 20


def test_leaving_tethers_is_never_longer_and_a_partner_never_quicker() -> None:
    _, recovering = places_of("small", "reel")
    _, leaving = places_of("small", "reel", leave=True)
    told = 0
    for one, other in zip(recovering, leaving, strict=True):
        if one.alone.seconds is not None and other.alone.seconds is not None:
            assert other.alone.seconds <= one.alone.seconds + 1e-9
        if other.tow.seconds is not None and other.alone.seconds is not None:
            assert other.tow.seconds >= other.alone.seconds
            told += other.tow.seconds > other.alone.seconds
    assert told > 20


def test_a_partner_takes_moves_away_and_slows_the_others() -> None:
    alone = build_graph(SMALL, Situation())
    towing = build_graph(SMALL, Situation(tow=True))
    ability = Situation(tow=True).ability
    limits = Limits()
    assert ability.reach_m == limits.reach_m * limits.tow_reach_factor
    assert ability.rate_m_per_s == limits.rate_m_per_s * limits.tow_rate_factor
    assert ability.corridor_radius_m == limits.corridor_radius_m + limits.tow_envelope_m
    assert towing.grips.ids == alone.grips.ids

    def pairs(graph: ReachGraph) -> dict[tuple[int, int], float]:
        tails = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr)).tolist()
        return dict(
            zip(
                zip(tails, graph.moves.head.tolist(), strict=True),
                graph.moves.seconds.tolist(),
                strict=True,
            )
        )

    bare, towed = pairs(alone), pairs(towing)
    assert set(towed) < set(bare)
    assert all(seconds > bare[pair] for pair, seconds in towed.items())


def test_a_limit_just_met_is_met() -> None:
    _, places = places_of("small", "leapfrog")
    home = max((p.alone for p in places if p.alone.seconds), key=lambda one: one.seconds or 0.0)
    assert home.seconds is not None
    assert verdict_of(home, home.seconds) == "in time"
    assert verdict_of(home, np.nextafter(home.seconds, 0.0)) == "too late"
    assert verdict_of(home, np.nextafter(home.seconds, 1e9)) == "in time"
