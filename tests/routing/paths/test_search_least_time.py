"""What the least-time search does at its edges: ties, sockets, limits, wrong input."""

import numpy as np
import pytest

from routing.paths.search import engine
from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine, choose_engine
from routing.paths.search.least_time import least_time, least_time_tree
from tests.needs import NUMBA

ENGINES = ["plain", pytest.param("compiled", marks=NUMBA)]


def _grid(side: int) -> Network:
    arcs = []
    for row in range(side):
        for column in range(side):
            node = row * side + column
            if column + 1 < side:
                arcs += [(node, node + 1, 1.0), (node + 1, node, 1.0)]
            if row + 1 < side:
                arcs += [(node, node + side, 1.0), (node + side, node, 1.0)]
    return Network.of_arcs(side * side, arcs)


@pytest.mark.parametrize("engine", ENGINES)
def test_ties_go_to_fewest_moves_then_smallest_numbers_from_the_goal(engine: Engine) -> None:
    found = least_time(_grid(4), {0: 0.0}, [15], engine=engine)
    assert found is not None
    assert found.nodes == (0, 1, 2, 3, 7, 11, 15)
    detour = Network.of_arcs(4, [(0, 1, 1.0), (1, 2, 1.0), (2, 3, 1.0), (0, 3, 3.0)])
    direct = least_time(detour, {0: 0.0}, [3], engine=engine)
    assert direct is not None
    assert direct.nodes == (0, 3)


@pytest.mark.parametrize("engine", ENGINES)
def test_ties_with_moves_that_cost_nothing_make_no_loop(engine: Engine) -> None:
    network = Network.of_arcs(
        4, [(0, 1, 0.0), (1, 0, 0.0), (1, 2, 0.0), (2, 1, 0.0), (2, 3, 0.0), (0, 3, 0.0)]
    )
    tree = least_time_tree(network, {0: 0.0}, engine=engine)
    assert [tree.path_to(node) for node in range(4)] == [(0,), (0, 1), (0, 1, 2), (0, 3)]


@pytest.mark.parametrize("engine", ENGINES)
def test_terminal_is_start_or_goal_but_not_passed(engine: Engine) -> None:
    network = Network.of_arcs(4, [(0, 1, 1.0), (1, 2, 1.0), (0, 3, 2.0), (3, 2, 2.0)], terminal=[1])
    round_it = least_time(network, {0: 0.0}, [2], engine=engine)
    to_it = least_time(network, {0: 0.0}, [1], engine=engine)
    from_it = least_time(network, {1: 0.0}, [2], engine=engine)
    assert round_it is not None
    assert to_it is not None
    assert from_it is not None
    assert (round_it.nodes, round_it.cost) == ((0, 3, 2), 4.0)
    assert to_it.nodes == (0, 1)
    assert from_it.nodes == (1, 2)


@pytest.mark.parametrize("engine", ENGINES)
def test_start_costs_goals_and_limit(engine: Engine) -> None:
    network = Network.of_arcs(5, [(0, 2, 1.0), (1, 2, 1.0), (2, 3, 1.0), (2, 4, 1.0)])
    found = least_time(network, {0: 5.0, 1: 2.0}, [4, 3], engine=engine)
    assert found is not None
    assert (found.nodes, found.cost) == ((1, 2, 3), 4.0)
    assert least_time(network, {1: 2.0}, [3], limit=3.5, engine=engine) is None
    at_limit = least_time(network, {1: 2.0}, [3], limit=4.0, engine=engine)
    assert at_limit is not None
    assert least_time(network, {}, [3], engine=engine) is None


def test_wrong_costs_are_refused() -> None:
    with pytest.raises(ValueError, match=r"move 0 costs -1\.0; every cost"):
        Network.of_arcs(2, [(0, 1, -1.0)])
    with pytest.raises(ValueError, match="move 1 costs nan"):
        Network.of_arcs(2, [(0, 1, 1.0), (1, 0, float("nan"))])
    with pytest.raises(ValueError, match="source 0 starts at nan"):
        least_time(_grid(2), {0: float("nan")}, [1])


@NUMBA
def test_engine_is_chosen_by_size(
    monkeypatch: pytest.MonkeyPatch, shipped_big_job_steps: int
) -> None:
    monkeypatch.setattr(engine, "BIG_JOB_STEPS", shipped_big_job_steps)
    assert choose_engine("auto", moves=100_000) == "plain"
    assert choose_engine("auto", moves=100_000, searches=100) == "compiled"
    assert choose_engine("plain", moves=10**9) == "plain"


def test_without_and_find_move() -> None:
    network = _grid(3)
    assert network.find_move(0, 1) is not None
    assert network.find_move(0, 4) is None
    smaller = network.without(nodes=[1], moves=[network.find_move(3, 4) or 0])
    assert smaller.find_move(0, 1) is None
    assert smaller.find_move(3, 4) is None
    assert smaller.find_move(4, 3) is not None
    back = network.reverse.reverse
    assert np.array_equal(back.head, network.head)
    assert np.array_equal(back.indptr, network.indptr)
