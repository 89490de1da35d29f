"""The tether search against enumeration of every legal walk with its complete state."""

import contextlib
import dataclasses
import os
from typing import Any

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from routing.paths.search.engine import Engine
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.search import find_tethered_path, find_tethered_paths
from routing.paths.tethers.stack import TetherState
from tests.crosscheck.search_cases import (
    Case,
    TooManyWalksError,
    Walk,
    enumerate_walks,
    line_out,
    make_case,
    problem_of,
    random_from,
    walk_actions,
)
from tests.draws import draws
from tests.needs import NUMBA

USUAL_RUN = 300
LONG_RUN = int(os.environ.get("GRIPWAY_LONG_RUN", draws(USUAL_RUN)))
ENGINES = ["plain", pytest.param("compiled", marks=NUMBA)]


def _walk_of(state: TetherState) -> Walk:
    return (
        tuple((stay.point, stay.tether, stay.staged, stay.grips) for stay in state.stack),
        state.carried,
        state.staged,
    )


def _replay(case: Case, path: TetheredPath) -> float:
    """Do what the path says by the reference's own actions; return the cost or fail."""
    walk, total = case.start, 0.0
    changes = list(path.transfers)

    def act(wanted: Any) -> None:
        nonlocal walk, total
        options = [
            (cost, after) for cost, after in walk_actions(case, case.start, walk) if wanted(after)
        ]
        assert options, f"not legal from {walk}"
        cost, walk = min(options)
        total += cost

    def change(at: int) -> None:
        while changes and changes[0].at == at:
            swap = changes.pop(0)
            depth = len(walk[0]) + (1 if swap.kind == "take" else -1)
            taken = (swap.point, swap.tether, swap.staged, (swap.grip,))
            act(
                lambda after, depth=depth, taken=taken, kind=swap.kind: (
                    len(after[0]) == depth and (kind == "return" or after[0][-1] == taken)
                )
            )
            assert line_out(case, walk[0], len(walk[0]) - 1) == swap.payout_m

    change(0)
    for at in range(1, len(path.nodes)):
        depth = len(walk[0])
        lay = len(walk[0][-1][3]) + (1 if at > path.back else -1)
        node = path.nodes[at]
        act(
            lambda after, depth=depth, lay=lay, node=node: (
                len(after[0]) == depth
                and len(after[0][-1][3]) == lay
                and after[0][-1][3][-1] == node
            )
        )
        assert line_out(case, walk[0], len(walk[0]) - 1) == path.payout_m[at]
        assert walk[0][-1][1] == path.tether[at]
        change(at)
    assert not changes
    assert walk == _walk_of(path.state)
    return total


def check_case(case: Case, *engines: Engine) -> None:
    expected = enumerate_walks(case)
    for engine in engines:
        _check_against(expected, case, engine)


def _check_against(expected: dict[int, float], case: Case, engine: Engine) -> None:
    problem = problem_of(case)
    answers = find_tethered_paths(problem, range(case.nodes), engine=engine)
    assert {goal: path.cost for goal, path in answers.paths.items()} == expected
    for goal, path in answers.paths.items():
        assert path.nodes[-1] == goal
        assert _replay(case, path) == path.cost
        single = find_tethered_path(problem, [goal], engine=engine)
        assert single is not None
        assert single.cost == path.cost
        assert _replay(case, single) == single.cost
    for goal in set(range(case.nodes)) - set(expected):
        assert find_tethered_path(problem, [goal], engine=engine) is None


@settings(deadline=None, derandomize=True, max_examples=draws(300))
@given(st.integers(0, 10**9))
def test_every_walk_plain(number: int) -> None:
    try:
        check_case(make_case(random_from(number)), "plain")
    except TooManyWalksError:
        reject()


@NUMBA
@settings(deadline=None, derandomize=True, max_examples=draws(100))
@given(st.integers(0, 10**9))
def test_every_walk_compiled(number: int) -> None:
    case = make_case(random_from(number))
    try:
        check_case(case, "compiled")
    except TooManyWalksError:
        reject()
    problem = problem_of(case)
    goals = range(case.nodes)
    plain = find_tethered_paths(problem, goals, engine="plain")
    assert plain == find_tethered_paths(problem, goals, engine="compiled")


@pytest.mark.parametrize("engine", ENGINES)
@settings(deadline=None, derandomize=True, max_examples=draws(100))
@given(number=st.integers(0, 10**9))
def test_every_walk_along_a_rail(engine: Engine, number: int) -> None:
    try:
        check_case(make_case(random_from(number), rail=True), engine)
    except TooManyWalksError:
        reject()


def test_every_walk_in_many_cases() -> None:
    """Three hundred cases; GRIPWAY_LONG_RUN=5000 makes it five thousand, in both engines."""
    rng = random_from(20_000)
    engines: tuple[Engine, ...] = ("plain", "compiled") if LONG_RUN > USUAL_RUN else ("plain",)
    for rail, wanted in ((False, LONG_RUN), (True, LONG_RUN // 5)):
        checked = 0
        while checked < wanted:
            with contextlib.suppress(TooManyWalksError):
                check_case(make_case(rng, rail=rail), *engines)
                checked += 1


def test_rails_have_grips_that_are_no_junctions() -> None:
    cases = [problem_of(make_case(random_from(number), rail=True)) for number in range(100)]
    networks = [(len(case.ground.junctions.node), len(case.ground.network)) for case in cases]
    assert sum(junctions < grips for junctions, grips in networks) > 50


def test_the_cases_are_worth_checking() -> None:
    """Random cases must contain what the search could get wrong, or agreement says nothing."""
    seen = {"unreached": 0, "take": 0, "return": 0, "staged": 0, "dearer": 0, "back": 0}
    rng = random_from(1)
    for _ in range(150):
        case = make_case(rng)
        problem = problem_of(case)
        paths = find_tethered_paths(problem, range(case.nodes), engine="plain").paths
        seen["unreached"] += len(paths) < case.nodes
        swaps = [swap for path in paths.values() for swap in path.transfers]
        seen["take"] += any(swap.kind == "take" for swap in swaps)
        seen["return"] += any(swap.kind == "return" for swap in swaps)
        seen["staged"] += any(swap.staged for swap in swaps)
        seen["back"] += any(path.back for path in paths.values())
        free = dataclasses.replace(case, usable=tuple(u + 100 for u in case.usable))
        unbound = find_tethered_paths(problem_of(free), range(case.nodes), engine="plain").paths
        seen["dearer"] += any(path.cost > unbound[goal].cost for goal, path in paths.items())
    assert min(seen.values()) >= 15, seen
