"""Lower bounds of the tether search: never too much, and the same in both engines."""

import dataclasses

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.hooks import hook_places
from routing.graph.reach_graph import GripKind
from routing.graph.situation import Situation
from routing.paths.search.arrays import Arcs
from routing.paths.search.bound_kernel import spread
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_path
from routing.paths.tethers.stack import Tether, TetherRules, hooked_at
from routing.paths.tethers.steps import Hooks, TetherGround
from routing.paths.tethers.tables import TetherTables, make_tables
from tests.benchmarks.stations import make_station
from tests.crosscheck.search_cases import make_case, problem_of, random_from
from tests.needs import NUMBA

CASES = 400


def blind(problem: TetherProblem, goals: list[int]) -> TetherTables:
    """Tables that know nothing: every label may come to the goal at no cost."""
    tables = make_tables(problem, goals)
    nothing = np.zeros(len(problem.ground.network))
    return dataclasses.replace(
        tables, arrays=tables.arrays._replace(slack=nothing, remaining=nothing)
    )


def cost_with(problem: TetherProblem, goals: list[int], tables: TetherTables) -> float | None:
    path = find_tethered_path(problem, goals, tables=tables, engine="plain")
    return None if path is None else path.cost


def test_no_answer_changes_with_tables_that_know_nothing() -> None:
    rng = random_from(50_000)
    levels, reached = set(), 0
    for _ in range(CASES):
        case = make_case(rng)
        problem = problem_of(case)
        count = len(problem.ground.network)
        goals = [[goal] for goal in range(count)] + [[0, count - 1], list(range(count))]
        for goal in goals:
            tables = make_tables(problem, goal, engine="plain")
            levels.add(len(tables.arrays.slack) // count)
            cost = cost_with(problem, goal, tables)
            assert cost == cost_with(problem, goal, blind(problem, goal))
            reached += cost is not None
    assert {1, 2, 3} <= levels, levels
    assert reached > CASES, reached


@pytest.fixture(scope="module")
def station() -> TetherProblem:
    """A made-up station that asks for several transfers, on short reels."""
    structure = make_station(1_000)
    graph = build_graph(structure, Situation())
    sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET).tolist()
    places = hook_places(graph, [point.id for point in structure.tether_points])
    hooks = Hooks(point=places.point, grip=places.grip, distance_m=places.distance_m)
    ground = TetherGround.of_moves(graph.moves, hooks, terminal=sockets)
    first = int(np.argmin(graph.grips.position_m[hooks.grip, 0]))
    start = hooked_at(
        point=int(hooks.point[first]),
        grip=int(hooks.grip[first]),
        distance_m=float(hooks.distance_m[first]),
        tether=0,
        carried=(6, 2),
    )
    rules = TetherRules(
        tethers=(Tether(name="long", length_m=12.0), Tether(name="short", length_m=8.0)),
        reserve_m=0.6,
        transfer_s=60.0,
    )
    return TetherProblem(ground=ground, rules=rules, starts=(start,))


@NUMBA
def test_neither_on_a_station_nor_between_engines(station: TetherProblem) -> None:
    count = len(station.ground.network)
    transfers = set()
    for goal in range(0, count, count // 12):
        plain = make_tables(station, [goal], engine="plain")
        fast = make_tables(station, [goal], engine="compiled")
        assert all(
            np.array_equal(one, other) for one, other in zip(plain.arrays, fast.arrays, strict=True)
        )
        slack = plain.arrays.slack.reshape(-1, count)
        assert (slack[1:] <= slack[:-1]).all()
        path = find_tethered_path(station, [goal], tables=plain, engine="plain")
        knows_nothing = blind(station, [goal])
        best = find_tethered_path(station, [goal], tables=knows_nothing, engine="compiled")
        if path is None or best is None:
            assert path is best
            continue
        assert path.cost == pytest.approx(best.cost, rel=1e-12)
        transfers.add(len(path.transfers))
    assert len(transfers) >= 3, transfers


def test_a_search_that_stops_early_says_how_far_it_is_certain() -> None:
    # Moves 0 to 1 to 2 to 3, one second each.
    arcs = Arcs([0, 1, 2, 3, 3], [1, 2, 3], [1.0, 1.0, 1.0], [0, 0, 0, 0])
    far = float("inf")
    distance = [0.0, far, far, far]
    assert spread(arcs, distance, [0], [0, 1, 0, 0], 1, 9.0) == 1.0
    assert distance == [0.0, 1.0, far, far]
    distance = [0.0, far, far, far]
    assert spread(arcs, distance, [0], [0, 0, 0, 1], 1, 2.0) == far
    assert distance == [0.0, 1.0, 2.0, far]
    assert spread(arcs, distance, [0], [0, 0, 0, 0], 0, 9.0) == 0.0
    distance = [0.0, far, far, far]
    assert spread(arcs._replace(terminal=[0, 1, 0, 0]), distance, [0], [1, 1, 1, 1], 4, 9.0) == far
    assert distance == [0.0, 1.0, far, far]
