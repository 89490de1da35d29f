"""Faults of a document and where they are: file, line and path inside the document."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from structures.errors import Problem
from structures.files.sources import Source

__all__ = ["Fault", "KeyPath", "Places", "path_of", "path_text", "shown"]

KeyPath = tuple[str | int, ...]

_BARE_KEY = re.compile(r"[A-Za-z0-9_.-]{1,64}")
_LONGEST_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Fault:
    """A problem before it has a place: what is wrong at which path of the document.

    ``file`` and ``line`` are given where the fault is in another file than the
    document or at a line that the path does not lead to.
    """

    path: KeyPath
    message: str
    remedy: str
    file: str = ""
    line: int = 0


@dataclass
class Places:
    """Finds lines: of paths in the document itself, and of rows in the tables it names."""

    source: Source
    rows: Mapping[str, tuple[str, Sequence[int]]] = field(default_factory=dict)
    """For each list that came from a CSV file: its name and the line of each row."""

    @cached_property
    def _lines(self) -> Mapping[KeyPath, int]:
        locate = _locator(self.source.name)
        return locate(self.source.text)

    def problem(self, fault: Fault) -> tuple[tuple[str, int], Problem]:
        """Return the fault with its place, and a key to sort by (file, line)."""
        file, line = self._find(fault)
        place = f"{file}:{line}" if line else file
        path = path_text(fault.path)
        return ("" if file == self.source.name else file, line), Problem(
            place=f"{place} {path}" if path else place,
            message=fault.message,
            remedy=fault.remedy,
        )

    def _find(self, fault: Fault) -> tuple[str, int]:
        if fault.file:
            return fault.file, fault.line
        path = fault.path
        if len(path) > 1 and path[0] in self.rows and isinstance(path[1], int):
            file, lines = self.rows[str(path[0])]
            return file, lines[path[1]] if path[1] < len(lines) else 0
        for length in range(len(path), 0, -1):
            if path[:length] in self._lines:
                return self.source.name, self._lines[path[:length]]
        return self.source.name, 0


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
            key = step if _BARE_KEY.fullmatch(step) else shown(step)
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
        return "a whole number of more than 30 digits"
    return _cut(repr(value) if isinstance(value, str | int | float) else str(value))


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_SHOWN else f"{text[:_LONGEST_SHOWN]}..."


def _locator(name: str) -> Callable[[str], Mapping[KeyPath, int]]:
    if name.lower().endswith(".json"):
        from structures.files.json_lines import locate_json

        return lambda text: locate_json(text).lines
    from structures.files.toml_lines import locate_toml

    return locate_toml
