"""Fetching the partner: to where the partner is, the partner's tether let go, and home in tow.

The curves of the time home in tow say how long two people take home from where one of them is.
Here it is asked whether one gets to the other at all, and what becomes of the tether that the
other hangs on:

1. The rescuer gets out of the restraint, drops the load and goes to the partner's grip, on the
   own tethers as they are then. Staged tethers that the partner is on are not to be had.
2. The partner is hooked to the rescuer, and only then lets go: one transfer. On a reel the end
   of the line must be stowed at a rated tether point within hook reach, to which it reaches with
   its reserve; where none is, the line comes along on the way home to the first grip that has
   one, at one transfer more. It is taken to get longer by every move, as if it never came in
   again. Under leapfrog both short tethers are hooked to the rescuer: two transfers.
3. Both go home by the quickest way in tow.

Every part is a way that can be gone, so the time is an upper bound. Where the tethers on which
the rescuer comes to the partner do not reach home, or the partner's line is let go nowhere, both
parts are searched as one, all of it as wide and slow as for two. *No way* is told only where that
is proven: the rescuer has no grip beside the partner or does not get there under the tether rules,
or from there the hands of two find no way home, tethers apart. What is neither found nor ruled
out is *not shown*. It is asked for the times in which the partner is at an act or waits. A
rescuer who is on the way goes on to its end first. While the partner is on the way it is not
asked.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from typing import Literal, TypeAlias

import numpy as np

from routing.outings.clock.schedule import Schedule
from routing.outings.custody.handling import Stock
from routing.outings.plan_file.records import OutingPerson
from routing.outings.safety.fetching import FetchingWays, There, Where
from routing.outings.safety.home_watch import all_known
from routing.outings.safety.let_go import (
    LetGo,
    PartnersLine,
    lay_back,
    let_go_at_once,
    let_go_on_the_way,
)
from routing.outings.safety.moments import Moment, moments_of
from routing.outings.safety.safety_records import Rescue
from routing.outings.translations import Ground, kit_of
from routing.paths.course import Course
from routing.paths.home.homeward import NoWayHomeError
from routing.paths.tethers.outfit import Outfit, make_outfit
from routing.paths.tethers.stack import TetherState

__all__ = ["Fetched", "rescues_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Fetched:
    """How somebody is fetched home, and where a way home in tow was looked for."""

    rescue: Rescue
    begins: Moment | None = None
    """The rescuer at the partner; None where nobody gets there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Both:
    """Two people, the partner at one place, from one time until another."""

    from_s: float
    until_s: float
    rescuer: Moment
    partner: Moment
    ahead_s: float = 0.0
    """What going on to where the rescuer is on the way to takes first, at most."""

    @property
    def when(self) -> tuple[str, ...]:
        """Conditions that may be in force for either."""
        return tuple(sorted({*self.rescuer.when, *self.partner.when}))


def rescues_of(schedule: Schedule, ground: Ground, stock: Stock) -> tuple[Fetched, ...]:
    """Return for everybody and each partner how they are fetched home, over the time of acts.

    By time. What two people have in common over several stretches of time is worked out once.
    """
    people = {one.id: one for one in schedule.plan.outing.people}
    moments = {one: moments_of(schedule, ground, stock, one) for one in people}
    spans = {one: _spans(schedule, one, found) for one, found in moments.items()}
    found: list[Fetched] = []
    for rescuer, partner in permutations(people, 2):
        still = [one for one in spans[partner] if not one.ahead_s]
        stretches = list(_both(spans[rescuer], still))
        found += _Fetch(ground, people[rescuer], people[partner], stretches).rescues()
    return tuple(sorted(found, key=lambda one: (one.rescue.from_s, *_who(one.rescue))))


def _who(rescue: Rescue) -> tuple[str, str]:
    return rescue.rescuer, rescue.partner


@dataclass(frozen=True, slots=True, kw_only=True)
class _Span:
    """From when until when somebody is at one place, or on the way to it."""

    from_s: float
    until_s: float
    moment: Moment
    """At the place."""
    ahead_s: float = 0.0
    """How long it takes to get there from the beginning; 0 where one is there already."""


def _both(first: Sequence[_Span], second: Sequence[_Span]) -> Iterator[_Both]:
    """Yield the stretches of time in which there is a span of either, in order."""
    spans, at = (first, second), [0, 0]
    while all(i < len(some) for i, some in zip(at, spans, strict=True)):
        one, other = first[at[0]], second[at[1]]
        from_s, until_s = max(one.from_s, other.from_s), min(one.until_s, other.until_s)
        if until_s > from_s:
            yield _Both(
                from_s=from_s,
                until_s=until_s,
                rescuer=one.moment,
                partner=other.moment,
                ahead_s=max(0.0, one.ahead_s - (from_s - one.from_s)),
            )
        at[one.until_s > other.until_s] += 1


