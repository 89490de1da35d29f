"""Items that nobody has on them, in keep-out zones for items that an act switches on.

Who carries an item keeps out of such zones by the ways; what is set up, stowed, tied or held
somewhere does not move by itself.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np

from routing.graph.reach_graph import Floats
from routing.graph.sites import site_grips
from routing.outings.clock.schedule import Schedule
from routing.outings.custody.handling import Place, Stock
from routing.outings.custody.places import PlaceBook
from routing.outings.safety.zone_watch import InForce, conditions_by_clock, outing_ends_s
from routing.outings.told.results import ItemMove, OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground
from structures.errors import UnknownIdError
from structures.solids.sweep import SWEEP_TOLERANCE_M, places_clearance

__all__ = ["check_left_items"]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Left:
    """An item at a site from one time until another."""

    item: str
    site: str
    move: ItemMove
    """What brought it, or the bag that it is in, there."""
    start_s: float
    end_s: float


def check_left_items(
    schedule: Schedule, ground: Ground, stock: Stock, ledger: Sequence[ItemMove]
) -> Iterator[OutingFinding]:
    """Yield what is left in a zone for items while that is in force.

    Parameters
    ----------
    ledger
        Where every item is, by time.

    Yields
    ------
    OutingFinding
        One for each condition, item and site, at the first moment.

    Notes
    -----
    An item is a ball round the grip from which it was left, as large as its box. Of what is at a
    handrail from the start it is not known where on it: then any grip of it counts.
    """
    switched = [one for one in conditions_by_clock(schedule) if _keep_out(ground, one.condition)]
    if not switched:
        return
    said: set[tuple[str, str, str]] = set()
    for left in _all_left(schedule, ground, ledger):
        for one in switched:
            key = (one.condition, left.item, left.site)
            if key in said or one.start_s > left.end_s or one.end_s <= left.start_s:
                continue
            zones = _zones_at(schedule, ground, stock, left, one.condition)
            if zones != ():
                said.add(key)
                yield _in_zone(left, one, zones)


def _keep_out(ground: Ground, condition: str) -> frozenset[str]:
    """Return the zones that keep items out under a condition."""
    return frozenset(
        zone.id
        for zone in ground.structure.zones
        if condition in zone.when and zone.kind == "keep-out" and "item" in zone.applies_to
    )


def _all_left(schedule: Schedule, ground: Ground, ledger: Sequence[ItemMove]) -> Iterator[_Left]:
    """Yield where every item is that nobody has on them, from one move to the next."""
    book = PlaceBook(schedule.plan.outing, ground.structure)
    ends_s = outing_ends_s(schedule)
    moves: dict[str, ItemMove] = {}
    open_: dict[str, _Left] = {}
    times = [(at_s, list(some)) for at_s, some in groupby(ledger, key=lambda one: one.at_s)]
    for at_s, some in times:
        moves |= {one.item: one for one in some}
        places = {item: Place(move.place, "stowed") for item, move in moves.items()}
        for item in sorted(moves):
            site = book.root(item, places)
            move = moves[_outermost(item, moves)]
            known = open_.get(item)
            if known is not None and (known.site, known.move) == (site, move):
                continue
            if known is not None:
                yield replace(open_.pop(item), end_s=at_s)
            if site not in book.people:
                open_[item] = _Left(item=item, site=site, move=move, start_s=at_s, end_s=ends_s)
    yield from open_.values()


def _outermost(item: str, moves: dict[str, ItemMove]) -> str:
    """Return the item itself, or the bag or payload that it is in or on at last."""
    seen = {item}
    while (into := moves[item].place) in moves and into not in seen:
        seen.add(into)
        item = into
    return item


def _zones_at(
    schedule: Schedule, ground: Ground, stock: Stock, left: _Left, condition: str
) -> tuple[str, ...] | None:
    """Return the zones for items that an item is in, or may be in; None where it is not known."""
    item = stock.item(left.item)
    around = ground.around(schedule.plan.outing.people[0].id, item, (condition,)).body
    of_items = _keep_out(ground, condition)
    places_m = _places(schedule, ground, left)
    if not len(places_m):
        return None
    radius_m = 0.5 * float(np.linalg.norm(item.size_m))
    return tuple(
        one
        for one, shape in zip(around.ids, around.shapes, strict=True)
        if one in of_items
        and places_clearance((shape,), places_m, radius_m, cap_m=1.0)[0].min() < SWEEP_TOLERANCE_M
    )


def _places(schedule: Schedule, ground: Ground, left: _Left) -> Floats:
    """Return where an item may be, shape (k, 3) [m]: one place if somebody left it there."""
    act, person = left.move.act, left.move.person
    if act is not None and person is not None and (act, person) in schedule.leg.grips:
        return ground.grips(person).position_m[[schedule.leg.grips[act, person]]]
    graph = ground.graph(schedule.plan.outing.people[0].id, None, ())
    try:
        places = site_grips(graph, left.site)
    except UnknownIdError:
        return np.empty((0, 3))
    found: Floats = graph.grips.position_m[np.concatenate([places.grips, places.unusable])]
    return found


def _in_zone(left: _Left, one: InForce, zones: tuple[str, ...] | None) -> OutingFinding:
    """Say it: what the plan brings there blocks, what is there from the start is to be watched."""
    at_s = max(left.start_s, one.start_s)
    span = f"{clock(one.start_s)} to {clock(one.end_s)}"
    if zones is None:
        return OutingFinding(
            code="not-checked",
            severity="notes",
            act=left.move.act,
            at_s=at_s,
            elements=(left.item, left.site, one.condition),
            message=f"not checked whether {left.item} at {left.site} is clear of the zones for "
            f"items that {one.condition} switches on, from {span}: no grip says where that is",
            remedy="name a site with grips as its place",
        )
    return OutingFinding(
        code="item-in-zone",
        severity="warns" if left.move.act is None else "blocks",
        act=left.move.act,
        person=left.move.person,
        at_s=at_s,
        elements=(left.item, left.site, *zones, one.condition),
        message=f"{left.item} is at {left.site} when {one.condition}, from {span}, keeps items out "
        f"of zone {', '.join(zones)} there (at {clock(at_s)})",
        remedy=f"let {one.act} wait until it is taken away, or leave it elsewhere",
    )
