"""Rules across elements: ids are unique, and what is named exists."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from structures.errors import Problem
from structures.model import ELEMENT_LISTS, Structure

__all__ = ["check_references"]

Lists = Mapping[str, Sequence[Any] | None]
"""Lists of elements by key: as records, or as the plain tables of a document.

None stands for a list that could not be read, whose ids are not known.
"""


def check_references(structure: Structure | Lists) -> tuple[Problem, ...]:
    """Return every duplicate id and dangling reference of a structure.

    Places are paths inside the document (``worksites[2].socket``); the reader
    of a file adds file and line. It passes plain tables where some elements
    are wrong, so that one call finds what is wrong between them as well.
    """
    lists: Lists = (
        {name: getattr(structure, name) for name in ELEMENT_LISTS}
        if isinstance(structure, Structure)
        else structure
    )
    return (
        *_duplicates(lists),
        *_inner_duplicates(lists),
        *_dangling(lists),
        *_stowed_rings(lists),
    )


def _value(element: Any, field: str) -> Any:
    return element.get(field) if isinstance(element, dict) else getattr(element, field, None)


def _duplicates(lists: Lists) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for list_name in ELEMENT_LISTS:
        elements = lists.get(list_name) or ()
        for i, element in enumerate(elements):
            one = _value(element, "id")
            if not isinstance(one, str):
                continue
            if one in seen:
                yield Problem(
                    place=f"{list_name}[{i}].id",
                    message=f"the id {one!r} is taken already by {seen[one]}",
                    remedy="give every element an id of its own, across all kinds",
                )
            else:
                seen[one] = f"{list_name}[{i}]"


def _inner_duplicates(lists: Lists) -> Iterator[Problem]:
    """Find targets and attach points of one worksite that share an id."""
    for i, worksite in enumerate(lists.get("worksites") or ()):
        for field in ("targets", "attach"):
            seen: set[str] = set()
            inner = _value(worksite, field)
            for j, one in enumerate(inner if isinstance(inner, list | tuple) else ()):
                inner_id = _value(one, "id")
                if isinstance(inner_id, str) and inner_id in seen:
                    yield Problem(
                        place=f"worksites[{i}].{field}[{j}].id",
                        message=f"the id {inner_id!r} is given twice in {field}",
                        remedy="give each one of a worksite an id of its own",
                    )
                elif isinstance(inner_id, str):
                    seen.add(inner_id)


# What each reference field may name: (list, field) -> lists whose ids it may hold.
_REFERENCES: dict[tuple[str, str], tuple[str, ...]] = {
    ("hatches", "tether_point"): ("tether_points",),
    ("worksites", "socket"): ("sockets",),
    ("worksites", "handrail"): ("handrails",),
    ("worksites", "tie_handrails"): ("handrails", "handholds"),
    ("zones", "when"): ("conditions",),
    ("conditions", "closes"): ("handrails", "handholds"),
    ("items", "stowed_at"): (
        "handrails",
        "handholds",
        "sockets",
        "tether_points",
        "hatches",
        "worksites",
        "items",
    ),
}


def _dangling(lists: Lists) -> Iterator[Problem]:
    for (list_name, field), allowed in _REFERENCES.items():
        elements = lists.get(list_name) or ()
        if not elements or any(name in lists and lists[name] is None for name in allowed):
            continue
        known = _ids(lists, allowed)
        for i, element in enumerate(elements):
            for one in _named(_value(element, field)):
                if one not in known:
                    yield _unknown(f"{list_name}[{i}].{field}", one, allowed, lists)


def _ids(lists: Lists, names: Iterable[str]) -> set[str]:
    found = {_value(element, "id") for name in names for element in _records(lists.get(name))}
    return {one for one in found if isinstance(one, str)}


def _records(elements: Sequence[Any] | None) -> Iterator[Any]:
    """Leave out what is no element and what has an id that is none."""
    for element in elements or ():
        if isinstance(_value(element, "id"), str):
            yield element


def _named(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list | tuple):
        yield from (one for one in value if isinstance(one, str))


def _unknown(place: str, one: str, allowed: Sequence[str], lists: Lists) -> Problem:
    from difflib import get_close_matches

    words = " or ".join(ELEMENT_LISTS[name] for name in allowed)
    nearest = get_close_matches(one, sorted(_ids(lists, allowed)), n=3)
    elsewhere = next(
        (ELEMENT_LISTS[name] for name in ELEMENT_LISTS if one in _ids(lists, (name,))), None
    )
    if elsewhere is not None:
        hint = f"{one!r} is a {elsewhere}"
    else:
        hint = f"did you mean {' or '.join(nearest)}?" if nearest else "add it first"
    return Problem(
        place=place,
        message=f"no {words} has the id {one!r}",
        remedy=f"name one that is in this document; {hint}",
    )


def _stowed_rings(lists: Lists) -> Iterator[Problem]:
    """Find items that are stowed in themselves, directly or by way of other items."""
    items = list(_records(lists.get("items")))
    within = {_value(item, "id"): _value(item, "stowed_at") for item in items}
    for i, item in enumerate(lists.get("items") or ()):
        start = _value(item, "id")
        at, way = within.get(start) if isinstance(start, str) else None, [start]
        while isinstance(at, str) and at in within and at not in way:
            way.append(at)
            at = within[at]
        if isinstance(start, str) and at == start:
            yield Problem(
                place=f"items[{i}].stowed_at",
                message=f"the item {start!r} is stowed in itself ({' in '.join([*way, start])})",
                remedy="stow one of them at a place of the structure",
            )
