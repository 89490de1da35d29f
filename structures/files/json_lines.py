"""Where things are in a JSON text: the line of every key and list entry, keys given twice."""

import json
import re
from dataclasses import dataclass, field

__all__ = ["JsonLines", "locate_json"]

_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\],:]|[^\s{}\[\],:"]+')


@dataclass(frozen=True, slots=True)
class JsonLines:
    """Lines, from 1, by path; and the paths given more than once, with the line of the repeat."""

    lines: dict[tuple[str | int, ...], int] = field(default_factory=dict)
    doubled: list[tuple[tuple[str | int, ...], int]] = field(default_factory=list)


@dataclass(slots=True)
class _Open:
    """An object or list that is being read, and the step to the value that comes next."""

    path: tuple[str | int, ...]
    step: str | int | None

    def enter(self, step: str | int) -> tuple[str | int, ...]:
        self.step = step
        return (*self.path, step)


def locate_json(text: str) -> JsonLines:
    r"""Return the lines of a text that is valid JSON.

    Examples
    --------
    >>> locate_json('{"rails": [\n  {"id": "r1"}\n]}').lines["rails", 0, "id"]
    2
    """
    found = JsonLines()
    stack: list[_Open] = []
    line, counted = 1, 0
    for match in _TOKEN.finditer(text):
        line += text.count("\n", counted, match.start())
        counted = match.start()
        sign = match.group()
        if sign in "}]":
            stack.pop()
        elif sign == ",":
            top = stack[-1]
            top.step = top.step + 1 if isinstance(top.step, int) else None
        elif sign != ":":
            _take(sign, line, stack, found)
    return found


def _take(sign: str, line: int, stack: list[_Open], found: JsonLines) -> None:
    """Take a key or the beginning of a value."""
    if stack and stack[-1].step is None:
        path = stack[-1].enter(json.loads(sign))
        if path in found.lines:
            found.doubled.append((path, line))
        else:
            found.lines[path] = line
        return
    path = (*stack[-1].path, *_step(stack[-1])) if stack else ()
    found.lines.setdefault(path, line)
    if sign in "{[":
        stack.append(_Open(path, None if sign == "{" else 0))


def _step(top: _Open) -> tuple[str | int, ...]:
    return () if top.step is None else (top.step,)
