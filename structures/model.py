"""The structure: one immutable container of elements, looked up by id."""

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any, Literal, TypeVar, overload

from structures.bodies import Body
from structures.cables import Cable, CableTie, Connector
from structures.elements import (
    Condition,
    Element,
    Handhold,
    Handrail,
    Hatch,
    Item,
    Person,
    Socket,
    Solid,
    TetherPoint,
    Worksite,
    Zone,
)
from structures.equipment import EquipmentTether
from structures.errors import UnknownIdError
from structures.faces import Camera, Face
from structures.fields import Record, Text
from structures.restraints import Restraint

__all__ = ["ELEMENT_LISTS", "SCHEMA_VERSION", "Structure"]

_Kind = TypeVar("_Kind", bound=Element)

SCHEMA_VERSION = 1

ELEMENT_LISTS = {
    "solids": "solid",
    "handrails": "handrail",
    "handholds": "handhold",
    "sockets": "socket",
    "tether_points": "tether point",
    "hatches": "hatch",
    "worksites": "worksite",
    "zones": "zone",
    "conditions": "condition",
    "items": "item",
    "people": "person",
    "equipment_tethers": "equipment tether",
    "restraints": "foot restraint",
    "bodies": "body",
    "faces": "face",
    "cameras": "camera",
    "connectors": "connector",
    "cable_ties": "cable tie",
    "cables": "cable",
}
"""The lists of a structure, each with the trade word for one of its elements."""


class Structure(Record):
    """The model of the outside of a station.

    Notes
    -----
    Made by `structures.files.read_structure`, or in Python, where lengths are
    metres and coordinates are in the station frame. References between
    elements are checked by `structures.references.check_references`.
    """

    schema_version: Literal[1] = 1
    """Version of the document's schema."""
    name: Text
    """What the structure is called; shown in every answer."""
    revision: Text
    """Revision of the data; shown in every answer."""
    date: Text = ""
    """Date of the data, as its keeper writes it."""
    description: Text = ""
    """What the document holds, for people."""
    source: Text = ""
    """Where the data is from as a whole."""
    solids: tuple[Solid, ...] = ()
    """Bodies that people, bags and lines must go round."""
    handrails: tuple[Handrail, ...] = ()
    """Rails to hold."""
    handholds: tuple[Handhold, ...] = ()
    """Single places to hold."""
    sockets: tuple[Socket, ...] = ()
    """Interfaces that take a foot restraint."""
    tether_points: tuple[TetherPoint, ...] = ()
    """Places to anchor a safety tether."""
    hatches: tuple[Hatch, ...] = ()
    """Airlock hatches, where outings begin and end."""
    worksites: tuple[Worksite, ...] = ()
    """Places where people work."""
    zones: tuple[Zone, ...] = ()
    """Volumes to keep out of or to slow down in."""
    conditions: tuple[Condition, ...] = ()
    """States of affairs that switch zones on and close handrails."""
    items: tuple[Item, ...] = ()
    """Things that are carried."""
    people: tuple[Person, ...] = ()
    """Suited people; what is not given of them is taken from the limits."""
    equipment_tethers: tuple[EquipmentTether, ...] = ()
    """Kinds of tether for equipment; none: a built-in one, as many as are needed."""
    restraints: tuple[Restraint, ...] = ()
    """Types of foot restraint; none: the built-in one."""
    bodies: tuple[Body, ...] = ()
    """Sizes of suited people; none: the built-in ones."""
    faces: tuple[Face, ...] = ()
    """Faces that are to be inspected."""
    cameras: tuple[Camera, ...] = ()
    """Hand-held cameras; none: the built-in one."""
    connectors: tuple[Connector, ...] = ()
    """Places that cables are plugged into."""
    cable_ties: tuple[CableTie, ...] = ()
    """Places where cables can be tied down."""
    cables: tuple[Cable, ...] = ()
    """Cables that people lay."""

    def elements(self) -> Iterator[tuple[str, Element]]:
        """Yield (list name, element) for all elements, in document order."""
        for list_name in ELEMENT_LISTS:
            for element in getattr(self, list_name):
                yield list_name, element

    @cached_property
    def by_id(self) -> dict[str, Element]:
        """All elements by id."""
        return {element.id: element for _, element in self.elements()}

    def model_copy(
        self, *, update: Mapping[str, Any] | None = None, deep: bool = False
    ) -> "Structure":
        """Return a copy with other values, which are not validated, and look-ups of its own."""
        copied = super().model_copy(update=update, deep=deep)
        copied.__dict__.pop("by_id", None)
        return copied

    @overload
    def find(self, element_id: str) -> Element: ...

    @overload
    def find(self, element_id: str, kinds: tuple[type[_Kind], ...]) -> _Kind: ...

    def find(self, element_id: str, kinds: tuple[type[Element], ...] = (Element,)) -> Element:
        """Return the element with this id and one of these kinds.

        Raises
        ------
        UnknownIdError
            There is none; the message names the nearest ids of those kinds.
        """
        from structures.near_names import nearest_names

        found = self.by_id.get(element_id)
        if found is not None and isinstance(found, kinds):
            return found
        known = [e.id for e in self.by_id.values() if isinstance(e, kinds)]
        nearest = tuple(nearest_names(element_id, known))
        wanted = (
            "element"
            if kinds == (Element,)
            else " or ".join(kind.__name__.lower() for kind in kinds)
        )
        raise UnknownIdError(element_id, wanted=wanted, nearest=nearest)
