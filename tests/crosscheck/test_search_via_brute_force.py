"""Routes by via sites on tethers against enumeration of every legal walk with its state."""

import contextlib
import os
from collections.abc import Iterator

from hypothesis import given, reject, settings
from hypothesis import strategies as st

from routing.paths.tethers.legs import SearchGaveUpError, by_way_of, follow_legs
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.stack import TetherState
from routing.paths.tethers.via_search import ViaAnswer, find_via_path
from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    Walk,
    make_case,
    problem_of,
    random_from,
)
from tests.crosscheck.via_cases import Place, enumerate_via_walks, make_vias, via_actions
from tests.draws import draws

LONG_RUN = int(os.environ.get("GRIPWAY_LONG_RUN", draws(300)))
MANY = 1_000_000

Doing = tuple[Place, int, int, int]
"""(place of the reference, moves, transfers and via sites done so far)."""


def _next_ones(
    case: Case, vias: list[frozenset[int]], path: TetheredPath, doing: Doing
) -> Iterator[tuple[float, Doing]]:
    """Yield what the reference allows next and the path says, too."""
    place, moves, swaps, met = doing
    before = place[2][0]
    for cost, after in via_actions(case, vias, place):
        stack = after[2][0]
        if after[0] > place[0]:
            yield cost, (after, moves, swaps, met + 1)
        elif len(stack) == len(before):
            if moves + 1 < len(path.nodes) and path.nodes[moves + 1] == stack[-1][3][-1]:
                yield cost, (after, moves + 1, swaps, met)
        elif swaps < len(path.transfers) and path.transfers[swaps].at == moves:
            swap = path.transfers[swaps]
            top = stack[-1] if len(stack) > len(before) else before[-1]
            kind = "take" if len(stack) > len(before) else "return"
            if (swap.kind, swap.point, swap.tether, swap.staged) == (kind, *top[:3]):
                yield cost, (after, moves, swaps + 1, met)


def replay(case: Case, vias: list[frozenset[int]], found: ViaAnswer) -> float:
    """Do what the path says by the reference's own actions; return the cost or fail."""
    path = found.path
    assert path is not None
    ends = (len(path.nodes) - 1, len(path.transfers), len(vias))
    done: dict[Doing, float] = {}
    todo: list[tuple[float, Doing]] = [(0.0, ((0, False, case.start), 0, 0, 0))]
    best = float("inf")
    while todo:
        cost, doing = todo.pop()
        if cost >= done.get(doing, float("inf")):
            continue
        done[doing] = cost
        if doing[1:] == ends and _walk_of(path.state) == doing[0][2]:
            best = min(best, cost)
        for extra, after in _next_ones(case, vias, path, doing):
            if after[3] == doing[3] or found.via_at[doing[3]] == doing[1]:
                todo.append((cost + extra, after))
    return best


def _walk_of(state: TetherState) -> Walk:
    stays = tuple((stay.point, stay.tether, stay.staged, stay.grips) for stay in state.stack)
    return stays, state.carried, state.staged


def check_case(case: Case, vias: list[frozenset[int]]) -> None:
    expected = enumerate_via_walks(case, vias)
    problem = problem_of(case)
    for goal in range(case.nodes):
        found = find_via_path(problem, vias, [goal], most_labels=MANY)
        assert found.proven
        if goal not in expected:
            assert found.path is None
            continue
        assert found.path is not None
        assert found.path.cost == expected[goal] == found.lower
        assert found.path.nodes[-1] == goal
        assert replay(case, vias, found) == found.path.cost
        if goal % 3:
            continue
        # Nothing is cheaper than the best; with a bound a little above it the best is found.
        assert _below(problem, vias, goal, expected[goal]) is None
        assert _below(problem, vias, goal, expected[goal] + 0.25) == expected[goal]


def _below(
    problem: TetherProblem, vias: list[frozenset[int]], goal: int, upper: float
) -> float | None:
    found = find_via_path(problem, vias, [goal], upper=upper, most_labels=MANY)
    assert found.proven
    return None if found.path is None else found.path.cost


@settings(deadline=None, derandomize=True, max_examples=draws(60))
@given(st.integers(0, 10**9))
def test_every_walk(number: int) -> None:
    rng = random_from(number)
    case = make_case(rng)
    try:
        check_case(case, make_vias(rng, case))
    except TooManyWalksError:
        reject()


def test_every_walk_in_many_cases() -> None:
    """Three hundred cases; GRIPWAY_LONG_RUN=5000 makes it five thousand."""
    rng = random_from(30_000)
    checked = 0
    while checked < LONG_RUN:
        case = make_case(rng)
        with contextlib.suppress(TooManyWalksError):
            check_case(case, make_vias(rng, case))
            checked += 1


def test_the_two_together_are_best_and_give_up_honestly() -> None:
    """Leg after leg bounds the search; with few labels its walk is given, with the gap."""
    rng = random_from(40_000)
    seen = {"better": 0, "gave up": 0, "no way": 0, "nothing known": 0}
    for _ in range(60):
        case = make_case(rng)
        vias = make_vias(rng, case)
        try:
            expected = enumerate_via_walks(case, vias)
        except TooManyWalksError:
            continue
        problem = problem_of(case)
        for goal in range(case.nodes):
            stops = [*(sorted(via) for via in vias), [goal]]
            asked = (problem.ground, problem.rules, problem.starts, stops)
            best = by_way_of(*asked)
            legs = follow_legs(*asked)
            if goal not in expected:
                assert best is None
                seen["no way"] += 1
                continue
            assert best is not None
            assert (best.cost, best.unproven) == (expected[goal], 0.0)
            assert best.nodes[-1] == goal
            assert all(best.nodes[at] in via for at, via in zip(best.via_at, vias, strict=True))
            dear = sum(leg.cost for leg in legs)
            seen["better"] += len(legs) == len(stops) and best.cost < dear
            try:
                few = by_way_of(*asked, most_labels=3)
            except SearchGaveUpError:
                seen["nothing known"] += 1
                continue
            assert few is not None
            assert few.cost - few.unproven <= expected[goal] <= few.cost
            seen["gave up"] += few.unproven > 0
    assert min(seen.values()) >= 5, seen


def test_the_cases_are_worth_checking() -> None:
    """Random cases must contain what the search could get wrong, or agreement says nothing."""
    seen = {"excursion": 0, "tether back": 0, "old lay": 0, "socket": 0, "nested": 0}
    rng = random_from(2)
    for _ in range(150):
        case = make_case(rng)
        vias = make_vias(rng, case)
        problem = problem_of(case)
        for goal in range(case.nodes):
            found = find_via_path(problem, vias, [goal], most_labels=MANY)
            if found.path is None:
                continue
            path, start = found.path, problem.starts[0]
            laid = len(start.stack)
            backs = [t for t in path.transfers if t.kind == "return"]
            takes = [t for t in path.transfers if t.kind == "take"]
            out = len(path.nodes) - len(path.state.stack[-1].grips)
            seen["excursion"] += out > 0
            seen["tether back"] += bool(takes and backs)
            seen["old lay"] += len(path.state.stack) < laid
            seen["socket"] += any(via & case.sockets for via in vias)
            seen["nested"] += len(vias) > 1 and bool(backs)
    assert min(seen.values()) >= 10, seen
