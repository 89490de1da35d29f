"""Lists of elements that a document takes from a CSV file beside it."""

from collections.abc import Callable, Sequence
from operator import itemgetter
from typing import Any, NoReturn

from structures.errors import InvalidDocumentError
from structures.fields import Record
from structures.files.columns import Column, columns_of, ends_columns
from structures.files.faults import MOST_FAULTS, Fault, FaultError, KeyPath, shown
from structures.files.head import read_unit
from structures.files.sources import Source, read_source, sibling_path
from structures.files.tables import Table, parse_table

__all__ = ["ListFile", "read_list_file"]


class ListFile:
    """A list as read from a CSV file: its elements as plain tables, and where they stood."""

    def __init__(self, key: str, unit: str) -> None:
        self.key = key
        self.unit = unit
        """Length unit of the file, empty for the document's own."""
        self.source: Source | None = None
        self.elements: list[dict[str, Any]] = []
        self.lines: list[int] = []
        self.unread: set[tuple[int, str]] = set()
        """(row, key) of values that were given but could not be read."""
        self.absent: set[str] = set()
        """Keys that the header has no column for, though every element needs one."""
        self.whole = False
        """Every row was read, so that an id that is not there does not exist."""


def read_list_file(
    key: str, value: Any, element_type: type[Record], document: Source, faults: list[Fault]
) -> ListFile:
    """Read the list that ``key = "name.csv"`` or ``key = { csv = "name.csv" }`` stands for.

    What is wrong goes into ``faults``; what could be read comes back all the same.
    """
    name, unit = _entry(key, value, faults)
    found = ListFile(key, unit)
    if name is None:
        return found
    try:
        path = sibling_path(document.path.parent, name)
    except FaultError as error:
        faults.append(_fault((key,), error))
        return found
    try:
        found.source = read_source(path, name)
        table = parse_table(found.source)
    except InvalidDocumentError as error:
        for problem in error.problems:
            file, _, line = problem.place.rpartition(":")
            here = int(line) if file and line.isdigit() else 0
            place = file if here else problem.place
            faults.append(Fault((key,), problem.message, problem.remedy, place, here))
        return found
    _Rows(found, table, element_type, name, faults).read()
    return found


def _entry(key: str, value: Any, faults: list[Fault]) -> tuple[str | None, str]:
    """Return the file name, unless none can be read, and the length unit of an entry."""
    if isinstance(value, str):
        return value, ""
    known = {"csv", "length_unit"}
    faults += [
        Fault((key, one), f"a list from a file has no key {one!r}", "its keys: csv, length_unit")
        for one in value
        if one not in known
    ]
    unit = ""
    if "length_unit" in value:
        unit = read_unit(value["length_unit"], (key, "length_unit"), faults)
    name = value.get("csv")
    if isinstance(name, str):
        return name, unit
    faults.append(
        Fault(
            (key, "csv") if "csv" in value else (key,),
            f"the file name {shown(name)} is not a text" if "csv" in value else "no csv is named",
            f'give a list, or name a file: {key} = {{ csv = "{key}.csv" }}',
        )
    )
    return None, unit