def _spans(schedule: Schedule, person: str, moments: Sequence[Moment]) -> list[_Span]:
    """Return where somebody is or goes to; after a way that was not found that is not known.

    Who has come to the end of a way waits there for the act.
    """
    last_s = schedule.acts_end_s
    if moments and not all_known(schedule, person):
        last_s = moments[-1].at_s
    found: list[_Span] = []
    goes_s: float | None = None
    for i, moment in enumerate(moments):
        following = moments[i + 1] if i + 1 < len(moments) else None
        if moment.moving and following is not None and following.moving:
            goes_s = moment.at_s if goes_s is None else goes_s
            continue
        if goes_s is not None:
            ahead_s = moment.at_s - goes_s
            found.append(_Span(from_s=goes_s, until_s=moment.at_s, moment=moment, ahead_s=ahead_s))
        until_s = last_s if following is None else following.at_s
        found.append(_Span(from_s=moment.at_s, until_s=until_s, moment=moment))
        goes_s = None
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Home:
    """From the partner on: hook on, let go, and home."""

    seconds: float
    let_go: LetGo | None = None


_NotFound: TypeAlias = Literal["no way", "not shown"]


@dataclass(frozen=True, slots=True)
class _Missing:
    """Why that is not known to go."""

    verdict: _NotFound
    why: str


def _grip(where: Where) -> int:
    return where.grip if isinstance(where, TetherState) else where


