"""Rules across elements: ids are unique, and what is named exists."""

from collections.abc import Iterator
from difflib import get_close_matches

from structures.elements import Element
from structures.errors import Problem
from structures.model import ELEMENT_LISTS, Structure

__all__ = ["check_references"]


def check_references(structure: Structure) -> tuple[Problem, ...]:
    """Return every duplicate id and dangling reference of a structure.

    Places are paths inside the document (``worksites[2].socket``); the reader
    of a file adds file and line.
    """
    return (*_duplicates(structure), *_dangling(structure))


def _duplicates(structure: Structure) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for place, element in _placed(structure):
        if element.id in seen:
            yield Problem(
                place=f"{place}.id",
                message=f"the id {element.id!r} is taken already by {seen[element.id]}",
                remedy="give every element an id of its own, across all kinds",
            )
        else:
            seen[element.id] = place


def _placed(structure: Structure) -> Iterator[tuple[str, Element]]:
    for list_name in ELEMENT_LISTS:
        for i, element in enumerate(getattr(structure, list_name)):
            yield f"{list_name}[{i}]", element


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


def _dangling(structure: Structure) -> Iterator[Problem]:
    for (list_name, field), allowed in _REFERENCES.items():
        known = [element.id for name in allowed for element in getattr(structure, name)]
        words = " or ".join(ELEMENT_LISTS[name] for name in allowed)
        for i, element in enumerate(getattr(structure, list_name)):
            named = getattr(element, field)
            for one in (named,) if isinstance(named, str) else named or ():
                if one not in known:
                    nearest = get_close_matches(one, known, n=3)
                    hint = f"did you mean {' or '.join(nearest)}?" if nearest else "add it first"
                    yield Problem(
                        place=f"{list_name}[{i}].{field}",
                        message=f"no {words} has the id {one!r}",
                        remedy=f"name one that is in this document; {hint}",
                    )
