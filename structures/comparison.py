"""What changed from one revision of a structure to the next, element by element."""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from pydantic import JsonValue

from structures.elements import Element, Solid, Zone
from structures.frames import Vector
from structures.leaves import Leaf, leaves_of, rounded, same_leaf
from structures.model import ELEMENT_LISTS, Structure
from structures.polylines import Polyline
from structures.solids.distance import bounding_box
from structures.zones import zone_shape

__all__ = [
    "Comparison",
    "ElementChange",
    "ElementRef",
    "FieldChange",
    "Renaming",
    "compare_structures",
    "with_same_records",
]

_HEAD: Final = ("name", "revision", "date", "description", "source")
_WORDS: Final = frozenset({"id", "name", "notes", "source"})
"""Fields that say nothing of what an element is and where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldChange:
    """A field with its value before and after; a value that is not there is left out."""

    field: str
    """Path from the element, for instance ``volume.radius_m``; lengths are metres."""
    old: JsonValue = None
    new: JsonValue = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementRef:
    """An element, by the trade word for its kind."""

    kind: str
    id: str
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ElementChange:
    """An element that both revisions have, and what is different about it.

    Parameters
    ----------
    moved_m
        The largest distance that one of its points moved; for a line with another
        number of corners the largest distance of a corner from the other line;
        for a volume of another shape that of the middles of the bounding boxes [m].
    turned_deg
        The largest angle that one of its directions turned [deg].
    fields
        Everything that differs, in the order of the record.
    """

    kind: str
    id: str
    name: str = ""
    moved_m: float
    turned_deg: float
    fields: tuple[FieldChange, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Renaming:
    """A guess: what had one id has another now (perhaps one that was taken), all else the same."""

    kind: str
    old: str
    new: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What changed. Elements stand by kind and id, changed ones farthest moved first.

    An id that now names another kind of element is both removed and added, and
    so is one that is guessed to be renamed: the guess changes nothing.
    """

    head: tuple[FieldChange, ...]
    added: tuple[ElementRef, ...]
    removed: tuple[ElementRef, ...]
    changed: tuple[ElementChange, ...]
    renamed_guess: tuple[Renaming, ...]

    @property
    def same(self) -> bool:
        """Whether no element differs in anything."""
        return not (self.added or self.removed or self.changed)


def compare_structures(old: Structure, new: Structure) -> Comparison:
    """Compare two revisions of a structure.

    Elements are matched by kind and id, targets and attach points inside them
    by their id; the order of lists does not matter.

    Parameters
    ----------
    old, new
        In metres and station axes, so that documents in other units compare.

    Examples
    --------
    >>> from structures.elements import TetherPoint
    >>> before = Structure(name="s", revision="A", tether_points=(
    ...     TetherPoint(id="T1", position_m=(0.0, 0.0, 0.0)),))
    >>> after = Structure(name="s", revision="B", tether_points=(
    ...     TetherPoint(id="T1", position_m=(0.0, 0.3, 0.4)),))
    >>> [(one.id, one.moved_m) for one in compare_structures(before, after).changed]
    [('T1', 0.5)]
    """
    before, after = _by_kind(old), _by_kind(new)
    gone = [key for key in before if key not in after]
    come = [key for key in after if key not in before]
    changes = (
        _change(kind, before[kind, one], after[kind, one])
        for kind, one in before
        if (kind, one) in after
    )
    changed = [change for change in changes if change is not None]
    order = list(ELEMENT_LISTS.values())
    changed.sort(key=lambda c: (-c.moved_m, -c.turned_deg, order.index(c.kind), c.id))
    shifted = {(one.kind, one.id) for one in changed}
    head = [(name, getattr(old, name), getattr(new, name)) for name in _HEAD]
    return Comparison(
        head=tuple(FieldChange(field=name, old=a, new=b) for name, a, b in head if a != b),
        added=tuple(_ref(kind, after[kind, one]) for kind, one in come),
        removed=tuple(_ref(kind, before[kind, one]) for kind, one in gone),
        changed=tuple(changed),
        renamed_guess=tuple(
            _renamings(
                [
                    (key[0], one)
                    for key, one in before.items()
                    if key not in after or key in shifted
                ],
                [
                    (key[0], one)
                    for key, one in after.items()
                    if key not in before or key in shifted
                ],
            )
        ),
    )


def with_same_records(old: Structure, new: Structure) -> Structure:
    """Return the new revision with the old one's record of every element that is the same.

    Elements that only rounding tells apart are then alike to the last bit, so that no
    answer differs because ways of the same length are told apart by rounding.

    Parameters
    ----------
    old, new
        As for `compare_structures`, which says of which elements they differ.
    """
    before = _by_kind(old)
    lists = {
        list_name: tuple(
            _kept(kind, before.get((kind, one.id)), one) for one in getattr(new, list_name)
        )
        for list_name, kind in ELEMENT_LISTS.items()
    }
    return new.model_copy(update=lists)


