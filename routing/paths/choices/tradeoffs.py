"""The trade-off set over seconds, transfers and exposure: complete, with named picks."""

import dataclasses
import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import Floats, Indices
from routing.paths.search.arrays import Network, node_flags
from routing.paths.search.engine import Engine
from routing.paths.search.label_kernel import Bounds, Starts, Steps
from routing.paths.search.least_time import least_time_tree
from routing.paths.search.tradeoff_kernel import Criteria, Front
from routing.paths.tethers.front import Question, ask, moves_between, on_grid, tethered_question
from routing.paths.tethers.legs import ByWayOf
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.search import TetherProblem, read_path

__all__ = ["Choice", "TradeOffs", "find_leapfrog_tradeoffs", "find_tethered_tradeoffs"]

_SHRINK = 1 - 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One route that no other beats in all of seconds, transfers and exposure."""

    seconds: float
    """Transfers included."""
    transfers: int
    exposure_s: float
    """Seconds inside slow-down zones."""
    nodes: tuple[int, ...]
    tethered: TetheredPath | ByWayOf | None = None
    """The path on its tethers, under the reel protocol."""

    @property
    def criteria(self) -> tuple[float, float, float]:
        """Seconds, transfers, exposure."""
        return (self.seconds, float(self.transfers), self.exposure_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class TradeOffs:
    """All choices worth considering, in order of seconds; one route for each."""

    choices: tuple[Choice, ...]
    labels: int
    """How many labels the search made."""
    complete: bool = True
    """Whether every route is matched or beaten by a choice; otherwise the best of each are here."""

    @property
    def quickest(self) -> Choice:
        """Least seconds, then fewest transfers, then least exposure."""
        return min(self.choices, key=lambda choice: choice.criteria)

    @property
    def fewest_transfers(self) -> Choice:
        """Fewest transfers, then least seconds."""
        return min(self.choices, key=lambda c: (c.transfers, c.seconds, c.exposure_s))

    @property
    def least_exposure(self) -> Choice:
        """Least exposure, then least seconds."""
        return min(self.choices, key=lambda c: (c.exposure_s, c.seconds, c.transfers))

    @property
    def balanced(self) -> Choice:
        """The choice nearest to having the best of everything at once.

        Each criterion is scaled so that its best value in the set is 0 and its
        worst 1 (one that does not vary counts 0); nearest is the least straight
        distance to (0, 0, 0), of equal ones the quickest.
        """
        columns = list(zip(*(choice.criteria for choice in self.choices), strict=True))
        lows = [min(column) for column in columns]
        spans = [max(column) - low for column, low in zip(columns, lows, strict=True)]

        def distance(choice: Choice) -> float:
            return math.hypot(
                *(
                    (value - low) / span if span > 0 else 0.0
                    for value, low, span in zip(choice.criteria, lows, spans, strict=True)
                )
            )

        return min(self.choices, key=lambda choice: (round(distance(choice), 12), choice.criteria))


def find_tethered_tradeoffs(
    problem: TetherProblem, exposure_s: Floats, goals: Iterable[int], *, engine: Engine = "auto"
) -> TradeOffs:
    """Return the complete trade-off set to the nearest goals under the reel protocol.

    Complete: every route allowed by the rules is matched or beaten in all three
    criteria by a choice in the set (compared on a grid of about a microsecond a
    move). Empty when no route is allowed.

    Parameters
    ----------
    exposure_s
        Seconds of each move of the network inside slow-down zones, shape (m,) [s].
    """
    question, rounded = tethered_question(problem, exposure_s, goals, engine=engine)
    front = ask(question, engine=engine)
    network, rules = problem.ground.network, problem.rules
    choices = []
    for number in range(len(front.first) - 1):
        path = read_path(rounded, front, number)
        moves = moves_between(network, path.nodes)
        seconds = float(network.cost[moves].sum()) + rules.transfer_s * len(path.transfers)
        choices.append(
            Choice(
                seconds=seconds,
                transfers=len(path.transfers),
                exposure_s=float(exposure_s[moves].sum()),
                nodes=path.nodes,
                tethered=dataclasses.replace(path, cost=seconds),
            )
        )
    return TradeOffs(choices=tuple(choices), labels=front.labels)


def find_leapfrog_tradeoffs(
    network: Network,
    criteria: tuple[Indices, Floats],
    sources: Mapping[int, float],
    goals: Iterable[int],
    *,
    engine: Engine = "auto",
) -> TradeOffs:
    """Return the complete trade-off set under the leapfrog protocol, or without tethers.

    Parameters
    ----------
    network
        Allowed moves with the seconds of their transfers in their cost.
    criteria
        Transfers and exposure [s] of each move of the network, each of shape (m,).
    """
    transfers, exposure_s = criteria
    question = _leapfrog_question(network, criteria, sources, goals, engine=engine)
    front = ask(question, engine=engine)
    choices = []
    for nodes in _forward_nodes(network, front, sorted(sources)):
        moves = moves_between(network, nodes)
        choices.append(
            Choice(
                seconds=sources[nodes[0]] + float(network.cost[moves].sum()),
                transfers=int(transfers[moves].sum()),
                exposure_s=float(exposure_s[moves].sum()),
                nodes=nodes,
            )
        )
    return TradeOffs(choices=tuple(choices), labels=front.labels)


def _forward_nodes(network: Network, front: Front, starts: list[int]) -> list[tuple[int, ...]]:
    return [
        (
            starts[-1 - front.step[last - 1]],
            *(int(network.head[step]) for step in reversed(front.step[first : last - 1])),
        )
        for first, last in itertools.pairwise(front.first)
    ]


def _leapfrog_question(
    network: Network,
    criteria: tuple[Indices, Floats],
    sources: Mapping[int, float],
    goals: Iterable[int],
    *,
    engine: Engine,
) -> Question:
    transfers, exposure = criteria[0], on_grid(criteria[1])
    seconds = on_grid(network.cost)
    goal_nodes = sorted(set(goals))

    def remaining(cost: Floats) -> Floats:
        backward = network.with_cost(cost).reverse
        return least_time_tree(backward, dict.fromkeys(goal_nodes, 0.0), engine=engine).cost

    nodes, moves, ordered = len(network), len(network.head), sorted(sources)
    nothing = np.zeros(moves, dtype=np.int64)
    fewest = remaining(transfers.astype(np.float64))
    return Question(
        steps=Steps(
            network.indptr,
            network.head,
            seconds,
            np.zeros(moves),
            np.zeros(moves),
            nothing,
            nothing,
        ),
        criteria=Criteria(
            np.ascontiguousarray(transfers, dtype=np.int64),
            exposure,
            np.where(np.isfinite(fewest), fewest, 0).astype(np.int64),
            remaining(exposure) * _SHRINK,
            np.zeros(len(ordered), dtype=np.int64),
            np.zeros(len(ordered)),
        ),
        bounds=Bounds(
            np.zeros(nodes),
            remaining(seconds) * _SHRINK,
            network.terminal,
            node_flags(nodes, goal_nodes),
        ),
        starts=Starts(
            np.array(ordered, dtype=np.int64),
            on_grid(np.array([sources[node] for node in ordered], dtype=np.float64)),
            np.zeros(len(ordered)),
            np.zeros(len(ordered), dtype=np.int64),
        ),
    )
