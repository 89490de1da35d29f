"""Exact tethered routes: ratios to scipy on the expanded (grip, tether point) graph.

The baseline answers an easier question: it knows neither payout nor kit, only that a grip is
within a shortest length of line of its tether point. One node for each such pair; moves keep
the tether point; at every grip in hook reach of another point one can change to it.
"""

import dataclasses
import functools

import numpy as np
import pytest
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import dijkstra

from routing.paths.choices.tradeoffs import find_tethered_tradeoffs
from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.front import ask, tethered_question
from routing.paths.tethers.search import (
    TetherProblem,
    find_tethered_path,
    find_tethered_paths,
    least_costs,
)
from routing.paths.tethers.steps import TetherGround
from routing.paths.tethers.tables import make_tables
from tests.benchmarks.search_grounds import Bench, make_bench, median_ms, ratio_row
from tests.benchmarks.stations import SIZES

pytestmark = pytest.mark.benchmark


def _expanded(bench: Bench, *, near_only: bool) -> tuple[csr_array, int]:
    """The baseline's graph, all pairs or those in reach of the line, and its start node."""
    ground, rules = bench.ground, bench.problem.rules
    network, hooks = ground.network, ground.hooks
    count = len(network)
    points = int(hooks.point.max()) + 1
    inside = np.zeros((points, count), dtype=bool)
    for point in range(points):
        mine = hooks.point == point
        sources = dict(zip(hooks.grip[mine].tolist(), hooks.distance_m[mine].tolist(), strict=True))
        need_m = least_time_tree(ground.lengths, sources, engine="compiled").cost
        inside[point] = need_m <= (rules.usable_m(0) if near_only else np.inf)
    number = np.cumsum(inside.ravel()).reshape(inside.shape) - 1
    rows, columns, costs = [], [], []
    for point in range(points):
        keep = inside[point][network.tail] & inside[point][network.head]
        rows.append(number[point][network.tail[keep]])
        columns.append(number[point][network.head[keep]])
        costs.append(network.cost[keep])
        mine = hooks.grip[hooks.point == point]
        for other in range(points):
            if other != point:
                swap = mine[inside[other][mine] & inside[point][mine]]
                rows.append(number[other][swap])
                columns.append(number[point][swap])
                costs.append(np.full(len(swap), rules.transfer_s))
    size = int(inside.sum())
    matrix = coo_array(
        (np.concatenate(costs), (np.concatenate(rows), np.concatenate(columns))), (size, size)
    )
    start = bench.problem.starts[0]
    return matrix.tocsr(), int(number[start.stack[0].point, start.grip])


def _fresh(bench: Bench) -> TetherProblem:
    """The same problem with nothing prepared."""
    old = bench.ground.network
    network = Network(
        indptr=old.indptr, head=old.head, cost=old.cost, terminal=old.terminal, move=old.move
    )
    ground = TetherGround(network=network, way_m=bench.ground.way_m, hooks=bench.ground.hooks)
    return dataclasses.replace(bench.problem, ground=ground)


