"""Where things are in a TOML text: the line of every table, key and list entry."""

import re
import tomllib

__all__ = ["locate_toml"]

KeyPath = tuple[str | int, ...]

_GAP = re.compile(r"(?:\s|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_KEY_PART = re.compile(r"[A-Za-z0-9_-]+|\"(?:[^\"\\\n]|\\.)*\"|'[^'\n]*'")
_SCALAR = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})'
    r"|'''.*?'''(?:'{0,2})"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'"
    r"|[^\s,\]}#]+(?: [0-9][^\s,\]}#]*)?",
    re.DOTALL,
)


def locate_toml(text: str) -> dict[KeyPath, int]:
    r"""Return the line, from 1, of every path of a text that is valid TOML.

    Examples
    --------
    >>> locate_toml('[[rails]]\nid = "a"\n[[rails]]\nid = "b"\n')["rails", 1, "id"]
    4
    """
    return _Scan(text).document()


class _Scan:
    """One pass over a text; every method leaves ``at`` behind what it has read."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self._counts: dict[KeyPath, int] = {}
        self._line, self._counted = 1, 0

    def document(self) -> dict[KeyPath, int]:
        table: KeyPath = ()
        self._skip(_GAP)
        while self.at < len(self.text):
            if self._peek() == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_GAP)
        return self.lines

    def _header(self) -> KeyPath:
        """Read ``[a.b]`` or ``[[a.b]]`` and return the path of the table."""
        of_list = self.text.startswith("[[", self.at)
        self.at += 2 if of_list else 1
        path: KeyPath = ()
        parts = self._key()
        for i, part in enumerate(parts):
            path = (*path, part)
            if of_list and i == len(parts) - 1:
                self._note(path)
                self._counts[path] = self._counts.get(path, 0) + 1
            if path in self._counts:
                path = (*path, self._counts[path] - 1)
            self._note(path)
        self._skip(_SPACE)
        self.at += 2 if of_list else 1
        return path

    def _pair(self, table: KeyPath) -> None:
        """Read ``a.b = value`` inside a table."""
        path = table
        for part in self._key():
            path = (*path, part)
            self._note(path)
        self.at += 1  # the equals sign
        self._skip(_SPACE)
        self._value(path)

    def _key(self) -> list[str]:
        """Read a dotted key and the white space behind it."""
        parts: list[str] = []
        while True:
            self._skip(_SPACE)
            match = _KEY_PART.match(self.text, self.at)
            if match is None:
                return parts
            self.at = match.end()
            parts.append(_plain(match.group()))
            self._skip(_SPACE)
            if self._peek() != ".":
                return parts
            self.at += 1

    def _value(self, path: KeyPath) -> None:
        self._note(path)
        opening = self._peek()
        if opening not in {"[", "{"}:
            match = _SCALAR.match(self.text, self.at)
            self.at = len(self.text) if match is None else match.end()
            return
        self.at += 1
        entries = 0
        self._skip(_GAP)
        while self.at < len(self.text) and self._peek() not in {"]", "}"}:
            if opening == "[":
                self._value((*path, entries))
            else:
                self._pair(path)
            entries += 1
            self._skip(_GAP)
            if self._peek() == ",":
                self.at += 1
                self._skip(_GAP)
        self.at += 1

    def _peek(self) -> str:
        return self.text[self.at : self.at + 1]

    def _skip(self, what: re.Pattern[str]) -> None:
        match = what.match(self.text, self.at)
        if match is not None:
            self.at = match.end()

    def _note(self, path: KeyPath) -> None:
        if path not in self.lines:
            self._line += self.text.count("\n", self._counted, self.at)
            self._counted = self.at
            self.lines[path] = self._line


def _plain(part: str) -> str:
    if part[0] not in "\"'":
        return part
    return str(next(iter(tomllib.loads(f"{part} = 0"))))
