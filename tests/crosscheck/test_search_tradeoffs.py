"""Trade-off sets against enumeration: complete, nothing dominated, every path really costs that."""

import heapq
import itertools

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from routing.paths.choices.tradeoffs import find_leapfrog_tradeoffs, find_tethered_tradeoffs
from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine
from routing.paths.tethers.search import find_tethered_path
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
from tests.needs import NUMBA

ENGINES = ["plain", pytest.param("compiled", marks=NUMBA)]
Vector = tuple[float, int, float]
MOST_ENTRIES = 3_000


def _dominates(a: Vector, b: Vector) -> bool:
    return all(x <= y for x, y in zip(a, b, strict=True))


def _front(vectors: list[Vector]) -> list[Vector]:
    distinct = sorted(set(vectors))
    return [
        v for v in distinct if not any(_dominates(other, v) for other in distinct if other != v)
    ]


def _enumerate(case: Case, exposure: dict[tuple[int, int], float], goal: int) -> list[Vector]:
    """Every non-dominated vector over all legal walks, kept per complete state."""
    count = itertools.count()
    heap: list[tuple[Vector, int, Walk]] = [((0.0, 0, 0.0), next(count), case.start)]
    kept: dict[Walk, list[Vector]] = {}
    at_goal: list[Vector] = []
    entries = 0
    while heap:
        vector, _, walk = heapq.heappop(heap)
        here = walk[0][-1][3][-1]
        others = kept.setdefault(walk, [])
        if any(_dominates(other, vector) for other in others + at_goal):
            continue
        others.append(vector)
        entries += 1
        if entries > MOST_ENTRIES:
            raise TooManyWalksError
        if here == goal:
            at_goal.append(vector)
            continue
        for extra, after in walk_actions(case, case.start, walk):
            there = after[0][-1][3][-1]
            swap = len(after[0]) != len(walk[0])
            seen = 0.0 if swap else exposure[here, there]
            further = (vector[0] + extra, vector[1] + swap, vector[2] + seen)
            heapq.heappush(heap, (further, next(count), after))
    return _front(at_goal)


def _check_tethered(number: int, engine: Engine) -> int:
    rng = random_from(number)
    case = make_case(rng)
    exposure = {arc: rng.choice((0, 0, 2, 8, 20)) / 4 for arc in case.arcs}
    goal = rng.randrange(case.nodes)
    problem = problem_of(case)
    listed = list(case.arcs)
    per_move = np.array(
        [exposure[listed[move]] for move in problem.ground.network.move], dtype=np.float64
    )
    expected = _enumerate(case, exposure, goal)
    found = find_tethered_tradeoffs(problem, per_move, [goal], engine=engine)
    assert [choice.criteria for choice in found.choices] == expected
    best = find_tethered_path(problem, [goal])
    assert (best is None) == (not found.choices)
    if best is not None:
        assert found.quickest.seconds == best.cost
        assert found.fewest_transfers.transfers == min(v[1] for v in expected)
        assert found.least_exposure.exposure_s == min(v[2] for v in expected)
        assert found.balanced in found.choices
    return len(expected)


@settings(deadline=None, derandomize=True, max_examples=draws(80))
@given(st.integers(0, 10**9))
def test_tethered_set_equals_enumeration(number: int) -> None:
    try:
        _check_tethered(number, "plain")
    except TooManyWalksError:
        reject()


@NUMBA
@settings(deadline=None, derandomize=True, max_examples=draws(40))
@given(st.integers(0, 10**9))
def test_tethered_set_compiled(number: int) -> None:
    try:
        _check_tethered(number, "compiled")
    except TooManyWalksError:
        reject()


def test_tethered_sets_of_many_cases() -> None:
    sizes = []
    number = 0
    while len(sizes) < 120:
        number += 1
        try:
            sizes.append(_check_tethered(number, "plain"))
        except TooManyWalksError:
            continue
    # Agreement means something only where there is something to trade.
    assert sum(size >= 2 for size in sizes) >= 12
    assert sum(size >= 3 for size in sizes) >= 2


@pytest.mark.parametrize("engine", ENGINES)
def test_leapfrog_set_equals_all_simple_paths(engine: Engine) -> None:
    sizes = []
    for number in range(60):
        rng = np.random.default_rng(number)
        nodes = 9
        graph = nx.gnp_random_graph(nodes, 0.4, seed=number, directed=True)
        numbers = {
            arc: (
                float(rng.integers(1, 30)) / 4,
                int(rng.integers(0, 3)),
                float(rng.integers(0, 8)) / 4,
            )
            for arc in sorted(graph.edges)
        }
        socket = int(rng.integers(1, nodes - 1))
        network = Network.of_arcs(
            nodes, [(*arc, three[0]) for arc, three in numbers.items()], terminal=[socket]
        )
        values = list(numbers.values())
        transfers = np.array([values[move][1] for move in network.move], dtype=np.int64)
        exposure = np.array([values[move][2] for move in network.move], dtype=np.float64)
        found = find_leapfrog_tradeoffs(
            network, (transfers, exposure), {0: 1.5}, [nodes - 1], engine=engine
        )
        vectors: list[Vector] = []
        for path in nx.all_simple_paths(graph, 0, nodes - 1):
            if socket not in path:
                three = [numbers[arc] for arc in itertools.pairwise(path)]
                vectors.append(
                    (
                        1.5 + sum(t[0] for t in three),
                        sum(t[1] for t in three),
                        sum(t[2] for t in three),
                    )
                )
        assert [choice.criteria for choice in found.choices] == _front(vectors)
        sizes.append(len(found.choices))
    assert max(sizes) >= 5


def test_noise_is_not_a_choice() -> None:
    """Two routes of the same moves in another order differ by rounding alone: one choice."""
    network = Network.of_arcs(
        6, [(0, 1, 0.1), (1, 2, 0.2), (2, 5, 0.3), (0, 3, 0.3), (3, 4, 0.2), (4, 5, 0.1)]
    )
    exposure = network.cost[::-1].copy()
    found = find_leapfrog_tradeoffs(network, (np.zeros(6, dtype=np.int64), exposure), {0: 0.0}, [5])
    assert len(found.choices) == 1


def test_named_picks_and_balance() -> None:
    """Three routes by hand: (4, 0, 8) quick, (10, 0, 0) sheltered, (5, 1, 2) between."""
    single = Network.of_arcs(4, [(0, 3, 4.0), (0, 1, 2.0), (1, 3, 3.0), (0, 2, 4.0), (2, 3, 6.0)])
    numbers = {0: (0, 8.0), 1: (1, 1.0), 2: (0, 1.0), 3: (0, 0.0), 4: (0, 0.0)}
    transfers = np.array([numbers[int(move)][0] for move in single.move], dtype=np.int64)
    exposure = np.array([numbers[int(move)][1] for move in single.move])
    found = find_leapfrog_tradeoffs(single, (transfers, exposure), {0: 0.0}, [3])
    assert [choice.criteria for choice in found.choices] == [(4, 0, 8), (5, 1, 2), (10, 0, 0)]
    assert found.quickest.nodes == (0, 3)
    assert found.fewest_transfers.nodes == (0, 3)
    assert found.least_exposure.nodes == (0, 2, 3)
    # Scaled: (0, 0, 1), (1/6, 1, 1/4), (1, 0, 0): distances 1, 1.044, 1; the quickest of equals.
    assert found.balanced.nodes == (0, 3)
