"""What stands round the grips in a situation: shapes by the part they play, with their ids."""

from functools import cached_property

import numpy as np

from routing.graph.reach_graph import Floats
from routing.graph.situation import Situation
from structures.elements import Zone
from structures.frozen import frozen
from structures.model import Structure
from structures.shapes import Shape
from structures.solids.axes import extent
from structures.solids.tables import ShapeTables
from structures.zones import active_zones, zone_shape

__all__ = ["Named", "Surroundings", "survey"]


@frozen()
class Named:
    """Shapes and the ids of the elements they belong to, in id order."""

    shapes: tuple[Shape, ...]
    ids: tuple[str, ...]

    @cached_property
    def tables(self) -> ShapeTables:
        """The shapes, ready to be asked about again and again."""
        return ShapeTables(self.shapes)

    def near(self, points_m: Floats, margin_m: float) -> tuple[Shape, ...]:
        """Return the shapes that may come as near as a margin to any of some points.

        Parameters
        ----------
        points_m
            Shape (p, 3) [m]; their common box is what counts.
        margin_m
            How near [m].
        """
        return self.around(points_m, margin_m).shapes

    def around(self, points_m: Floats, margin_m: float) -> "Named":
        """Return what `near` does, with the ids."""
        if not len(points_m):
            return Named((), ())
        low, high = self.tables.low_m, self.tables.high_m
        lowest, highest = extent(points_m)
        far = (low > highest + margin_m) | (high < lowest - margin_m)
        kept = np.flatnonzero(~far.any(axis=1)).tolist()
        if len(kept) == len(self.shapes):
            return self  # with the tables it may have
        return Named(tuple([self.shapes[i] for i in kept]), tuple([self.ids[i] for i in kept]))


@frozen(kw_only=True)
class Surroundings:
    """What bodies, lines and hands must reckon with."""

    solids: Named
    body: Named
    """What the body ball must keep clear of: solids, then keep-out zones that apply to it."""
    placed: Named
    """What an item that people put somewhere must keep clear of: ``body``, then what other
    keep-out zones apply to items."""
    line: Named
    """Keep-out zones that a tether line must stay out of."""
    slow: Named
    """Slow-down zones that apply to the body ball."""
    slow_factors: tuple[float, ...]
    """How many times longer a move takes in each of these."""

    def around(self, points_m: Floats, margin_m: float) -> "Surroundings":
        """Keep what bodies, lines and hands near some points must reckon with.

        Parameters as in `Named.near`; slow-down zones are all kept.
        """
        return Surroundings(
            solids=self.solids.around(points_m, margin_m),
            body=self.body.around(points_m, margin_m),
            placed=self.placed.around(points_m, margin_m),
            line=self.line.around(points_m, margin_m),
            slow=self.slow,
            slow_factors=self.slow_factors,
        )


def survey(structure: Structure, situation: Situation) -> Surroundings:
    """Sort solids and the zones that count in a situation by what they apply to.

    The body ball holds the carried item too, so a zone for items counts for
    the ball as soon as something is carried.
    """
    solids = sorted(structure.solids, key=lambda solid: solid.id)
    zones = sorted(active_zones(structure, situation.when), key=lambda zone: zone.id)
    carried = {"body"} if situation.carry is None else {"body", "item"}
    keep_out = [zone for zone in zones if zone.kind == "keep-out"]
    barred = [zone for zone in keep_out if carried.intersection(zone.applies_to)]
    slow = [
        zone for zone in zones if zone.kind == "slow-down" and carried.intersection(zone.applies_to)
    ]
    hard = Named(tuple(s.volume for s in solids), tuple(s.id for s in solids))
    body = _joined(hard, _named(barred))
    for_items = [zone for zone in keep_out if zone not in barred and "item" in zone.applies_to]
    return Surroundings(
        solids=hard,
        body=body,
        placed=_joined(body, _named(for_items)) if for_items else body,
        line=_named([zone for zone in keep_out if "tether" in zone.applies_to]),
        slow=_named(slow),
        slow_factors=tuple(zone.slow_factor for zone in slow),
    )


def _joined(one: Named, other: Named) -> Named:
    return Named(one.shapes + other.shapes, one.ids + other.ids)


def _named(zones: list[Zone]) -> Named:
    return Named(tuple(zone_shape(zone) for zone in zones), tuple(zone.id for zone in zones))
