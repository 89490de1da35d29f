"""The way home: from a tether state, or from any hold of a course, back to the airlock hatch.

What counts as home depends on whether the tethers are to come along.

**Recovered** (the rule unless told otherwise): the stack is empty but for the tether on the
hatch's tether point, that one reeled in, and every carried tether is carried again. A tether
can be taken up only by going back along its lay, so this way is forced: back along every lay,
taking the earlier tether again at each stay. There is nothing to search. A short cut that
leaves the first line in a loop round the structure is not counted as recovered, though it may
be quicker: the rules never assume that a line comes free by pulling.

**Left** (``leave=True``): the least-time way to the hatch, whatever stays outside: first back
along the lays as far as that pays (or not at all), then forward with the line left and the
tethers still to be had, under all tether rules. It is never longer than the recovering way.

Under leapfrog both tethers come along by themselves: home is the least-time way to the hatch.

Times are those at holds: whoever is between two holds has at most the rest of that hand-over
more. At a hold with a transfer the longer of the times before and after it counts.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from routing.paths.course import Course, course_of, course_seconds
from routing.paths.home.ground import (
    HomeGround,
    NoWayHomeError,
    check_base,
    closed_in,
    lay_blocked,
)
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time
from routing.paths.tethers.anchored_states import states_along
from routing.paths.tethers.log import log_tethers
from routing.paths.tethers.path import TetheredPath, route_home
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_path
from routing.paths.tethers.short_tethers import leapfrog_course
from routing.paths.tethers.stack import LayBlockedError, TetherState
from routing.paths.tethers.tables import make_tables
from structures.elements import Hatch

__all__ = [
    "HoldHome",
    "HomeGround",
    "LeavingHomes",
    "NoWayHomeError",
    "WayHome",
    "home_from",
    "homes_of_states",
    "homeward_table",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class WayHome:
    """A way to the hatch."""

    course: Course
    seconds: float
    """Transfers included [s]."""
    transfers: int
    hatch: str
    left: tuple[str, ...] = ()
    """Tether points at which tethers stay outside, the hatch's own not counted; in stack order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldHome:
    """Time home from one hold of a course."""

    seconds: float | None
    """None where no way leads home [s]."""
    transfers: int | None = None
    left: tuple[str, ...] = ()
    why: str = ""
    """Why no way leads home."""


def home_from(ground: HomeGround, where: TetherState | int) -> WayHome:
    """Return the least-time way home.

    Parameters
    ----------
    where
        Reel: the tether state, in the numbers of ``ground.outfit``. Leapfrog: the grip.

    Raises
    ------
    NoWayHomeError
        No way leads home under the rules.
    ValueError
        The protocol needs a tether state and got a grip, or the other way round.
    """
    if isinstance(where, TetherState) != (ground.protocol == "reel"):
        needed = "a tether state" if ground.protocol == "reel" else "a grip"
        raise ValueError(f"the way home under {ground.protocol} starts from {needed}")
    if not isinstance(where, TetherState):
        return _home_on_short_tethers(ground, where)
    path = _recovering(ground, where) if not ground.leave else _leaving(ground, where)
    return _way_home(ground, where, path)


def homeward_table(ground: HomeGround, course: Course) -> tuple[HoldHome, ...]:
    """Return the time home from each hold of a course, in its order.

    Leapfrog takes one search backwards from the hatch for all holds, and the recovering way on
    reels none: the way home from a hold is the step back and then the way home from the hold
    before. With tethers left the best way on depends on the line left at each hold, so that
    takes a search for each, over common bounds.

    Raises
    ------
    ValueError
        On reels: the course was not found with the ground's kit.
    """
    if ground.protocol == "leapfrog":
        return tuple(_hold_on_short_tethers(ground, grip) for grip in course.grips)
    at_holds = states_along(course, ground.outfit)
    if not ground.leave:
        back_s = _BackSeconds(ground)
        return tuple(_worst([back_s.hold(state) for state in states]) for states in at_holds)
    return _table_leaving(ground, at_holds)


def homes_of_states(ground: HomeGround, states: Sequence[TetherState]) -> tuple[HoldHome, ...]:
    """Return the time home from each of many tether states (reel), in their order.

    The states may be of another graph with the same grips, for instance of the way
    out alone where the ground is that of a way home with a partner in tow.
    """
    if not states:
        return ()
    if ground.leave:
        return _table_leaving(ground, [(state,) for state in states])
    back_s = _BackSeconds(ground)
    return tuple(back_s.hold(state) for state in states)


def _home_on_short_tethers(ground: HomeGround, grip: int) -> WayHome:
    found = least_time(ground.network, {grip: 0.0}, list(ground.hatches))
    if found is None:
        raise NoWayHomeError(closed_in(ground, grip))
    course = leapfrog_course(ground.graph, course_of(ground.graph, found.nodes), ground.rule)
    return WayHome(
        course=course,
        seconds=course_seconds(ground.graph, course),
        transfers=int(ground.rule.transfers[list(course.moves)].sum()),
        hatch=ground.hatches[course.grips[-1]],
    )


