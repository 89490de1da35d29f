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
from routing.paths.engine import Engine
from routing.paths.front import Question, ask, moves_between, on_grid, tethered_question
from routing.paths.tether_path import TetheredPath
from routing.paths.tether_problem import TetherProblem
from routing.paths.tether_search import find_tethered_path, read_path
from routing.paths.tether_steps import TetherGround
from routing.paths.tether_tables import make_tables
from routing.paths.tradeoff_kernel import Price

__all__ = ["find_limited_path"]

_MOST_PRICES = 12
"""Prices tried at most; the search is exact with any."""

_SAME = 1e-9
"""Sums that differ by this part are equal but for rounding."""


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
    found = search.bracket()
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A path at some price, by its own two sums."""

    path: TetheredPath
    cost: float
    used: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Bracket:
    """What the prices say: a path within the limit, and the last price."""

    best: _Found
    rate: float
    is_best: bool
    """Whether nothing within the limit can cost less."""


@dataclass(frozen=True, slots=True)
class _Search:
    problem: TetherProblem
    used: Floats
    goals: tuple[int, ...]
    limit: float
    engine: Engine

    def bracket(self) -> _Bracket | None:
        """Move the price until it can say no more; None when nothing is within the limit."""
        cheap = self._at(1.0, 0.0)
        if cheap is None:
            return None
        if cheap.used <= self.limit:
            return _Bracket(best=cheap, rate=0.0, is_best=True)
        within = self._at(0.0, 1.0)
        if within is None or within.used > self.limit:
            return None
        rate, is_settled = 0.0, False
        for _ in range(_MOST_PRICES):
            rate = (within.cost - cheap.cost) / (cheap.used - within.used)
            found = self._at(1.0, rate)
            if found is None:
                raise AssertionError("a price shuts no way")
            known = within.cost + rate * within.used
            if found.cost + rate * found.used >= known * (1 - _SAME):
                is_settled = True
                break
            if found.used <= self.limit:
                within = found
            else:
                cheap = found
        # What a price that leads no further proves: nothing within the limit costs less than this.
        least = within.cost + rate * (within.used - self.limit)
        is_best = is_settled and within.cost <= least * (1 + _SAME)
        return _Bracket(best=within, rate=rate, is_best=is_best)

    def price(self, bracket: _Bracket) -> Price:
        """Return what the exact search need not look beyond."""
        tables = make_tables(self._priced(1.0, bracket.rate), self.goals, engine=self.engine)
        cap = bracket.best.cost + bracket.rate * self.limit
        return Price(tables.arrays.remaining, bracket.rate, cap * (1 + _SAME) + _SAME)

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

    def _at(self, of_cost: float, of_used: float) -> _Found | None:
        path = find_tethered_path(self._priced(of_cost, of_used), self.goals, engine=self.engine)
        if path is None:
            return None
        moves = moves_between(self.problem.ground.network, path.nodes)
        cost = float(self.problem.ground.network.cost[moves].sum())
        cost += self.problem.rules.transfer_s * len(path.transfers)
        return _Found(path=path, cost=cost, used=float(self.used[moves].sum()))
