"""Where everybody is grip by grip, on what tethers and with what load, at every moment.

A person comes to a grip at a moment and is there until the next one. Moments are
at the start of the acts, at every hold of every way, at the start of every wait without a
way, and at the start of every act.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate

from routing.graph.reach_graph import ReachGraph
from routing.outings.clock.activity_plan import ACTS_BEGIN, way_id
from routing.outings.clock.conditions import conditions_during
from routing.outings.clock.network import SLACK_ZERO_S
from routing.outings.clock.schedule import MINUTE_S, Schedule
from routing.outings.custody.handling import Hands, Stock, hands_before
from routing.outings.plan_file.records import Act
from routing.outings.safety.tethers import chosen_start
from routing.outings.translations import Ground, Trip, kit_of
from routing.paths.tethers.anchored_states import states_along
from routing.paths.tethers.outfit import Outfit, make_outfit
from routing.paths.tethers.stack import TetherState
from structures.elements import Item

__all__ = ["Moment", "moments_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One person at one grip from one moment on."""

    at_s: float
    person: str
    act: str | None
    """The act gone to, or begun."""
    grip: int
    state: TetherState | None
    """What the person hangs on; None under leapfrog."""
    carry: Item | None
    when: tuple[str, ...]
    """Conditions that may be in force."""
    moving: bool
    """Whether the person is on the way, and not at an act."""
    activity: str
    """The way or the act in whose time it is, as the activity network calls it."""
    get_out_s: float = 0.0
    """What getting the feet out of a restraint takes first [s]."""
    with_others: frozenset[str] = frozenset()
    """Those whom an act done together brings here, from the way there until the way on."""


def moments_of(schedule: Schedule, ground: Ground, stock: Stock, person: str) -> tuple[Moment, ...]:
    """Return the moments of one person, by time, up to the first way that was not found.

    Where two tether states follow each other at one hold (a transfer), both are there.
    """
    return tuple(_Follow(schedule, ground, stock, person).moments())


