"""Which worksites can be reached with which reach, in the graph of one reach."""

import functools
from collections.abc import Sequence
from dataclasses import replace
from heapq import heappop, heappush
from typing import Final

import numpy as np

from routing.graph.build import build_graph
from routing.graph.reach_graph import Floats, GripKind, ReachGraph
from routing.graph.sites import SitePlaces, site_grips
from routing.graph.situation import Situation
from routing.graph.ways import LENGTH_SLACK_M
from routing.paths.answers.results import Protocol
from routing.paths.search.arrays import Network
from routing.paths.search.engine import choose_engine
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.outfit import Outfit, make_outfit, start_states, transfer_hooks
from routing.paths.tethers.problem import TetherProblem
from routing.paths.tethers.search import find_tethered_paths
from routing.paths.tethers.short_tethers import hook_rule
from routing.paths.tethers.steps import Hooks, TetherGround
from structures.elements import Person
from structures.frozen import frozen
from structures.model import Structure

__all__ = ["Feasible", "PeopleCase", "with_reach"]

_SEARCHES: Final = 600
"""Searches through all moves that those of one study come to, about: some thirty, and each
looks at a grip a score of times, with other line left."""


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
        self._ways_m = np.unique(self.graph.moves.way_m)
        # On reels: places among these lengths, -1 for no hand-over at all. What is reached
        # with some is reached with longer ones, so each search narrows down every worksite.
        self._at_least = dict.fromkeys(case.worksites, -2)
        self._at_most: dict[str, int] = {}

    def is_reached(self, site: str) -> bool:
        """Tell whether a worksite is reached with this reach."""
        if self.case.protocol == "leapfrog":
            return site in self._least_on_leapfrog
        return self._is_reached_within(len(self._ways_m) - 1, site)

    def least_way_m(self, site: str) -> float | None:
        """Return the shortest longest hand-over on any way to a worksite, None for no way [m]."""
        if self.case.protocol == "leapfrog":
            return self._least_on_leapfrog.get(site)
        if not self.is_reached(site):
            return None
        while self._at_most[site] - self._at_least[site] > 1:
            self._is_reached_within((self._at_most[site] + self._at_least[site]) // 2, site)
        place = self._at_most[site]
        return 0.0 if place < 0 else float(self._ways_m[place])

    @functools.cached_property
    def _least_on_leapfrog(self) -> dict[str, float]:
        allowed = hook_rule(self.graph).allowed
        return _of_sites(self.places, _longest_hand_over(self.graph, allowed, self.hatches))

    def _is_reached_within(self, longest: int, site: str) -> bool:
        """Tell whether hand-overs up to one of the lengths lead to a worksite."""
        if site in self._at_most and self._at_most[site] <= longest:
            return True
        if self._at_least[site] >= longest:
            return False
        open_ = [
            one
            for one, least in self._at_least.items()
            if least < longest < self._at_most.get(one, len(self._ways_m))
        ]
        way_m = 0.0 if longest < 0 else float(self._ways_m[longest])
        reached = self._search_on_reels(way_m, open_)
        for one in open_:
            if one in reached:
                self._at_most[one] = longest
            else:
                self._at_least[one] = longest
        return site in reached

    @functools.cached_property
    def _outfit(self) -> Outfit:
        return make_outfit(self.graph, self.case.kit)

    @functools.cached_property
    def _hooks(self) -> Hooks:
        return transfer_hooks(self.graph)

    def _search_on_reels(self, way_m: float, sites: Sequence[str]) -> frozenset[str]:
        """Return which of some worksites are reached by hand-overs no longer than this."""
        graph, moves, outfit = self.graph, self.graph.moves, self._outfit
        starts = tuple(
            state for hatch in self.hatches for state in start_states(graph, outfit, hatch)
        )
        goals = {int(grip) for site in sites for grip in self.places[site].grips}
        if not starts or not goals:
            return frozenset()
        network = Network.of_moves(
            moves,
            allowed=moves.line_clear & (moves.way_m <= way_m + LENGTH_SLACK_M),
            terminal=np.flatnonzero(graph.grips.kind == GripKind.SOCKET),
        )
        ground = TetherGround(network=network, way_m=moves.way_m[network.move], hooks=self._hooks)
        problem = TetherProblem(ground=ground, rules=outfit.rules, starts=starts)
        engine = choose_engine("auto", moves=len(moves), searches=_SEARCHES)
        paths = find_tethered_paths(problem, goals, engine=engine).paths
        return frozenset(
            site for site in sites if any(int(grip) in paths for grip in self.places[site].grips)
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
