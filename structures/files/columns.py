"""The columns of a CSV table of elements, read off the element's record type.

A field is one column named by its key; a vector is three (``normal_x``,
``normal_y``, ``normal_z``); the fields of a shape are named through it
(``volume.radius``); lists of ids or numbers are one column with ``;`` between
the entries; lists of points are ``x y z; x y z``.
"""

from collections.abc import Callable, Sequence
from functools import cache
from math import isfinite
from typing import Any, Literal, NamedTuple, get_args, get_origin

from structures.fields import Record
from structures.files.faults import FaultError, shown
from structures.files.record_types import bare_type, choices_by_shape
from structures.files.tables import plain_text

__all__ = ["Column", "columns_of", "ends_columns"]

_AXES = ("x", "y", "z")


class Column(NamedTuple):
    """One field of an element: the names of its columns, its path, and how its cells are read.

    ``read`` takes one text per column, none of them empty, and raises
    FaultError.
    """

    names: tuple[str, ...]
    path: tuple[str, ...]
    read: Callable[[Sequence[str]], Any]
    required: bool = False


@cache
def columns_of(record_type: type[Record]) -> tuple[Column, ...]:
    """Return the columns of a record type; fields that fit no column are left out."""
    return tuple(_columns(record_type, ()))


def ends_columns() -> tuple[Column, ...]:
    """Return the columns of a two-point rail, that stand in place of ``points``."""
    return tuple(
        Column(tuple(f"{end}_{axis}" for axis in _AXES), ("points", end), _numbers)
        for end in ("start", "end")
    )


def _columns(record_type: type[Record], path: tuple[str, ...]) -> list[Column]:
    found: dict[tuple[str, ...], Column] = {}
    for name, field in record_type.model_fields.items():
        here = (*path, field.alias or name)
        choices = choices_by_shape(field.annotation)
        if choices:
            inner = [one for choice in choices.values() for one in _columns(choice, here)]
        else:
            inner = _column(bare_type(field.annotation), here, required=field.is_required())
        for column in inner:
            found.setdefault(column.path, column)
    return list(found.values())


def _column(bare: Any, path: tuple[str, ...], *, required: bool) -> list[Column]:
    title = ".".join(path)
    args = get_args(bare)
    if get_origin(bare) is tuple and len(args) == 3:
        return [Column(tuple(f"{title}_{axis}" for axis in _AXES), path, _numbers, required)]
    read = _reader(bare)
    return [] if read is None else [Column((title,), path, read, required)]


def _reader(bare: Any) -> Callable[[Sequence[str]], Any] | None:
    if get_origin(bare) is tuple:
        inner = bare_type(get_args(bare)[0])
        if get_origin(inner) is tuple:
            return _points(len(get_args(inner)))
        entry = _reader(inner)
        return None if entry is None else _entries(entry)
    if get_origin(bare) is Literal:
        bare = type(get_args(bare)[0])
    return {str: _text, float: _number, int: _whole, bool: _boolean}.get(bare)


def _text(cells: Sequence[str]) -> str:
    return plain_text(cells[0])


def _boolean(cells: Sequence[str]) -> bool:
    word = cells[0].strip().lower()
    if word not in {"true", "false"}:
        raise FaultError(f"{shown(cells[0])} is not true or false", "write true or false")
    return word == "true"


def _number(cells: Sequence[str]) -> float:
    return _float(cells[0])


def _whole(cells: Sequence[str]) -> int:
    text = cells[0].strip()
    if not (text.isascii() and text.isdigit() and len(text) <= 9):
        raise FaultError(f"{shown(cells[0])} is not a whole number", "write it in digits")
    return int(text)


def _numbers(cells: Sequence[str]) -> list[float]:
    try:
        values = [float(cell) for cell in cells]
    except ValueError:
        return [_float(cell) for cell in cells]
    text = "".join(cells)
    if text.isascii() and "_" not in text and isfinite(sum(values)):
        return values
    return [_float(cell) for cell in cells]


def _float(cell: str) -> float:
    # float() also takes "1_0", "nan" and digits of other scripts.
    try:
        value = float(cell)
        if isfinite(value) and cell.isascii() and "_" not in cell:
            return value
    except ValueError:
        pass
    remedy = "write digits with a decimal point, for instance 2.5"
    if "," in cell:
        remedy = "write a decimal point, not a comma, for instance 2.5"
    raise FaultError(f"{shown(cell)} is not a number", remedy)


def _entries(entry: Callable[[Sequence[str]], Any]) -> Callable[[Sequence[str]], list[Any]]:
    def read(cells: Sequence[str]) -> list[Any]:
        return [entry((one.strip(),)) for one in cells[0].split(";") if one.strip()]

    return read


def _points(size: int) -> Callable[[Sequence[str]], list[list[float]]]:
    like = "; ".join([" ".join(_AXES[:size])] * 2)

    def read(cells: Sequence[str]) -> list[list[float]]:
        texts = [one.split() for one in cells[0].split(";") if one.strip()]
        points = [[_float(word) for word in words] for words in texts]
        for point in points:
            if len(point) != size:
                raise FaultError(
                    f"{shown(cells[0])} has a point of {len(point)} numbers", f"write {like!r}"
                )
        return points

    return read
