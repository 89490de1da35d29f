"""Closures against the naive sweep: everything built and searched anew without the element."""

import random
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from routing.graph.build import build_graph, complete
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol, Route
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.short_tethers import hook_rule
from routing.studies.closures.answers import Answers, Asked, Trip, worksite_trips
from routing.studies.closures.closure import Closure, single_closures
from routing.studies.closures.times_home import TimesHome
from structures.files.reader import read_structure
from structures.model import Structure
from tests.benchmarks.stations import make_station

ROOT = Path(__file__).resolve().parents[2]
CLOSE = {"rel": 1e-9, "abs": 1e-9}


@cache
def station() -> Structure:
    return read_structure(ROOT / "examples" / "station" / "station.toml")


def used_elements(
    answers: Answers, structure: Structure, trips: Sequence[Trip] | None = None
) -> list[str]:
    """What intact ways rest on: only closing these, or switching zones, can change anything."""
    found: set[str] = set()
    for trip in worksite_trips(structure) if trips is None else trips:
        best = answers.best(trip)
        if best is not None:
            found |= best[1].rests_on
    closable = {one.ids[0] for one in single_closures(structure, Situation())}
    return sorted(found & closable)


def naive(
    structure: Structure, situation: Situation, closure: Closure, protocol: Protocol
) -> tuple[ReachGraph, RouteOptions]:
    when, closed = closure.split(structure)
    case = replace(
        situation,
        when=tuple(sorted({*situation.when, *when})),
        closed=tuple(sorted({*situation.closed, *closed})),
    )
    options = RouteOptions(kit=KIT if protocol == "reel" else None, explain=False)
    return build_graph(structure, case), options


KIT = Kit(reels_m=(25.908, 25.908, 16.764))


def route(
    graph: ReachGraph, start: str, goal: str, protocol: Protocol, options: RouteOptions
) -> Route | None:
    # Asked first, as an answer without a route looks for how far one gets: twenty searches.
    if solve(graph, Request(start=start, goal=goal, protocol=protocol, kit=options.kit)) is None:
        return None
    return find_route(graph, start, goal, protocol=protocol, options=options)


def draw(structure: Structure, used: list[str], seed: int, count: int) -> list[Closure]:
    """Some closures, most of which hit a way; conditions and twos among them."""
    random_ = random.Random(seed)
    conditions = [one.id for one in structure.conditions]
    unused = [one.ids[0] for one in single_closures(structure, Situation())]
    found = []
    for number in range(count):
        ids = {random_.choice(used if number % 4 else unused)}
        if number % 3 == 0:
            ids.add(random_.choice(used))
        if number % 5 == 0 and conditions:
            ids.add(random_.choice(conditions))
        found.append(Closure(ids=tuple(sorted(ids))))
    return found


def hold_against_naive(
    structure: Structure,
    situation: Situation,
    protocol: Protocol,
    closures: list[Closure],
    goals_each: int,
) -> dict[str, int]:
    asked = Asked(
        structure=structure,
        situation=situation,
        protocol=protocol,
        kit=KIT if protocol == "reel" else None,
    )
    answers = Answers(asked)
    trips = worksite_trips(structure)
    random_ = random.Random(len(closures))
    seen = {"same": 0, "other": 0, "no way": 0, "unsafe": 0}
    for closure in closures:
        graph, options = naive(structure, situation, closure, protocol)
        changed = [trip for trip in trips if answers.best(trip, closure) != answers.best(trip)]
        some = random_.sample(changed, min(goals_each, len(changed)))
        some += random_.sample(trips, max(goals_each - len(some), 1))
        for trip in some:
            found = answers.best(trip, closure)
            expected = [route(graph, one, trip.goal, protocol, options) for one in trip.starts]
            there = [one for one in expected if one is not None]
            if not there:
                assert found is None, (closure, trip)
                seen["no way"] += 1
                continue
            best = min(there, key=lambda one: (not one.safe, one.totals.seconds))
            assert found is not None, (closure, trip)
            assert found[1].seconds == pytest.approx(best.totals.seconds, **CLOSE)
            assert found[1].safe == best.safe
            ids = answers.ground(closure.split(structure)[0]).graph.grips.ids
            if tuple(grip.grip for grip in best.grips) == tuple(
                ids[grip] for grip in found[1].grips
            ):
                assert found[1].transfers == best.totals.transfers
            intact = answers.best(trip)
            seen["other" if intact is None or intact[1] is not found[1] else "same"] += 1
            seen["unsafe"] += not best.safe
    return seen


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_the_station_example(protocol: Protocol) -> None:
    structure = station()
    kit = KIT if protocol == "reel" else None
    asked = Asked(structure=structure, situation=Situation(), protocol=protocol, kit=kit)
    used = used_elements(Answers(asked), structure)
    closures = draw(structure, used, seed=1, count=20)
    seen = hold_against_naive(structure, Situation(), protocol, closures, goals_each=3)
    assert seen["other"] >= 15, seen
    assert seen["no way"] >= 2, seen
    assert seen["same"] >= 5, seen


