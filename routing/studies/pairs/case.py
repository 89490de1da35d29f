"""One case of the study of pairs: one person with one load on one tether protocol."""

import functools
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np

from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.sites import SitePlaces, site_grips
from routing.paths.answers.corridor import all_clearances, place_clearances
from routing.paths.answers.results import Margins, Protocol
from routing.paths.answers.tether_checks import TETHER_CHECKS, Case
from routing.paths.course import Anchoring, Course
from routing.paths.search.all_goals import WaysTo, ways_to_all
from routing.paths.search.arrays import Network
from routing.paths.search.engine import choose_engine
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.outfit import Outfit, make_outfit, start_states
from routing.paths.tethers.path import TetheredPath
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.search import find_tethered_paths
from routing.paths.tethers.short_tethers import HookRule, hook_rule, leapfrog_course
from routing.paths.tethers.tables import TetherTables, make_tables
from routing.studies.pairs.trips import MoveTable, Trip
from structures.frozen import frozen
from structures.solids.sweep import SWEEP_TOLERANCE_M
from structures.units import fine_text

__all__ = ["NO_REEL_BEGINS", "LeapfrogPairs", "ReelPairs", "make_pairs"]

NO_REEL_BEGINS: Final = "no open tether point is within hook reach of"
"""Why a trip on a fresh kit of reels begins nowhere, before the id of the site."""

_ASK: Final = "ask for that route by itself to see what would open it"


@frozen(kw_only=True, eq=False)
class _Ground:
    """What trips of one case stand on."""

    graph: ReachGraph
    places: tuple[SitePlaces, ...]
    """Of all sites, in order."""
    table: MoveTable

    @classmethod
    def of(cls, graph: ReachGraph, sites: Sequence[str]) -> "_Ground":
        places = tuple(site_grips(graph, site) for site in sites)
        return cls(
            graph=graph,
            places=places,
            table=MoveTable(
                graph=graph,
                room_m=all_clearances(graph),
                place_room_m=place_clearances(graph),
            ),
        )

    def no_way(self, start: int, goal: int, why: str = "") -> Trip:
        """Say that no way leads from one site to another, and why as far as that is plain."""
        for number in (start, goal):
            place = self.places[number]
            if not len(place.grips):
                why = place.too_far or f"no grip of {place.site_id} is open and usable"
                return Trip(way="no way", why=why)
        return Trip(way="no way", why=why or f"the rules allow no way; {_ASK}")

    def judged(self, trip: Trip, blocks: Sequence[str]) -> Trip:
        """Return a trip with its verdict: whatever blocks makes it unsafe."""
        stops = list(blocks)
        if trip.clearance_m is not None and trip.clearance_m < -SWEEP_TOLERANCE_M:
            stops.append(f"the body corridor is not clear by {fine_text(-trip.clearance_m, 'up')}")
        return replace(trip, way="unsafe", why="; ".join(stops)) if stops else trip


def _blocks(graph: ReachGraph, course: Course, protocol: Protocol) -> tuple[str, ...]:
    """Return what the checks of tethers say against a piece of a trip."""
    case = Case(graph=graph, course=course, margins=Margins(), protocol=protocol)
    return tuple(
        finding.message
        for check in TETHER_CHECKS
        for finding in check(case)
        if finding.severity == "blocks"
    )


class LeapfrogPairs:
    """Trips on two short tethers: one search for all goals of a start."""

    def __init__(self, graph: ReachGraph, sites: Sequence[str]) -> None:
        self.base = _Ground.of(graph, sites)
        self.rule: HookRule = hook_rule(graph)
        self.network = Network.of_moves(
            graph.moves,
            extra_s=self.rule.transfer_s,
            allowed=self.rule.allowed,
            terminal=np.flatnonzero(graph.grips.kind == GripKind.SOCKET),
        )

    def trips(self, starts: Sequence[int]) -> Iterator[list[Trip]]:
        """Yield for each start, by its number among the sites, the trips to all sites."""
        grips = [place.grips for place in self.base.places]
        engine = choose_engine("auto", moves=len(self.network.head), searches=len(grips))
        chosen = [grips[start] for start in starts]
        found = ways_to_all(self.network, chosen, grips, engine=engine)
        for start, ways in zip(starts, found, strict=True):
            yield [self._trip(ways, start, goal) for goal in range(len(grips))]

    def _trip(self, ways: WaysTo, start: int, goal: int) -> Trip:
        seconds = float(ways.seconds[goal])
        if not np.isfinite(seconds):
            return self.base.no_way(start, goal)
        steps = ways.steps[ways.first[goal] : ways.first[goal + 1]]
        moves = self.network.move[steps]
        trip = self.base.table.trip(
            moves,
            at=int(ways.grip[goal]),
            seconds=seconds,
            transfers=int(self.rule.transfers[moves].sum()),
            line_m=None,
        )
        passed = {int(ways.grip[goal]), *self.network.tail[steps].tolist()}
        blocks = [why for hatch in sorted(passed & self._doubtful.keys())
                  for why in self._doubtful[hatch]]  # fmt: skip
        begins = int(self.network.tail[steps[0]]) if len(steps) else int(ways.grip[goal])
        return self.base.judged(trip, [*blocks, *self._unhooked.get(begins, ())])

    @functools.cached_property
    def _hatches(self) -> tuple[int, ...]:
        return tuple(np.flatnonzero(self.base.graph.grips.kind == GripKind.HATCH).tolist())

    @functools.cached_property
    def _doubtful(self) -> dict[int, tuple[str, ...]]:
        """Hatches whose tether point does not hold, and what is said of them wherever they lie."""
        graph = self.base.graph
        found = {}
        for grip in self._hatches:
            hook = Anchoring(at=0, element_id=graph.grips.element_ids[grip], starts=True)
            course = Course(grips=(grip,), moves=(), anchorings=(hook,))
            found[grip] = _blocks(graph, course, "leapfrog")
        return {grip: why for grip, why in found.items() if why}

    @functools.cached_property
    def _unhooked(self) -> dict[int, tuple[str, ...]]:
        """Hatches at which no hook can be put on, and what is said of trips that begin there."""
        graph = self.base.graph
        found = {}
        for grip in self._hatches:
            course = leapfrog_course(graph, Course(grips=(grip,), moves=()), self.rule)
            said = _blocks(graph, course, "leapfrog")
            found[grip] = tuple(why for why in said if why not in self._doubtful.get(grip, ()))
        return {grip: why for grip, why in found.items() if why}


