"""Seconds home on reels: back along every lay, or with tethers left where that is closed."""

from collections.abc import Mapping
from functools import cached_property
from itertools import pairwise
from math import fsum
from typing import Final

import numpy as np

from routing.graph.sites import site_grips
from routing.paths.home.ground import HomeGround
from routing.paths.search.engine import Engine
from routing.paths.tethers.outfit import start_states
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_paths, least_cost
from routing.paths.tethers.stack import TetherState
from routing.paths.tethers.tables import TetherTables, make_tables
from routing.studies.closures.answers import Trip
from routing.studies.closures.ground import Answer
from routing.studies.closures.remaining import Remaining
from structures.elements import Hatch

__all__ = ["ReelHomes"]

_SHRINK: Final = 1 - 1e-9
"""Bounds are taken down by this much, far more than rounding can have added."""


class ReelHomes:
    """Seconds home of people on reels.

    **Recovered**, wherever what is closed was closed before: home is back along
    every lay. Whoever goes out by a best way never goes back along it, so the lays
    together are the way itself, wherever lines are hooked on.

    **Left**, for who is out when it closes: the least-time way home, first back along
    the lays as far as they are open and that pays, then forward, with lines left
    outside (`routing.paths.home.homeward`). Lines stay where they lie, over what is
    closed too.

    Parameters
    ----------
    home
        Where home is, tethers recovered, on a graph with everything open that closures
        will close.
    ways
        The best way of each trip and where it begins, with nothing closed.
    engine
        As for every search.
    out
        Of the ground on which people went out, if it is another one, with the same grips.
    """

    def __init__(
        self,
        home: HomeGround,
        ways: Mapping[Trip, tuple[str, Answer]],
        engine: Engine,
        out: "ReelHomes | None" = None,
    ) -> None:
        self.home = home
        self._out = out
        self._ways = dict(ways)
        self._engine = engine
        self._known: dict[tuple[int, int], float] = {}
        self._last: tuple[frozenset[str], set[int], set[int], TetherTables] | None = None

    def begins_at_hatch(self, answer: Answer) -> bool:
        """Tell whether a way begins at a hatch, on its own tether point."""
        hatch_id = self.home.hatches.get(int(answer.grips[0]))
        if hatch_id is None:
            return False
        return self.home.graph.structure.find(hatch_id, (Hatch,)).tether_point == answer.chain[0]

    def seconds(self, answer: Answer) -> float:
        """Return the seconds home from the end of a way, infinite where a move back is missing.

        Every tether is recovered; from no hold of the way does it take longer.
        """
        back = [self._move_s(*move) for move in pairwise(answer.grips[::-1].tolist())]
        return fsum([*back, *[self.home.outfit.rules.transfer_s] * answer.transfers])

    def caught_s(self, trip: Trip, closed: frozenset[str]) -> float | None:
        """Return the seconds home, tethers left, of who is at the goal when things close.

        Infinite where there is no way home; None where it is not known how their lines lie.

        Parameters
        ----------
        closed
            Elements out of use. A hatch of which the tether point is closed is no home.
        """
        if trip not in self._number:
            return None
        if self._last is None or self._last[0] != closed:
            self._last = (closed, *self._under(closed))
        _, grips, points, tables = self._last
        problem = self._alone[self._number[trip]].without(grips, points)
        return least_cost(problem, tables, engine=self._engine)

    def holds(self, trip: Trip) -> bool:
        """Tell whether all tethers of who is at a goal may be hooked on here as they are.

        The first one is left out: what blocks it blocks the way out.
        """
        state, hooks = self.states.get(trip), self.home.ground.hooks
        if state is None:
            return False
        here = {*zip(hooks.point.tolist(), hooks.grip.tolist(), strict=True)}
        return all((stay.point, stay.grips[0]) in here for stay in state.stack[1:])

    def _under(self, closed: frozenset[str]) -> tuple[set[int], set[int], TetherTables]:
        """Return the grips and tether points that nobody uses then, and what remains at least.

        Bounds with nothing closed know more of tethers, these of what is closed.
        """
        structure, on = self.home.graph.structure, self.home.graph.grips.of_element
        gone = closed | {*self.home.graph.situation.closed}
        no_home = {one.id for one in structure.hatches if one.tether_point in gone}
        points = {number for number, one in enumerate(self.home.outfit.points) if one.id in closed}
        grips = {grip for one in closed | no_home for grip in on.get(one, ())}
        goals = np.array(self._tables.goals, dtype=np.int64)
        least_s, least_m = (
            least.without(sorted(grips), goals) * _SHRINK for least in (self._seconds, self._metres)
        )
        transfer_s = self.home.outfit.rules.transfer_s
        return grips, points, self._tables.without(grips).raised(least_s, least_m, transfer_s)

    def _move_s(self, tail: int, head: int) -> float:
        if (tail, head) not in self._known:
            network = self.home.ground.network
            move = network.find_move(tail, head)
            self._known[tail, head] = float("inf") if move is None else float(network.cost[move])
        return self._known[tail, head]

    @cached_property
    def _seconds(self) -> Remaining:
        return Remaining(self.home.ground.network, engine=self._engine)

    @cached_property
    def _metres(self) -> Remaining:
        return Remaining(self.home.ground.lengths, engine=self._engine)

    @cached_property
    def states(self) -> dict[Trip, TetherState]:
        """How everybody hangs at the end of their way; trips of other ways out are left out."""
        if self._out is not None:
            if self.home.outfit.points != self._out.home.outfit.points:
                raise AssertionError("zones take no tether points away")
            return self._out.states
        states: dict[Trip, TetherState] = {}
        for start in sorted({start for start, _ in self._ways.values()}):
            here = {trip: answer for trip, (one, answer) in self._ways.items() if one == start}
            place = site_grips(self.home.graph, start)
            first = start_states(self.home.graph, self.home.outfit, place)
            if not first:
                continue
            problem = TetherProblem(
                ground=self.home.ground, rules=self.home.outfit.rules, starts=first
            )
            for trip, answer in here.items():
                goals = site_grips(self.home.graph, trip.goal).grips.tolist()
                found = find_tethered_paths(problem, goals, first_only=True, engine=self._engine)
                path = next(iter(found.paths.values()), None)
                if path is not None and [*path.nodes] == answer.grips.tolist():
                    states[trip] = path.state
        return states

    @cached_property
    def _number(self) -> dict[Trip, int]:
        return {trip: number for number, trip in enumerate(self.states)}

    @cached_property
    def _every(self) -> TetherProblem:
        """All who are at a goal; their steps and bounds are made once."""
        outfit = self.home.outfit
        return TetherProblem(
            ground=self.home.ground, rules=outfit.rules, starts=tuple(self.states.values())
        )

    @cached_property
    def _alone(self) -> list[TetherProblem]:
        return [self._every.only(number) for number in range(len(self.states))]

    @cached_property
    def _tables(self) -> TetherTables:
        return make_tables(self._every, list(self.home.hatches), engine=self._engine)