def _kept(kind: str, old: Element | None, new: Element) -> Element:
    return new if old is None or _change(kind, old, new) is not None else old


def _by_kind(structure: Structure) -> dict[tuple[str, str], Element]:
    """Return all elements by (kind, id), in the order of kinds, then of ids."""
    return {
        (kind, element.id): element
        for list_name, kind in ELEMENT_LISTS.items()
        for element in sorted(getattr(structure, list_name), key=lambda one: str(one.id))
    }


def _ref(kind: str, element: Element) -> ElementRef:
    return ElementRef(kind=kind, id=element.id, name=element.name)


def _change(kind: str, old: Element, new: Element) -> ElementChange | None:
    if old == new:
        return None
    before, after = dict(leaves_of(old)), dict(leaves_of(new))
    paths = [*before, *(path for path in after if path not in before)]
    different = [path for path in paths if not same_leaf(before.get(path), after.get(path))]
    if not different:
        # Only the order of entries that have ids, or rounding.
        return None
    pairs = [
        (before[path], after[path])
        for path in different
        if path in before and path in after and None not in {before[path][1], after[path][1]}
    ]
    moved_m = [_moved_m(a.value, b.value) for a, b in pairs if a.role == b.role == "point"]
    turned = [_turned_deg(a.value, b.value) for a, b in pairs if a.role == b.role == "direction"]
    solid_or_zone = (Solid, Zone)
    if isinstance(old, solid_or_zone) and isinstance(new, solid_or_zone) and _reshaped(old, new):
        moved_m.append(math.dist(_middle(old), _middle(new)))
    return ElementChange(
        kind=kind,
        id=new.id,
        name=new.name or old.name,
        moved_m=max(moved_m, default=0.0),
        turned_deg=max(turned, default=0.0),
        fields=tuple(
            FieldChange(field=path, old=_json(before.get(path)), new=_json(after.get(path)))
            for path in different
        ),
    )


def _json(leaf: Leaf | None) -> JsonValue:
    if leaf is None:
        return None
    value: JsonValue = _lists(leaf.value)
    return value


def _lists(value: Any) -> Any:
    return [_lists(one) for one in value] if isinstance(value, tuple) else value


def _moved_m(old: Any, new: Any) -> float:
    """Return how far a point, or the points of a line, moved [m]."""
    if not isinstance(old[0], tuple):
        return math.dist(old, new)
    if len(old) == len(new):
        # A line written from its other end has moved nowhere.
        return min(
            max(math.dist(a, b) for a, b in zip(old, other, strict=True))
            for other in (new, new[::-1])
        )
    return max(_off_line_m(old, new), _off_line_m(new, old))


def _off_line_m(corners: tuple[Vector, ...], line: tuple[Vector, ...]) -> float:
    """Return the largest distance of a corner from a line through points [m]."""
    return float(Polyline.through(line).gap_to_m(np.array(corners)).max())


def _turned_deg(old: Vector, new: Vector) -> float:
    a, b = np.asarray(old), np.asarray(new)
    return math.degrees(math.atan2(float(np.linalg.norm(np.cross(a, b))), float(a @ b)))


def _reshaped(old: Solid | Zone, new: Solid | Zone) -> bool:
    return type(old.volume) is not type(new.volume)


def _middle(element: Solid | Zone) -> tuple[float, ...]:
    volume = zone_shape(element) if isinstance(element, Zone) else element.volume
    low, high = bounding_box(volume)
    return tuple(((np.asarray(low) + np.asarray(high)) / 2).tolist())


_Things = Iterable[tuple[str, Element]]


def _renamings(gone: _Things, come: _Things) -> Iterator[Renaming]:
    """Yield pairs that are each other's only match in everything but words."""
    before, after = _by_likeness(gone), _by_likeness(come)
    for (kind, likeness), ids in before.items():
        others = after.get((kind, likeness), [])
        if len(ids) == len(others) == 1 and ids != others:
            yield Renaming(kind=kind, old=ids[0], new=others[0])


def _by_likeness(things: _Things) -> Mapping[tuple[str, str], list[str]]:
    found: dict[tuple[str, str], list[str]] = {}
    for kind, element in things:
        leaves = {path: leaf for path, leaf in leaves_of(element) if path not in _WORDS}
        placed = any(leaf.role == "point" and leaf.value is not None for leaf in leaves.values())
        # Without a place (a person, an item, a condition) two may well be alike by chance.
        if placed or leaves.get("socket", Leaf("plain", None)).value is not None:
            likeness = sorted(
                (path, leaf.role, rounded(leaf.value)) for path, leaf in leaves.items()
            )
            found.setdefault((kind, repr(likeness)), []).append(element.id)
    return found
