"""Lower bounds for the tether search, by how many transfers are needed at least.

Whoever has too little line left for the way to the goal must transfer first, and
at a place from which the goal is within the longest tether; with less line still,
twice; and so on. For each number of transfers two backward searches say which line
is enough for it, and what it then costs at least.
"""

import functools
from collections.abc import Iterable

import numpy as np

from routing.graph.reach_graph import Floats
from routing.paths.arrays import node_flags
from routing.paths.engine import Engine
from routing.paths.label_kernel import Bounds
from routing.paths.least_time import least_time_tree, tree_from
from routing.paths.tether_problem import TetherProblem
from structures.frozen import frozen

__all__ = ["TetherTables", "make_tables"]

_SHRINK = 1 - 1e-12
"""Bounds are taken down by this much, far more than rounding can have added."""

_MOST_LEVELS = 8
"""Transfers that are told apart; more are treated as so many and one more."""


@frozen(kw_only=True, eq=False)
class TetherTables:
    """What backward searches say about every grip for one set of goals."""

    goals: tuple[int, ...]
    arrays: Bounds

    @functools.cached_property
    def lists(self) -> Bounds:
        """The tables for the plain engine."""
        return Bounds(*(array.tolist() for array in self.arrays))


def make_tables(
    problem: TetherProblem, goals: Iterable[int], *, engine: Engine = "auto"
) -> TetherTables:
    """Search backwards from the goals: line and seconds that must remain at least.

    As many transfers are told apart as one of the starts needs.

    Notes
    -----
    Level 0 is without transfers. A place for a transfer has the level for which
    the longest tether to be had there is enough. Level k + 1 begins at the places
    of level k: what costs least from there, with a transfer before. Places of higher
    levels need not be looked at, because their own cost comes from such a place.
    """
    ground, rules = problem.ground, problem.rules
    network, hooks = ground.network, ground.hooks
    goal_nodes = tuple(sorted(set(goals)))
    at_goals = dict.fromkeys(goal_nodes, 0.0)
    longest = max(rules.usable_m(tether) for tether in range(len(rules.tethers)))
    backward, backward_m = network.reverse, ground.lengths.reverse
    cost = least_time_tree(backward, at_goals, engine=engine).cost
    # No label has more line than the longest tether: longer ways need not be known.
    slack = least_time_tree(backward_m, at_goals, limit=longest, engine=engine).cost
    slacks, costs = [slack * _SHRINK], [cost * _SHRINK]
    renewed = _most_renewed(problem) - hooks.distance_m
    done = np.zeros(len(hooks.grip), dtype=bool)
    new = renewed >= slacks[-1][hooks.grip]
    while new.any() and len(slacks) < _MOST_LEVELS and not _is_enough(problem, slacks[-1]):
        done |= new
        with_transfer = costs[-1][hooks.grip] + rules.transfer_s
        cost = tree_from(backward, hooks.grip[new], with_transfer[new], engine=engine)
        slack = tree_from(
            backward_m, hooks.grip[done], hooks.distance_m[done], limit=longest, engine=engine
        )
        costs.append(cost * _SHRINK)
        slacks.append(np.minimum(slacks[-1], slack * _SHRINK))
        new = ~done & (renewed >= slacks[-1][hooks.grip])
    if new.any():
        # More transfers than were told apart may lead on, with whatever line. How much line
        # the next place for one asks for is not worth a search: measured, 2 % fewer labels.
        slacks.append(np.zeros(len(network)))
        costs.append(costs[-1] + rules.transfer_s)
    return TetherTables(
        goals=goal_nodes,
        arrays=Bounds(
            slack=np.concatenate(slacks),
            remaining=np.concatenate(costs),
            terminal=network.terminal,
            goal=node_flags(len(network), goal_nodes),
        ),
    )


def _most_renewed(problem: TetherProblem) -> Floats:
    """Return the largest payout that a tether to be had at each hook place allows [m]."""
    rules, groups = problem.rules, problem.groups
    points = problem.ground.hooks.point
    most = np.full(len(points), -np.inf)
    for tether, low in enumerate(groups.carried):
        if groups.mask(low):
            np.maximum(most, rules.usable_m(tether), out=most)
    for (point, tether), _ in groups.staged:
        here = points == point
        most[here] = np.maximum(most[here], rules.usable_m(tether))
    return most


def _is_enough(problem: TetherProblem, slack: Floats) -> bool:
    rules = problem.rules
    return any(
        rules.usable_m(state.stack[-1].tether) - state.payout_m >= slack[state.grip]
        for state in problem.starts
    )
