"""Doubts about items and conditions: stowed nowhere, or used by nothing."""

from collections.abc import Iterator

from structures.elements import Handrail, Item, Worksite
from structures.findings import Finding
from structures.model import Structure
from structures.polylines import Polyline

__all__ = ["check_stowage", "check_unused_conditions", "stowage_places"]


def stowage_places(structure: Structure) -> dict[str, Polyline]:
    """Return where each item is, by item id, for items that are somewhere.

    An item on a handrail may be anywhere along it, so its place is the whole
    rail; everywhere else it is one point. An item in an item that is nowhere
    is nowhere too.
    """
    found = {}
    for item in structure.items:
        place = _place(structure, item)
        if place is not None:
            found[item.id] = place
    return found


def _place(structure: Structure, item: Item) -> Polyline | None:
    """Follow what an item is stowed in until something that has a place."""
    seen: set[str] = set()
    at = item.stowed_at
    while at is not None and at not in seen:
        seen.add(at)
        element = structure.by_id.get(at)
        if isinstance(element, Item):
            at = element.stowed_at
        elif isinstance(element, Handrail):
            return Polyline.through(element.points_m)
        elif isinstance(element, Worksite):
            if element.place_m is not None:
                return Polyline.through([element.place_m])
            at = element.socket
        else:
            position_m = getattr(element, "position_m", None)
            return None if position_m is None else Polyline.through([position_m])
    return None


def check_stowage(structure: Structure) -> Iterator[Finding]:
    """Find items that are stowed nowhere, also inside of others that are."""
    places = stowage_places(structure)
    for item in sorted(structure.items, key=lambda item: item.id):
        if item.id in places:
            continue
        inside = item.stowed_at is not None
        why = (
            f"is stowed in {item.stowed_at}, which leads to no place"
            if inside
            else "is stowed nowhere"
        )
        yield Finding(
            code="item-stowed-nowhere",
            severity="notes",
            elements=(item.id,),
            message=(
                f"item {item.id} {why}; nobody can fetch it, and what it is near to cannot be "
                "checked; name the place it is stowed at"
            ),
        )


def check_unused_conditions(structure: Structure) -> Iterator[Finding]:
    """Find conditions that switch no zone and close nothing."""
    used = {condition for zone in structure.zones for condition in zone.when}
    for condition in sorted(structure.conditions, key=lambda condition: condition.id):
        if condition.id not in used and not condition.closes:
            yield Finding(
                code="condition-unused",
                severity="notes",
                elements=(condition.id,),
                message=(
                    f"condition {condition.id} switches no zone and closes nothing; answers under "
                    "it are the same as without it; name it in a zone's when, give it something "
                    "to close, or drop it"
                ),
            )
