"""The exact search for routes on safety tethers (reel protocol)."""

import functools
import itertools
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import Floats
from routing.paths.arrays import Network
from routing.paths.engine import Engine, choose_engine, compiled
from routing.paths.label_kernel import Chains, Starts, search_labels
from routing.paths.stack import Retreat, TetherRules, TetherState, retreats
from routing.paths.tether_path import TetheredPath, TetherStep, follow_path
from routing.paths.tether_steps import (
    LabelSteps,
    TetherGround,
    TetherGroups,
    TetherTables,
    make_steps,
    make_tables,
)
from routing.paths.tradeoff_kernel import Front

__all__ = [
    "TetherAnswers",
    "TetherProblem",
    "find_tethered_path",
    "find_tethered_paths",
    "least_costs",
    "read_path",
    "start_labels",
]


@dataclass(frozen=True, kw_only=True, eq=False)
class TetherProblem:
    """Ground, rules and the states that a search may start from.

    Several starts are alternatives, for instance which type is hooked on at the hatch.
    """

    ground: TetherGround
    rules: TetherRules
    starts: tuple[TetherState, ...]

    @functools.cached_property
    def groups(self) -> TetherGroups:
        """How the tethers left are packed."""
        return TetherGroups.of_states(self.starts, len(self.rules.tethers))

    @functools.cached_property
    def steps(self) -> LabelSteps:
        """Moves and transfers for the kernel."""
        return make_steps(self.ground, self.rules, self.groups)

    @functools.cached_property
    def retreats(self) -> tuple[Retreat, ...]:
        """Every place from which the search may go forward."""
        network: Network = self.ground.network
        return tuple(
            place
            for state in self.starts
            for place in retreats(state, network, self.rules.transfer_s)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
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
    tables
        From `make_tables` for the same ground, rules and goals; made here by default.
    first_only
        Stop at the first goal found, the one that costs least.

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
    used = choose_engine(engine, moves=len(problem.ground.network.head))
    if tables is None:
        tables = make_tables(problem.ground, problem.rules, goal_nodes, engine=used)
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


def start_labels(problem: TetherProblem, *, plain: bool) -> Starts:
    """Return a label for every place from which the search may go forward."""
    rules, groups = problem.rules, problem.groups
    node = [place.state.grip for place in problem.retreats]
    cost = [place.cost for place in problem.retreats]
    slack = [
        rules.usable_m(place.state.stack[-1].tether) - place.state.payout_m
        for place in problem.retreats
    ]
    left = [groups.pack(place.state) for place in problem.retreats]
    if plain:
        return Starts(node, cost, slack, left)
    return Starts(
        np.array(node, dtype=np.int64),
        np.array(cost, dtype=np.float64),
        np.array(slack, dtype=np.float64),
        np.array(left, dtype=np.int64),
    )


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


def least_costs(problem: TetherProblem, *, engine: Engine = "auto") -> Floats:
    """Return the least cost to every grip under the rules, shape (n,); infinite if none leads.

    One search for all; paths are not made.
    """
    nodes = range(len(problem.ground.network))
    used = choose_engine(engine, moves=len(problem.ground.network.head))
    tables = make_tables(problem.ground, problem.rules, nodes, engine=used)
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
