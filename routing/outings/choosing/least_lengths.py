"""The least that a plan can take: its network with ways that no tether and no load slows down.

Each way takes at least as long as the quickest one between its sites for that
person, with empty hands, no zones in force and no thought of tethers. Acts that
are left out only take hand-overs away, so the least length of some acts bounds
every plan that has these acts, in the same order, and more.
"""

from math import inf
from typing import TYPE_CHECKING, Final

import numpy as np

from routing.graph.reach_graph import GripKind
from routing.graph.sites import site_grips
from routing.outings.clock.activity_plan import ALL_DONE, ActivityPlan, way_id
from routing.outings.clock.network import Floats, Times, time_network
from routing.outings.clock.schedule import MINUTE_S, begin_s, end_s, releases_of
from routing.paths.search.arrays import Network
from routing.paths.search.least_time import least_time_tree
from structures.errors import UnknownIdError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from routing.outings.plan import OnClock
    from routing.outings.plan_file.records import Act, OutingPerson
    from routing.outings.translations import Ground, Trip

__all__ = ["LeastLengths", "act_seconds", "least_budgets_s"]

_NEVER_S: Final = 1e9
"""Stands for a way that nobody finds [s]: longer than any outing, and finite for the network."""


def act_seconds(act: "Act") -> float:
    """Return the usual duration of an act, without ways [s]."""
    return 0.0 if act.minutes is None else MINUTE_S * act.minutes[1]


def least_budgets_s(plan: ActivityPlan, least: "LeastLengths") -> tuple[float, ...]:
    """Return what of each person's time a plan leaves over at most, within its limits [s]."""
    outing = plan.outing
    limits = outing.outing_limits
    window_s = (
        MINUTE_S * min(limits.planned_min, limits.consumables_min)
        - begin_s(outing)
        - end_s(outing)
        - sum(plan.lost_s.get(one, 0.0) for one in plan.network.ids[:1])
    )
    return tuple(
        window_s
        - least.ways_s(plan, person)
        - sum(act_seconds(act) + plan.lost_s.get(act.id, 0.0) for act in plan.acts_of(person.id))
        for person in outing.people
    )


