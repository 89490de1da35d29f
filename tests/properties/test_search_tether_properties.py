"""What must hold between the answers to related tether problems."""

import dataclasses
import itertools
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.path import route_home
from routing.paths.tethers.search import TetherProblem, find_tethered_paths
from tests.crosscheck.search_cases import Case, make_case, problem_of, random_from
from tests.draws import draws

CASES = settings(deadline=None, derandomize=True, max_examples=draws(120))
numbers = st.integers(0, 10**9)


def _costs(case: Case) -> dict[int, float]:
    answers = find_tethered_paths(problem_of(case), range(case.nodes), engine="plain")
    return {goal: path.cost for goal, path in answers.paths.items()}


def _drawn(number: int) -> tuple[Case, random.Random]:
    rng = random_from(number)
    return make_case(rng), rng


def _never_dearer(easier: Case, harder: Case) -> None:
    before, after = _costs(harder), _costs(easier)
    assert before.keys() <= after.keys()
    assert all(after[goal] <= before[goal] for goal in before)


@CASES
@given(numbers)
def test_longer_line_is_never_dearer(number: int) -> None:
    case, rng = _drawn(number)
    longer = tuple(usable + rng.choice((0, 0.25, 1, 5)) for usable in case.usable)
    _never_dearer(dataclasses.replace(case, usable=longer), case)


@CASES
@given(numbers)
def test_extra_tether_is_never_dearer(number: int) -> None:
    case, rng = _drawn(number)
    stack, carried, staged = case.start
    extra = rng.randrange(len(carried))
    more = tuple(count + (tether == extra) for tether, count in enumerate(carried))
    _never_dearer(dataclasses.replace(case, start=(stack, more, staged)), case)
    laid = tuple(sorted((*staged, (rng.randrange(3), extra))))
    _never_dearer(dataclasses.replace(case, start=(stack, carried, laid)), case)


@CASES
@given(numbers)
def test_extra_tether_point_is_never_dearer(number: int) -> None:
    case, rng = _drawn(number)
    hooks = {**case.hooks, (7, rng.randrange(case.nodes)): rng.randint(0, 3) / 4}
    _never_dearer(dataclasses.replace(case, hooks=hooks), case)


@CASES
@given(numbers)
def test_fewer_moves_are_never_cheaper(number: int) -> None:
    """A closure or a new zone only takes moves away."""
    case, rng = _drawn(number)
    old = {arc for stay in case.start[0] for arc in itertools.pairwise(stay[3])}
    arcs = {
        arc: numbers
        for arc, numbers in case.arcs.items()
        if rng.random() < 0.8 or arc in old or arc[::-1] in old
    }
    _never_dearer(case, dataclasses.replace(case, arcs=arcs))


@CASES
@given(numbers)
def test_closure_beside_the_route_changes_nothing(number: int) -> None:
    """Payout depends on the walked path alone, so an optimum that avoids a closure stays one."""
    case, rng = _drawn(number)
    goal = rng.randrange(case.nodes)
    found = find_tethered_paths(problem_of(case), [goal], engine="plain").paths.get(goal)
    if found is None:
        return
    # Moves of old lays stay: closing them changes what the start is.
    used = set(itertools.pairwise(found.nodes))
    used |= {arc for stay in case.start[0] for arc in itertools.pairwise(stay[3])}
    arcs = {arc: n for arc, n in case.arcs.items() if arc in used or rng.random() < 0.5}
    closed = dataclasses.replace(case, arcs=arcs)
    after = find_tethered_paths(problem_of(closed), [goal], engine="plain").paths[goal]
    assert after.cost == found.cost


@CASES
@given(numbers)
def test_renumbered_grips_cost_the_same(number: int) -> None:
    case, rng = _drawn(number)
    new = list(range(case.nodes))
    rng.shuffle(new)
    stack = tuple(
        (point, tether, staged, tuple(new[grip] for grip in lay))
        for point, tether, staged, lay in case.start[0]
    )
    shuffled = list(case.arcs.items())
    rng.shuffle(shuffled)
    renumbered = dataclasses.replace(
        case,
        arcs={(new[tail], new[head]): arc for (tail, head), arc in shuffled},
        hooks={(point, new[grip]): d for (point, grip), d in case.hooks.items()},
        sockets=frozenset(new[grip] for grip in case.sockets),
        start=(stack, *case.start[1:]),
    )
    assert _costs(renumbered) == {new[goal]: cost for goal, cost in _costs(case).items()}


@CASES
@given(numbers)
def test_line_is_never_out_too_far_and_time_never_too_short(number: int) -> None:
    case, _ = _drawn(number)
    problem = problem_of(case)
    rules = problem.rules
    free = least_time_tree(problem.ground.network, {problem.starts[0].grip: 0.0}).cost
    for goal, path in find_tethered_paths(problem, range(case.nodes)).paths.items():
        lengths = [rules.tethers[tether].length_m for tether in path.tether]
        assert all(
            out + rules.reserve_m <= length
            for out, length in zip(path.payout_m, lengths, strict=True)
        )
        assert path.least_left.left_m >= rules.reserve_m
        if path.back == 0:
            assert path.cost >= free[goal]
        assert path.state.grip == goal


@CASES
@given(numbers)
def test_home_recovers_every_carried_tether(number: int) -> None:
    case, _ = _drawn(number)
    problem = problem_of(case)
    backwards = {(head, tail): arc for (tail, head), arc in case.arcs.items()}
    network = problem_of(dataclasses.replace(case, arcs={**backwards, **case.arcs})).ground.network
    _, carried, staged = case.base
    for path in find_tethered_paths(problem, range(case.nodes)).paths.values():
        home = route_home(path.state, network, problem.rules)
        assert home.state.carried == carried
        assert home.state.staged == staged
        assert home.state.grip == case.base[0][0][3][0]
        assert len(home.state.stack) == 1


@CASES
@given(numbers)
def test_a_stop_on_the_way_never_saves_time(number: int) -> None:
    """Whoever stops at a grip and asks again from the state there cannot come off better."""
    case, rng = _drawn(number)
    problem = problem_of(case)
    paths = find_tethered_paths(problem, range(case.nodes)).paths
    # A stop at a socket makes passing it legal, so those are left out.
    stops = [goal for goal in sorted(paths) if goal not in case.sockets]
    if not stops:
        return
    middle = paths[rng.choice(stops)]
    onward = find_tethered_paths(
        TetherProblem(ground=problem.ground, rules=problem.rules, starts=(middle.state,)),
        range(case.nodes),
    ).paths
    for goal, path in paths.items():
        if goal in onward:
            assert path.cost <= middle.cost + onward[goal].cost


def test_only_length_less_reserve_counts() -> None:
    case, _ = _drawn(5)
    assert _costs(case) == _costs(dataclasses.replace(case, reserve=0.0))
    with pytest.raises(ValueError, match="reserve_m is -1"):
        dataclasses.replace(problem_of(case).rules, reserve_m=-1)
