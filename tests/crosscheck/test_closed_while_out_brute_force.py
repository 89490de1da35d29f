"""The way home of who is out as grips and tether points close, against every legal walk.

The reference leaves out all states at a closed grip or on a tether at a closed point;
lines that lie over what is closed stay there.
"""

import dataclasses
import heapq
import itertools

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from routing.paths.search.engine import Engine
from routing.paths.tethers.search import find_tethered_path, least_cost
from routing.paths.tethers.tables import make_tables
from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    make_case,
    problem_of,
    random_from,
    walk_actions,
)
from tests.draws import draws
from tests.needs import NUMBA

MOST_WALKS = 6_000
_ANYWHERE = 0.1
"""How often a grip is closed wherever it is, and how often each tether point."""


def least(case: Case, grips: set[int], points: set[int], goal: int) -> float | None:
    """Return the least cost from the start to a grip over all legal walks."""
    count = itertools.count()
    heap = [(0.0, next(count), case.start)]
    done = set()
    while heap:
        cost, _, walk = heapq.heappop(heap)
        point, _, _, lay = walk[0][-1]
        if walk in done or point in points or lay[-1] in grips:
            continue
        if lay[-1] == goal:
            return cost
        done.add(walk)
        if len(done) > MOST_WALKS:
            raise TooManyWalksError
        for extra, after in walk_actions(case, case.start, walk):
            heapq.heappush(heap, (cost + extra, next(count), after))
    return None


def check(number: int, engine: Engine = "plain") -> tuple[bool, bool]:
    """Compare one random case; return whether there is a way, and whether it is another one."""
    rng = random_from(number)
    case = make_case(rng, rail=number % 2 == 0)
    at = case.start[0][-1][3][-1]
    goal = rng.randrange(case.nodes)
    problem = problem_of(case)
    tables = make_tables(problem, [goal], engine=engine)
    before = find_tethered_path(problem, [goal], tables=tables, engine=engine)
    on_way = range(case.nodes) if before is None else before.nodes
    grips = {rng.choice(on_way) for _ in range(2)} - {at, goal}
    if rng.random() < _ANYWHERE:
        grips.add(rng.randrange(case.nodes))
    points = {point for point, _ in case.hooks if rng.random() < _ANYWHERE}
    closed, bounds = problem.without(grips, points), tables.without(grips)
    found = find_tethered_path(closed, [goal], tables=bounds, engine=engine)
    cost = least_cost(closed, bounds, engine=engine)
    assert cost == (float("inf") if found is None else found.cost)
    expected = least(case, grips, points, goal)
    assert (None if found is None else found.cost) == expected
    if found is not None:
        assert grips.isdisjoint(found.nodes)
        assert found.state.stack[-1].point not in points
    return found is not None, (before is None) != (found is None) or (
        before is not None and found is not None and before.cost != found.cost
    )


@settings(deadline=None, derandomize=True, max_examples=draws(300))
@given(st.integers(0, 10**9))
def test_the_way_home_equals_enumeration(number: int) -> None:
    try:
        check(number)
    except TooManyWalksError:
        reject()


def test_the_cases_close_ways_and_leave_others() -> None:
    seen = []
    for number in range(100):
        try:
            seen.append(check(number))
        except TooManyWalksError:
            continue
    assert sum(there and other for there, other in seen) >= 5
    assert sum(not there and other for there, other in seen) >= 5


@NUMBA
def test_both_engines_find_the_same() -> None:
    for number in range(8):
        check(number, "compiled")


def test_several_starts_are_not_told_apart() -> None:
    problem = problem_of(make_case(random_from(1)))
    twice = dataclasses.replace(problem, starts=problem.starts * 2)
    with pytest.raises(ValueError, match="too many values"):
        twice.without((), ())