class _Follow:
    def __init__(self, schedule: Schedule, ground: Ground, stock: Stock, person: str) -> None:
        self.schedule = schedule
        self.ground = ground
        self.stock = stock
        self.person = next(one for one in schedule.plan.outing.people if one.id == person)
        self.hands = hands_before(schedule.plan, stock)
        self.acts = schedule.plan.acts_of(person)
        self.grip: int | None = None
        self.state: TetherState | None = None
        self.get_out_s = 0.0
        self.outfit: Outfit | None = None
        self.with_others: frozenset[str] = frozenset()

    def moments(self) -> Iterator[Moment]:
        begins = self.schedule.leg.begins.get(self.person.id)
        if begins is None:
            return
        self.grip = begins.grip
        self.state = begins.tethers[0] if begins.tethers else None
        if self.grip is None and self.state is not None:
            self.grip = self.state.grip
        if self.grip is not None:
            yield self._here(self.schedule.end_s(ACTS_BEGIN), None, Hands())
        for act in self.acts:
            trips = self._trips(act)
            yield from self._act(act, *trips)
            if any(trip is not None and trip.course is None for trip in trips):
                return

    def _trips(self, act: Act) -> tuple[Trip | None, Trip | None]:
        """Return the way to an act, and the one that a cable is laid along."""
        leg = self.schedule.leg
        return (
            leg.trips.get(way_id(act.id, self.person.id)),
            leg.laying.get((act.id, self.person.id)),
        )

    def _act(self, act: Act, way: Trip | None, laying: Trip | None) -> Iterator[Moment]:
        self._company(act, goes=way is not None)
        if way is not None:
            start_s = self.schedule.start_s(way_id(act.id, self.person.id))
            yield from self._along(way, start_s, start_s + way.seconds)
            if way.course is None:
                return
        elif self.grip is not None:
            yield from self._wait(act)
        self._restraint(act)
        begins_s, done_s = self.schedule.start_s(act.id), self.schedule.end_s(act.id)
        if self.grip is not None:
            yield self._here(begins_s, act, self.hands[act.id, self.person.id])
        if laying is not None:
            yield from self._along(laying, begins_s, done_s)
        if act.does == "get-out":
            self.get_out_s = 0.0

    def _wait(self, act: Act) -> Iterator[Moment]:
        """Where there is no way to go: wait here for an act, whatever is switched on meanwhile."""
        way = way_id(act.id, self.person.id)
        free_s = self.schedule.end_s(way)
        if self.schedule.start_s(act.id) - free_s > SLACK_ZERO_S:
            hands = self.hands[act.id, self.person.id]
            yield self._here(free_s, act, hands, activity=way)

    def _company(self, act: Act, *, goes: bool) -> None:
        """With whom: from the way to an act that is done together until one goes on from there."""
        others = frozenset(act.who) - {self.person.id}
        if goes:
            self.with_others = others
        else:
            self.with_others |= others

    def _here(
        self, at_s: float, act: Act | None, hands: Hands, *, activity: str | None = None
    ) -> Moment:
        if self.grip is None:
            raise AssertionError("where a person is has been looked at before")
        act_id = None if act is None else act.id
        activity = activity or act_id or ACTS_BEGIN
        return Moment(
            at_s=at_s,
            person=self.person.id,
            act=act_id,
            grip=self.grip,
            state=self.state,
            carry=self.stock.load(hands),
            when=conditions_during(self.schedule.plan, activity),
            moving=False,
            activity=activity,
            get_out_s=self.get_out_s,
            with_others=self.with_others,
        )

    def _restraint(self, act: Act) -> None:
        """From a get-in on, whoever goes home gets out first; as long as the plan gives it."""
        if act.does != "get-in" or self.person.id not in act.who:
            return
        later = self.acts[self.acts.index(act) + 1 :]
        out = next((one for one in later if one.does == "get-out" and one.item == act.item), None)
        minutes = (act if out is None else out).minutes
        self.get_out_s = 0.0 if minutes is None else MINUTE_S * minutes[1]

    def _along(self, trip: Trip, start_s: float, end_s: float) -> Iterator[Moment]:
        course = trip.course
        if course is None:
            return
        graph = self.ground.graph(trip.person, trip.carry, trip.when)
        transfer_s = dict.fromkeys(range(len(course.grips)), 0.0)
        for anchoring in course.anchorings:
            transfer_s[anchoring.at] += anchoring.seconds
        steps_s = [float(graph.moves.seconds[move]) for move in course.moves]
        came_s = [
            0.0,
            *accumulate(s + transfer_s[at] for at, s in enumerate(steps_s)),
        ]
        # A cable is laid over the whole of its act, more slowly than people go.
        slower = (end_s - start_s) / trip.seconds if trip.seconds > 0 else 1.0
        states = self._states(trip, graph)
        for at, grip in enumerate(course.grips):
            for state in states[at] if states else (None,):
                yield Moment(
                    at_s=start_s + slower * came_s[at],
                    person=trip.person,
                    act=trip.act,
                    grip=grip,
                    state=state,
                    carry=trip.carry,
                    when=trip.when,
                    moving=True,
                    activity=trip.act if trip.laying else way_id(trip.act, trip.person),
                    get_out_s=self.get_out_s,
                    with_others=self.with_others,
                )
        self.grip = course.grips[-1]
        self.state = states[-1][-1] if states else None

    def _states(self, trip: Trip, graph: ReachGraph) -> tuple[tuple[TetherState, ...], ...]:
        if self.person.protocol != "reel" or trip.course is None:
            return ()
        if trip.begins is None or trip.ends is None:
            raise AssertionError("a way that was found begins and ends somewhere")
        if self.outfit is None:  # tether points and reels have the same numbers in all graphs
            self.outfit = make_outfit(graph, kit_of(self.person, self.ground.limits))
        start = self.state
        if len(trip.begins.tethers) > 1:
            start = chosen_start(self.outfit, trip)
        states = states_along(trip.course, self.outfit, start)
        if states[-1][-1] != trip.ends.tethers[0]:
            raise AssertionError(
                f"following the way to {trip.act} of {trip.person} does not end on its tethers"
            )
        return states
