"""Rules across elements: ids are unique, and what is named exists."""

from collections.abc import Iterator, Mapping, Sequence
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
    ("people", "body"): ("bodies",),
    ("cables", "item"): ("items",),
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


_BUILT_IN: dict[str, tuple[str, ...]] = {"bodies": ("larger", "middle", "smaller")}
"""Ids that may be named where a list has no element of its own."""

_MOST_HINTS = 20
"""Nearest ids are looked up for so many references only: it is slow over long lists."""


def _dangling(lists: Lists) -> Iterator[Problem]:
    ids = {name: _ids(lists.get(name)) for name in ELEMENT_LISTS}
    hints = 0
    unread: dict[str, None] = {}
    for (list_name, field), allowed in _REFERENCES.items():
        elements = lists.get(list_name) or ()
        lacking = [name for name in allowed if name in lists and lists[name] is None]
        if lacking:
            if any(one for element in elements for one in _named(_value(element, field))):
                unread.update(dict.fromkeys(lacking))
            continue
        known: set[str] = set().union(
            *(ids[name] or set(_BUILT_IN.get(name, ())) for name in allowed)
        )
        for i, element in enumerate(elements):
            for one in _named(_value(element, field)):
                if one not in known:
                    hints += 1
                    yield Problem(
                        place=f"{list_name}[{i}].{field}",
                        message=f"no {_words(allowed)} has the id {one!r}",
                        remedy=_hint(one, known, ids, allowed)
                        if hints <= _MOST_HINTS
                        else "name one that is in this document, or add it first",
                    )
    for name in unread:
        yield Problem(
            place=name,
            message=f"references to {name.replace('_', ' ')} are not checked as long as "
            "their list cannot be read",
            remedy="correct it first",
        )


def _ids(elements: Sequence[Any] | None) -> set[str]:
    found = [_value(element, "id") for element in elements or ()]
    return {one for one in found if isinstance(one, str)}


def _named(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list | tuple):
        yield from (one for one in value if isinstance(one, str))


def _words(lists: Sequence[str]) -> str:
    return " or ".join(ELEMENT_LISTS[name] for name in lists)


def _hint(one: str, known: set[str], ids: Mapping[str, set[str]], allowed: Sequence[str]) -> str:
    from structures.near_names import near_names

    for name, found in ids.items():
        if one in found:
            return f"{one!r} is a {ELEMENT_LISTS[name]}; name a {_words(allowed)} instead"
    return near_names(one, known)


def _stowed_rings(lists: Lists) -> Iterator[Problem]:
    """Find items that are stowed in themselves, directly or by way of other items."""
    within: dict[str, tuple[int, Any]] = {}
    for i, item in enumerate(lists.get("items") or ()):
        one = _value(item, "id")
        if isinstance(one, str):
            within.setdefault(one, (i, _value(item, "stowed_at")))
    seen: set[str] = set()
    for start in within:
        way: dict[str, None] = {}
        at: Any = start
        while isinstance(at, str) and at in within and at not in seen:
            seen.add(at)
            way[at] = None
            at = within[at][1]
        if isinstance(at, str) and at in way:
            ring = list(way)[list(way).index(at) :]
            yield Problem(
                place=f"items[{within[at][0]}].stowed_at",
                message=f"the item {at!r} is stowed in itself ({' in '.join([*ring[:8], at])})",
                remedy="stow one of them at a place of the structure",
            )
