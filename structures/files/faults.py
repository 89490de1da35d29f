"""Faults: what is wrong at which path of a document, and how paths and values are written."""

import re
from typing import Any, NamedTuple

__all__ = ["MOST_FAULTS", "Fault", "FaultError", "KeyPath", "path_of", "path_text", "shown"]

MOST_FAULTS = 1000
"""A document with more faults than this has one cause; the rest is not looked for."""

KeyPath = tuple[str | int, ...]

_BARE_KEY = r"[A-Za-z0-9_.-]{1,64}"
_LONGEST_SHOWN = 60


class Fault(NamedTuple):
    """A problem before it has a place: what is wrong at which path of the document.

    ``file`` and ``line`` are given where the fault is in another file than the
    document or at a line that the path does not lead to.
    """

    path: KeyPath
    message: str
    remedy: str
    file: str = ""
    line: int = 0


class FaultError(ValueError):
    """A value or name of a document cannot be used; where it stands is known to the caller."""

    def __init__(self, message: str, remedy: str) -> None:
        self.message = message
        self.remedy = remedy
        super().__init__(f"{message}; {remedy}")


def path_text(path: KeyPath) -> str:
    """Return a path as people write it.

    Examples
    --------
    >>> path_text(("handrails", 3, "normal", 1))
    'handrails[3].normal[1]'
    """
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step}]"
        else:
            key = step if re.fullmatch(_BARE_KEY, step) else shown(step)
            text += f".{key}" if text else key
    return text


def path_of(text: str) -> KeyPath:
    """Return the path that a text of `path_text` with plain keys stands for."""
    steps = re.findall(r"[^.\[\]]+", text)
    return tuple(int(step) if step.isdigit() else step for step in steps)


def shown(value: Any) -> str:
    """Return a value of a document for a message: escaped, on one line, cut where too long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return "null"
    if isinstance(value, dict):
        text = f"a table with the keys {', '.join(shown(key) for key in list(value)[:4])}"
        return text if value else "an empty table"
    if isinstance(value, list | tuple):
        inner = ", ".join(shown(one) for one in list(value)[:6])
        return _cut(f"[{inner}{', ...' if len(value) > 6 else ''}]")
    if isinstance(value, int) and abs(value) > 10**30:
        return "a number of more than 30 digits"
    return _cut(repr(value) if isinstance(value, str | int | float) else str(value))


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."