@pytest.mark.parametrize("draw_number", range(3))
@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_made_up_stations(protocol: Protocol, draw_number: int) -> None:
    structure = make_station(1_000, draw_number + 1)
    kit = KIT if protocol == "reel" else None
    asked = Asked(structure=structure, situation=Situation(), protocol=protocol, kit=kit)
    used = used_elements(Answers(asked), structure)
    closures = draw(structure, used, seed=draw_number, count=24)
    seen = hold_against_naive(structure, Situation(), protocol, closures, goals_each=2)
    assert seen["other"] >= 10, seen


def test_plain_seconds_against_networkx_without_the_element() -> None:
    structure = make_station(1_000, 7)
    situation = complete(structure, Situation())
    graph = build_graph(structure, situation)
    rule = hook_rule(graph)
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
    whole = nx.DiGraph()
    whole.add_nodes_from(range(len(graph.grips)))
    for move in np.flatnonzero(rule.allowed).tolist():
        cost = float(graph.moves.seconds[move] + rule.transfer_s[move])
        whole.add_edge(int(tail[move]), int(graph.moves.head[move]), weight=cost)
    answers = Answers(Asked(structure=structure, situation=situation, protocol="leapfrog"))
    trips = worksite_trips(structure)
    sockets = set(np.flatnonzero(graph.grips.kind == GripKind.SOCKET).tolist())
    hatch_points = {hatch.tether_point for hatch in structure.hatches}
    seen = {"compared": 0, "changed": 0, "no way": 0}
    for closure in draw(structure, used_elements(answers, structure), seed=5, count=250):
        if hatch_points & {*closure.ids}:
            continue  # the moves are others then; the full sweep above covers it
        gone = {i for i, one in enumerate(graph.grips.element_ids) if one in closure.ids}
        (source,) = site_grips(graph, trips[0].starts[0]).grips.tolist()
        # Nobody passes through a socket: no move leads on from one.
        costs = nx.single_source_dijkstra_path_length(
            whole,
            source,
            weight=lambda u, v, data, gone=gone: (
                None if v in gone or u in sockets else data["weight"]
            ),
        )
        for trip in trips:
            goals = site_grips(graph, trip.goal).grips.tolist()
            ways = [costs[g] for g in goals if g in costs]
            found = answers.best(trip, closure)
            assert (found is None) == (not ways), (closure, trip)
            if found is not None:
                assert found[1].seconds == pytest.approx(min(ways), **CLOSE)
            seen["compared"] += 1
            seen["changed"] += found != answers.best(trip)
            seen["no way"] += found is None
    assert seen["compared"] >= 1000, seen
    assert seen["changed"] >= 200, seen
    assert seen["no way"] >= 10, seen


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_both_engines_give_the_same_answers(protocol: Protocol) -> None:
    structure = make_station(1_000, 3)
    asked = Asked(
        structure=structure,
        situation=Situation(),
        protocol=protocol,
        kit=KIT if protocol == "reel" else None,
    )
    plain, fast = (Answers(asked, engine=engine) for engine in ("plain", "compiled"))
    trips = [trip for trip in worksite_trips(structure) if plain.best(trip) is not None][:4]
    homes = [TimesHome(one, {trip: one.best(trip) for trip in trips}) for one in (plain, fast)]
    for closure in draw(structure, used_elements(plain, structure), seed=2, count=25):
        for trip in trips:
            after = plain.best(trip, closure)
            assert after == fast.best(trip, closure)
            # Times home too are the same to the last bit.
            caught, again = (one.caught(trip, closure) for one in homes)
            assert caught == again
            if after is not None:
                before, again = (one.before(after[1], closure) for one in homes)
                assert before == again


def test_what_avoids_the_closure_is_not_searched_again() -> None:
    structure = station()
    answers = Answers(Asked(structure=structure, situation=Situation(), protocol="leapfrog"))
    trips = worksite_trips(structure)
    resting = {trip: answers.best(trip) for trip in trips}
    before = answers.searched
    closures = [one for one in single_closures(structure, Situation()) if one.ids[0][0] == "H"]
    hits = 0
    for closure in closures:
        for trip in trips:
            found = resting[trip]
            hits += found is not None and closure.ids[0] in found[1].rests_on
            answers.best(trip, closure)
    # A goal that is itself closed needs no search either.
    assert 0 < answers.searched - before <= hits
    assert hits < len(closures) * len(trips) / 10
