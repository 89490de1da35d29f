"""What routes of an outing warn of: each kind once a person, with the least margin of all ways."""

from collections.abc import Iterator, Sequence
from math import inf

from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from routing.outings.translations import Trip
from structures.findings import Finding
from structures.units import fine_text

__all__ = ["THIN", "warned_on_ways"]

THIN = ("gap-near-reach", "corridor-tight")
"""Codes of margins that are less than a hand's width [m]."""

_SAID_FOR_THE_OUTING = frozenset({"tether-left-outside"})
"""What routes warn of and an outing judges as a whole, by what the plan says may stay outside."""


def warned_on_ways(person: str, trips: Sequence[tuple[float, Trip]]) -> Iterator[OutingFinding]:
    """Yield what the routes of one person warn of, each kind once, at the way with least left.

    The other ways follow by what is left on them, the least first.

    Parameters
    ----------
    person
        Whose ways they are.
    trips
        (start [s], way) in time order.
    """
    said: dict[str, list[tuple[float, Trip, Finding]]] = {}
    for start_s, trip in trips:
        for one in () if trip.route is None else trip.route.findings:
            if one.severity == "warns" and one.code not in _SAID_FOR_THE_OUTING:
                said.setdefault(one.code, []).append((start_s, trip, one))
    for code, found in said.items():
        ranked = sorted(found, key=lambda one: _left(one[2]))
        start_s, trip, least = ranked[0]
        more: dict[str, str] = {}
        for _, other, one in ranked:
            if other.act != trip.act:
                more.setdefault(other.act, f"{other.act}{_left_said(one)}")
        also = f"; also on the way to {', '.join(more.values())}" if more else ""
        yield OutingFinding(
            code=code,
            severity="warns",
            act=trip.act,
            person=person,
            at_s=start_s,
            elements=tuple(sorted({element for _, _, one in found for element in one.elements})),
            message=f"on the way of {person} to {trip.act} (at {clock(start_s)})"
            f"{_place(trip, code)}: {least.message}{also}",
            remedy="see `gripway route` for this way",
            value=least.value,
            limit=least.limit,
            unit=least.unit,
        )


def _left(one: Finding) -> float:
    """Return what ranks findings of one kind: the margin below its limit, if it is one."""
    if one.value is None or one.limit is None or one.value > one.limit:
        return inf
    return one.value


def _left_said(one: Finding) -> str:
    if _left(one) == inf or one.value is None or one.unit != "m":
        return ""
    return f" ({fine_text(one.value, 'down').partition(' (')[0]})"


def _place(trip: Trip, code: str) -> str:
    """Return between which grips of a way a margin is the least."""
    if trip.route is None:
        return ""
    margins = trip.route.margins
    if code == "gap-near-reach" and margins.gap is not None:
        return f", from {margins.gap.fails_from_grip} to {margins.gap.fails_to_grip}"
    if code == "corridor-tight" and margins.clearance is not None:
        tight = margins.clearance
        same = tight.from_grip == tight.to_grip
        return f", at {tight.from_grip}{'' if same else f' to {tight.to_grip}'}"
    return ""
