"""Times home from every hold against enumeration of every legal walk with its complete state."""

import dataclasses
import heapq
import itertools
from collections.abc import Callable
from dataclasses import replace

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from routing.graph.hooks import HookPlaces
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.paths.course import Course, course_of
from routing.paths.home.ground import HomeGround, NoWayHomeError
from routing.paths.home.homeward import home_from, homes_of_states, homeward_table
from routing.paths.tethers.log import log_tethers
from routing.paths.tethers.outfit import Outfit
from routing.paths.tethers.search import find_tethered_paths
from routing.paths.tethers.stack import TetherState
from routing.paths.tethers.steps import Hooks, TetherGround
from structures.elements import TetherPoint
from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    Walk,
    make_case,
    problem_of,
    random_from,
    walk_actions,
)
from tests.draws import draws
from tests.routing.paths.route_graphs import Arc, made_graph

MOST_WALKS = 6_000
BASE_POINT = 9
"""Number that the random cases give to the tether point of the first tether."""


def _fresh(number: int) -> Case:
    """Return a random case whose person has just hooked on; the first grip is the hatch."""
    case = make_case(random_from(number))
    if len(set(case.usable)) < len(case.usable):
        # An outfit's types differ in length; that is how a course names them.
        longer = (case.usable[0], *(usable + 0.25 for usable in case.usable[1:]))
        case = dataclasses.replace(case, usable=longer)
    base = case.base[0][0][3][0]
    return dataclasses.replace(case, start=case.base, sockets=case.sockets - {base})


def _ground(
    case: Case, *, leave: bool, second: int | None = None, home: int | None = None
) -> HomeGround:
    """Return the ground of a case; the second hatch and the one that is home are grips."""
    base = case.base[0][0][3][0]
    elements = [f"R{node}" for node in range(case.nodes)]
    kinds = {f"R{node}": GripKind.SOCKET for node in case.sockets}
    graph = made_graph(
        elements,
        [Arc(tail=a, head=b, seconds=s, way_m=way) for (a, b), (s, way) in case.arcs.items()],
        kinds={
            **kinds,
            **{f"R{grip}": GripKind.HATCH for grip in (base, second) if grip is not None},
        },
    )
    hatch = None if home is None else f"R{home}"
    ground = HomeGround(graph=graph, protocol="reel", leave=leave, hatch=hatch)
    # The case says where hooks reach; nothing of it follows from places in space.
    outfit = _outfit(case)
    hooks = Hooks(
        point=outfit.places.point, grip=outfit.places.grip, distance_m=outfit.places.distance_m
    )
    sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET)
    ground.__dict__["outfit"] = outfit
    ground.__dict__["ground"] = TetherGround.of_moves(graph.moves, hooks, terminal=sockets.tolist())
    return ground


def _outfit(case: Case) -> Outfit:
    """Return the case's tethers and hooks; the hatch's tether point is T."""
    ids = ["T" if number == BASE_POINT else f"T{number}" for number in range(BASE_POINT + 1)]
    ordered = sorted(case.hooks)
    _, tether, _, _ = case.base[0][0]
    carried = tuple(n + (t == tether) for t, n in enumerate(case.base[1]))
    return Outfit(
        points=tuple(
            TetherPoint(id=one, position_m=(0.0, 0.0, 0.0), rating_n=3000.0) for one in ids
        ),
        places=HookPlaces(
            tether_points=tuple(ids),
            point=np.array([point for point, _ in ordered], dtype=np.int64),
            grip=np.array([grip for _, grip in ordered], dtype=np.int64),
            distance_m=np.array([case.hooks[key] for key in ordered], dtype=np.float64),
        ),
        rules=problem_of(case).rules,
        carried=carried,
        staged=case.base[2],
    )


def _walk_of(state: TetherState) -> Walk:
    return (
        tuple((stay.point, stay.tether, stay.staged, stay.grips) for stay in state.stack),
        state.carried,
        state.staged,
    )