class _Rows:
    """One table on its way into elements."""

    def __init__(
        self,
        found: ListFile,
        table: Table,
        element_type: type[Record],
        name: str,
        faults: list[Fault],
    ) -> None:
        self.found = found
        self.table = table
        self.element_type = element_type
        self.name = name
        self.faults = faults

    def read(self) -> None:
        plain = columns_of(self.element_type)
        columns = list(plain)
        if any(column.path == ("points",) for column in plain):
            columns += ends_columns()
        self._check_names([name for column in columns for name in column.names])
        self._check_columns(plain, columns)
        index = {name: i for i, name in reversed(list(enumerate(self.table.header)))}
        used = [
            (column, _picker([index[name] for name in column.names]))
            for column in columns
            if all(name in index for name in column.names)
        ]
        for row, (cells, line) in enumerate(zip(self.table.rows, self.table.lines, strict=True)):
            element: dict[str, Any] = {}
            for column, pick in used:
                texts = pick(cells)
                if any(texts):
                    self._put(element, column, texts, (row, line))
            if "points" in element:
                self._join_ends(element, (row, line))
            self.found.elements.append(element)
            self.found.lines.append(line)
            if len(self.faults) > MOST_FAULTS:
                return
        self.found.whole = True

    def _check_names(self, known: Sequence[str]) -> None:
        """Refuse columns without a name, with the same name and with an unknown one."""
        header = self.table.header
        for i, name in enumerate(header):
            place = f"column {i + 1}"
            if not name:
                if any(row[i].strip() for row in self.table.rows):
                    self._header_fault(f"{place} has no name", "name it or empty it")
            elif name in header[:i]:
                self._header_fault(f"{place}, {shown(name)}, is there twice", "keep one of the two")
            elif name not in known:
                self._header_fault(f"{place}, {shown(name)}, is not known", _nearest(name, known))

    def _check_columns(self, plain: Sequence[Column], columns: Sequence[Column]) -> None:
        """Refuse vectors that lack a column, and miss the fields that every element needs."""
        header = self.table.header
        for column in columns:
            missing = [name for name in column.names if name not in header]
            if 0 < len(missing) < len(column.names):
                self.found.absent.add(column.path[0])
                self._header_fault(
                    f"the header has no {', '.join(missing)}",
                    f"add it; {', '.join(column.names)} go together",
                )
        given = {column.path[0] for column in columns if set(column.names) & set(header)}
        for column in plain:
            if column.required and len(column.path) == 1 and column.path[0] not in given:
                names = ", ".join(column.names)
                if column.path == ("points",):
                    names = "start_x, start_y, start_z, end_x, end_y, end_z (or points)"
                self.found.absent.add(column.path[0])
                self._header_fault(f"the header has no {names}", "add it; every row needs it")

    def _header_fault(self, message: str, remedy: str) -> None:
        self.faults.append(Fault((self.found.key,), message, remedy, self.name, self._header_line))

    @property
    def _header_line(self) -> int:
        text = self.found.source.text if self.found.source else ""
        blank = text[: len(text) - len(text.lstrip("\r\n"))]
        return 1 + blank.count("\n")

    def _put(
        self, element: dict[str, Any], column: Column, texts: Sequence[str], at: tuple[int, int]
    ) -> None:
        """Read the cells of one column into the element."""
        try:
            value = column.read(texts) if "" not in texts else _refuse_part(column, texts)
        except FaultError as error:
            row, line = at
            path: KeyPath = (self.found.key, row, *column.path)
            self.faults.append(_fault(path, error, self.name, line))
            self.found.unread.add((row, column.path[0]))
            return
        path = column.path
        if len(path) == 1:
            element[path[0]] = value
            return
        inner: Any = element
        for step in path[:-1]:
            inner = inner.setdefault(step, {})
        if isinstance(inner, list):
            self._points_twice(at)
        else:
            inner[path[-1]] = value

    def _points_twice(self, at: tuple[int, int]) -> None:
        row, line = at
        if (row, "points") not in self.found.unread:
            self.found.unread.add((row, "points"))
            self.faults.append(
                Fault(
                    (self.found.key, row, "points"),
                    "the rail has both points and a start or an end",
                    "use one of the two ways",
                    self.name,
                    line,
                )
            )

    def _join_ends(self, element: dict[str, Any], at: tuple[int, int]) -> None:
        """Make a two-point rail out of its start and end."""
        points = element["points"]
        if not isinstance(points, dict):
            return
        row, line = at
        if set(points) == {"start", "end"}:
            element["points"] = [points["start"], points["end"]]
            return
        del element["points"]
        if (row, "points") not in self.found.unread:
            self.found.unread.add((row, "points"))
            missing = "end" if "start" in points else "start"
            self.faults.append(
                Fault(
                    (self.found.key, row, "points"),
                    f"the rail has no {missing}",
                    f"fill {missing}_x, {missing}_y and {missing}_z, or use the points column",
                    self.name,
                    line,
                )
            )


def _picker(places: Sequence[int]) -> Callable[[list[str]], Sequence[str]]:
    """Return what takes the cells at these places out of a row, always as a sequence."""
    if len(places) == 1:
        return itemgetter(slice(places[0], places[0] + 1))
    return itemgetter(*places)


def _refuse_part(column: Column, texts: Sequence[str]) -> NoReturn:
    """Refuse a vector of which only some cells are filled."""
    empty = [name for name, text in zip(column.names, texts, strict=True) if not text]
    raise FaultError(f"{', '.join(empty)} is empty", f"fill all of {', '.join(column.names)}")


def _nearest(name: str, known: Sequence[str]) -> str:
    from difflib import get_close_matches

    from structures.files.other_units import key_in_si

    converted = key_in_si(name, known)
    if converted is not None:
        return converted
    nearest = get_close_matches(name, known, n=1)
    if nearest:
        return f"did you mean {nearest[0]}?"
    if name.removesuffix("_m") in known:
        return f"write {name.removesuffix('_m')}; the length unit of the file counts"
    return f"the columns are {', '.join(known)}"


def _fault(path: KeyPath, error: FaultError, file: str = "", line: int = 0) -> Fault:
    return Fault(path, error.message, error.remedy, file, line)
