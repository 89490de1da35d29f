"""Lower bounds for the tether search, by how many transfers are needed at least.

Whoever has too little line left for the way to the goal must transfer first, and
at a place from which the goal is within the longest tether; with less line still,
twice; and so on. For each number of transfers two backward searches say which line
is enough for it, and what it then costs at least.
"""

import functools
import sys
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

import numpy as np

from routing.graph.reach_graph import Flags, Floats, Indices
from routing.paths.search.arrays import Network, node_flags
from routing.paths.search.bound_kernel import spread
from routing.paths.search.engine import Engine, choose_engine, compiled
from routing.paths.search.label_kernel import Bounds
from routing.paths.tethers.problem import TetherProblem
from structures.frozen import frozen

__all__ = ["TetherTables", "make_tables"]

_SHRINK = 1 - 1e-12
"""Seconds and metres of transfers are taken down by this, more than rounding can have added."""

_NO_LIMIT = sys.float_info.max
"""Larger than every finite cost, smaller than an infinite bound."""

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

    def without(self, grips: Collection[int]) -> "TetherTables":
        """Return the tables with no goal to be reached from some grips, so that none is entered.

        What they say about all others stays true: closing only takes ways away.
        """
        count = len(self.arrays.terminal)
        levels = np.arange(len(self.arrays.slack) // count) * count
        at = (levels[:, None] + np.array(sorted(grips), dtype=np.int64)).ravel()
        slack, remaining = np.array(self.arrays.slack), np.array(self.arrays.remaining)
        slack[at] = remaining[at] = np.inf
        return replace(self, arrays=self.arrays._replace(slack=slack, remaining=remaining))

    def raised(self, least_s: Floats, least_m: Floats, transfer_s: float) -> "TetherTables":
        """Return the tables with more that is known to remain, on a ground with less ways.

        Parameters
        ----------
        least_s, least_m
            What remains from every grip without any tether rule, never too much,
            shape (n,) [s] and [m].
        transfer_s
            What a transfer takes at least [s].
        """
        count = len(least_s)
        slack, levels = np.array(self.arrays.slack), len(self.arrays.slack) // count
        slack[:count] = np.maximum(slack[:count], least_m)
        least = least_s + np.arange(levels)[:, None] * transfer_s * _SHRINK
        remaining = np.maximum(self.arrays.remaining, least.ravel())
        return replace(self, arrays=self.arrays._replace(slack=slack, remaining=remaining))


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
    levels need not be looked at, because their own cost comes from such a place. The
    search for line goes on from what the level below knows. The one for cost stops
    when it is exact wherever a level needs less line than the one below, for only
    there is it ever read; elsewhere it says what it was certain of when it stopped.
    """
    ground, rules = problem.ground, problem.rules
    network, hooks, junctions = ground.network, ground.hooks, ground.junctions
    goal_nodes = tuple(sorted(set(goals)))
    at = np.array(goal_nodes, dtype=np.int64)
    longest = max(rules.usable_m(tether) for tether in range(len(rules.tethers)))
    plain = choose_engine(engine, moves=len(network.head)) == "plain"
    seconds = _Backward(junctions.seconds.back, plain=plain)
    metres = _Backward(junctions.metres.back, plain=plain)
    opened = junctions.before[at[network.terminal[at] != 0]].tolist()
    place, distance_m = junctions.before[hooks.grip], hooks.distance_m * _SHRINK
    # No label has more line than the longest tether: longer ways need not be known.
    nearest = [
        metres.lowered(junctions.at_goals(junctions.metres, at), limit=longest, opened=opened)
    ]
    lines = [_within(longest, junctions.everywhere(junctions.metres, nearest[0], at))]
    places: list[Indices] = []
    renewed = _most_renewed(problem) - hooks.distance_m
    done = np.zeros(len(hooks.grip), dtype=bool)
    new = renewed >= lines[0][hooks.grip]
    while new.any() and len(lines) < _MOST_LEVELS and not _is_enough(problem, lines[-1]):
        done |= new
        places.append(place[new])
        nearest.append(_nearer(metres, nearest[-1], place[new], distance_m[new], longest))
        line = _within(longest, junctions.everywhere(junctions.metres, nearest[-1]))
        lines.append(np.minimum(lines[-1], line))
        new = ~done & (renewed >= lines[-1][hooks.grip])
    # Line with which any place for a transfer at all is reached, of whatever level.
    any_line = _nearer(metres, nearest[-1], place[~done], distance_m[~done], longest)
    remaining = seconds.least(
        junctions.at_goals(junctions.seconds, at),
        junctions.ends(np.isfinite(lines[0])),
        opened=opened,
    )
    costs = [junctions.everywhere(junctions.seconds, remaining, at)]
    for here, least, below, line in zip(places, nearest, lines, lines[1:], strict=False):
        with_transfer = np.full(len(junctions.node), np.inf)
        np.minimum.at(with_transfer, here, remaining[here] + rules.transfer_s * _SHRINK)
        # Who needs a transfer more is where less line is enough than the level below asks for,
        # and stays where it is for a level not lower than this.
        wanted = junctions.ends(line < below)
        remaining = seconds.least(with_transfer, wanted, shut=any_line >= least)
        costs.append(junctions.everywhere(junctions.seconds, remaining))
    if new.any():
        # More transfers than were told apart may lead on, with whatever line. How much line
        # the next place for one asks for is not worth a search: measured, 2 % fewer labels.
        lines.append(np.zeros(len(network)))
        costs.append(costs[-1] + rules.transfer_s * _SHRINK)
    return TetherTables(
        goals=goal_nodes,
        arrays=Bounds(
            slack=np.concatenate(lines),
            remaining=np.concatenate(costs),
            terminal=network.terminal,
            goal=node_flags(len(network), goal_nodes),
        ),
    )


class _Backward:
    """Searches on one network for bounds, in either engine."""

    def __init__(self, network: Network, *, plain: bool) -> None:
        self.plain = plain
        self.arcs = network.lists if plain else network.arrays
        self.terminal = network.terminal

    def lowered(
        self,
        known: Floats,
        sources: Sequence[int] | None = None,
        *,
        limit: float,
        opened: Sequence[int] = (),
    ) -> Floats:
        """Return what is known, lowered by what leads on from the sources, shape (k,).

        Parameters
        ----------
        sources
            Where what is known is new; all that are known by default.
        opened
            Terminal nodes that are left nevertheless.
        """
        if sources is None:
            sources = np.flatnonzero(np.isfinite(known)).tolist()
        return self._spread(known, sources, np.ones(len(known), dtype=bool), limit, opened)[0]

    def least(
        self,
        start: Floats,
        wanted: Flags,
        *,
        shut: Flags | None = None,
        opened: Sequence[int] = (),
    ) -> Floats:
        """Return least costs from all finite starts: exact where wanted, never too much elsewhere.

        Parameters
        ----------
        start
            Cost at which each node starts, infinite where none does, shape (k,).
        shut
            Nodes that nobody comes through who is asked about, shape (k,).
        """
        shut = np.zeros(len(start), dtype=bool) if shut is None else shut
        sources = np.flatnonzero(np.isfinite(start) & ~shut).tolist()
        # No cost is less than that of a shut node, so it is not entered.
        known = np.where(shut, -1.0, start)
        costs, certain = self._spread(known, sources, wanted, _NO_LIMIT, opened)
        return np.minimum(np.where(shut, np.inf, costs), certain)

    def _spread(
        self,
        known: Floats,
        sources: Sequence[int],
        wanted: Flags,
        limit: float,
        opened: Sequence[int],
    ) -> tuple[Floats, float]:
        terminal = self.terminal.copy()
        terminal[list(opened)] = 0
        flags, left = wanted.astype(np.int8), int(wanted.sum())
        if self.plain:
            distance = known.tolist()
            arcs = self.arcs._replace(terminal=terminal.tolist())
            certain = spread(arcs, distance, sources, flags.tolist(), left, limit)
            return np.array(distance), certain
        lowered = known.copy()
        arcs = self.arcs._replace(terminal=terminal)
        numbers = np.array(sources, dtype=np.int64)
        return lowered, float(compiled(spread)(arcs, lowered, numbers, flags, left, limit))


def _nearer(
    metres: _Backward, line: Floats, places: Indices, distance_m: Floats, longest: float
) -> Floats:
    """Return what line is enough when these places are good to come to, too, shape (k,) [m]."""
    lowered = line.copy()
    np.minimum.at(lowered, places, distance_m)
    sources = sorted(set(places[lowered[places] < line[places]].tolist()))
    return metres.lowered(lowered, sources, limit=longest)


def _within(longest: float, line: Floats) -> Floats:
    """Return the line that is enough, infinite where no tether has so much, shape (n,) [m]."""
    return np.where(line <= longest, line, np.inf)


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
