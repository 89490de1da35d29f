"""CSV tables, safe to open in a spreadsheet: UTF-8, a header, RFC 4180 quoting.

A spreadsheet takes a cell that begins with ``=``, ``+``, ``-`` or ``@`` for a formula,
even in quotes. So a *text* that begins with one of these (or with a tab or
a carriage return) is written with an apostrophe before it, and the apostrophe is
taken off again on reading. A text that itself begins with an apostrophe and
then one of these signs, or two apostrophes, gets one more, so that every text
comes back as it was. Numbers are written as numbers.
"""

import csv
import io
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from structures.errors import InvalidDocumentError, Problem
from structures.files.faults import MOST_FAULTS
from structures.files.sources import Source

__all__ = ["Cell", "Table", "parse_table", "plain_text", "safe_text", "table_text"]

Cell = str | float | int | bool | None

_MOST_COLUMNS = 500
_MOST_ROWS = 100_000
_FORMULA = "=+-@\t\r"
_GUARDED = _FORMULA + "'"


class Table(NamedTuple):
    """The rows of a CSV file as texts, each with its line; rows without any text are left out."""

    header: tuple[str, ...]
    rows: list[list[str]]
    lines: list[int]


def safe_text(text: str) -> str:
    """Return a text as it may stand in a cell without being taken for a formula.

    Examples
    --------
    >>> safe_text("=1+1"), safe_text("'tis"), safe_text("'=x")
    ("'=1+1", "'tis", "''=x")
    """
    first, second = text[:1], text[1:2]
    guarded = first and (first in _FORMULA or (first == "'" and second and second in _GUARDED))
    return f"'{text}" if guarded else text


def plain_text(cell: str) -> str:
    """Return the text of a cell: undoes `safe_text`.

    Examples
    --------
    >>> plain_text("'=1+1"), plain_text("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if cell[:1] == "'" and len(cell) > 1 and cell[1] in _GUARDED else cell


def table_text(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    r"""Return a table as CSV text, with a header line and CRLF line ends (RFC 4180).

    Parameters
    ----------
    columns
        Names of the columns; names of dimensioned columns end in their unit.
    rows
        One value per column and row. Texts are made safe by `safe_text`, floats
        are written so that they read back exactly, None is an empty cell.

    Raises
    ------
    ValueError
        A row has more or fewer cells than there are columns.

    Examples
    --------
    >>> table_text(["name", "gap_m"], [["=Rail 1", 0.5], ["a, b", None]])
    'name,gap_m\r\n\'=Rail 1,0.5\r\n"a, b",\r\n'
    """
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow([safe_text(column) for column in columns])
    for row in rows:
        if len(row) != len(columns):
            raise ValueError(f"a row of {len(row)} cells in a table of {len(columns)} columns")
        writer.writerow([_cell(value) for value in row])
    return stream.getvalue()


def parse_table(source: Source) -> Table:
    """Return the table in a CSV file: comma, semicolon or tab between cells, as its header has it.

    Raises
    ------
    InvalidDocumentError
        A quote is never closed or stands wrong, a cell is too large, or rows are not as
        long as the header; one problem each with its line.
    """
    text = source.text
    first = text.lstrip("\r\n").partition("\n")[0]
    delimiter = "\t" if "\t" in first else ";" if first.count(";") > first.count(",") else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    header: tuple[str, ...] = ()
    rows: list[list[str]] = []
    lines: list[int] = []
    problems: list[Problem] = []
    before = 0
    try:
        for row in reader:
            line, before = before + 1, reader.line_num
            if not any(cell.strip() for cell in row):
                continue
            if not header:
                header = _header(row)
                if len(header) > _MOST_COLUMNS:
                    problems.append(_wide(f"{source.name}:{line}", len(header)))
                    break
            elif len(row) != len(header):
                problems.append(_ragged(f"{source.name}:{line}", row, header))
            else:
                rows.append(row)
                lines.append(line)
            if len(rows) > _MOST_ROWS or len(problems) > MOST_FAULTS:
                problems.append(_long(f"{source.name}:{line}"))
                break
    except csv.Error as error:
        problems.append(_broken(source.name, before + 1, str(error)))
    if problems:
        raise InvalidDocumentError(tuple(problems))
    return Table(header, rows, lines)


def _header(row: list[str]) -> tuple[str, ...]:
    return tuple(plain_text(cell.strip()) for cell in row)


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "true" if value else "false"
    return safe_text(value) if isinstance(value, str) else repr(value)


def _ragged(place: str, row: list[str], header: tuple[str, ...]) -> Problem:
    return Problem(
        place=place,
        message=f"this row has {len(row)} cells, the header has {len(header)} columns",
        remedy="give every row one cell per column; put a cell that holds a comma in "
        '"double quotes"',
    )


def _wide(place: str, columns: int) -> Problem:
    return Problem(
        place=place,
        message=f"the header has {columns} columns",
        remedy=f"the most allowed are {_MOST_COLUMNS}; check what separates the columns",
    )


def _long(place: str) -> Problem:
    return Problem(
        place=place,
        message=f"more than {_MOST_ROWS} rows, or more than {MOST_FAULTS} of them wrong",
        remedy="reading ended here; correct or shorten the table",
    )


def _broken(name: str, line: int, reason: str) -> Problem:
    if "field larger" in reason:
        message = "a cell of the row that begins here has more than 131072 characters"
        remedy = "shorten it, or close the quote before it"
    elif "end of data" in reason:
        message = "a quote in the row that begins here is never closed"
        remedy = 'close it with ", and write a quote inside a quoted cell twice ("")'
    else:
        message = f"the row that begins here is not valid CSV: {reason}"
        remedy = 'put the whole cell in "double quotes" and write a quote inside it twice ("")'
    return Problem(place=f"{name}:{line}", message=message, remedy=remedy)
