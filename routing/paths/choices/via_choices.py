"""Choices on reels over via sites: the best of each kind, alternatives and a fallback.

Going back along the lay ties the legs together, so there is one exact search only, for the
least of one sum (`routing.paths.tethers.legs`). What it is asked here is put into that sum: a
weight on transfers or on exposure so large that seconds only break ties, or a price on the
metres of handrails used before. The best of each kind are exact so; an alternative comes with
what a quicker one within the limit could save at most.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from routing.graph.reach_graph import Floats, ReachGraph
from routing.graph.sites import SitePlaces
from routing.paths.choices.alternatives import Alternative, Held, make_alternative
from routing.paths.choices.ground import ChoiceGround, course_on_reels, held_on
from routing.paths.choices.tradeoffs import Choice, TradeOffs
from routing.paths.search.least_time import least_time_tree
from routing.paths.tethers.front import moves_between
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.legs import MOST_LABELS, ByWayOf, SearchGaveUpError, by_way_of
from routing.paths.tethers.outfit import make_outfit, start_states
from routing.paths.tethers.price_bracket import Priced, find_bracket
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.stack import TetherRules, TetherState
from routing.paths.tethers.steps import TetherGround

__all__ = ["WalkSearch", "reel_choices_by_way"]

_FIRST: Final = 1e6
"""Seconds that one transfer, or one second of exposure, weighs where it comes first.