def _least(case: Case, start: Walk, is_home: Callable[[Walk], bool]) -> float | None:
    """Return the least cost to a walk's state that is home, over all legal walks."""
    count = itertools.count()
    heap = [(0.0, next(count), start)]
    done = set()
    while heap:
        cost, _, walk = heapq.heappop(heap)
        if walk in done:
            continue
        if is_home(walk):
            return cost
        done.add(walk)
        if len(done) > MOST_WALKS:
            raise TooManyWalksError
        for extra, after in walk_actions(case, start, walk):
            if after not in done:
                heapq.heappush(heap, (cost + extra, next(count), after))
    return None


def _courses(case: Case, ground: HomeGround) -> list[tuple[Course, Walk]]:
    """Return the course to every grip of the case, and the complete state at its end."""
    found = []
    for path in find_tethered_paths(problem_of(case), range(case.nodes)).paths.values():
        log = log_tethers(ground.outfit, [path])
        course = replace(course_of(ground.graph, path.nodes), anchorings=log)
        found.append((course, _walk_of(path.state)))
    return found


def _check(number: int, *, leave: bool) -> int:
    """Compare the last hold of every course; return how many had a way home."""
    case = _fresh(number)
    ground = _ground(case, leave=leave)
    base = case.base[0][0][3][0]

    def at_hatch(walk: Walk) -> bool:
        return bool(walk[0][-1][3][-1] == base) if leave else walk == case.base

    ways = 0
    # All states at once, as for the return times of all grips, share their bounds.
    ends = {_walk_of(state): state for state in _states(case)}
    at_once = dict(zip(ends, homes_of_states(ground, list(ends.values())), strict=True))
    for course, walk in _courses(case, ground):
        expected = _least(case, walk, at_hatch)
        assert at_once[walk].seconds == expected
        hold = homeward_table(ground, course)[-1]
        assert hold.seconds == expected
        ways += expected is not None and len(course.grips) > 1
    return ways


@settings(deadline=None, derandomize=True, max_examples=draws(150))
@given(st.integers(0, 10**9), st.booleans())
def test_time_home_equals_enumeration(number: int, leave: bool) -> None:
    try:
        _check(number, leave=leave)
    except TooManyWalksError:
        reject()


def _check_two_hatches(number: int) -> tuple[int, int]:
    """Compare ways home to the nearest and to a named hatch; return how many ended at the other."""
    case = _fresh(number)
    base = case.base[0][0][3][0]
    second = (base + 1 + number % (case.nodes - 1)) % case.nodes
    case = dataclasses.replace(case, sockets=case.sockets - {second})
    states = {_walk_of(state): state for state in _states(case)}
    other = nearest = 0
    for home in (None, base, second):
        wanted = {base, second} if home is None else {home}
        leaving = _ground(case, leave=True, second=second, home=home)
        recovering = _ground(case, leave=False, second=second, home=home)
        left = homes_of_states(leaving, list(states.values()))
        recovered = homes_of_states(recovering, list(states.values()))
        for (walk, state), hold, back in zip(states.items(), left, recovered, strict=True):
            expected = _least(case, walk, lambda now: now[0][-1][3][-1] in wanted)  # noqa: B023 - called at once
            assert hold.seconds == expected
            if expected is not None:
                way = home_from(leaving, state)
                assert (way.seconds, way.course.grips[-1] in wanted) == (expected, True)
                assert way.hatch == f"R{way.course.grips[-1]}"
                other += home is None and way.course.grips[-1] == second
                nearest += home is None
            # Tethers are recovered at the hatch where the first one was hooked on, or not at all.
            forced = None if home == second else _least(case, walk, lambda now: now == case.base)
            assert back.seconds == forced
    return other, nearest - other


def test_two_hatches_equal_enumeration() -> None:
    at_second = at_first = 0
    for number in range(60):
        try:
            second, first = _check_two_hatches(number)
        except TooManyWalksError:
            continue
        at_second += second
        at_first += first
    assert min(at_second, at_first) >= 40, (at_second, at_first)


@pytest.mark.parametrize("leave", [False, True])
def test_the_cases_are_worth_checking(leave: bool) -> None:
    ways = 0
    for number in range(40):
        try:
            ways += _check(number, leave=leave)
        except TooManyWalksError:
            continue
    assert ways >= 60


