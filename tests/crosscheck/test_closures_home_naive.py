"""Times home under closures against the naive sweep: everything built and searched anew.

Closed before going out, against `route --homeward` on the structure without the
element, which knows nothing of closures. Closed while somebody is at the goal,
against networkx on the moves that are left, and on reels against a search with
bounds, moves and hooks made anew without the element.
"""

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Any

import networkx as nx
import numpy as np
import pytest

from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.results import Protocol
from routing.paths.route import find_route
from routing.paths.tethers.anchored_states import states_along
from routing.paths.tethers.outfit import make_outfit
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.reel import reel_ground, solve_reel
from routing.paths.tethers.search import find_tethered_path
from routing.paths.tethers.short_tethers import hook_rule
from routing.paths.tethers.steps import Hooks, TetherGround
from routing.studies.closures.answers import Answers, Asked, Trip, worksite_trips
from routing.studies.closures.closure import Closure, single_closures
from routing.studies.closures.ground import Answer
from routing.studies.closures.sweep import COLUMNS, closure_study
from routing.studies.closures.times_home import TimesHome
from routing.studies.running.run import run_study
from structures.files.reader import read_structure
from structures.model import Structure
from tests.benchmarks.stations import make_station
from tests.cli.command_ground import EXAMPLES
from tests.crosscheck.test_closures_naive import KIT, naive, station, used_elements

_SKIPPED = 0.8
"""So much of what nothing changes is not asked of `route` too."""

_AT = {column.name: i for i, column in enumerate(COLUMNS)}


@cache
def small() -> Structure:
    return read_structure(EXAMPLES["small"])


def asked_of(structure: Structure, protocol: Protocol, **limits: float) -> Asked:
    return Asked(
        structure=structure,
        situation=Situation(limits=Limits(**limits)),
        protocol=protocol,
        kit=KIT if protocol == "reel" else None,
    )


def networkx_home(graph: ReachGraph, hatches: Sequence[int]) -> dict[int, float]:
    """Least seconds home from every grip, two short tethers, nobody going on from a socket."""
    rule = hook_rule(graph)
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
    back: nx.DiGraph[int] = nx.DiGraph()
    for move in np.flatnonzero(rule.allowed).tolist():
        cost = float(graph.moves.seconds[move] + rule.transfer_s[move])
        back.add_edge(int(graph.moves.head[move]), int(tail[move]), weight=cost)
    sockets = set(np.flatnonzero(graph.grips.kind == GripKind.SOCKET).tolist())
    back.remove_edges_from(
        [(head, tail) for head, tail in back.edges if head in sockets and head not in hatches]
    )
    there = [one for one in hatches if one in back]
    return dict(nx.multi_source_dijkstra_path_length(back, there)) if there else {}


def told(
    asked: Asked, trips: Sequence[Trip], closures: Sequence[Closure]
) -> dict[tuple[str, str], dict[str, Any]]:
    """The rows of the study, by closure and goal."""
    rows: list[dict[str, Any]] = [
        {name: row[at] for name, at in _AT.items()}
        for row in run_study(closure_study(asked, trips, closures))
    ]
    return {(" + ".join(row["closure"]), row["worksite"]): row for row in rows}


class Naive:
    """One closure, built anew, and the seconds home by networkx."""

    def __init__(self, asked: Asked, closure: Closure) -> None:
        self.protocol, self.limit_s = asked.protocol, asked.situation.limits.time_home_limit_s
        structure = asked.structure
        self.graph, options = naive(structure, asked.situation, closure, asked.protocol)
        self.options = replace(options, homeward="recovered")
        shut = {*self.graph.situation.closed, *closure.split(structure)[1]}
        hatches = [
            grip
            for one in structure.hatches
            if one.tether_point not in shut
            for grip in site_grips(self.graph, one.id).grips.tolist()
        ]
        self.numbers = {grip_id: number for number, grip_id in enumerate(self.graph.grips.ids)}
        self.home_s = networkx_home(self.graph, hatches)

    def worst_s(self, grips: Sequence[str]) -> float:
        """The longest time home from some grips; who is at none that is left has no way."""
        known = [self.home_s.get(self.numbers.get(one, -1), np.inf) for one in grips]
        return max(known)

    def check(self, seconds: float | None, verdict: str, grips: Sequence[str]) -> None:
        self.check_seconds(seconds, verdict, self.worst_s(grips))

    def check_seconds(self, seconds: float | None, verdict: str, worst_s: float) -> None:
        assert (np.inf if seconds is None else seconds) == pytest.approx(worst_s, rel=1e-9)
        if not np.isfinite(worst_s):
            assert verdict == "not known"
        else:
            assert verdict == ("in time" if worst_s <= self.limit_s else "too late")

    def is_as_route_says(
        self, seconds: float | None, verdict: str, grips: Sequence[str], ends: tuple[str, str]
    ) -> bool:
        """Compare with the answer of `route --homeward`, if its way is the same one."""
        route = find_route(self.graph, *ends, protocol=self.protocol, options=self.options)
        if [one.grip for one in route.grips] != [*grips]:
            return False
        assert route.homeward is not None
        assert verdict == route.home
        assert seconds == pytest.approx(route.homeward.worst_s, rel=1e-9)
        return True


