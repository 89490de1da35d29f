"""The ways between acts: each by the exact router, from the real place, load and tether state."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import TypeVar, cast

from routing.graph.build import GraphBuilder
from routing.graph.reach_graph import Grips, ReachGraph
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from routing.graph.surroundings import Surroundings
from routing.limits import Limits
from routing.outings.clock.activity_plan import ActivityPlan, way_id
from routing.outings.clock.conditions import conditions_during
from routing.outings.custody.handling import Hands, Stock, hands_before
from routing.outings.plan_file.bodies import body_of
from routing.outings.plan_file.records import Act, Outing, OutingPerson
from routing.outings.safety.home_times import HomeTimes
from routing.paths.answers.results import Route
from routing.paths.course import Course
from routing.paths.onward import Manner, NoWayOnError, Onward, Whereabouts, begin_at, route_onward
from routing.paths.request import Request
from routing.paths.tethers.kit import Kit, default_kit
from structures.elements import Item, TetherPoint
from structures.model import Structure
from structures.zones import closed_by

__all__ = ["Ground", "Leg", "Trip", "kit_of", "translate"]


Answer = TypeVar("Answer")


def kit_of(person: OutingPerson, limits: Limits) -> Kit:
    """Return the reels of a person, by default two of the limits' length."""
    return Kit(reels_m=person.reels_m) if person.reels_m else default_kit(limits)


class Ground:
    """Reach graphs and ways of an outing, each worked out once.

    A graph is for a person, a load and conditions; a way also for the place and the
    tethers it starts from. So planning again after a change searches only ways that
    it changes.
    """

    def __init__(
        self, structure: Structure, outing: Outing, limits: Limits, closed: tuple[str, ...] = ()
    ) -> None:
        self.structure = structure
        self.limits = limits
        # Grips are numbered without what is closed, and tether states name them by number: so
        # what a condition closes at any time is closed for the whole outing. That is safe.
        ever = {*outing.when, *(one for act in outing.acts for one in act.sets)}
        self.closed = tuple(
            sorted({*outing.closed, *closed, *closed_by(structure, tuple(sorted(ever)))})
        )
        self.people = {one.id: body_of(one, structure) for one in outing.people}
        self._reel = {one.id for one in outing.people if one.protocol == "reel"}
        self._builder = GraphBuilder(structure)
        self._graphs: dict[tuple[str, Item | None, tuple[str, ...]], ReachGraph] = {}
        self._towing: dict[tuple[str, tuple[str, ...], Limits | None], ReachGraph] = {}
        self._routes: dict[Hashable, Onward | str] = {}
        self._answers: dict[Hashable, object] = {}

    @property
    def situations(self) -> tuple[tuple[str, Item | None, tuple[str, ...]], ...]:
        """Person, load and conditions of every graph built so far, in the order of building."""
        return tuple(self._graphs)

    def is_closed(self, site: str) -> bool:
        """Tell whether a site, or the handrail of a grip, is out of use."""
        return site.rpartition("@")[0] in self.closed if "@" in site else site in self.closed

    def grips(self, person: str) -> Grips:
        """Return the grips that a person has in every situation of the outing."""
        key = next((one for one in self._graphs if one[0] == person), (person, None, ()))
        return self.graph(*key).grips

    @cached_property
    def tether_points(self) -> tuple[TetherPoint, ...]:
        """Tether points that are open, in the order in which tether states number them."""
        points = [one for one in self.structure.tether_points if one.id not in self.closed]
        return tuple(sorted(points, key=lambda point: point.id))

    def once(self, question: Hashable, answer: Callable[[], Answer]) -> Answer:
        """Return the answer to a question about the structure, worked out the first time."""
        if question not in self._answers:
            self._answers[question] = answer()
        return cast("Answer", self._answers[question])

    def expect(self, loads: Iterable[tuple[str, Item | None, tuple[str, ...]]]) -> None:
        """Tell for whom with which loads under which conditions graphs will be asked for."""
        new = [key for key in dict.fromkeys(loads) if key not in self._graphs]
        self._builder.expect(self._situation(*key, tow=False) for key in new)

    def graph(self, person: str, carry: Item | None, when: tuple[str, ...]) -> ReachGraph:
        """Return the reach graph of one person with one load under conditions."""
        key = (person, carry, when)
        if key not in self._graphs:
            situation = self._situation(person, carry, when, tow=False)
            self._graphs[key] = self._builder.build(situation, hooks=person in self._reel)
        return self._graphs[key]

    def tow_graph(
        self, person: str, when: tuple[str, ...], limits: Limits | None = None
    ) -> ReachGraph:
        """Return the reach graph of one person who brings the partner along, and no load.

        Parameters
        ----------
        limits
            What two people may do, where that is not what the plan says.
        """
        key = (person, when, limits)
        if key not in self._towing:
            situation = self._situation(person, None, when, tow=True)
            if limits is not None:
                situation = replace(situation, limits=limits)
            self._towing[key] = self._builder.build(situation, hooks=person in self._reel)
        return self._towing[key]

    def _situation(
        self, person: str, carry: Item | None, when: tuple[str, ...], *, tow: bool
    ) -> Situation:
        return Situation(
            limits=self.limits,
            person=self.people[person],
            carry=carry,
            when=when,
            closed=self.closed,
            tow=tow,
        )

    def around(self, person: str, carry: Item | None, when: tuple[str, ...]) -> Surroundings:
        """Return solids and zones that count for one person with one load under conditions."""
        situation = self._situation(person, carry, when, tow=False)
        return self._builder.around(situation)

    @cached_property
    def homes(self) -> HomeTimes:
        """Times home, each searched once."""
        return HomeTimes(self)

    def onward(
        self,
        situation: tuple[str, Item | None, tuple[str, ...]],
        where: Whereabouts,
        sites: tuple[str, ...],
        request: Request,
        manner: Manner,
    ) -> Onward:
        """Return the way on, as `routing.paths.onward.route_onward` finds it.

        Parameters
        ----------
        situation
            Person, load and conditions.

        Raises
        ------
        NoWayOnError
            There is none.
        """
        key = (situation, where, sites, request, manner)
        if key not in self._routes:
            graph = self.graph(*situation)
            try:
                found: Onward | str = route_onward(
                    graph, where, sites, request=request, manner=manner
                )
            except NoWayOnError as error:
                found = str(error)
            self._routes[key] = found
        known = self._routes[key]
        if isinstance(known, str):
            raise NoWayOnError(known)
        return known