class ReelPairs:
    """Trips on reels: one search for all goals of a start, bounds made once for all starts.

    A trip starts as a route does: from a hatch on its own tether point, from
    elsewhere on a fresh kit, one reel hooked on at any open tether point within
    hook reach.
    """

    def __init__(self, graph: ReachGraph, sites: Sequence[str], kit: Kit) -> None:
        self.base = _Ground.of(graph, sites)
        self.outfit: Outfit = make_outfit(graph, kit)
        states = [start_states(graph, self.outfit, place) for place in self.base.places]
        ends = np.cumsum([0, *map(len, states)]).tolist()
        self.numbers = [range(ends[i], ends[i + 1]) for i in range(len(states))]
        self.every = TetherProblem(
            ground=reel_ground(graph),
            rules=self.outfit.rules,
            starts=tuple(state for of_site in states for state in of_site),
        )
        self.goals = tuple(
            sorted({grip for place in self.base.places for grip in place.grips.tolist()})
        )
        tails = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
        self._keys = tails * len(graph.grips) + graph.moves.head
        self._first_lines: dict[tuple[int, int, int], tuple[str, ...]] = {}

    @functools.cached_property
    def tables(self) -> TetherTables:
        """Bounds that never say too much for any of the starts."""
        return make_tables(self.every, self.goals, engine=self._engine)

    @functools.cached_property
    def _engine(self) -> Literal["plain", "compiled"]:
        moves = len(self.every.ground.network.head)
        return choose_engine("auto", moves=moves, searches=len(self.base.places))

    def trips(self, starts: Sequence[int]) -> Iterator[list[Trip]]:
        """Yield for each start, by its number among the sites, the trips to all sites."""
        for start in starts:
            yield self._from(start)

    def _from(self, start: int) -> list[Trip]:
        base = self.base
        numbers = self.numbers[start]
        if not numbers or not self.goals:
            why = f"{NO_REEL_BEGINS} {base.places[start].site_id}"
            return [base.no_way(start, goal, why) for goal in range(len(base.places))]
        paths = find_tethered_paths(
            self.every.only(*numbers), self.goals, tables=self.tables, engine=self._engine
        ).paths
        trips = []
        for goal, place in enumerate(base.places):
            reached = [paths[grip] for grip in place.grips.tolist() if grip in paths]
            best = min(reached, key=lambda p: (p.cost, len(p.nodes), p.nodes), default=None)
            trips.append(base.no_way(start, goal) if best is None else self._trip(best))
        return trips

    def _trip(self, path: TetheredPath) -> Trip:
        graph = self.base.graph
        nodes = np.array(path.nodes, dtype=np.int64)
        moves = np.searchsorted(self._keys, nodes[:-1] * len(graph.grips) + nodes[1:])
        trip = self.base.table.trip(
            moves,
            at=path.nodes[-1],
            seconds=path.cost,
            transfers=len(path.transfers),
            line_m=path.least_left.left_m,
        )
        return self.base.judged(trip, self._first_line(path))

    def _first_line(self, path: TetheredPath) -> tuple[str, ...]:
        """Return what is said against the tether that a trip starts on.

        Transfers are made only where a safety tether is known to hold.
        """
        stay = path.state.stack[0]
        key = (stay.point, path.nodes[0], stay.tether)
        if key not in self._first_lines:
            first = Anchoring(
                at=0,
                element_id=self.outfit.points[stay.point].id,
                line_m=self.outfit.rules.tethers[stay.tether].length_m,
                payout_m=path.payout_m[:1],
                starts=True,
            )
            course = Course(grips=path.nodes[:1], moves=(), anchorings=(first,))
            self._first_lines[key] = _blocks(self.base.graph, course, "reel")
        return self._first_lines[key]


def make_pairs(
    graph: ReachGraph, sites: Sequence[str], protocol: Protocol, kit: Kit
) -> LeapfrogPairs | ReelPairs:
    """Prepare the trips of one case."""
    if protocol == "leapfrog":
        return LeapfrogPairs(graph, sites)
    return ReelPairs(graph, sites, kit)