def _goals(bench: Bench, count: int) -> list[int]:
    """Grips that can be reached, evenly by cost, the farthest first."""
    tables = make_tables(bench.problem, bench.passed.tolist())
    answers = find_tethered_paths(
        bench.problem, bench.passed.tolist(), tables=tables, engine="compiled"
    )
    order = sorted(answers.paths, key=lambda goal: -answers.paths[goal].cost)
    return order[:: max(len(order) // count, 1)][:count]


@pytest.mark.parametrize("grips", SIZES[:3])
def test_exact_routes(grips: int) -> None:
    bench = make_bench(grips)
    problem = bench.problem
    goals = _goals(bench, 30)
    print(
        f"\n{len(bench.network)} grips, {len(bench.network.head)} moves, "
        f"{len(np.unique(bench.ground.hooks.point))} tether points"
    )
    for near_only in (True, False):
        matrix, start = _expanded(bench, near_only=near_only)
        baseline = median_ms(lambda: dijkstra(matrix, indices=start))
        print(
            f"expanded graph, {'pairs in reach' if near_only else 'all pairs (the baseline)'}: "
            f"{matrix.shape[0]} nodes, {matrix.nnz} moves, scipy pass {baseline:.1f} ms"
        )
    for engine in ("plain", "compiled"):
        ready, cold, transfers = [], [], []
        for goal in goals[:6]:
            tables = make_tables(problem, [goal])

            def warm(  # the loop's present values
                goal: int = goal, tables: object = tables, engine: str = engine
            ) -> object:
                return find_tethered_path(problem, [goal], tables=tables, engine=engine)

            path = warm()
            transfers.append(len(path.transfers))
            ready.append(median_ms(warm))
            cold.append(
                median_ms(
                    lambda goal=goal, engine=engine: find_tethered_path(
                        _fresh(bench), [goal], engine=engine
                    ),
                    3,
                )
            )
        print(f"{engine}: the six farthest goals with {transfers} transfers")
        print(ratio_row(f"{engine}, tables ready", baseline, float(np.median(ready))))
        print(ratio_row(f"{engine}, from nothing", baseline, float(np.median(cold))))
        every = median_ms(
            lambda: find_tethered_paths(_fresh(bench), goals, engine=engine),
            3,
        )
        print(ratio_row(f"{engine}, all {len(goals)} worksites at once", baseline, every))


def test_growth() -> None:
    """From 5k to 100k grips, as far as the kit reaches; the baseline only where it fits."""
    print()
    taken: dict[str, dict[int, float]] = {}
    for grips in SIZES[1:]:
        bench = make_bench(grips)
        problem, count = bench.problem, len(bench.network)
        costs = least_costs(problem, engine="compiled")
        order = bench.passed[np.argsort(-costs[bench.passed], kind="stable")]
        order = order[np.isfinite(costs[order])]
        goals = order[:: max(len(order) // 30, 1)][:30].tolist()
        tables = make_tables(problem, goals[:1])
        calls = {
            f"{name}, {engine}": functools.partial(call, engine=engine)
            for engine in ("plain", "compiled")
            for name, call in (
                (
                    "tables ready",
                    functools.partial(find_tethered_path, problem, goals[:1], tables=tables),
                ),
                ("from nothing", functools.partial(_from_nothing, bench, goals[:1])),
                ("30 worksites", functools.partial(_from_nothing, bench, goals)),
            )
        }
        print(f"{count} grips, {len(np.unique(bench.ground.hooks.point))} tether points")
        for name, call in calls.items():
            taken.setdefault(name, {})[count] = median_ms(call, 3)
            print(f"  {name:26s} {taken[name][count]:10.2f} ms")
        if grips < SIZES[-1]:
            matrix, start = _expanded(bench, near_only=True)
            baseline = functools.partial(dijkstra, matrix, indices=start)
            print(f"  scipy, pairs in reach      {median_ms(baseline, 3):10.2f} ms")
    for name, of in taken.items():
        least, most = min(of), max(of)
        growth = np.log(of[most] / of[least]) / np.log(most / least)
        print(f"{name:28s} grows as n^{growth:.2f}")


def _from_nothing(bench: Bench, goals: list[int], *, engine: Engine) -> object:
    return find_tethered_paths(_fresh(bench), goals, engine=engine)


def test_tradeoffs_with_and_without_bounds() -> None:
    bench = make_bench(5_000)
    exposure = bench.graph.moves.exposure_s[bench.ground.network.move]
    print()
    for goal in _goals(bench, 12)[:4]:
        plain = median_ms(
            lambda: find_tethered_tradeoffs(bench.problem, exposure, [goal], engine="plain"),
            1,
        )
        find_tethered_tradeoffs(bench.problem, exposure, [goal], engine="compiled")
        fast = median_ms(
            lambda: find_tethered_tradeoffs(bench.problem, exposure, [goal], engine="compiled")
        )
        question, _ = tethered_question(bench.problem, exposure, [goal])
        with_bounds = ask(question, engine="compiled")
        nothing = np.zeros(len(bench.network))
        blind = dataclasses.replace(
            question,
            bounds=question.bounds._replace(slack=nothing, remaining=nothing),
            # So little that no label is ever beaten by a choice: only labels beat labels.
            criteria=question.criteria._replace(exposure_need=nothing - 1e9),
        )
        without = ask(blind, engine="compiled")
        # Without target bounds dominated ways to the goal come along.
        assert set(with_bounds.exposure) <= set(without.exposure)
        kernel_plain = median_ms(lambda: ask(question, engine="plain"), 3)
        kernel_fast = median_ms(lambda: ask(question, engine="compiled"))
        print(
            f"{len(with_bounds.exposure)} choices; labels {with_bounds.labels} with bounds, "
            f"{without.labels} without ({without.labels / with_bounds.labels:.1f} x); "
            f"kernel plain {kernel_plain:.1f} ms, compiled {kernel_fast:.1f} ms "
            f"({kernel_plain / kernel_fast:.1f} x); whole answer plain {plain:.1f} ms, "
            f"compiled {fast:.1f} ms ({plain / fast:.1f} x)"
        )