class _Fetch:
    """One person fetching another, over the time of a plan."""

    def __init__(
        self,
        ground: Ground,
        rescuer: OutingPerson,
        partner: OutingPerson,
        stretches: Sequence[_Both],
    ) -> None:
        self.ground = ground
        self.rescuer = rescuer
        self.partner = partner
        self.stretches = stretches
        self.limits = ground.limits
        self.grips, self.others = ground.grips(rescuer.id), ground.grips(partner.id)
        self.outfit = self._outfit(partner)
        self._types = [one.length_m for one in self._outfit(rescuer).rules.tethers]

    def _outfit(self, person: OutingPerson) -> Outfit:
        return make_outfit(self.ground.graph(person.id, None, ()), kit_of(person, self.limits))

    def rescues(self) -> Iterator[Fetched]:
        asked: dict[tuple[str, ...], dict[Where, set[int]]] = {}
        for both in self.stretches:
            goals = asked.setdefault(both.when, {}).setdefault(self._left(both), set())
            if (beside := self._beside(both)) is not None:
                goals.add(beside[0])
        ways: dict[tuple[str, ...], FetchingWays | str] = {}
        for when, some in asked.items():
            try:
                ways[when] = FetchingWays(self.ground, self.rescuer, when, some)
            except NoWayHomeError as error:
                ways[when] = str(error)
        for both in self.stretches:
            yield self._rescue(both, ways[both.when])

    def _rescue(self, both: _Both, ways: FetchingWays | str) -> Fetched:
        found = Rescue(
            from_s=both.from_s,
            until_s=both.until_s,
            rescuer=self.rescuer.id,
            partner=self.partner.id,
            rescuer_at=self.grips.ids[both.rescuer.grip],
            partner_at=self.others.ids[both.partner.grip],
            rescuer_act=both.rescuer.act,
            partner_act=both.partner.act,
            limit_s=self.limits.time_home_limit_s,
            verdict="no way",
        )
        beside = self._beside(both)
        if isinstance(ways, str):
            return Fetched(rescue=replace(found, why=ways))
        if beside is None:
            why = f"{self.rescuer.id} has no grip beside {found.partner_at}"
            return Fetched(rescue=replace(found, why=why))
        goal, apart_m = beside
        there = ways.there(self._left(both), goal)
        if there is None:
            why = (
                f"no way leads {self.rescuer.id} from {found.rescuer_at} to {found.partner_at} on "
                "the tethers that are left"
            )
            # Who is on the way might turn back before.
            verdict: _NotFound = "not shown" if both.ahead_s else "no way"
            return Fetched(rescue=replace(found, verdict=verdict, why=why))
        after = self._after(both, ways, there, apart_m)
        if isinstance(after, _Missing) and after.verdict == "not shown":
            wide = ways.wide_there(self._left(both), goal)
            if wide is not None:
                other = self._after(both, ways, wide, apart_m)
                there, after = (there, after) if isinstance(other, _Missing) else (wide, other)
        there_s = both.ahead_s + both.rescuer.get_out_s + there.seconds
        found = replace(found, there_s=there_s)
        state = there.where if isinstance(there.where, TetherState) else None
        begins = replace(both.rescuer, grip=goal, state=state, when=both.when)
        if isinstance(after, _Missing):
            missing = replace(found, verdict=after.verdict, why=after.why)
            return Fetched(rescue=missing, begins=begins)
        total_s = there_s + both.partner.get_out_s + after.seconds
        let_go = after.let_go
        done = replace(
            found,
            let_go_at=None if let_go is None else self.outfit.points[let_go.point].id,
            on_the_way_m=0.0 if let_go is None else let_go.after_m,
            seconds=total_s,
            verdict="in time" if total_s <= found.limit_s else "too late",
        )
        return Fetched(rescue=done, begins=begins)

    def _after(
        self, both: _Both, ways: FetchingWays, there: There, apart_m: float
    ) -> _Home | _Missing:
        """Return the way home from the partner on, with the partner's tether let go."""
        at = self.others.ids[both.partner.grip]
        if ways.is_cut_off(_grip(there.where)):
            return _Missing("no way", f"no way leads home in tow from {at}")
        home = ways.home(there.where)
        found: list[_Home] = []
        if home is not None:
            at_once = self._let_go_at_once(both, home.seconds)
            if at_once is not None:
                return at_once
            found += self._let_go_later(both, ways, home.course, (home.seconds, apart_m))
        if (back := self._back_along(both, ways, there)) is not None:
            found.append(back)
        if found:
            return min(found, key=lambda one: one.seconds)
        if home is None:
            return _Missing(
                "not shown",
                f"not known is how {self.rescuer.id}'s own tethers reach home in tow from "
                f"{at} after the quickest way there",
            )
        return self._not_let_go(at)

    def _not_let_go(self, at: str) -> _Missing:
        return _Missing(
            "not shown",
            f"not known is where {self.partner.id}'s own tether could be let go: no tether "
            f"point is within hook reach of {at}, and none is come to in tow while the line lasts, "
            "neither on the quickest way home nor back along the line",
        )

    def _line(self, both: _Both) -> PartnersLine | None:
        """Return the line that the partner hangs on; None under leapfrog."""
        if both.partner.state is None:
            return None
        stay = both.partner.state.stack[-1]
        return PartnersLine(stay, self.others.ids, self.outfit.rules.usable_m(stay.tether))

    def _let_go_at_once(self, both: _Both, ways_s: float) -> _Home | None:
        line, transfer_s = self._line(both), self.limits.transfer_s
        if line is None:
            return _Home(seconds=2 * transfer_s + ways_s)
        own = self.ground.graph(self.partner.id, None, both.when)
        let_go = let_go_at_once(own, both.partner.grip, line)
        return None if let_go is None else _Home(seconds=transfer_s + ways_s, let_go=let_go)

    def _let_go_later(
        self, both: _Both, ways: FetchingWays, home: Course, known: tuple[float, float]
    ) -> list[_Home]:
        """Return where the line is let go on a way home, if that is so.

        Parameters
        ----------
        known
            What the ways take [s], and from the partner's grip to their first one [m].
        """
        line, (ways_s, apart_m) = self._line(both), known
        let_go = None if line is None else let_go_on_the_way(ways.tow.graph, home, line, apart_m)
        if let_go is None:
            return []
        return [_Home(seconds=2 * self.limits.transfer_s + ways_s, let_go=let_go)]

    def _back_along(self, both: _Both, ways: FetchingWays, there: There) -> _Home | None:
        """Return the way home that first goes back along the partner's line to let it go."""
        line = self._line(both)
        back = None if line is None else lay_back(ways.tow.graph, line, _grip(there.where))
        if back is None:
            return None
        let_go, grips = back
        gone = ways.tow_along(there.where, grips)
        home = None if gone is None else ways.home(gone.where)
        if gone is None or home is None:
            return None
        ways_s = gone.seconds + home.seconds
        return _Home(seconds=2 * self.limits.transfer_s + ways_s, let_go=let_go)

    def _left(self, both: _Both) -> Where:
        """Return where the rescuer is, without staged tethers that the partner is on."""
        state, partners = both.rescuer.state, both.partner.state
        if state is None:
            return both.rescuer.grip
        theirs = self.outfit.rules.tethers
        staged = list(state.staged)
        for stay in () if partners is None else partners.stack:
            if stay.staged:
                one = (stay.point, self._types.index(theirs[stay.tether].length_m))
                if one in staged:
                    staged.remove(one)
        return replace(state, staged=tuple(staged))

    def _beside(self, both: _Both) -> tuple[int, float] | None:
        """Return the rescuer's grip next to that of the partner, and how far it is [m].

        Who reaches farther has more grips, so the same place may have another number, or on a
        handrail stand for none: then it is the nearest on that handrail.
        """
        partners_id = self.others.ids[both.partner.grip]
        element = partners_id.rpartition("@")[0]
        own = [
            i
            for i, one in enumerate(self.grips.ids)
            if one == partners_id or (element and one.rpartition("@")[0] == element)
        ]
        if not own:
            return None
        place_m = self.others.position_m[both.partner.grip]
        apart_m = np.linalg.norm(self.grips.position_m[own] - place_m, axis=1)
        nearest = int(np.argmin(apart_m))
        if apart_m[nearest] > self.limits.grip_spacing_m:
            return None
        return own[nearest], float(apart_m[nearest])