def left_outside(
    graph: ReachGraph, way: tuple[str, Answer], goal: str, closed: frozenset[str]
) -> float | None:
    """Seconds home with tethers left, on a ground without what is closed; None if ways differ.

    The lays are read from the course that `route` finds. Tether points on it that close
    are left to the enumeration of walks.
    """
    outfit = make_outfit(graph, KIT)
    course = solve_reel(graph, [site_grips(graph, site) for site in (way[0], goal)], KIT)
    if course is None or course.grips != tuple(way[1].grips.tolist()):
        return None
    state = states_along(course, outfit)[-1][-1]
    points = np.array([point.id in closed for point in outfit.points])
    if any(points[stay.point] for stay in state.stack):
        return None
    shut = np.array([one in closed for one in graph.grips.element_ids])
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
    hooks = reel_ground(graph).hooks
    kept = ~shut[hooks.grip] & ~points[hooks.point]
    ground = TetherGround.of_moves(
        graph.moves,
        Hooks(point=hooks.point[kept], grip=hooks.grip[kept], distance_m=hooks.distance_m[kept]),
        terminal=np.flatnonzero(graph.grips.kind == GripKind.SOCKET).tolist(),
        allowed=~shut[tail] & ~shut[graph.moves.head],
    )
    hatches = [
        grip
        for one in graph.structure.hatches
        if one.tether_point not in closed
        for grip in site_grips(graph, one.id).grips.tolist()
    ]
    problem = TetherProblem(ground=ground, rules=outfit.rules, starts=(state,))
    path = find_tethered_path(problem, hatches)
    return np.inf if path is None else path.cost


def hold_against_naive(
    asked: Asked, closures: Sequence[Closure], trips: Sequence[Trip]
) -> Counter[str]:
    """Compare every closure and trip, those without a row too: they are as with nothing closed."""
    rows, answers, seen = told(asked, trips, closures), Answers(asked), Counter[str]()
    open_ids = answers.ground().graph.grips.ids
    best = {trip: answers.best(trip) for trip in trips}
    ways = {trip: way for trip, way in best.items() if way is not None}
    times, random_ = TimesHome(answers, ways), random.Random(len(closures))
    for closure in closures:
        anew = Naive(asked, closure)
        ids = answers.ground(closure.split(asked.structure)[0]).graph.grips.ids
        for trip in trips:
            intact, after = ways[trip], answers.best(trip, closure)
            row = rows.get((closure.name, trip.goal))
            seen["rows"] += row is not None
            caught = times.caught(trip)
            found = (caught.seconds, caught.verdict)
            found = found if row is None else (row["caught_s"], row["caught"])
            if asked.protocol == "leapfrog" and found[1] != "not checked":
                anew.check(*found, [open_ids[intact[1].grips[-1]]])
            elif row is not None and found[1] != "not checked" and ids is open_ids:
                closed = closure.split(asked.structure)[1]
                worst_s = left_outside(answers.ground().graph, intact, trip.goal, closed)
                if worst_s is not None:
                    anew.check_seconds(*found, worst_s)
                    seen["left outside"] += 1
            seen["caught"] += found[1] in {"too late", "not known"}
            if after is None or not after[1].safe:
                continue
            before = times.before(intact[1])
            found = (before.seconds, before.verdict)
            found = found if row is None else (row["after_home_s"], row["after_home"])
            held = [ids[grip] for grip in after[1].grips.tolist()]
            if asked.protocol == "leapfrog":
                anew.check(*found, held)
            seen[found[1]] += 1
            # A route takes far longer than all else here.
            if row is not None or random_.random() > _SKIPPED:
                same = anew.is_as_route_says(*found, held, (after[0], trip.goal))
                seen["as route says"] += same
    return seen


@pytest.mark.parametrize(("protocol", "limit_s"), [("leapfrog", 1000.0), ("reel", 150.0)])
def test_every_closure_of_the_small_example(protocol: Protocol, limit_s: float) -> None:
    structure = small()
    asked = asked_of(structure, protocol, time_home_limit_s=limit_s)
    closures = single_closures(structure, asked.situation)
    seen = hold_against_naive(asked, closures, worksite_trips(structure))
    assert seen["as route says"] >= 20, seen
    assert seen["in time"] >= 5, seen
    assert seen["too late"] >= 3, seen
    assert seen["caught"] >= 10, seen
    assert protocol == "leapfrog" or seen["left outside"] >= 10, seen


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_some_closures_of_the_station_example(protocol: Protocol) -> None:
    structure = station()
    asked = asked_of(structure, protocol)
    random_ = random.Random(7)
    trips = random_.sample(worksite_trips(structure), 6)
    used = used_elements(Answers(asked), structure, trips)
    closures = [Closure(ids=(one,)) for one in random_.sample(used, 2)]
    closures += [Closure(ids=("docking",)), Closure(ids=tuple(sorted(random_.sample(used, 2))))]
    seen = hold_against_naive(asked, closures, trips)
    assert seen["as route says"] >= 4, seen
    assert seen["rows"] >= 4, seen


def test_random_closures_of_a_made_up_station() -> None:
    """Two at a time and more, against networkx alone: nothing holds people at its hatch."""
    structure = make_station(1_000, 2)
    asked = asked_of(structure, "leapfrog", time_home_limit_s=700.0)
    answers = Answers(asked)
    times, random_ = TimesHome(answers, {}), random.Random(3)
    used = used_elements(answers, structure)
    used = [one for one in used if one not in {hatch.tether_point for hatch in structure.hatches}]
    compared = changed = 0
    for _ in range(12):
        closure = Closure(ids=tuple(sorted(random_.sample(used, 3))))
        anew, ids = Naive(asked, closure), answers.ground().graph.grips.ids
        for trip in worksite_trips(structure):
            intact, after = answers.best(trip), answers.best(trip, closure)
            if intact is None or after is None:
                continue
            found = times.before(after[1], closure)
            anew.check(found.seconds, found.verdict, [ids[one] for one in after[1].grips.tolist()])
            compared += 1
            changed += found.seconds != times.before(intact[1]).seconds
    assert compared >= 30
    assert changed >= 5