class LeastLengths:
    """Bounds of plans on one ground; each search from a site is done once.

    Parameters
    ----------
    ground
        Reach graphs of the outing.
    """

    def __init__(self, ground: "Ground") -> None:
        self.ground = ground
        self._trees: dict[tuple[str, str], Floats] = {}
        self._grips: dict[tuple[str, str], tuple[int, ...]] = {}

    def way_s(self, person: "OutingPerson", first: str, second: str) -> float:
        """Return the least time from one site to another; infinite where no way leads [s]."""
        to = self._grips_of(person, second)
        if first == second or not to:
            return 0.0 if to else inf
        cost_s = self._from(person, first)
        return float(cost_s[list(to)].min())

    def ways_s(self, plan: ActivityPlan, person: "OutingPerson") -> float:
        """Return what all ways of a person take at least, one after the other [s]."""
        return sum(self._ways_of(plan, person)[0].values())

    def total_s(self, plan: ActivityPlan, known: "OnClock | None" = None) -> float:
        """Return what a plan with these acts takes at least, blocks included [s]."""
        times = self.times(plan, known)
        done_s = float(times.earliest_finish_s[plan.network.index[ALL_DONE]])
        return inf if done_s >= _NEVER_S else done_s + end_s(plan.outing)

    def times(self, plan: ActivityPlan, known: "OnClock | None" = None) -> Times:
        """Return when everything begins and ends at the earliest.

        Parameters
        ----------
        known
            A plan of the first acts of everybody, as they are in this one: its ways are taken
            as they are.
        """
        ways_s: dict[str, float] = {}
        laying_s: dict[str, float] = {}
        for person in plan.outing.people:
            ways, laying = self._ways_of(plan, person)
            ways_s |= ways
            for act, lay_s in laying.items():
                laying_s[act] = max(laying_s.get(act, 0.0), lay_s)
        if known is not None:
            for act_id in known.plan.number:
                for one in known.plan.outing.people:
                    way = way_id(act_id, one.id)
                    if way in ways_s:
                        ways_s[way] = _seconds(known.leg.trips.get(way))
                    if (act_id, one.id) in known.leg.laying:
                        laying_s[act_id] = _seconds(known.leg.laying[act_id, one.id])
        durations_s = np.array([self._takes_s(plan, one, ways_s, laying_s) for one in
                                plan.network.ids])  # fmt: skip
        return time_network(plan.network, durations_s, releases_of(plan))

    def _ways_of(
        self, plan: ActivityPlan, person: "OutingPerson"
    ) -> tuple[dict[str, float], dict[str, float]]:
        """Return the least times of a person's ways, and of those along which cables are laid."""
        ways_s: dict[str, float] = {}
        laying_s: dict[str, float] = {}
        site = person.start
        for act in plan.acts_of(person.id):
            stops = self._stops(act, person.id)
            ways_s[way_id(act.id, person.id)] = self._along(person, (site, *stops))
            site = stops[-1] if stops else site
            if act.does == "lay-cable" and act.to is not None and person.id in act.who:
                laying_s[act.id] = self._along(person, (site, act.to))
                site = act.to
        return ways_s, laying_s

    @staticmethod
    def _stops(act: "Act", person: str) -> tuple[str, ...]:
        """Return the sites on the way to an act; none where the person may stay."""
        if person not in act.who:
            return ()
        goal = act.at if person == act.who[0] else act.beside or act.at
        return (*act.via, *([] if goal is None else [goal]))

    def _along(self, person: "OutingPerson", sites: tuple[str, ...]) -> float:
        ways_s = [self.way_s(person, *sites[i : i + 2]) for i in range(len(sites) - 1)]
        return min(sum(ways_s), _NEVER_S)

    @staticmethod
    def _takes_s(
        plan: ActivityPlan, activity: str, ways_s: dict[str, float], laying_s: dict[str, float]
    ) -> float:
        one, lost_s = plan.activities[activity], plan.lost_s.get(activity, 0.0)
        if one.kind == "begin":
            return begin_s(plan.outing) + lost_s
        if one.kind == "way":
            return ways_s[activity]
        if one.act is None or one.act.minutes is None:
            return laying_s.get(activity, 0.0) + lost_s
        return MINUTE_S * one.act.minutes[1] + laying_s.get(activity, 0.0) + lost_s

    def end_of(self, person: "OutingPerson", acts: "Sequence[Act]", site: str) -> str:
        """Return where a person is after some acts, begun at a site."""
        for act in acts:
            stops = self._stops(act, person.id)
            site = stops[-1] if stops else site
            site = act.to if act.does == "lay-cable" and act.to is not None else site
        return site

    def acts_s(self, person: "OutingPerson", acts: "Sequence[Act]") -> float:
        """Return what acts in a row take at least, from the first one's own site on [s]."""
        seconds, site = 0.0, ""
        for act in acts:
            stops = self._stops(act, person.id)
            seconds += self._along(person, (site, *stops) if site else stops)
            site = stops[-1] if stops else site
            seconds += 0.0 if act.minutes is None else MINUTE_S * act.minutes[1]
            if act.does == "lay-cable" and act.to is not None:
                seconds += self._along(person, (site, act.to))
                site = act.to
        return seconds

    def first_way_s(self, person: "OutingPerson", site: str, act: "Act") -> float:
        """Return the least time of the way from a site to an act [s]."""
        return self._along(person, (site, *self._stops(act, person.id)))

    def _grips_of(self, person: "OutingPerson", site: str) -> tuple[int, ...]:
        key = (person.id, site)
        if key not in self._grips:
            graph = self.ground.graph(person.id, None, ())
            closed = self.ground.is_closed(site)
            try:
                found = () if closed else tuple(site_grips(graph, site).grips.tolist())
            except UnknownIdError:  # a grip of this name is there for others, not for this person
                found = ()
            self._grips[key] = found
        return self._grips[key]

    def _from(self, person: "OutingPerson", site: str) -> Floats:
        key = (person.id, site)
        if key not in self._trees:
            graph = self.ground.graph(person.id, None, ())
            sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET)
            moves = graph.moves
            network = Network.of_moves(moves, allowed=moves.line_clear, terminal=sockets)
            starts = dict.fromkeys(self._grips_of(person, site), 0.0)
            self._trees[key] = least_time_tree(network, starts).cost
        return self._trees[key]


def _seconds(trip: "Trip | None") -> float:
    """Return what a way takes: nothing where there is none, never where none was found [s]."""
    if trip is None:
        return 0.0
    return _NEVER_S if trip.route is None else trip.seconds
