"""Time home from the moments of an outing: alone, and with the partner in tow.

Alone: back along every lay with all tethers and the load, if that is in time.
If not, without the load; if that is not either, with tethers left outside too, by
the least-time way. With the partner in tow loads and tethers stay where they are
(see `routing.studies.home.places`); getting to the partner is not counted.
"""

from collections.abc import Hashable, Sequence
from itertools import pairwise
from math import inf
from typing import TYPE_CHECKING, Final, Literal, TypeAlias

import numpy as np

from routing.graph.reach_graph import GripKind, ReachGraph
from routing.outings.plan_file.records import OutingPerson
from routing.paths.home.homeward import (
    HoldHome,
    HomeGround,
    LeavingHomes,
    NoWayHomeError,
    homes_of_states,
)
from routing.paths.search.least_time import LeastTimeTree, least_time_tree
from routing.paths.tethers.kit import Kit, default_kit
from routing.paths.tethers.stack import TetherState
from structures.frozen import frozen

if TYPE_CHECKING:
    from routing.outings.safety.moments import Moment
    from routing.outings.translations import Ground

__all__ = ["TOW_WITHIN_S", "HomeTimes", "Homeward", "Manner", "TimesHome"]

Key: TypeAlias = tuple[str, object, tuple[str, ...], bool, bool]
"""Person, load, conditions, whether tethers may stay outside, and whether a partner is in tow."""

Manner: TypeAlias = Literal["with all", "load left behind", "tethers left outside", "no way"]

TOW_WITHIN_S: Final = 5.0
"""The worst time home with a partner in tow is at most so much above the true one [s]."""


@frozen(kw_only=True)
class Homeward:
    """A time home and how it is meant."""

    seconds: float | None
    """None where no way leads home [s]."""
    manner: Manner
    why: str = ""


@frozen(kw_only=True)
class TimesHome:
    """Times home from one moment."""

    alone: Homeward
    tow_s: float | None
    """At most this; None where no way leads home with a partner in tow [s]."""
    tow_exact: bool = True
    """Whether ``tow_s`` is the time itself, and not a bound above it."""


