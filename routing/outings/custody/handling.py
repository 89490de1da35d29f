"""What acts do with items: where each item comes to be, and how it is there.

One table of effects serves the loads that the router needs and the replay of
custody, so that the two cannot come apart.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final, Literal, NamedTuple, TypeAlias

from routing.outings.clock.activity_plan import ActivityPlan, outside
from routing.outings.plan_file.records import Act, Outing, OutingItem
from structures.elements import Item
from structures.model import Structure

__all__ = ["Change", "Hands", "How", "Place", "Stock", "changes_of", "hands_before"]

How: TypeAlias = Literal[
    "stowed", "hands", "hung", "set up", "held", "tied", "seated", "laid", "in use", "adrift"
]

HOW_WORDS: Final[dict[How, str]] = {
    "stowed": "stowed at",
    "hands": "in the hands of",
    "hung": "hung on the suit of",
    "set up": "set up at",
    "held": "held by",
    "tied": "tied at",
    "seated": "seated at",
    "laid": "laid to",
    "in use": "in use on",
    "adrift": "adrift at",
}


class Place(NamedTuple):
    """Where an item is: a site, an item, a person or a holder, and how it is there."""

    where: str
    how: How

    def __str__(self) -> str:
        return f"{HOW_WORDS[self.how]} {self.where}"


class Change(NamedTuple):
    """An item comes to a place when an act is done."""

    item: str
    place: Place


def changes_of(act: Act, site: str) -> tuple[Change, ...]:
    """Return where an act brings items.

    Parameters
    ----------
    site
        The site that its first person is at.

    Notes
    -----
    What else it depends on (a payload that is tied stays with its holder until
    that lets go) is for the replay of custody.
    """
    actor, item = act.who[0], act.item or ""
    into = act.into or site
    places: dict[str, Place] = {
        "fetch": Place(actor, "hung" if act.hung else "hands"),
        "put": Place(into, "hands" if into in act.who else "stowed"),
        "set-up": Place(site, "set up"),
        "tie": Place(site, "tied"),
        "cinch": Place(site, "seated"),
        "lay-cable": Place(act.to or site, "laid"),
    }
    changes = [Change(item, places[act.does])] if act.does in places else []
    if act.does == "tie":
        changes += [Change(one, Place(item, "in use")) for one in act.using]
    if act.does == "release":
        changes += [Change(one, Place(actor, "hung")) for one in act.using]
    return tuple(changes)


class Stock:
    """All items of an outing: the plan's own and the structure's."""

    def __init__(self, outing: Outing, structure: Structure) -> None:
        self.planned = {item.id: item for item in outing.items}
        self.of_structure = {item.id: item for item in structure.items}
        self.ids = tuple(sorted(self.planned.keys() | self.of_structure.keys()))
        self._limits = outing.outing_limits
        self._items: dict[str, Item] = {}

    def item(self, item_id: str) -> Item:
        """Return an item with its size and mass; the plan's word counts before the structure's."""
        if item_id not in self._items:
            self._items[item_id] = self._put_together(item_id)
        return self._items[item_id]

    def _put_together(self, item_id: str) -> Item:
        said = [self.planned.get(item_id), self.of_structure.get(item_id)]
        keys = ("name", "size_m", "mass_kg", "envelope_m")
        made: dict[str, Any] = {"id": item_id}
        for key in keys:
            values = [getattr(one, key) for one in said if one is not None]
            given = [value for value in values if value is not None and value != ""]
            if given:
                made[key] = given[0]
        return Item(**made)

    def planned_as(self, item_id: str) -> OutingItem:
        """Return what the plan says of an item; one that is only in the structure is a tool."""
        return self.planned.get(item_id) or OutingItem(id=item_id)

    def first_place(self, item_id: str) -> Place | None:
        """Return where an item is at first; None where nobody says so."""
        planned, known = self.planned.get(item_id), self.of_structure.get(item_id)
        where = None if planned is None else planned.at
        if where is None and known is not None:
            where = known.stowed_at
        return None if where is None else Place(where, "stowed")

    def volume_l(self, item_id: str) -> float:
        """Return the room that an item takes in a bag: the box round it [l]."""
        x, y, z = self.item(item_id).size_m
        return 1000.0 * x * y * z

    def is_load(self, item_id: str, how: How) -> bool:
        """Tell whether an item is a load: in the hands always, hung if it is heavy, long or a bag.

        A bag is one whatever it weighs: what is in it is not known here.
        """
        item = self.item(item_id)
        return (
            how == "hands"
            or item.mass_kg > self._limits.small_item_kg
            or max(item.size_m) > self._limits.small_item_m
            or self.planned_as(item_id).kind == "bag"
        )

    def load(self, hands: "Hands") -> Item | None:
        """Return the load that counts for the way: the one with the largest envelope."""
        from routing.graph.situation import carried_envelope_m

        loads = [self.item(one) for one, how in hands.items if self.is_load(one, how)]
        return max(loads, key=lambda one: (carried_envelope_m(one), one.id), default=None)

    def hung(self, hands: "Hands") -> tuple[Item, ...]:
        """Return what hangs on the suit and is no load, in the order in which it was taken."""
        return tuple(self.item(one) for one, how in hands.items if not self.is_load(one, how))


@dataclass(frozen=True, slots=True)
class Hands:
    """What a person has along, by the plan."""

    items: tuple[tuple[str, How], ...] = ()
    """In the order in which they were taken."""

    def without(self, item: str) -> "Hands":
        """Return them without an item."""
        return Hands(tuple(one for one in self.items if one[0] != item))

    def with_item(self, item: str, how: How) -> "Hands":
        """Return them with an item more."""
        return Hands((*self.without(item).items, (item, how)))


def hands_before(plan: ActivityPlan, stock: Stock) -> dict[tuple[str, str], Hands]:
    """Return what each person has along on the way to each act, by (act, person).

    By the plan alone: whether an item is there to be fetched is another question.
    """
    now = {person.id: Hands() for person in plan.outing.people}
    for item in stock.ids:
        first = stock.first_place(item)
        if first is not None and first.where in now:
            now[first.where] = now[first.where].with_item(item, "hung")
    found: dict[tuple[str, str], Hands] = {}
    for act in plan.acts:
        found |= {(act.id, person): now[person] for person in outside(act)}
        for item, place in _carried_changes(act):
            now = {person: hands.without(item) for person, hands in now.items()}
            if place.where in now:
                now[place.where] = now[place.where].with_item(item, place.how)
    return found


def _carried_changes(act: Act) -> Iterator[Change]:
    """Yield what changes hands; sites do not matter here."""
    yield from changes_of(act, act.at or "")
