"""The tether search against enumeration of every legal walk with its complete state.

The reference knows nothing of labels or bounds: it does uniform-cost search over
(stack of stays with their whole lays, tethers carried, tethers staged) and allows every
action of the rules at every moment: a move forward, a move back along the lay, taking the
next tether, taking the last one again. All numbers are multiples of a quarter, so sums are
exact and costs are compared exactly.
"""

import contextlib
import heapq
import itertools
import os
import random
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from routing.paths.arrays import Network
from routing.paths.engine import Engine
from routing.paths.stack import Stay, Tether, TetherRules, TetherState
from routing.paths.tether_path import TetheredPath
from routing.paths.tether_search import TetherProblem, find_tethered_path, find_tethered_paths
from routing.paths.tether_steps import Hooks, TetherGround

NUMBA = pytest.mark.skipif(find_spec("numba") is None, reason="needs the extra gripway[fast]")
LONG_RUN = os.environ.get("GRIPWAY_LONG_RUN")

MOST_WALKS = 20_000
"""Cases with more complete states than this are left out: they would take minutes."""

# A walk's state: ((point, type, staged, lay), ...), carried, staged.
Walk = tuple[tuple[Any, ...], tuple[int, ...], tuple[tuple[int, int], ...]]


class TooManyWalksError(Exception):
    pass


@dataclass(frozen=True)
class Case:
    nodes: int
    arcs: dict[tuple[int, int], tuple[float, float]]
    hooks: dict[tuple[int, int], float]
    usable: tuple[float, ...]
    reserve: float
    transfer: float
    sockets: frozenset[int]
    base: Walk
    base_out: float
    """Distance from the first stay to the first grip."""
    start: Walk


def _out(case: Case, stack: tuple[Any, ...], level: int) -> float:
    point, _, _, lay = stack[level]
    first = case.base_out if level == 0 else case.hooks[point, lay[0]]
    return first + sum(case.arcs[arc][1] for arc in itertools.pairwise(lay))


def _is_old(start: Walk, stack: tuple[Any, ...]) -> bool:
    """Whether the person is on a lay that was there at the start."""
    depth = len(stack)
    if depth > len(start[0]) or stack[:-1] != start[0][: depth - 1]:
        return False
    old, now = start[0][depth - 1], stack[-1]
    return bool(old[:3] == now[:3] and old[3][: len(now[3])] == now[3])


def _moves(case: Case, walk: Walk) -> Iterator[tuple[float, Walk]]:
    """Forward along any move, or back along the lay."""
    stack, carried, staged = walk
    point, tether, is_staged, lay = stack[-1]
    out = _out(case, stack, len(stack) - 1)
    for (tail, head), (cost, way) in case.arcs.items():
        if tail == lay[-1] and out + way <= case.usable[tether]:
            yield cost, ((*stack[:-1], (point, tether, is_staged, (*lay, head))), carried, staged)
    if len(lay) > 1 and (lay[-1], lay[-2]) in case.arcs:
        below = (*stack[:-1], (point, tether, is_staged, lay[:-1]))
        yield case.arcs[lay[-1], lay[-2]][0], (below, carried, staged)


def _returns(case: Case, walk: Walk) -> Iterator[tuple[float, Walk]]:
    """Take the last tether again, back at the grip where this one was hooked on."""
    stack, carried, staged = walk
    point, tether, is_staged, lay = stack[-1]
    if len(lay) > 1 or len(stack) == 1:
        return
    if is_staged:
        staged = tuple(sorted((*staged, (point, tether))))
    else:
        carried = tuple(n + (t == tether) for t, n in enumerate(carried))
    yield case.transfer, (stack[:-1], carried, staged)


def _takes(case: Case, walk: Walk) -> Iterator[tuple[float, Walk]]:
    """Hook the next tether to a point near by, carried or staged there."""
    stack, carried, staged = walk
    here = stack[-1][3][-1]
    out = _out(case, stack, len(stack) - 1)
    for (point, grip), distance in case.hooks.items():
        if grip != here or out + distance > case.usable[stack[-1][1]]:
            continue
        for new, usable in enumerate(case.usable):
            if carried[new] and distance <= usable:
                fewer = tuple(n - (t == new) for t, n in enumerate(carried))
                yield case.transfer, ((*stack, (point, new, False, (here,))), fewer, staged)
            if (point, new) in staged and distance <= usable:
                rest = list(staged)
                rest.remove((point, new))
                above = (*stack, (point, new, True, (here,)))
                yield case.transfer, (above, carried, tuple(rest))


def _actions(case: Case, start: Walk, walk: Walk) -> Iterator[tuple[float, Walk]]:
    stack = walk[0]
    lay = stack[-1][3]
    if lay[-1] in case.sockets and len(lay) > 1 and not _is_old(start, stack):
        return
    yield from _moves(case, walk)
    yield from _returns(case, walk)
    yield from _takes(case, walk)


def _enumerate(case: Case) -> dict[int, float]:
    """Least cost to every node over all legal walks."""
    best: dict[int, float] = {}
    count = itertools.count()
    heap = [(0.0, next(count), case.start)]
    done = set()
    while heap:
        cost, _, walk = heapq.heappop(heap)
        if walk in done:
            continue
        done.add(walk)
        if len(done) > MOST_WALKS:
            raise TooManyWalksError
        best.setdefault(walk[0][-1][3][-1], cost)
        if len(best) == case.nodes:
            break
        for extra, after in _actions(case, case.start, walk):
            if after not in done:
                heapq.heappush(heap, (cost + extra, next(count), after))
    return best


def _random(number: int) -> random.Random:
    return random.Random(number)  # noqa: S311 - repeatable cases, no secrets