class HomeTimes:
    """Times home of an outing's people, each searched once however often it is asked for.

    Parameters
    ----------
    ground
        Reach graphs of the outing.
    """

    def __init__(self, ground: "Ground") -> None:
        self.ground = ground
        self._grounds: dict[Hashable, HomeGround | str] = {}
        self._known: dict[Hashable, HoldHome] = {}
        self._leaving: dict[Hashable, tuple[LeavingHomes, dict[TetherState, int]]] = {}
        self._trees: dict[Hashable, LeastTimeTree] = {}
        self._asked: tuple[Moment, ...] = ()

    def along(self, person: OutingPerson, moments: "Sequence[Moment]") -> tuple[TimesHome, ...]:
        """Return the times home of moments of one person that follow one another.

        With a partner in tow the worst one of them is exact to `TOW_WITHIN_S`; the
        others are bounds above where they are not searched.
        """
        self._asked = tuple(moments)
        self._look_up(person, moments)
        alone = [self.alone(person, moment) for moment in moments]
        tow = _Towing(self, person, moments).bounds()
        return tuple(
            TimesHome(alone=one, tow_s=_plus(s, moment.get_out_s), tow_exact=exact)
            for one, (s, exact), moment in zip(alone, tow, moments, strict=True)
        )

    def _look_up(self, person: OutingPerson, moments: "Sequence[Moment]") -> None:
        """Work out the ways back along all lays for all moments at once: that is far quicker."""
        if person.protocol != "reel":
            return
        wanted: dict[Key, dict[TetherState, Moment]] = {}
        for moment in moments:
            key: Key = (person.id, moment.carry, moment.when, False, False)
            if moment.state is not None and (key, moment.state) not in self._known:
                wanted.setdefault(key, {})[moment.state] = moment
        for key, states in wanted.items():
            on = self._home_ground(person, next(iter(states.values())), key)
            if not isinstance(on, str):
                found = homes_of_states(on, tuple(states))
                self._known |= {
                    (key, state): home for state, home in zip(states, found, strict=True)
                }

    def alone(self, person: OutingPerson, moment: "Moment") -> Homeward:
        """Return the time home alone from one moment, by the first manner that is in time."""
        limit_s = self.ground.limits.time_home_limit_s
        tries: list[tuple[Manner, bool, bool]] = [("with all", True, False)]
        if moment.carry is not None:
            tries.append(("load left behind", False, False))
        if person.protocol == "reel":
            tries.append(("tethers left outside", False, True))
        found: list[Homeward] = []
        for manner, loaded, leave in tries:
            home = self.one(person, moment, loaded=loaded, leave=leave)
            seconds = _plus(home.seconds, moment.get_out_s)
            found.append(
                Homeward(
                    seconds=seconds,
                    manner="no way" if seconds is None else manner,
                    why=home.why,
                )
            )
            if seconds is not None and seconds <= limit_s:
                return found[-1]
        ways = [one for one in found if one.seconds is not None]
        return min(ways, key=lambda one: one.seconds or 0.0, default=found[-1])

    def one(
        self,
        person: OutingPerson,
        moment: "Moment",
        *,
        loaded: bool = False,
        leave: bool = False,
        tow: bool = False,
    ) -> HoldHome:
        """Return the time home from one moment, by one manner."""
        carry = moment.carry if loaded else None
        key = (person.id, carry, moment.when, leave, tow)
        where = moment.grip if moment.state is None else moment.state
        if (key, where) not in self._known:
            on = self._home_ground(person, moment, key)
            if isinstance(on, str):
                found = HoldHome(seconds=None, why=on)
            elif isinstance(where, TetherState):
                found = self._leave(key, on, where) if leave else homes_of_states(on, (where,))[0]
            else:
                found = _on_short_tethers(on, where)
            self._known[key, where] = found
        return self._known[key, where]

    def _leave(self, key: Key, on: HomeGround, state: TetherState) -> HoldHome:
        """Search over bounds made for all moments asked about last, or for this one alone."""
        known = self._leaving.get(key)
        if known is None or state not in known[1]:
            asked = [one.state for one in self._asked if one.when == key[2] and one.state]
            homes = LeavingHomes(on, tuple(dict.fromkeys((*asked, state))))
            numbers = {one: number for number, one in enumerate(homes.states)}
            known = self._leaving[key] = (homes, numbers)
        return known[0].home(known[1][state])

    def free_s(self, person: OutingPerson, moment: "Moment") -> float:
        """Return the time home in tow with no thought of tethers: never more than the true one."""
        tree = self._free_tree(person, moment, tow=True)
        return inf if isinstance(tree, str) else float(tree.cost[moment.grip])

    def free_way(self, person: OutingPerson, moment: "Moment", *, tow: bool) -> tuple[int, ...]:
        """Return the grips of the quickest way home with no load and no thought of tethers.

        Empty where none leads there. Grips are numbered alike alone and in tow.
        """
        tree = self._free_tree(person, moment, tow=tow)
        return () if isinstance(tree, str) else tree.path_to(moment.grip)[::-1]

    def no_hatch(self, person: OutingPerson, moment: "Moment", *, tow: bool) -> str:
        """Return why nobody gets home from anywhere, at the hatch; empty where it is none of it."""
        tree = self._free_tree(person, moment, tow=tow)
        return tree if isinstance(tree, str) else ""

    def _free_tree(
        self, person: OutingPerson, moment: "Moment", *, tow: bool
    ) -> LeastTimeTree | str:
        key = (person.id, moment.when, tow)
        if key not in self._trees:
            on = self._home_ground(person, moment, (person.id, None, moment.when, True, tow))
            if isinstance(on, str):
                return on
            network = on.ground.network if on.protocol == "reel" else on.network
            self._trees[key] = least_time_tree(network.reverse, dict.fromkeys(on.hatches, 0.0))
        return self._trees[key]

    def _home_ground(
        self,
        person: OutingPerson,
        moment: "Moment",
        key: Key,
    ) -> HomeGround | str:
        if key not in self._grounds:
            *_, leave, tow = key
            graph: ReachGraph
            if tow:
                graph = self.ground.tow_graph(person.id, moment.when)
            else:
                carry = None if key[1] is None else moment.carry
                graph = self.ground.graph(person.id, carry, moment.when)
            limits = self.ground.limits
            kit = Kit(reels_m=person.reels_m) if person.reels_m else default_kit(limits)
            try:
                self._grounds[key] = HomeGround(
                    graph=graph,
                    protocol=person.protocol,
                    kit=kit,
                    hatch=person.start,
                    leave=leave and person.protocol == "reel",
                )
            except NoWayHomeError as error:
                self._grounds[key] = str(error)
        return self._grounds[key]


