"""The tether search against a constraint-programming model of the same rules (OR-tools CP-SAT).

The model has one copy of the network for each tether in use, Booleans for moves and
transfers, flow conservation, and for each copy one sum: distance to the point, way and
distance of the stowed end within that tether. Numbers are whole (tenths), compared exactly.
"""

import dataclasses

import numpy as np
import pytest
from ortools.sat.python import cp_model

from routing.paths.search.arrays import Network
from routing.paths.tethers.search import TetherProblem, find_tethered_path
from routing.paths.tethers.stack import Tether, TetherRules, hooked_at
from routing.paths.tethers.steps import Hooks, TetherGround


def _mid_size(number: int) -> TetherProblem:
    """Forty grips on a long strip, eight tether points, a mixed kit."""
    rng = np.random.default_rng(number)
    nodes, points = 40, 8
    place = rng.uniform(0, 1, (nodes, 2)) * [400, 80]
    gaps = np.linalg.norm(place[:, None] - place[None], axis=2)
    arcs = [
        (int(i), int(j), float(round(gaps[i, j] * rng.uniform(0.5, 3))))
        for i, j in np.argwhere((gaps < 75) & (gaps > 0))
    ]
    network = Network.of_arcs(nodes, arcs, terminal=rng.choice(nodes, 4, replace=False).tolist())
    hook = rng.uniform(0, 1, (points, 2)) * [400, 80]
    reach = np.linalg.norm(hook[:, None] - place[None], axis=2)
    near = np.argwhere(reach < 40)
    ground = TetherGround(
        network=network,
        way_m=np.ceil(gaps[network.tail, network.head]),
        hooks=Hooks(
            point=near[:, 0].astype(np.int64),
            grip=near[:, 1].astype(np.int64),
            distance_m=np.ceil(reach[near[:, 0], near[:, 1]]),
        ),
    )
    rules = TetherRules(
        tethers=(Tether(name="long", length_m=210), Tether(name="short", length_m=150)),
        reserve_m=10,
        transfer_s=60,
    )
    start = hooked_at(
        point=99, grip=int(np.argmin(place[:, 0])), distance_m=5, tether=0, carried=(1, 1)
    )
    start = dataclasses.replace(start, staged=((int(rng.integers(points)), 1),))
    return TetherProblem(ground=ground, rules=rules, starts=(start,))


def _model(problem: TetherProblem, goal: int) -> float | None:
    network, hooks, rules = problem.ground.network, problem.ground.hooks, problem.rules
    state = problem.starts[0]
    levels = 1 + sum(state.carried) + len(state.staged)
    model = cp_model.CpModel()
    moves = range(len(network.head))
    kinds = [(tether, False, -1) for tether in range(2)]
    kinds += [(tether, True, point) for point, tether in state.staged]
    walk = [[model.new_bool_var(f"x{n},{m}") for m in moves] for n in range(levels)]
    take = [
        {
            (h, k): model.new_bool_var(f"y{n},{h},{k}")
            for h in range(len(hooks.grip))
            for k, (_, staged, point) in enumerate(kinds)
            if not staged or hooks.point[h] == point
        }
        for n in range(levels - 1)
    ]
    take.append({})
    end = [model.new_bool_var(f"e{n}") for n in range(levels)]
    model.add_exactly_one(end)
    first, socket = state.grip, np.flatnonzero(network.terminal)
    for n in range(levels):
        arrive = take[n - 1] if n else {}
        for node in range(len(network)):
            inward = sum(walk[n][m] for m in moves if network.head[m] == node)
            inward += sum(y for (h, _), y in arrive.items() if hooks.grip[h] == node)
            inward += int(n == 0 and node == first)
            outward = sum(walk[n][m] for m in moves if network.tail[m] == node)
            outward += sum(y for (h, _), y in take[n].items() if hooks.grip[h] == node)
            outward += end[n] if node == goal else 0
            model.add(inward == outward)
            if node in socket and node != goal:
                model.add(sum(walk[n][m] for m in moves if network.head[m] == node) == 0)
        out_m = sum(int(problem.ground.way_m[m]) * walk[n][m] for m in moves)
        out_m += sum(int(hooks.distance_m[h]) * y for (h, _), y in arrive.items())
        out_m += sum(int(hooks.distance_m[h]) * y for (h, _), y in take[n].items())
        if n == 0:
            model.add(out_m + int(state.payout_m) <= int(rules.usable_m(0)))
        else:
            usable = sum(int(rules.usable_m(kinds[k][0])) * y for (_, k), y in arrive.items())
            model.add(out_m <= usable)
    for k, (tether, staged, _) in enumerate(kinds):
        most = 1 if staged else state.carried[tether]
        model.add(sum(y for level in take for (_, kk), y in level.items() if kk == k) <= most)
    model.minimize(
        sum(int(network.cost[m]) * walk[n][m] for n in range(levels) for m in moves)
        + sum(int(rules.transfer_s) * y for level in take for y in level.values())
    )
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    status = solver.solve(model)
    assert status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}
    return solver.objective_value if status == cp_model.OPTIMAL else None


@pytest.mark.parametrize("number", [0, 1, 2, 3, 5, 6, 7, 8])  # 4 takes the solver long
def test_model_agrees(number: int) -> None:
    problem = _mid_size(number)
    rng = np.random.default_rng(1000 + number)
    for goal in rng.choice(40, 2, replace=False).tolist():
        path = find_tethered_path(problem, [goal])
        assert (path and path.cost) == _model(problem, goal)


def test_model_cases_need_transfers() -> None:
    """Of all goals of the ten cases many need one transfer or more, and some have no route."""
    counts = []
    for number in range(10):
        problem = _mid_size(number)
        for goal in range(40):
            path = find_tethered_path(problem, [goal])
            counts.append(-1 if path is None else len(path.transfers))
    assert counts.count(-1) >= 5
    assert sum(count >= 1 for count in counts) >= 50
    assert sum(count >= 2 for count in counts) >= 5
