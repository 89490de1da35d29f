"""Ways of one person to a partner, and of both home: many at a time over common bounds."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from math import fsum, inf
from typing import Final

from routing.graph.reach_graph import Floats
from routing.outings.plan_file.records import OutingPerson
from routing.outings.translations import Ground, kit_of
from routing.paths.course import course_of
from routing.paths.home.homeward import (
    HomeGround,
    LeavingHomes,
    NoWayHomeError,
    WayHome,
    home_from,
)
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.anchored_states import states_along
from routing.paths.tethers.legs import SearchGaveUpError, by_way_of
from routing.paths.tethers.log import log_tethers
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_path
from routing.paths.tethers.stack import Stay, TetherState
from routing.paths.tethers.tables import make_tables

__all__ = ["FetchingWays", "There", "Where"]

_MOST_LABELS: Final = 40_000
"""Labels that a search over both parts of a way may make: a second or so."""

Where = TetherState | int
"""Of a person on reels, or the grip of one under leapfrog."""


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """The rescuer at the partner."""

    seconds: float
    where: Where


class FetchingWays:
    """Ways under conditions: alone and without a load to partners, and from there home in tow.

    Parameters
    ----------
    ground
        Reach graphs of the outing.
    person
        The rescuer.
    when
        Conditions that may be in force.
    asked
        From where to which grips ways will be asked for.

    Raises
    ------
    NoWayHomeError
        The rescuer's start is no hatch.
    """

    def __init__(
        self,
        ground: Ground,
        person: OutingPerson,
        when: tuple[str, ...],
        asked: Mapping[Where, Iterable[int]],
    ) -> None:
        kit, reel = kit_of(person, ground.limits), person.protocol == "reel"
        self._asked = {where: tuple(dict.fromkeys(goals)) for where, goals in asked.items()}
        self._alone, self._tow = (
            HomeGround(
                graph=graph, protocol=person.protocol, kit=kit, hatch=person.start, leave=leave
            )
            for graph, leave in (
                (ground.graph(person.id, None, when), False),
                (ground.tow_graph(person.id, when), reel),
            )
        )

    @property
    def tow(self) -> HomeGround:
        """Where home is with the partner in tow."""
        return self._tow

    def there(self, where: Where, goal: int) -> There | None:
        """Return the quickest way to one of the grips that were named, None if none leads there."""
        return self._there.get((where, goal))

    @cached_property
    def _there(self) -> dict[tuple[Where, int], There]:
        states = tuple(one for one in self._asked if isinstance(one, TetherState))
        return self._on_reels(states) if states else self._on_short_tethers()

    def _on_reels(self, states: tuple[TetherState, ...]) -> dict[tuple[Where, int], There]:
        """Search with bounds of each goal by itself: one bound for all of them prunes little."""
        on = self._alone
        every = TetherProblem(ground=on.ground, rules=on.outfit.rules, starts=states)
        found: dict[tuple[Where, int], There] = {}
        for goal in sorted({goal for some in self._asked.values() for goal in some}):
            numbers = [i for i, state in enumerate(states) if goal in self._asked[state]]
            tables = make_tables(every.only(*numbers), (goal,))
            for number in numbers:
                path = find_tethered_path(every.only(number), (goal,), tables=tables)
                if path is not None:
                    found[states[number], goal] = There(seconds=path.cost, where=path.state)
        return found

    def _on_short_tethers(self) -> dict[tuple[Where, int], There]:
        found: dict[tuple[Where, int], There] = {}
        for where, goals in self._asked.items():
            cost_s = least_time_tree(self._alone.network, {_grip(where): 0.0}).cost
            for goal in goals:
                if cost_s[goal] < inf:
                    found[where, goal] = There(seconds=float(cost_s[goal]), where=goal)
        return found

    def home(self, where: Where) -> WayHome | None:
        """Return the quickest way home in tow from the end of one of the ways, None if none."""
        if where not in self._home:
            self._home[where] = self._search_home(where)
        return self._home[where]

    @cached_property
    def _home(self) -> dict[Where, WayHome | None]:
        return {}

    def _search_home(self, where: Where) -> WayHome | None:
        if isinstance(where, TetherState) and where in self._homes[1]:
            homes, numbers = self._homes
            return homes.way(numbers[where])
        try:
            return home_from(self._tow, where)
        except NoWayHomeError:
            return None

    def wide_there(self, where: Where, goal: int) -> There | None:
        """Return a way to a partner from which the rescuer's tethers reach home in tow.

        The quickest way to the partner may leave the rescuer on tethers that do not. This one is
        the first part of the quickest way to the partner and home that two people could go all
        along: slower than one goes, but what two can go one can. None where none is known.
        """
        if not isinstance(where, TetherState):
            return None
        if (where, goal) not in self._wide:
            self._wide[where, goal] = self._search_wide(where, goal)
        return self._wide[where, goal]

    @cached_property
    def _wide(self) -> dict[tuple[Where, int], There | None]:
        return {}

    def _search_wide(self, where: TetherState, goal: int) -> There | None:
        on = self._tow
        stops = [[goal], list(on.hatches)]
        try:
            found = by_way_of(on.ground, on.outfit.rules, (where,), stops, most_labels=_MOST_LABELS)
        except SearchGaveUpError:
            return None
        if found is None:
            return None
        anchorings = log_tethers(on.outfit, found.paths, start=where)
        course = replace(course_of(on.graph, found.nodes), anchorings=anchorings)
        there = found.via_at[0]
        seconds = [float(on.graph.moves.seconds[move]) for move in course.moves[:there]]
        seconds += [one.seconds for one in anchorings if one.at <= there]
        state = states_along(course, on.outfit, where)[there][-1]
        return There(seconds=fsum(seconds), where=state)

    def is_cut_off(self, goal: int) -> bool:
        """Tell whether from a grip not even the hands of two people get home, tethers apart."""
        if self._tow.protocol != "reel":
            return not self._tow.tree.cost[goal] < inf
        return not self._free_s[goal] < inf

    @cached_property
    def _free_s(self) -> Floats:
        on = self._tow
        return least_time_tree(on.ground.network.reverse, dict.fromkeys(on.hatches, 0.0)).cost

    def tow_along(self, where: Where, grips: Sequence[int]) -> There | None:
        """Return how long two people take over grips in a row, and what the rescuer then hangs on.

        The rescuer's line comes in where that is back along its lay, else it gets longer; it is
        not changed for another. None where a hand-over does not go in tow or the line runs out.
        """
        seconds: list[float] = []
        for tail, head in pairwise(grips):
            network = self._network
            move = network.find_move(tail, head)
            if move is None or network.terminal[head]:
                return None
            seconds.append(float(network.cost[move]))
            if isinstance(where, TetherState):
                stay = _followed(where.stack[-1], head, float(self._tow.ground.way_m[move]))
                if stay.payout_m[-1] > self._tow.outfit.rules.usable_m(stay.tether):
                    return None
                where = replace(where, stack=(*where.stack[:-1], stay))
            else:
                where = head
        return There(seconds=fsum(seconds), where=where)

    @property
    def _network(self) -> Network:
        return self._tow.ground.network if self._tow.protocol == "reel" else self._tow.network

    @cached_property
    def _homes(self) -> tuple[LeavingHomes, dict[TetherState, int]]:
        ends = (one.where for one in self._there.values())
        states = dict.fromkeys(one for one in ends if isinstance(one, TetherState))
        return LeavingHomes(self._tow, tuple(states)), {one: i for i, one in enumerate(states)}


def _followed(stay: Stay, grip: int, way_m: float) -> Stay:
    """Return a stay after one move more: in along its lay, or out."""
    if len(stay.grips) > 1 and stay.grips[-2] == grip:
        return stay.cut(len(stay.grips) - 1)
    grips, payout_m = (*stay.grips, grip), (*stay.payout_m, stay.payout_m[-1] + way_m)
    return replace(stay, grips=grips, payout_m=payout_m)


def _grip(where: Where) -> int:
    return where.grip if isinstance(where, TetherState) else where
