"""Places of faults: file, line and path inside the document."""

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property

from structures.errors import Problem
from structures.files.faults import Fault, KeyPath, path_text
from structures.files.sources import Source

__all__ = ["Places"]


class Places:
    """Finds lines: of paths in the document itself, and of rows in the tables it names.

    Parameters
    ----------
    source
        The document.
    rows
        For each list that came from a CSV file: the file's name and the line of each row.
    """

    def __init__(self, source: Source, rows: Mapping[str, tuple[str, Sequence[int]]]) -> None:
        self.source = source
        self.rows = rows

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


def _locator(name: str) -> Callable[[str], Mapping[KeyPath, int]]:
    if name.lower().endswith(".json"):
        from structures.files.json_lines import locate_json

        return lambda text: locate_json(text).lines
    from structures.files.toml_lines import locate_toml

    return locate_toml