def _states(case: Case) -> list[TetherState]:
    return [
        p.state for p in find_tethered_paths(problem_of(case), range(case.nodes)).paths.values()
    ]


def _seconds(ground: HomeGround, state: TetherState) -> float:
    try:
        return home_from(ground, state).seconds
    except NoWayHomeError:
        return float("inf")


@settings(deadline=None, derandomize=True, max_examples=draws(100))
@given(st.integers(0, 10**9), st.sampled_from([0.25, 1.0, 5.0]))
def test_longer_line_is_never_longer_home(number: int, more: float) -> None:
    case = _fresh(number)
    longer = dataclasses.replace(case, usable=tuple(usable + more for usable in case.usable))
    for leave in (False, True):
        before, after = _ground(case, leave=leave), _ground(longer, leave=leave)
        for state in _states(case):
            assert _seconds(after, state) <= _seconds(before, state)


@settings(deadline=None, derandomize=True, max_examples=draws(100))
@given(st.integers(0, 10**9))
def test_leaving_tethers_is_never_longer_than_recovering_them(number: int) -> None:
    case = _fresh(number)
    recovering, leaving = _ground(case, leave=False), _ground(case, leave=True)
    for course, _ in _courses(case, leaving):
        rows = zip(homeward_table(recovering, course), homeward_table(leaving, course), strict=True)
        for recovered, left in rows:
            if recovered.seconds is not None:
                assert left.seconds is not None
                assert left.seconds <= recovered.seconds


@settings(deadline=None, derandomize=True, max_examples=draws(100))
@given(st.integers(0, 10**9))
def test_the_table_says_what_the_ways_from_the_ends_say(number: int) -> None:
    case = _fresh(number)
    for leave in (False, True):
        ground = _ground(case, leave=leave)
        for path in find_tethered_paths(problem_of(case), range(case.nodes)).paths.values():
            log = log_tethers(ground.outfit, [path])
            course = replace(course_of(ground.graph, path.nodes), anchorings=log)
            last = homeward_table(ground, course)[-1].seconds
            assert _seconds(ground, path.state) == (float("inf") if last is None else last)


def _random_leapfrog(number: int) -> tuple[ReachGraph, nx.DiGraph]:
    """Return rails of two grips at random, some of their moves one way only, and a hatch."""
    rng = np.random.default_rng(number)
    nodes = 10
    graph = nx.gnp_random_graph(nodes, 0.25, seed=number, directed=True)
    arcs = [
        Arc(tail=a, head=b, seconds=int(rng.integers(1, 60)) / 4, way_m=0.25)
        for a, b in sorted(graph.edges)
    ]
    elements = ["HATCH", *(f"R{(node + 1) // 2}" for node in range(1, nodes))]
    return made_graph(elements, arcs, kinds={"HATCH": GripKind.HATCH}), graph


def test_leapfrog_table_equals_networkx() -> None:
    compared = 0
    for number in range(20):
        graph, _ = _random_leapfrog(number)
        ground = HomeGround(graph=graph, protocol="leapfrog")
        moves = graph.moves
        allowed = nx.DiGraph()
        allowed.add_nodes_from(range(len(graph.grips)))
        for tail in range(len(graph.grips)):
            for move in range(int(moves.indptr[tail]), int(moves.indptr[tail + 1])):
                if ground.rule.allowed[move]:
                    seconds = float(moves.seconds[move] + ground.rule.transfer_s[move])
                    allowed.add_edge(int(moves.head[move]), tail, weight=seconds)
        expected = nx.single_source_dijkstra_path_length(allowed, 0)
        course = Course(grips=tuple(range(len(graph.grips))), moves=())
        for grip, hold in enumerate(homeward_table(ground, course)):
            assert hold.seconds == expected.get(grip)
            if hold.seconds is None:
                with pytest.raises(NoWayHomeError, match="no way leads from"):
                    home_from(ground, grip)
            else:
                way = home_from(ground, grip)
                assert way.seconds == hold.seconds
                assert (way.course.grips[0], way.course.grips[-1]) == (grip, 0)
                compared += grip > 0
    assert compared >= 60
