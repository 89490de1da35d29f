"""Keep-out zones for items alone, and what hangs on the suit.

A small item on the suit is no load: it changes neither reach nor rate nor corridor,
and ways are found as without it. So zones that keep out items but not people are
looked at afterwards. It may be anywhere round the body, so where the body's ball
comes into such a zone it may be in it: that blocks, unless the plan says under
``hung_past`` that it is accepted for this zone.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

import numpy as np

from routing.graph.moves import ends_of
from routing.graph.reach_graph import ReachGraph
from routing.graph.surroundings import Named
from routing.graph.ways import Legs, lay_legs
from routing.outings.clock.schedule import Schedule
from routing.outings.custody.handling import Stock, hands_before
from routing.outings.safety.moments import Moment
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Ground
from routing.paths.course import move_between
from structures.elements import Item
from structures.solids.sweep import SWEEP_TOLERANCE_M, places_clearance, sweep_clears

__all__ = ["check_hung"]


def check_hung(
    schedule: Schedule, ground: Ground, stock: Stock, moments: Mapping[str, Sequence[Moment]]
) -> Iterator[OutingFinding]:
    """Yield who comes into a zone for items with something on the suit.

    Parameters
    ----------
    moments
        Of each person, by time.

    Yields
    ------
    OutingFinding
        One for each person and zone, at the first moment.

    Notes
    -----
    A small item stays within the corridor of the suited body, anywhere in it. What is accepted
    under ``hung_past`` only warns, so that who reviews the plan sees it all the same.
    """
    hands = hands_before(schedule.plan, stock)
    for person, found in moments.items():
        on_suit = {
            act: items
            for (act, who), along in hands.items()
            if (items := stock.hung(along)) and who == person
        }
        asked: dict[tuple[str, ...], list[_Asked]] = {}
        for moment, following in zip(found, (*found, None)[1:], strict=True):
            if moment.act not in on_suit or moment.carry is not None:
                continue  # with a load the ways keep out of these zones already
            items = on_suit[moment.act]
            if _zones(ground, moment, items[0]).shapes:
                asked.setdefault(moment.when, []).append(_Asked(moment, following, items))
        met: dict[str, list[_Asked]] = {}
        for some in asked.values():
            for one, zone in _met(ground, some):
                met.setdefault(zone, []).append(one)
        for zone, there in sorted(met.items()):
            accepted = zone in schedule.plan.outing.hung_past
            there.sort(key=lambda one: one.moment.at_s)
            yield _in_zone(ground, there, zone, accepted=accepted)


_SEEN_M: Final = 1.0
"""More room than this is of no interest."""


class _Asked(NamedTuple):
    """One moment of somebody with small items on the suit."""

    moment: Moment
    following: Moment | None
    items: tuple[Item, ...]

    @property
    def goes_on(self) -> bool:
        """Whether a move begins here."""
        return (
            self.moment.moving
            and self.following is not None
            and self.following.grip != self.moment.grip
        )


def _zones(ground: Ground, moment: Moment, item: Item) -> Named:
    """Return the zones that keep out items and not people."""

    def found() -> Named:
        with_it, without = (
            ground.around(moment.person, one, moment.when).body for one in (item, None)
        )
        new = [i for i, one in enumerate(with_it.ids) if one not in without.ids]
        return Named(tuple(with_it.shapes[i] for i in new), tuple(with_it.ids[i] for i in new))

    return ground.once(("zones for items alone", moment.when), found)


def _met(ground: Ground, asked: Sequence[_Asked]) -> Iterator[tuple[_Asked, str]]:
    """Yield at which of some moments, all under the same conditions, which zones are met.

    Zones are asked one by one: what is accepted for one must not hide another.
    """
    first = asked[0].moment
    zones = _zones(ground, first, asked[0].items[0])
    graph = ground.graph(first.person, None, first.when)
    radius_m = graph.situation.ability.corridor_radius_m
    body_m = graph.grips.body_m[[one.moment.grip for one in asked]]
    going = np.flatnonzero([one.goes_on for one in asked])
    legs = _legs(graph, [asked[i] for i in going.tolist()], radius_m) if len(going) else None
    for zone, name in zip(zones.shapes, zones.ids, strict=True):
        room_m = places_clearance((zone,), body_m, radius_m, cap_m=_SEEN_M)[0]
        clear = room_m >= SWEEP_TOLERANCE_M
        if legs is not None:
            legs_clear = sweep_clears((zone,), legs.sweep, radius_m)
            clear[going[legs.owner[~legs_clear]]] = False
        for i in np.flatnonzero(~clear).tolist():
            yield asked[i], name


def _legs(graph: ReachGraph, going: Sequence[_Asked], radius_m: float) -> Legs:
    pairs = [(one.moment.grip, one.following.grip) for one in going if one.following is not None]
    moves = [move_between(graph, tail, head) for tail, head in pairs]
    tails, heads = np.array(pairs, dtype=np.int64).T
    kind = graph.moves.way_kind[moves].astype(np.int64)
    return lay_legs(ends_of(graph.grips, tails, heads), kind, radius_m)


def _in_zone(ground: Ground, met: Sequence[_Asked], zone: str, *, accepted: bool) -> OutingFinding:
    first = met[0].moment
    grip = ground.grips(first.person).ids[first.grip]
    items = sorted({item.id for one in met for item in one.items})
    acts = list(dict.fromkeys(one.moment.act for one in met))
    also = f"; also for {', '.join(str(act) for act in acts[1:])}" if acts[1:] else ""
    return OutingFinding(
        code="hung-item-in-zone",
        severity="warns" if accepted else "blocks",
        act=first.act,
        person=first.person,
        at_s=first.at_s,
        elements=(zone, *items),
        message=f"zone {zone} keeps items out, and {first.person} comes into it with "
        f"{', '.join(items)} on the suit, first {'on from' if first.moving else 'at'} {grip} for "
        f"{first.act} (at {clock(first.at_s)}){also}{', as the plan accepts' if accepted else ''}",
        remedy=f"leave them behind before, or give the acts sites to go by past {zone}"
        + ("" if accepted else f"; if who answers for {zone} accepts it, name it under hung_past"),
    )
