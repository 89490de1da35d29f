"""Least-cost tethered paths with a limit on a third sum, against enumeration of all walks."""

import heapq
import itertools

import numpy as np
import pytest

from routing.paths.search.engine import Engine
from routing.paths.tethers.front import moves_between
from routing.paths.tethers.priced import find_limited_path
from routing.paths.tethers.search import find_tethered_path
from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    make_case,
    problem_of,
    random_from,
    walk_actions,
)
from tests.needs import NUMBA

MOST_WALKS = 4_000


def _least_within(
    case: Case, used: dict[tuple[int, int], float], limit: float, goal: int
) -> float | None:
    """Return the least cost of a legal walk to the goal that uses no more than the limit."""
    count = itertools.count()
    heap = [(0.0, next(count), case.start, 0.0)]
    done = set()
    while heap:
        cost, _, walk, sum_used = heapq.heappop(heap)
        if (walk, sum_used) in done:
            continue
        here = walk[0][-1][3][-1]
        if here == goal:
            return cost
        done.add((walk, sum_used))
        if len(done) > MOST_WALKS:
            raise TooManyWalksError
        for extra, after in walk_actions(case, case.start, walk):
            there = after[0][-1][3][-1]
            more = sum_used + used.get((here, there), 0.0)
            if more <= limit:
                heapq.heappush(heap, (cost + extra, next(count), after, more))
    return None


@pytest.mark.parametrize("engine", ["plain", pytest.param("compiled", marks=NUMBA)])
def test_limited_path_equals_enumeration(engine: Engine) -> None:
    seen = {"free": 0, "none": 0, "dearer": 0}
    for number in range(200 if engine == "plain" else 30):
        rng = random_from(number)
        case = make_case(rng)
        problem = problem_of(case)
        goal = rng.randrange(case.nodes)
        quick = find_tethered_path(problem, [goal])
        on_quick = set() if quick is None else set(itertools.pairwise(quick.nodes))
        # Mostly what the quickest way uses is short, so that there is something to give up.
        used = {
            arc: 1.0 if arc in on_quick else rng.choice((0.0, 0.25, 0.5, 1.5))
            for arc in sorted(case.arcs)
        }
        limit = rng.randint(0, 4 * len(on_quick)) / 4
        listed = list(case.arcs)
        network = problem.ground.network
        on_moves = np.array([used[listed[move]] for move in network.move], dtype=np.float64)
        try:
            expected = _least_within(case, used, limit, goal)
            free = _least_within(case, used, float("inf"), goal)
        except TooManyWalksError:
            continue
        found = find_limited_path(problem, on_moves, [goal], limit=limit, engine=engine)
        assert (found is None) == (expected is None)
        if found is not None:
            assert _cost(case, found.nodes, found.transfers) == expected
            assert on_moves[moves_between(network, found.nodes)].sum() <= limit
            assert found.least_left.left_m >= problem.rules.reserve_m
        seen["none"] += expected is None and free is not None
        seen["free"] += expected is not None and expected == free
        seen["dearer"] += expected is not None and free is not None and expected > free
    if engine == "plain":
        assert min(seen.values()) >= 8, seen


def _cost(case: Case, nodes: tuple[int, ...], transfers: tuple[object, ...]) -> float:
    on_moves = sum(case.arcs[arc][0] for arc in itertools.pairwise(nodes))
    return on_moves + case.transfer * len(transfers)
