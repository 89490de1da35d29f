"""A route on safety tethers over several legs: the least-time walk by way of all sites."""

from collections.abc import Collection, Sequence
from typing import Final

import numpy as np

from routing.errors import RoutingError
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_path
from routing.paths.tethers.stack import TetherRules, TetherState
from routing.paths.tethers.steps import TetherGround
from structures.frozen import frozen

__all__ = ["MOST_LABELS", "ByWayOf", "SearchGaveUpError", "by_way_of", "follow_legs"]

MOST_LABELS: Final = 400_000
"""Labels that the search over all legs makes before it gives up."""


class SearchGaveUpError(RoutingError):
    """A search stopped before it could tell whether there is a way."""

    def __init__(self, labels: int) -> None:
        super().__init__(
            f"after {labels} labels it is not known whether a way by all via sites keeps the "
            "tether rules; ask for the legs one by one, or with fewer via sites"
        )


@frozen(kw_only=True)
class ByWayOf:
    """A walk by way of all sites."""

    paths: tuple[TetheredPath, ...]
    """One after the other."""
    via_at: tuple[int, ...]
    """Where each via site is met: place in the nodes of the paths joined together."""
    cost: float
    unproven: float = 0.0
    """By at most this much another walk may cost less; 0 where this one is proven best."""

    @property
    def nodes(self) -> tuple[int, ...]:
        """The nodes of all paths; where one begins the last one ends."""
        rest = (node for path in self.paths[1:] for node in path.nodes[1:])
        return (*self.paths[0].nodes, *rest)

    @property
    def state(self) -> TetherState:
        """What the next route starts from."""
        return self.paths[-1].state


def by_way_of(
    ground: TetherGround,
    rules: TetherRules,
    starts: tuple[TetherState, ...],
    stops: Sequence[Collection[int]],
    *,
    most_labels: int = MOST_LABELS,
) -> ByWayOf | None:
    """Return the least-cost walk from a start to the last stop by way of the others, or None.

    Parameters
    ----------
    stops
        Grips of each via site in order, and of the goal.
    most_labels
        Labels that the search over all legs may make. After so many the walk of leg
        after leg is given, with what it may be too dear by.

    Raises
    ------
    SearchGaveUpError
        There is no walk of leg after leg, and the search over all legs gave up.
    """
    legs = follow_legs(ground, rules, starts, stops)
    known: ByWayOf | None = None
    if len(legs) == len(stops):
        ends = np.cumsum([len(path.nodes) - 1 for path in legs]).tolist()
        cost = sum(path.cost for path in legs)
        known = ByWayOf(paths=tuple(legs), via_at=tuple(ends[:-1]), cost=cost)
        if len(stops) == 1:
            return known
    problem = TetherProblem(ground=ground, rules=rules, starts=starts)
    if known is None and _cannot_be_reached(problem, stops[len(legs) :]):
        return None
    from routing.paths.tethers.via_search import find_via_path

    upper = float("inf") if known is None else known.cost
    found = find_via_path(problem, stops[:-1], stops[-1], upper=upper, most_labels=most_labels)
    if found.path is not None:
        return ByWayOf(paths=(found.path,), via_at=found.via_at, cost=found.path.cost)
    if found.proven:
        return known
    if known is None:
        raise SearchGaveUpError(found.labels)
    return ByWayOf(
        paths=known.paths, via_at=known.via_at, cost=known.cost, unproven=known.cost - found.lower
    )


def _cannot_be_reached(problem: TetherProblem, stops: Sequence[Collection[int]]) -> bool:
    """Tell whether nobody gets to one of the stops from the start, whatever else is done.

    What is laid on the way helps nobody to get farther, but a socket that is a via
    site may be passed through; so all sockets may be here.
    """
    ground = problem.ground
    passable = np.zeros(len(ground.network), dtype=np.int8)
    relaxed = TetherProblem(
        ground=TetherGround(
            network=ground.network.with_terminal(passable), way_m=ground.way_m, hooks=ground.hooks
        ),
        rules=problem.rules,
        starts=problem.starts,
    )
    return any(find_tethered_path(relaxed, sorted(stop)) is None for stop in stops)


def follow_legs(
    ground: TetherGround,
    rules: TetherRules,
    starts: tuple[TetherState, ...],
    stops: Sequence[Collection[int]],
) -> list[TetheredPath]:
    """Return the best path of each leg from where the one before ends, up to the first without.

    Leg by leg is not the best over all legs: `via_search` finds that.

    Parameters
    ----------
    ground, rules
        The network and what the kit allows on it.
    starts
        Tether states that the first leg may begin in.
    stops
        Nodes at which each leg may end.

    Returns
    -------
    list
        Fewer than there are stops where a leg has no path.
    """
    paths: list[TetheredPath] = []
    for stop in stops:
        problem = TetherProblem(ground=ground, rules=rules, starts=starts)
        path = find_tethered_path(problem, sorted(stop))
        if path is None:
            break
        paths.append(path)
        starts = (path.state,)
    return paths