@dataclass(frozen=True, slots=True, kw_only=True)
class Trip:
    """One way of one person, found or not."""

    act: str
    person: str
    from_site: str
    to_site: str
    carry: Item | None
    when: tuple[str, ...]
    laying: bool = False
    manner: Manner = "best"
    begins: Whereabouts | None
    ends: Whereabouts | None = None
    route: Route | None = None
    course: Course | None = None
    """Grip by grip, in the graph of this person, load and conditions."""
    why_not: str = ""

    @property
    def seconds(self) -> float:
        """How long it takes; 0 where it was not found [s]."""
        return 0.0 if self.route is None else self.route.totals.seconds


@dataclass(frozen=True, kw_only=True)
class Leg:
    """Where the acts of everybody take place, and the ways there."""

    trips: dict[str, Trip] = field(default_factory=dict)
    """By the id of the way."""
    laying: dict[tuple[str, str], Trip] = field(default_factory=dict)
    """Ways along which a cable is laid, by (act, person)."""
    sites: dict[tuple[str, str], str] = field(default_factory=dict)
    """Where each person is for each act, by (act, person)."""
    grips: dict[tuple[str, str], int] = field(default_factory=dict)
    """At which grip that is, by (act, person); missing where it is not known."""
    ends: dict[str, str] = field(default_factory=dict)
    """Where each person is in the end."""
    begins: dict[str, Whereabouts] = field(default_factory=dict)
    """What each person hangs on at first; missing where nobody can hold on."""
    no_begin: dict[str, str] = field(default_factory=dict)
    """Why nobody can hold on where a person begins, for each person of whom that is so."""
    stays: dict[str, Trip] = field(default_factory=dict)
    """The way from the start to the start of each person who has no other."""


def translate(plan: ActivityPlan, ground: Ground, stock: Stock) -> Leg:
    """Find the ways of all people, one person after the other.

    A way that is not found is kept with its reason, and so is every later one
    of the same person: from where it would start is not known.
    """
    leg = Leg()
    hands = hands_before(plan, stock)
    ground.expect(
        (person, stock.load(held), conditions_during(plan, way_id(act, person)))
        for (act, person), held in hands.items()
    )
    for person in plan.outing.people:
        _Walk(plan, ground, stock, person, leg).follow(hands)
    return leg


