"""Which worksites can be reached with which reach, in the graph of one reach."""

import functools
from collections.abc import Sequence
from dataclasses import replace
from heapq import heappop, heappush

import numpy as np

from routing.graph.build import build_graph
from routing.graph.reach_graph import Floats, GripKind, ReachGraph
from routing.graph.sites import SitePlaces, site_grips
from routing.graph.situation import Situation
from routing.graph.ways import LENGTH_SLACK_M
from routing.paths.arrays import Network
from routing.paths.kit import Kit
from routing.paths.outfit import make_outfit, start_states, transfer_hooks
from routing.paths.results import Protocol
from routing.paths.short_tethers import hook_rule
from routing.paths.tether_problem import TetherProblem
from routing.paths.tether_search import find_tethered_paths
from routing.paths.tether_steps import TetherGround
from structures.elements import Person
from structures.frozen import frozen
from structures.model import Structure

__all__ = ["Feasible", "PeopleCase", "with_reach"]


@frozen(kw_only=True, eq=False)
class PeopleCase:
    """One person with one load on one protocol, whose reach is looked for.

    Parameters
    ----------
    structure
        With references checked.
    situation
        Person, load, conditions, closures and limits.
    protocol
        How people stay tethered.
    kit
        Reels that the person has (reel).
    """

    structure: Structure
    situation: Situation
    protocol: Protocol
    kit: Kit

    @property
    def worksites(self) -> tuple[str, ...]:
        """Ids of all worksites, ascending."""
        return tuple(sorted(one.id for one in self.structure.worksites))

    @property
    def share(self) -> float:
        """What the load leaves of a person's reach."""
        ability = with_reach(self.situation, 1.0).ability
        return ability.reach_m


def with_reach(situation: Situation, reach_m: float) -> Situation:
    """Return the situation with a person of another reach, all else the same."""
    person = situation.person or Person(id="limits")
    return replace(situation, person=person.model_copy(update={"reach_m": reach_m}))


class Feasible:
    """The graph for one reach of the person, and what lesser reaches in it still allow.

    Parameters
    ----------
    case
        Who goes how.
    reach_m
        The person's own reach, before what a load takes of it [m].
    """

    def __init__(self, case: PeopleCase, reach_m: float) -> None:
        self.case = case
        self.graph = build_graph(case.structure, with_reach(case.situation, reach_m))
        self.places = {site: site_grips(self.graph, site) for site in case.worksites}
        hatches = sorted(hatch.id for hatch in case.structure.hatches)
        self.hatches = [site_grips(self.graph, hatch) for hatch in hatches]
        self._reached: dict[float, frozenset[str]] = {}

    @functools.cached_property
    def least_way_m(self) -> dict[str, float]:
        """For each worksite that is reached the shortest longest hand-over on any way there [m]."""
        if self.case.protocol == "leapfrog":
            allowed = hook_rule(self.graph).allowed
            longest_m = _longest_hand_over(self.graph, allowed, self.hatches)
            return _of_sites(self.places, longest_m)
        return {site: way_m for site, way_m in self._by_halves() if way_m is not None}

    def _by_halves(self) -> list[tuple[str, float | None]]:
        """Find the least way of each worksite among the lengths that there are, by halves."""
        ways_m = np.unique(self.graph.moves.way_m)
        found: list[tuple[str, float | None]] = []
        for site in self.case.worksites:
            low, high = -1, len(ways_m) - 1
            if high < 0 or site not in self._reached_on_reels(float(ways_m[high])):
                # Only who need not move at all is there already.
                found.append((site, 0.0 if site in self._reached_on_reels(0.0) else None))
                continue
            while high - low > 1:
                middle = (low + high) // 2
                if site in self._reached_on_reels(float(ways_m[middle])):
                    high = middle
                else:
                    low = middle
            found.append((site, float(ways_m[high])))
        return found

    def _reached_on_reels(self, way_m: float) -> frozenset[str]:
        """Return the worksites reached by hand-overs no longer than this."""
        if way_m not in self._reached:
            self._reached[way_m] = self._search_on_reels(way_m)
        return self._reached[way_m]

    def _search_on_reels(self, way_m: float) -> frozenset[str]:
        graph, moves = self.graph, self.graph.moves
        outfit = make_outfit(graph, self.case.kit)
        starts = tuple(
            state for hatch in self.hatches for state in start_states(graph, outfit, hatch)
        )
        goals = {int(grip) for place in self.places.values() for grip in place.grips}
        if not starts or not goals:
            return frozenset()
        network = Network.of_moves(
            moves,
            allowed=moves.line_clear & (moves.way_m <= way_m + LENGTH_SLACK_M),
            terminal=np.flatnonzero(graph.grips.kind == GripKind.SOCKET),
        )
        ground = TetherGround(
            network=network,
            way_m=moves.way_m[network.move],
            hooks=transfer_hooks(graph, outfit, 1),
        )
        problem = TetherProblem(ground=ground, rules=outfit.rules, starts=starts)
        paths = find_tethered_paths(problem, goals).paths
        return frozenset(
            site
            for site, place in self.places.items()
            if any(int(grip) in paths for grip in place.grips)
        )


def _longest_hand_over(
    graph: ReachGraph, allowed: np.ndarray, starts: Sequence[SitePlaces]
) -> Floats:
    """Return for every grip the least that the longest hand-over on a way there can be.

    The search of Dijkstra with the larger of two lengths in the place of their sum.
    """
    moves = graph.moves
    least_m = np.full(len(graph.grips), np.inf)
    heap: list[tuple[float, int]] = []
    sources = {int(grip) for place in starts for grip in place.grips}
    for grip in sorted(sources):
        least_m[grip] = 0.0
        heappush(heap, (0.0, grip))
    while heap:
        reached_m, grip = heappop(heap)
        if reached_m > least_m[grip]:
            continue
        if graph.grips.kind[grip] == GripKind.SOCKET and grip not in sources:
            continue
        for move in range(int(moves.indptr[grip]), int(moves.indptr[grip + 1])):
            after_m = max(reached_m, float(moves.way_m[move]))
            head = int(moves.head[move])
            if allowed[move] and after_m < least_m[head]:
                least_m[head] = after_m
                heappush(heap, (after_m, head))
    return least_m


def _of_sites(places: dict[str, SitePlaces], longest_m: Floats) -> dict[str, float]:
    found = {
        site: float(longest_m[place.grips].min())
        for site, place in places.items()
        if len(place.grips)
    }
    return {site: way_m for site, way_m in found.items() if np.isfinite(way_m)}
