"""The exact search for routes on safety tethers (reel protocol)."""

import itertools
from collections.abc import Iterable

import numpy as np

from routing.graph.reach_graph import Floats
from routing.paths.search.engine import Engine, choose_engine, compiled
from routing.paths.search.label_kernel import Chains, search_labels
from routing.paths.search.tradeoff_kernel import Front
from routing.paths.tethers.path import TetheredPath, TetherStep, follow_path
from routing.paths.tethers.problem import TetherProblem, start_labels
from routing.paths.tethers.tables import TetherTables, make_tables
from structures.frozen import frozen

__all__ = [
    "TetherAnswers",
    "TetherProblem",
    "find_tethered_path",
    "find_tethered_paths",
    "least_cost",
    "least_costs",
    "read_path",
    "start_labels",
]


@frozen(kw_only=True)
class TetherAnswers:
    """The best path to each goal that can be reached under the rules."""

    paths: dict[int, TetheredPath]
    """By goal, ascending; goals that cannot be reached are not in it."""
    labels: int
    """How many labels the search made."""


def find_tethered_path(
    problem: TetherProblem,
    goals: Iterable[int],
    *,
    tables: TetherTables | None = None,
    engine: Engine = "auto",
) -> TetheredPath | None:
    """Return the least-cost path to the nearest goal under the tether rules, or None.

    See `find_tethered_paths`; this stops at the first goal.
    """
    answers = find_tethered_paths(problem, goals, tables=tables, first_only=True, engine=engine)
    return next(iter(answers.paths.values()), None)


def find_tethered_paths(
    problem: TetherProblem,
    goals: Iterable[int],
    *,
    tables: TetherTables | None = None,
    first_only: bool = False,
    engine: Engine = "auto",
) -> TetherAnswers:
    """Return the least-cost path to every goal, from one search, exactly.

    Parameters
    ----------
    problem
        The ground, the rules of the kit and the states to start from.
    goals
        Nodes; none gives no path.
    tables
        From `make_tables` for the same problem and goals; made here by default.
    first_only
        Stop at the first goal found, the one that costs least.
    engine
        Plain or compiled; both give the same bits.

    Returns
    -------
    TetherAnswers
        A path for each goal that can be reached, in order of nodes.

    Raises
    ------
    ValueError
        The tables were made for other goals.

    Notes
    -----
    Exact because: (1) what a person can still do depends only on the grip, the
    line left on the tether in use and the tethers that can be taken, so a label
    that is no better in any of these can be dropped; (2) line gets shorter only by
    going back along the lay, and going back over what this very route has laid
    returns to an earlier state, so the best walk goes back over the old lays first
    (or not at all) and only forward from there; (3) bounds never say too much.
    """
    goal_nodes = tuple(sorted(set(goals)))
    if not goal_nodes:
        return TetherAnswers(paths={}, labels=0)
    used = choose_engine(engine, moves=len(problem.ground.network.head))
    if tables is None:
        tables = make_tables(problem, goal_nodes, engine=used)
    elif tables.goals != goal_nodes:
        raise ValueError("the tables were made for other goals; make them for these")
    wanted = 1 if first_only else len(goal_nodes)
    chains = _run(problem, tables, wanted, plain=used == "plain")
    paths = {}
    for number in range(len(chains.first) - 1):
        path = read_path(problem, chains, number)
        paths[path.nodes[-1]] = path
    return TetherAnswers(paths=dict(sorted(paths.items())), labels=chains.labels)


def _run(problem: TetherProblem, tables: TetherTables, wanted: int, *, plain: bool) -> Chains:
    starts, guard = start_labels(problem, plain=plain), problem.groups.guard
    if plain:
        return Chains(*search_labels(problem.steps.lists, tables.lists, starts, guard, wanted))
    kernel = compiled(search_labels)
    return Chains(*kernel(problem.steps.arrays, tables.arrays, starts, guard, wanted))


def read_path(problem: TetherProblem, chains: Chains | Front, number: int) -> TetheredPath:
    """Return the path of goal or choice ``number`` from the labels on its way."""
    first, last = chains.first[number], chains.first[number + 1]
    steps = problem.steps
    retreat = problem.retreats[-1 - chains.step[last - 1]]
    forward = []
    for index in range(last - 2, first - 1, -1):
        step = chains.step[index]
        hook = int(steps.hook[step])
        forward.append(
            TetherStep(
                grip=int(steps.arrays.head[step]),
                cost=float(chains.cost[index]),
                slack_m=float(chains.slack[index]),
                hook=None if hook < 0 else hook,
                tether=int(steps.tether[step]),
                staged=bool(steps.staged[step]),
            )
        )
    return follow_path(problem.rules, problem.ground.hooks, retreat, forward)


def least_cost(problem: TetherProblem, tables: TetherTables, *, engine: Engine = "auto") -> float:
    """Return the least cost to the nearest goal of the tables, infinite if none is reached.

    As `find_tethered_path`, but the path is not made.
    """
    used = choose_engine(engine, moves=len(problem.ground.network.head))
    chains = _run(problem, tables, 1, plain=used == "plain")
    return float(chains.cost[chains.first[0]]) if len(chains.first) > 1 else float("inf")


def least_costs(problem: TetherProblem, *, engine: Engine = "auto") -> Floats:
    """Return the least cost to every grip under the rules, shape (n,); infinite if none leads.

    One search for all; paths are not made.
    """
    nodes = range(len(problem.ground.network))
    used = choose_engine(engine, moves=len(problem.ground.network.head))
    tables = make_tables(problem, nodes, engine=used)
    chains = _run(problem, tables, len(nodes), plain=used == "plain")
    costs = np.full(len(nodes), np.inf)
    for first, last in itertools.pairwise(chains.first):
        step = chains.step[first]
        if last - first == 1:
            node = problem.retreats[-1 - step].state.grip
        else:
            node = int(problem.steps.arrays.head[step])
        costs[node] = chains.cost[first]
    return costs