def make_case(rng: random.Random) -> Case:
    nodes = rng.randint(4, 9)
    arcs = {}
    for i, j in itertools.combinations(range(nodes), 2):
        if rng.random() < 2.8 / nodes:
            way = rng.randint(4, 12) / 4
            for arc in ((i, j), (j, i)):
                if rng.random() < 0.93:
                    arcs[arc] = (rng.randint(1, 16) / 4, way)
    points = rng.randint(0, 3)
    hooks = {}
    for point in range(points):
        for grip in rng.sample(range(nodes), rng.randint(1, 2)):
            hooks[point, grip] = rng.randint(0, 3) / 4
    types = rng.randint(1, 2)
    usable = tuple(rng.randint(6, 21) / 4 for _ in range(types))
    carried = [0] * types
    for _ in range(rng.randint(0, 2)):
        carried[rng.randrange(types)] += 1
    staged = tuple(
        sorted(
            (rng.randrange(points), rng.randrange(types))
            for _ in range(rng.randint(0, 2) if points else 0)
        )
    )
    grip = rng.randrange(nodes)
    sockets = frozenset(rng.sample(range(nodes), rng.choice((0, 0, 1, 1, 2))))
    base_type = rng.randrange(types)
    base = (((9, base_type, False, (grip,)),), tuple(carried), staged)
    case = Case(
        nodes=nodes,
        arcs=arcs,
        hooks=hooks,
        usable=usable,
        reserve=rng.choice((0.0, 0.5)),
        transfer=rng.choice((0.25, 1.0, 4.0)),
        sockets=sockets,
        base=base,
        base_out=rng.choice((0.0, 0.25)),
        start=base,
    )
    start = base
    for _ in range(rng.choice((0, 0, 3, 6, 9))):
        after = [walk for _, walk in _actions(case, base, start)]
        if not after:
            break
        # Rather forward than back, or the stacks stay short.
        start = max(rng.sample(after, min(2, len(after))), key=lambda walk: len(str(walk)))
    return Case(**{**case.__dict__, "start": start})


def problem_of(case: Case) -> TetherProblem:
    stays = []
    for level, (point, tether, staged, lay) in enumerate(case.start[0]):
        cut = (*case.start[0][:level], (point, tether, staged, lay))
        payouts = tuple(
            _out(case, (*cut[:-1], (point, tether, staged, lay[: n + 1])), level)
            for n in range(len(lay))
        )
        stays.append(Stay(point=point, tether=tether, staged=staged, grips=lay, payout_m=payouts))
    network = Network.of_arcs(
        case.nodes,
        [(tail, head, cost) for (tail, head), (cost, _) in case.arcs.items()],
        terminal=sorted(case.sockets),
    )
    listed = list(case.arcs.values())
    ordered = sorted(case.hooks)
    return TetherProblem(
        ground=TetherGround(
            network=network,
            way_m=np.array([listed[move][1] for move in network.move], dtype=np.float64),
            hooks=Hooks(
                point=np.array([point for point, _ in ordered], dtype=np.int64),
                grip=np.array([grip for _, grip in ordered], dtype=np.int64),
                distance_m=np.array([case.hooks[key] for key in ordered], dtype=np.float64),
            ),
        ),
        rules=TetherRules(
            tethers=tuple(
                Tether(name=f"T{n}", length_m=usable + case.reserve)
                for n, usable in enumerate(case.usable)
            ),
            reserve_m=case.reserve,
            transfer_s=case.transfer,
        ),
        starts=(TetherState(stack=tuple(stays), carried=case.start[1], staged=case.start[2]),),
    )


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
            (cost, after) for cost, after in _actions(case, case.start, walk) if wanted(after)
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
            assert _out(case, walk[0], len(walk[0]) - 1) == swap.payout_m

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
        assert _out(case, walk[0], len(walk[0]) - 1) == path.payout_m[at]
        assert walk[0][-1][1] == path.tether[at]
        change(at)
    assert not changes
    assert walk == _walk_of(path.state)
    return total


def check_case(case: Case, engine: Engine) -> None:
    expected = _enumerate(case)
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


@settings(deadline=None, derandomize=True, max_examples=350)
@given(st.integers(0, 10**9))
def test_every_walk_plain(number: int) -> None:
    try:
        check_case(make_case(_random(number)), "plain")
    except TooManyWalksError:
        reject()


@NUMBA
@settings(deadline=None, derandomize=True, max_examples=100)
@given(st.integers(0, 10**9))
def test_every_walk_compiled(number: int) -> None:
    case = make_case(_random(number))
    try:
        check_case(case, "compiled")
    except TooManyWalksError:
        reject()
    problem = problem_of(case)
    goals = range(case.nodes)
    plain = find_tethered_paths(problem, goals, engine="plain")
    assert plain == find_tethered_paths(problem, goals, engine="compiled")


@pytest.mark.skipif(LONG_RUN is None, reason="long: set GRIPWAY_LONG_RUN to a count of cases")
def test_every_walk_in_a_long_run() -> None:
    rng = _random(20_000)
    checked = 0
    while checked < int(LONG_RUN or 0):
        with contextlib.suppress(TooManyWalksError):
            check_case(make_case(rng), "plain")
            checked += 1


def test_the_cases_are_worth_checking() -> None:
    """Random cases must contain what the search could get wrong, or agreement says nothing."""
    seen = {"unreached": 0, "take": 0, "return": 0, "staged": 0, "dearer": 0, "back": 0}
    rng = _random(1)
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
        free = Case(**{**case.__dict__, "usable": tuple(u + 100 for u in case.usable)})
        unbound = find_tethered_paths(problem_of(free), range(case.nodes), engine="plain").paths
        seen["dearer"] += any(path.cost > unbound[goal].cost for goal, path in paths.items())
    assert min(seen.values()) >= 8, seen