def _hold_on_short_tethers(ground: HomeGround, grip: int) -> HoldHome:
    if not np.isfinite(ground.tree.cost[grip]):
        return HoldHome(seconds=None, why=closed_in(ground, grip))
    nodes = ground.tree.path_to(grip)[::-1]
    moves = [_move(ground.network, tail, head) for tail, head in pairwise(nodes)]
    return HoldHome(
        seconds=math.fsum(float(ground.network.cost[move]) for move in moves),
        transfers=int(ground.rule.transfers[ground.network.move[moves]].sum()) if moves else 0,
    )


def _move(network: Network, tail: int, head: int) -> int:
    move = network.find_move(tail, head)
    if move is None:
        raise AssertionError("a path follows moves of its network")
    return move


def _recovering(ground: HomeGround, state: TetherState) -> TetheredPath:
    check_base(ground, state)
    try:
        return route_home(state, ground.ground.network, ground.outfit.rules)
    except LayBlockedError as error:
        raise NoWayHomeError(lay_blocked(ground, error)) from error


def _leaving(ground: HomeGround, state: TetherState) -> TetheredPath:
    problem = TetherProblem(ground=ground.ground, rules=ground.outfit.rules, starts=(state,))
    path = find_tethered_path(problem, list(ground.hatches))
    if path is None:
        raise NoWayHomeError(closed_in(ground, state.grip))
    return path


def _left_outside(ground: HomeGround, path: TetheredPath) -> tuple[str, ...]:
    """Return the points of the stays at the end, but for the first one if it is the hatch's."""
    ids = [ground.outfit.points[stay.point].id for stay in path.state.stack]
    home = ground.graph.structure.find(ground.hatches[path.nodes[-1]], (Hatch,))
    own = home.tether_point
    return tuple(ids[1:] if ids[0] == own else ids)


def _way_home(ground: HomeGround, state: TetherState, path: TetheredPath) -> WayHome:
    graph = ground.graph
    course = replace(
        course_of(graph, path.nodes),
        anchorings=log_tethers(ground.outfit, [path], start=state),
    )
    return WayHome(
        course=course,
        seconds=course_seconds(graph, course),
        transfers=len(path.transfers),
        hatch=ground.hatches[path.nodes[-1]],
        left=_left_outside(ground, path),
    )


class _BackSeconds:
    """Seconds back along all lays; each move back is looked up once for all holds."""

    def __init__(self, ground: HomeGround) -> None:
        self.ground = ground
        self.known: dict[tuple[int, int], float] = {}

    def hold(self, state: TetherState) -> HoldHome:
        """Return the time home from a state."""
        try:
            check_base(self.ground, state)
            known = self.known
            seconds = [
                known[back] if back in known else self._move_s(*back)
                for stay in state.stack
                for back in pairwise(stay.grips[::-1])
            ]
        except LayBlockedError as error:
            return HoldHome(seconds=None, why=lay_blocked(self.ground, error))
        except NoWayHomeError as error:
            return HoldHome(seconds=None, why=str(error))
        transfers = len(state.stack) - 1
        seconds += [self.ground.outfit.rules.transfer_s] * transfers
        return HoldHome(seconds=math.fsum(seconds), transfers=transfers)

    def _move_s(self, tail: int, head: int) -> float:
        network = self.ground.ground.network
        move = network.find_move(tail, head)
        if move is None:
            raise LayBlockedError(tail, head)
        self.known[tail, head] = seconds = float(network.cost[move])
        return seconds


class LeavingHomes:
    """Times home with tethers left outside, searched one by one over common bounds (reel).

    Parameters
    ----------
    ground
        Where home is.
    states
        All states that may be asked about: bounds made for all of them at once never
        say too much for one of them.
    """

    def __init__(self, ground: HomeGround, states: Sequence[TetherState]) -> None:
        self.ground = ground
        self.states = tuple(states)
        self._goals = list(ground.hatches)
        self._every = TetherProblem(
            ground=ground.ground, rules=ground.outfit.rules, starts=self.states
        )
        self._tables = make_tables(self._every, self._goals)

    def home(self, number: int) -> HoldHome:
        """Return the least time home from the state with this number."""
        way = self.way(number)
        if way is None:
            grip = self.states[number].grip
            return HoldHome(seconds=None, why=closed_in(self.ground, grip))
        return HoldHome(seconds=way.seconds, transfers=way.transfers, left=way.left)

    def way(self, number: int) -> WayHome | None:
        """Return the least-time way home from the state with this number, None if none leads."""
        path = find_tethered_path(self._every.only(number), self._goals, tables=self._tables)
        return None if path is None else _way_home(self.ground, self.states[number], path)


def _table_leaving(
    ground: HomeGround, at_holds: Sequence[Sequence[TetherState]]
) -> tuple[HoldHome, ...]:
    """Search from the state at each hold; bounds and steps are made once for all."""
    homes = LeavingHomes(ground, [state for states in at_holds for state in states])
    found = [homes.home(number) for number in range(len(homes.states))]
    ends = np.cumsum([len(states) for states in at_holds]).tolist()
    return tuple(_worst(found[begin:end]) for begin, end in pairwise([0, *ends]))


def _worst(homes: Sequence[HoldHome]) -> HoldHome:
    """Return the longest time of the states at one hold; not to get home is the worst of all."""
    return max(homes, key=lambda home: math.inf if home.seconds is None else home.seconds)
