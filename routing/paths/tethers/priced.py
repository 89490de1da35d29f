"""Least-cost tethered path with a limit on a third sum, led by a price on that sum.

G. Y. Handler and I. Zang 1980, "A dual algorithm for the constrained shortest path problem",
Networks 10, pages 293-309 (from memory): put a price on the sum, search without the limit, and
move the price until it can say no more. That gives a path within the limit (what is best costs
no more than it) and a bound under which no label that matters comes; the exact search then
looks only between the two.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from routing.graph.reach_graph import Floats
from routing.paths.search.engine import Engine
from routing.paths.search.tradeoff_kernel import Price
from routing.paths.tethers.front import Question, ask, moves_between, on_grid, tethered_question
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.price_bracket import SAME, Bracket, Priced, find_bracket
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_path, read_path
from routing.paths.tethers.steps import TetherGround
from routing.paths.tethers.tables import make_tables

__all__ = ["find_limited_path"]


def find_limited_path(
    problem: TetherProblem,
    used: Floats,
    goals: Sequence[int],
    *,
    limit: float,
    engine: Engine = "auto",
) -> TetheredPath | None:
    """Return the least-cost path to the nearest goal that uses no more than the limit, or None.

    Parameters
    ----------
    problem
        Ground, rules and starts.
    used
        What each move of the ground's network uses up, not negative, shape (m,).
    limit
        Largest sum of it, in its unit.
    """
    question, rounded = tethered_question(problem, used, goals, engine=engine)
    search = _Search(rounded, on_grid(used), tuple(goals), limit, engine)
    found = find_bracket(search.at, limit)
    if found is None or found.is_best:
        return None if found is None else found.best.path
    # Transfers count by their seconds only: kept apart they would keep labels alive.
    criteria = question.criteria._replace(
        transfers=np.zeros_like(question.criteria.transfers),
        start_transfers=np.zeros_like(question.criteria.start_transfers),
    )
    limited: Question = replace(
        question, criteria=criteria, wanted=1, limit=limit, price=search.price(found)
    )
    front = ask(limited, engine=engine)
    if len(front.first) == 1:
        raise AssertionError("a path within the limit is known, so the search must find one")
    return read_path(rounded, front, 0)


@dataclass(frozen=True, slots=True)
class _Search:
    problem: TetherProblem
    used: Floats
    goals: tuple[int, ...]
    limit: float
    engine: Engine

    def price(self, bracket: Bracket[TetheredPath]) -> Price:
        """Return what the exact search need not look beyond."""
        tables = make_tables(self._priced(1.0, bracket.rate), self.goals, engine=self.engine)
        cap = bracket.best.cost + bracket.rate * self.limit
        return Price(tables.arrays.remaining, bracket.rate, cap * (1 + SAME) + SAME)

    def _priced(self, of_cost: float, of_used: float) -> TetherProblem:
        ground, rules = self.problem.ground, self.problem.rules
        network = ground.network
        return TetherProblem(
            ground=TetherGround(
                network=network.with_cost(of_cost * network.cost + of_used * self.used),
                way_m=ground.way_m,
                hooks=ground.hooks,
            ),
            rules=replace(rules, transfer_s=of_cost * rules.transfer_s),
            starts=self.problem.starts,
        )

    def at(self, of_cost: float, of_used: float) -> Priced[TetheredPath] | None:
        """Return the best path at these weights, by its own sums."""
        path = find_tethered_path(self._priced(of_cost, of_used), self.goals, engine=self.engine)
        if path is None:
            return None
        moves = moves_between(self.problem.ground.network, path.nodes)
        cost = float(self.problem.ground.network.cost[moves].sum())
        cost += self.problem.rules.transfer_s * len(path.transfers)
        return Priced(path=path, cost=cost, used=float(self.used[moves].sum()))