class _Towing:
    """Times home with a partner in tow along moments: bounds from neighbours, few searches.

    From a hold one can always go on to the next hold, or back to the one before,
    where the wider body has that move, and home from there. So a time that is known
    bounds those of its neighbours, and only the hold with the largest bound is searched,
    until the largest is known.
    """

    def __init__(self, homes: HomeTimes, person: OutingPerson, moments: "Sequence[Moment]") -> None:
        self.homes = homes
        self.person = person
        self.moments = moments
        self.known = np.full(len(moments), np.inf)
        self.free_s = np.array([homes.free_s(person, one) for one in moments])
        self.open = np.isfinite(self.free_s)
        """Holds that may lead home and have not been searched."""

    def bounds(self) -> list[tuple[float | None, bool]]:
        """Return for each moment (seconds or None, whether that is exact)."""
        if not len(self.moments):
            return []
        for first, last in self._stretches():
            self._search(first)
            self._search(last)
        bound_s = self.known.tolist()
        steps_s = self._steps()
        self._relax(bound_s, steps_s, range(len(bound_s)))
        while True:
            left = np.flatnonzero(self.open)
            if not len(left):
                break
            now_s = np.array(bound_s)
            worst = int(left[np.argmax(now_s[left])])
            done = np.isfinite(now_s) & ~self.open
            largest = float(now_s[done].max()) if done.any() else 0.0
            if now_s[worst] <= largest + TOW_WITHIN_S:
                break
            self._search(worst)
            self._relax(bound_s, steps_s, self._between_known(worst))
        return [(s if s < inf else None, not self.open[i]) for i, s in enumerate(bound_s)]

    def _between_known(self, at: int) -> range:
        """Return the moments round one up to those next to it that have been searched."""
        first, last = at, at
        while first > 0 and (first == at or self.open[first]):
            first -= 1
        while last + 1 < len(self.moments) and (last == at or self.open[last]):
            last += 1
        return range(first, last + 1)

    def _stretches(self) -> list[tuple[int, int]]:
        """Return the first and last moment of every way."""
        turns = [
            i
            for i, (one, following) in enumerate(pairwise(self.moments))
            if one.moving != following.moving or one.act != following.act
        ]
        ends = [*turns, len(self.moments) - 1]
        return list(zip([0, *(i + 1 for i in turns)], ends, strict=True))

    def _search(self, at: int) -> None:
        if self.open[at]:
            home = self.homes.one(self.person, self.moments[at], leave=True, tow=True)
            self.known[at] = np.inf if home.seconds is None else home.seconds
            self.open[at] = False

    def _steps(self) -> tuple[list[float], list[float]]:
        """Return seconds in tow from each moment to the next one, and back again."""
        ahead, back = [], []
        for one, following in pairwise(self.moments):
            ahead.append(self._step_s(one, following))
            back.append(self._step_s(following, one))
        return ahead, back

    def _step_s(self, one: "Moment", following: "Moment") -> float:
        if one.when != following.when:
            return inf  # other zones: what holds in one graph need not in the other
        seconds = 0.0
        if one.state is not None and following.state is not None:
            taken = len(following.state.stack) - len(one.state.stack)
            seconds = abs(taken) * self.homes.ground.limits.transfer_s
        if one.grip == following.grip:
            return seconds
        graph = self.homes.ground.tow_graph(self.person.id, one.when)
        if graph.grips.kind[following.grip] == GripKind.SOCKET:
            return inf  # a socket is never passed through
        first, last = graph.moves.indptr[one.grip : one.grip + 2].tolist()
        at = first + int(np.searchsorted(graph.moves.head[first:last], following.grip))
        if at == last or int(graph.moves.head[at]) != following.grip:
            return inf
        if self.person.protocol != "reel" or not graph.moves.line_clear[at]:
            return inf
        return seconds + float(graph.moves.seconds[at])

    def _relax(
        self, bound_s: list[float], steps_s: tuple[list[float], list[float]], some: range
    ) -> None:
        """Work out the bounds anew of moments in a row: what is known bounds no farther than that.

        A time that is known is never lowered by a bound, so bounds do not go past it.
        """
        ahead_s, back_s = steps_s
        is_open = self.open.tolist()
        bound_s[some.start : some.stop] = self.known[some.start : some.stop].tolist()
        for i in some[:-1]:
            if is_open[i + 1]:
                bound_s[i + 1] = min(bound_s[i + 1], bound_s[i] + back_s[i])
        for i in reversed(some[:-1]):
            if is_open[i]:
                bound_s[i] = min(bound_s[i], bound_s[i + 1] + ahead_s[i])


def _plus(seconds: float | None, more_s: float) -> float | None:
    return None if seconds is None else seconds + more_s


def _on_short_tethers(ground: HomeGround, grip: int) -> HoldHome:
    """Return the time home under leapfrog from a grip."""
    cost_s = float(ground.tree.cost[grip])
    if np.isfinite(cost_s):
        return HoldHome(seconds=cost_s)
    return HoldHome(
        seconds=None, why=f"no way leads from {ground.graph.grips.ids[grip]} to the hatch"
    )
