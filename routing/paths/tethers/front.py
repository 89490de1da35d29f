"""Runs of the trade-off kernel: what it is asked, and how a tether problem asks it."""

import dataclasses
import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Network
from routing.paths.search.engine import Engine, choose_engine, compiled
from routing.paths.search.label_kernel import Bounds, Starts, Steps
from routing.paths.search.least_time import least_time_tree
from routing.paths.search.tradeoff_kernel import Criteria, Front, Price, search_front
from routing.paths.tethers.problem import TetherProblem, start_labels
from routing.paths.tethers.steps import TetherGround
from routing.paths.tethers.tables import make_tables

__all__ = ["GRID", "Question", "ask", "moves_between", "on_grid", "tethered_question"]

GRID = 2.0**-20
"""Numbers of a move are rounded to this (about a millionth) for comparing.

Sums are then exact, so that two routes that differ by rounding alone are one choice.
"""

_SHRINK = 1 - 1e-12


@dataclass(frozen=True, kw_only=True, eq=False)
class Question:
    """All that one run of the trade-off kernel reads, in arrays."""

    steps: Steps
    criteria: Criteria
    bounds: Bounds
    starts: Starts
    guard: int = 0
    wanted: int = int(np.iinfo(np.int64).max)
    """How many choices to look for; all by default."""
    limit: float = float("inf")
    """Largest sum of the third criterion."""
    price: Price | None = None
    """Drops labels that cannot be among the answers; for a question of one choice only."""


def ask(question: Question, *, engine: Engine = "auto") -> Front:
    """Run the kernel in the engine chosen."""
    plain = choose_engine(engine, moves=len(question.steps.head)) == "plain"
    scalars = (question.guard, question.wanted, question.limit)
    price = question.price or Price(question.bounds.remaining, 0.0, float("inf"))
    if plain:
        steps = Steps(*(array.tolist() for array in question.steps))
        criteria = Criteria(*(array.tolist() for array in question.criteria))
        bounds = Bounds(*(array.tolist() for array in question.bounds))
        starts = Starts(*(array.tolist() for array in question.starts))
        price = price._replace(need=price.need.tolist())
        return Front(*search_front(steps, criteria, bounds, price, starts, *scalars))
    kernel = compiled(search_front)
    return Front(
        *kernel(
            question.steps, question.criteria, question.bounds, price, question.starts, *scalars
        )
    )


def on_grid(values: Floats) -> Floats:
    """Return values rounded to the grid, in their shape."""
    rounded: Floats = np.round(values / GRID) * GRID
    return rounded


def moves_between(network: Network, nodes: Sequence[int]) -> Indices:
    """Return the moves along these nodes, shape (k,); standing still (a transfer) is no move.

    Raises
    ------
    LookupError
        Two nodes in a row have no move between them.
    """
    moves = []
    for tail, head in itertools.pairwise(nodes):
        if tail == head:
            continue
        move = network.find_move(tail, head)
        if move is None:
            raise LookupError(f"the network has no move from {tail} to {head}")
        moves.append(move)
    return np.array(moves, dtype=np.int64)


def tethered_question(
    problem: TetherProblem, third: Floats, goals: Iterable[int], *, engine: Engine = "auto"
) -> tuple[Question, TetherProblem]:
    """Return the question of a tether problem, and the problem on the grid that it is about.

    Parameters
    ----------
    third
        The third criterion of each move of the network, shape (m,); the second
        is transfers.
    """
    third = on_grid(third)
    ground, rules = problem.ground, problem.rules
    rounded = TetherProblem(
        ground=TetherGround(
            network=ground.network.with_cost(on_grid(ground.network.cost)),
            way_m=ground.way_m,
            hooks=ground.hooks,
        ),
        rules=dataclasses.replace(rules, transfer_s=round(rules.transfer_s / GRID) * GRID),
        starts=problem.starts,
    )
    network, steps = rounded.ground.network, rounded.steps
    goal_nodes = sorted(set(goals))
    tables = make_tables(rounded, goal_nodes, engine=engine)
    backward = network.with_cost(third).reverse
    least = least_time_tree(backward, dict.fromkeys(goal_nodes, 0.0), engine=engine).cost
    # Transfers come after the moves in `move` as -1; give them a zero to read.
    third_or_none = np.append(third, 0.0)
    question = Question(
        steps=steps.arrays,
        criteria=Criteria(
            (steps.move < 0).astype(np.int64),
            third_or_none[steps.move],
            np.zeros(len(network), dtype=np.int64),
            least * _SHRINK,
            np.array([len(place.pops) for place in rounded.retreats], dtype=np.int64),
            np.array(
                [third[moves_between(network, place.grips)].sum() for place in rounded.retreats],
                dtype=np.float64,
            ),
        ),
        bounds=tables.arrays,
        starts=start_labels(rounded, plain=False),
        guard=rounded.groups.guard,
    )
    return question, rounded
