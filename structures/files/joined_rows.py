"""One message for many rows of a table with the same fault."""

import re
from collections.abc import Sequence

from structures.errors import Problem

__all__ = ["joined_rows"]

_ROW = re.compile(r"\[\d+\]")
_MOST_LINES = 20
"""So many lines are named, the others counted."""

_Placed = tuple[tuple[str, int], Problem]


def joined_rows(found: Sequence[_Placed], document: str) -> list[Problem]:
    """Return problems in order, those that are the same in several rows of a table as one.

    Parameters
    ----------
    found
        Problems with (file, line), by these in order; the document's own have an empty file.
    document
        Name of the document, whose problems are each told at their place.
    """
    groups: dict[tuple[str, ...], list[_Placed]] = {}
    for number, ((file, line), problem) in enumerate(found):
        path = _ROW.sub("[]", problem.place.partition(" ")[2])
        same = (file, path, problem.message, problem.remedy)
        alone = file in {"", document} or not line
        groups.setdefault((*same, str(number)) if alone else same, []).append(
            ((file, line), problem)
        )
    return [_one(group) for group in groups.values()]


def _one(group: Sequence[_Placed]) -> Problem:
    (_, first), *others = group
    lines = list(dict.fromkeys(line for (_, line), _ in others))
    if not lines:
        return first
    more = len(lines) - _MOST_LINES
    named = ", ".join(str(line) for line in lines[:_MOST_LINES])
    rest = f" and {more} more" if more > 0 else ""
    word = "line" if len(lines) == 1 else "lines"
    return first._replace(message=f"{first.message} (the same in {word} {named}{rest})")