class _Walk:
    """One person on the way through the plan."""

    def __init__(
        self, plan: ActivityPlan, ground: Ground, stock: Stock, person: OutingPerson, leg: Leg
    ) -> None:
        self.plan = plan
        self.ground = ground
        self.stock = stock
        self.person = person
        self.leg = leg
        self.site = person.start
        self.lost = ""
        self.lost_at = ""
        kit = kit_of(person, ground.limits)
        self.request = Request(start="", goal="", protocol=person.protocol, kit=kit)
        self.where: Whereabouts | None = None
        try:
            when = self._first_conditions()
            graph = ground.graph(person.id, None, when)
            begin = partial(begin_at, graph, person.start, person.protocol, kit)
            asked = ("begin", person.id, person.start, person.protocol, kit, when)
            self.where = ground.once(asked, begin)
            leg.begins[person.id] = self.where
        except NoWayOnError as error:
            self.lost = leg.no_begin[person.id] = str(error)

    def _first_conditions(self) -> tuple[str, ...]:
        acts = self.plan.acts_of(self.person.id)
        if not acts:
            return tuple(sorted(self.plan.outing.when))
        return conditions_during(self.plan, way_id(acts[0].id, self.person.id))

    def follow(self, hands: dict[tuple[str, str], Hands]) -> None:
        gone = False
        for act in self.plan.acts_of(self.person.id):
            key = (act.id, self.person.id)
            if self._has_way(act):
                way = way_id(act.id, self.person.id)
                sites = (*act.via, self._goal(act) or self.site)
                self.leg.trips[way] = self._trip(act, sites, hands[key], way)
                gone = True
            self.leg.sites[key] = self.site
            if self.where is not None and self.where.grip is not None:
                self.leg.grips[key] = self.where.grip
            if act.does == "lay-cable" and self.person.id in act.who and act.to is not None:
                self.leg.laying[key] = self._trip(act, (act.to,), hands[key], act.id)
                gone = True
        self.leg.ends[self.person.id] = self.site
        if not gone and self.where is not None:
            self.leg.stays[self.person.id] = self._stay()

    def _stay(self) -> Trip:
        """Return the way to where the person is: what holds there must be looked at as well."""
        begins, when = self.where, self._first_conditions()
        if begins is None:
            raise AssertionError("who cannot hold on anywhere does not stay there either")
        situation = (self.person.id, None, when)
        found = self.ground.onward(situation, begins, (self.site,), self.request, "best")
        return Trip(
            act="",
            person=self.person.id,
            from_site=self.site,
            to_site=self.site,
            carry=None,
            when=when,
            begins=begins,
            ends=found.ends,
            route=found.route,
            course=found.course,
        )

    def _goal(self, act: Act) -> str | None:
        """Return where this person must be for an act; None: where he is."""
        if self.person.id not in act.who:
            return None  # who only holds still does so anywhere
        return act.at if self.person.id == act.who[0] else act.beside or act.at

    def _has_way(self, act: Act) -> bool:
        goal = self._goal(act)
        if goal is None:
            return False
        if act.way == "recover" or act.via:
            return True
        if self.where is None or self.where.grip is None:
            return goal != self.site
        if self.ground.is_closed(goal):
            return True
        # Without conditions: who is there already is, even if they shut the site just now.
        graph = self.ground.graph(self.person.id, None, ())
        return self.where.grip not in site_grips(graph, goal).grips.tolist()

    def _trip(self, act: Act, sites: tuple[str, ...], hands: Hands, activity: str) -> Trip:
        carry = self.stock.load(hands)
        when = conditions_during(self.plan, activity)
        begins, from_site = self.where, self.site
        found = self._search(act, sites, carry, when)
        self.site = sites[-1]
        self.where = None if found is None else found.ends
        return Trip(
            act=act.id,
            person=self.person.id,
            from_site=from_site,
            to_site=self.site,
            carry=carry,
            when=when,
            laying=activity == act.id,
            manner=act.way,
            begins=begins,
            ends=self.where,
            route=None if found is None else found.route,
            course=None if found is None else found.course,
            why_not=self.lost,
        )

    def _search(
        self, act: Act, sites: tuple[str, ...], carry: Item | None, when: tuple[str, ...]
    ) -> Onward | None:
        if self.where is None:
            if self.lost_at:
                self.lost = f"not worked out, because the way to {self.lost_at} was not found"
            return None
        shut = [site for site in sites if self.ground.is_closed(site)]
        if shut:
            self.lost, self.lost_at = f"{shut[0]} is closed; go to another site", act.id
            return None
        try:
            situation = (self.person.id, carry, when)
            return self.ground.onward(situation, self.where, sites, self.request, act.way)
        except NoWayOnError as error:
            self.lost, self.lost_at = str(error), act.id
            return None