No route takes so long; exposures that differ by less than a millisecond count as equal.
"""

_LAST: Final = 1e-6
"""Weight of seconds where the metres come first."""

_MOST_PRICES: Final = 4
_MOST_SETS: Final = 100
"""Each price and each set of handrails for the fallback is a whole search."""

_FEW_LABELS: Final = 40_000
"""Labels of each of these; a walk that is not proven best after so many comes with its gap."""


def reel_choices_by_way(
    graph: ReachGraph, places: Sequence[SitePlaces], kit: Kit
) -> ChoiceGround | None:
    """Return the ground on reels over via sites, or None where no reel can be hooked on.

    Parameters
    ----------
    places
        Start, via sites in order, and goal.
    """
    outfit = make_outfit(graph, kit)
    starts = start_states(graph, outfit, places[0])
    if not starts:
        return None
    ground = reel_ground(graph)
    held, ids = held_on(graph, ground.network, ground.way_m)
    search = WalkSearch(
        ground=ground,
        rules=outfit.rules,
        starts=starts,
        stops=tuple(tuple(place.grips.tolist()) for place in places[1:]),
        exposure_s=graph.moves.exposure_s[ground.network.move],
        held=held,
    )
    return ChoiceGround(
        graph=graph,
        element_ids=ids,
        held=held,
        tradeoffs=search.tradeoffs,
        within=search.within,
        without=search.without,
        to_course=lambda nodes, path: course_on_reels(graph, outfit, nodes, path),
        most_searches=_MOST_SETS,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WalkSearch:
    """The searches for walks from the starts by way of all stops to the last."""

    ground: TetherGround
    rules: TetherRules
    starts: tuple[TetherState, ...]
    stops: tuple[tuple[int, ...], ...]
    exposure_s: Floats
    held: Held

    def tradeoffs(self) -> TradeOffs:
        """Return the routes with least seconds, fewest transfers and least exposure, exactly."""
        plain = self.ground.network.cost
        walks = (
            by_way_of(self.ground, self.rules, self.starts, self.stops),
            _proven(self._least(plain, self.rules.transfer_s + _FIRST)),
            _proven(self._least(plain + _FIRST * self.exposure_s, self.rules.transfer_s)),
        )
        choices = [self._choice(walk) for walk in walks if walk is not None]
        kept: dict[tuple[float, ...], Choice] = {}
        for one in sorted(choices, key=lambda choice: choice.criteria):
            if not any(_no_worse(other, one) for other in kept.values()):
                kept[one.criteria] = one
        return TradeOffs(choices=tuple(kept.values()), labels=0, complete=False)

    def within(self, used: Floats, limit: float) -> Alternative | None:
        """Return a route with so many metres at most, and what a quicker one could save."""
        if self._least_free(used) > limit:
            return None

        def search(of_cost: float, of_used: float) -> Priced[ByWayOf] | None:
            of_cost = max(of_cost, _LAST)
            cost = of_cost * self.ground.network.cost + of_used * used
            walk = self._least(cost, of_cost * self.rules.transfer_s, _FEW_LABELS)
            if walk is None:
                return None
            metres = float(used[self._moves(walk)].sum())
            if of_cost == _LAST and metres > limit and walk.unproven > 0:
                raise SearchGaveUpError(_FEW_LABELS)
            return Priced(
                path=walk, cost=self._seconds(walk), used=metres, slack=walk.unproven / of_cost
            )

        found = find_bracket(search, limit, most_prices=_MOST_PRICES)
        if found is None:
            return None
        gap_s = 0.0 if found.is_best else found.best.cost - found.least
        walk = replace(found.best.path, cost=found.best.cost, unproven=gap_s)
        made = make_alternative(self.held, walk.nodes, walk.cost, walk)
        return replace(made, unproven=gap_s)

    def without(self, closed: frozenset[int]) -> Alternative | None:
        """Return the least-time route that holds none of these elements."""
        network = self.ground.network
        gone = np.flatnonzero(np.isin(self.held.element, sorted(closed)))
        keep = ~(np.isin(network.tail, gone) | np.isin(network.head, gone))
        starts = tuple(state for state in self.starts if state.grip not in gone)
        stops = [[grip for grip in stop if grip not in gone] for stop in self.stops]
        if not starts or not all(stops):
            return None
        ground = TetherGround(
            network=network.without(nodes=gone.tolist()),
            way_m=self.ground.way_m[keep],
            hooks=self.ground.hooks,
        )
        walk = by_way_of(ground, self.rules, starts, stops, most_labels=_FEW_LABELS)
        if walk is None:
            return None
        made = make_alternative(self.held, walk.nodes, walk.cost, walk)
        return replace(made, unproven=walk.unproven)

    def _least_free(self, used: Floats) -> float:
        """Return what a walk uses at least, told without tethers."""
        network = self.ground.network.with_cost(used)
        free = network.with_terminal(np.zeros_like(network.terminal))
        at = {state.grip: 0.0 for state in self.starts}
        for stop in self.stops:
            least = least_time_tree(free, at).cost
            at = {grip: float(least[grip]) for grip in stop if np.isfinite(least[grip])}
        return min(at.values(), default=np.inf)

    def _least(
        self, cost: Floats, transfer_s: float, most_labels: int = MOST_LABELS
    ) -> ByWayOf | None:
        """Return the walk with the least sum of other costs."""
        ground = TetherGround(
            network=self.ground.network.with_cost(cost),
            way_m=self.ground.way_m,
            hooks=self.ground.hooks,
        )
        rules = replace(self.rules, transfer_s=transfer_s)
        return by_way_of(ground, rules, self.starts, self.stops, most_labels=most_labels)

    def _moves(self, walk: ByWayOf) -> np.ndarray:
        return moves_between(self.ground.network, walk.nodes)

    def _seconds(self, walk: ByWayOf) -> float:
        moved_s = float(self.ground.network.cost[self._moves(walk)].sum())
        return moved_s + self.rules.transfer_s * _transfers(walk)

    def _choice(self, walk: ByWayOf) -> Choice:
        seconds = self._seconds(walk)
        return Choice(
            seconds=seconds,
            transfers=_transfers(walk),
            exposure_s=float(self.exposure_s[self._moves(walk)].sum()),
            nodes=walk.nodes,
            tethered=replace(walk, cost=seconds),
        )


def _transfers(walk: ByWayOf) -> int:
    return sum(len(path.transfers) for path in walk.paths)


def _no_worse(one: Choice, other: Choice) -> bool:
    return all(a <= b for a, b in zip(one.criteria, other.criteria, strict=True))


def _proven(walk: ByWayOf | None) -> ByWayOf | None:
    """Return the walk; of one that is not proven best it is not known what it has least of."""
    if walk is not None and walk.unproven > 0:
        raise SearchGaveUpError(MOST_LABELS)
    return walk
