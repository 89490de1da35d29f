"""The keep-out zones that one condition switches on, and which places and lines are in them.

What other conditions do is left out: a place may be shut for another reason as well,
and that must not hide this one.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from routing.graph.moves import ends_of, line_clears
from routing.graph.reach_graph import GripKind
from routing.graph.surroundings import Named
from routing.graph.ways import Ways, lay_legs
from routing.outings.safety.moments import Moment
from routing.outings.translations import Ground
from routing.paths.course import move_between
from routing.paths.tethers.stack import Stay
from structures.elements import Hatch, Item
from structures.solids.sweep import (
    SWEEP_TOLERANCE_M,
    Sweep,
    places_clearance,
    sweep_clears,
)

__all__ = ["SwitchedZones", "way_kinds"]

Pair: TypeAlias = tuple[int, int]
"""Two grips between which a line lies, the one nearer to the hatch first."""


def way_kinds(ground: Ground, moments: Sequence[Moment]) -> dict[Pair, int]:
    """Return over what kind of way each piece of line lies, and each hold was come to.

    Parameters
    ----------
    moments
        Of one person, by time.

    Returns
    -------
    dict
        ``way_kind`` of the move in the graph it was gone in, by pair of grips.

    Notes
    -----
    In that graph, because later the person may be too wide for the move.
    """
    kinds: dict[Pair, int] = {}
    before: int | None = None
    for moment in moments:
        pairs = [pair for stay in _stack(moment) for pair in pairwise(stay.grips)]
        if moment.state is None and before is not None and before != moment.grip:
            pairs.append((before, moment.grip))
        new = [pair for pair in pairs if pair not in kinds]
        if new:
            graph = ground.graph(moment.person, moment.carry, moment.when)
            for tail, head in new:
                kinds[tail, head] = int(graph.moves.way_kind[move_between(graph, tail, head)])
        before = moment.grip
    return kinds


class SwitchedZones:
    """Keep-out zones that count under one condition and without any condition do not.

    Parameters
    ----------
    ground
        Structure, people and grips of the outing.
    condition
        The condition.
    kinds
        As `way_kinds` returns them for the person who is asked about.
    """

    def __init__(self, ground: Ground, condition: str, kinds: Mapping[Pair, int]) -> None:
        self.ground = ground
        self.condition = condition
        self.kinds = kinds
        self._lines: dict[Pair, bool] = {}

    def hold_person(self, moment: Moment) -> bool:
        """Tell whether the body, with what is carried, is not certainly clear of them."""
        zones = self._zones(moment, line=False)
        if not zones.shapes:
            return False
        graph = self.ground.graph(moment.person, moment.carry, moment.when)
        radius_m = graph.situation.ability.corridor_radius_m
        body_m = graph.grips.body_m[[moment.grip]]
        room_m = places_clearance(zones.tables, body_m, radius_m, cap_m=1.0)[0]
        return bool(room_m[0] < SWEEP_TOLERANCE_M)

    def hold_lines(self, moment: Moment, came_from: int | None) -> Iterator[int]:
        """Yield the grips at or from which a line is in them, once for hooks, once for lays.

        Parameters
        ----------
        moment
            One moment of one person.
        came_from
            The grip held before this one; None at first. Who is on short tethers at a place
            that takes no hook hangs on the one left there.
        """
        zones = self._zones(moment, line=True)
        if not zones.shapes:
            return
        if moment.state is None:
            if self._short_tether(zones, moment, came_from):
                yield moment.grip
            return
        stack = moment.state.stack
        points = self.ground.tether_points
        hooked = (
            stay.grips[0]
            for stay in stack
            if self._straight(zones, moment, points[stay.point].position_m, stay.grips[0])
        )
        lies = (
            pair[0]
            for stay in stack
            for pair in pairwise(stay.grips)
            if self._lies(zones, moment, pair)
        )
        for found in (next(hooked, None), next(lies, None)):
            if found is not None:
                yield found

    def _zones(self, moment: Moment, *, line: bool) -> Named:
        return _new_zones(self.ground, moment.person, moment.carry, self.condition, line=line)

    def _short_tether(self, zones: Named, moment: Moment, came_from: int | None) -> bool:
        """Tell whether one of two short tethers, or its hook, is in a zone."""
        grips = self.ground.grips(moment.person)
        here = grips.position_m[moment.grip]
        if self._straight(zones, moment, here, moment.grip):
            return True
        if grips.kind[moment.grip] == GripKind.HATCH:
            hatch = self.ground.structure.find(grips.element_ids[moment.grip], (Hatch,))
            return any(
                self._straight(zones, moment, point.position_m, moment.grip)
                for point in self.ground.tether_points
                if point.id == hatch.tether_point
            )
        if grips.tether_hook[moment.grip] or came_from is None:
            return False
        return self._lies(zones, moment, (came_from, moment.grip))

    def _straight(
        self, zones: Named, moment: Moment, from_m: Sequence[float] | np.ndarray, grip: int
    ) -> bool:
        position_m = self.ground.grips(moment.person).position_m[[grip]]
        still = np.array([[1.0, 0.0, 0.0]])
        sweep = Sweep(np.array([from_m], dtype=float), position_m, still, still, 0.0)
        return not bool(sweep_clears(zones.tables, sweep, 0.0)[0])

    def _lies(self, zones: Named, moment: Moment, pair: Pair) -> bool:
        if pair not in self._lines:
            ends = ends_of(self.ground.grips(moment.person), *(np.array([one]) for one in pair))
            kind = np.array([self.kinds[pair]], dtype=np.int64)
            radius_m = self.ground.limits.corridor_radius_m  # the line has none
            legs = lay_legs(ends, kind, radius_m)
            clear = line_clears(legs, Ways(kind, np.zeros(1)), zones)
            self._lines[pair] = not bool(clear[0])
        return self._lines[pair]


def _stack(moment: Moment) -> tuple[Stay, ...]:
    return () if moment.state is None else moment.state.stack


def _new_zones(
    ground: Ground, person: str, carry: Item | None, condition: str, *, line: bool
) -> Named:
    def found() -> Named:
        with_it, without = (ground.around(person, carry, when) for when in ((condition,), ()))
        zones, known = (with_it.line, without.line) if line else (with_it.body, without.body)
        new = [i for i, one in enumerate(zones.ids) if one not in known.ids]
        return Named(tuple(zones.shapes[i] for i in new), tuple(zones.ids[i] for i in new))

    return ground.once(("switched", carry, condition, line), found)
