"""What a place on a handrail must hold for a bag to be tied there, all places at once.

The bag is a ball round its box, tied close: it rests against the handrail on its
outer side. Adrift it may be anywhere within its diameter and the hook of where
it is tied: zones, handrails of routes and kick-sensitive solids must be out of
that. At rest it must not touch solids, the person, or what is worked on.
"""

from collections.abc import Sequence

import numpy as np

from routing.graph.surroundings import Named
from routing.graph.ways import LENGTH_SLACK_M
from structures.frozen import frozen
from structures.polylines import Polyline
from structures.solids.axes import Floats, Indices, norms
from structures.solids.distance import signed_distance
from structures.solids.seams import line_blocked
from structures.solids.sight import crosses

__all__ = ["BagPlaces", "BagRules", "Check", "check_places"]


@frozen(eq=False)
class BagRules:
    """What counts at one worksite for one bag, lengths in metres.

    Parameters
    ----------
    radius_m, hook_m
        Of the ball that holds the bag, and the length that ties it.
    hands_m
        Where a hand may be while the other ties the bag, shape (h, 3).
    reach_m
        From hand to hand.
    body_m, body_radius_m
        The ball that holds the person.
    targets_m, work_clear_m
        What is worked on, shape (t, 3), and how far the bag stays off it.
    solids, tender, zones
        All solids, those that must not be bumped, and keep-out zones for items.
    barred
        Solids, and zones that people keep out of: no arm reaches through them.
    rails, rail_clear_m
        Handrails in use by id, and how far the bag stays off them.
    """

    radius_m: float
    hook_m: float
    hands_m: Floats
    reach_m: float
    body_m: Floats
    body_radius_m: float
    targets_m: Floats
    work_clear_m: float
    solids: Named
    tender: Named
    zones: Named
    barred: Named
    rails: Sequence[tuple[str, Polyline]]
    rail_clear_m: float

    @property
    def adrift_m(self) -> float:
        """How far from where it is tied any part of the bag can get [m]."""
        return self.hook_m + 2 * self.radius_m


@frozen(eq=False)
class BagPlaces:
    """Places on handrails, n of them."""

    handrail: tuple[str, ...]
    along_m: Floats
    point_m: Floats
    """Shape (n, 3) [m]."""
    normal: Floats
    """Outward, of length 1, shape (n, 3)."""


@frozen(eq=False)
class Check:
    """One thing that places must hold."""

    words: str
    """Why a place fails, with ``{by}`` for how much is lacking and ``{what}`` for what is near."""
    room_m: Floats
    """How much is to spare, below 0 where the place fails, shape (n,) [m]."""
    what: tuple[str, ...] = ()
    """Ids of what decides, by place; empty if it is always the same."""


def check_places(rules: BagRules, places: BagPlaces) -> tuple[Check, ...]:
    """Measure all places against all rules, in the order in which a person would ask."""
    rest_m = places.point_m + (rules.hook_m + rules.radius_m) * places.normal
    far = np.full(len(rest_m), np.inf)
    checks = [
        _within_reach(rules, places),
        _clear("at rest the bag would be {by} into solid {what}", rules.solids, rest_m,
               rules.radius_m),
        Check(
            "at rest the bag would be {by} into the space of the person",
            norms(rest_m - rules.body_m) - rules.radius_m - rules.body_radius_m,
        ),
        Check(
            "at rest the bag would be {by} too near to what is worked on",
            min_over([norms(rest_m - target) for target in rules.targets_m], far)
            - rules.radius_m
            - rules.work_clear_m,
        ),
        _clear("adrift the bag could get {by} into zone {what}", rules.zones, places.point_m,
               rules.adrift_m),
        _clear("adrift the bag could bump {what}, which must not be kicked; {by} nearer than it "
               "may be tied", rules.tender, places.point_m, rules.adrift_m),
        _rails(rules, places),
    ]  # fmt: skip
    return tuple(checks)


def min_over(rows: Sequence[Floats], start: Floats) -> Floats:
    """Return the least of some rows of distances and of the start, each (n,) [m]."""
    least = start
    for row in rows:
        least = np.minimum(least, row)
    return least


def _within_reach(rules: BagRules, places: BagPlaces) -> Check:
    """Measure how far the nearest hand is that has a free line, and what is in the way of others.

    Where all hands in reach have none the room is minus infinity, and what stands between is
    told. (Out of reach is a matter of distance; what is near but behind a solid has none.)
    """
    reach_m = rules.reach_m + LENGTH_SLACK_M
    nearest = np.full(len(places.point_m), np.inf)
    free_m = np.full(len(places.point_m), np.inf)
    between = np.full(len(places.point_m), "", dtype=object)
    for hand in rules.hands_m:
        far_m = norms(places.point_m - hand)
        ask: Indices = np.flatnonzero((far_m <= reach_m) & (far_m < free_m))
        hands = np.tile(hand, (len(ask), 1))
        blocked = line_blocked(rules.barred.tables, hands, places.point_m[ask])
        free_m[ask[~blocked]] = far_m[ask[~blocked]]
        for at in ask[blocked & (far_m[ask] < nearest[ask])].tolist():
            between[at] = _between(rules, hand, places.point_m[at])
        nearest = np.minimum(nearest, far_m)
    near = np.isfinite(free_m) | (nearest <= reach_m)
    room_m = rules.reach_m - np.where(near, free_m, nearest)
    return Check("out of reach by {by}", room_m, tuple(between.tolist()))


def _between(rules: BagRules, hand_m: Floats, place_m: Floats) -> str:
    """Name the first solid or zone, in their order, that stands between a hand and a place."""
    for shape, name in zip(rules.barred.shapes, rules.barred.ids, strict=True):
        if crosses(shape, hand_m[None], place_m[None])[0]:
            return f"{'solid' if name in rules.solids.ids else 'zone'} {name}"
    return "the seam of two solids"


def _clear(words: str, named: Named, points_m: Floats, radius_m: float) -> Check:
    room = np.full(len(points_m), np.inf)
    what = np.full(len(points_m), "", dtype=object)
    for shape, name in zip(named.shapes, named.ids, strict=True):
        distance = signed_distance(shape, points_m) - radius_m
        nearer = distance < room
        room[nearer] = distance[nearer]
        what[nearer] = name
    return Check(words, room, tuple(what.tolist()))


def _rails(rules: BagRules, places: BagPlaces) -> Check:
    room = np.full(len(places.point_m), np.inf)
    what = np.full(len(places.point_m), "", dtype=object)
    for name, rail in rules.rails:
        distance = rail.gap_to_m(places.point_m) - rules.adrift_m - rules.rail_clear_m
        nearer = distance < room
        room[nearer] = distance[nearer]
        what[nearer] = name
    return Check(
        "adrift the bag could block {what}, which a route uses; {by} nearer than it may be tied",
        room,
        tuple(what.tolist()),
    )
