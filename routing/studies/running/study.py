"""What a study is: a fixed list of chunks, each of which gives rows."""

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Final, Literal, TypeAlias

from routing.errors import RoutingError
from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.paths.tethers.kit import Kit
from routing.version import gripway_version
from structures.model import Structure

__all__ = [
    "Column",
    "Json",
    "Row",
    "Study",
    "StudyError",
    "Value",
    "case_content",
    "program_digest",
    "row_of",
    "study_digest",
]

Json: TypeAlias = Any
"""What JSON can say: numbers, texts, lists and tables of these."""

Value: TypeAlias = str | float | int | bool | tuple[str, ...] | None
Row: TypeAlias = tuple[Value, ...]
"""One value a column."""

Kind: TypeAlias = Literal["text", "texts", "number", "count", "flag"]


class StudyError(RoutingError):
    """A study could not be run to its end; what is finished is kept where there is a folder."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a study's rows. A dimensioned name ends in its unit."""

    name: str
    kind: Kind
    meaning: str
    """In one line, for the description beside the rows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """A study: what is worked out, from what, in which chunks.

    Parameters
    ----------
    name
        What kind of study it is, for instance ``closures``.
    columns
        Of the rows, in order.
    prepare
        A function of a module (so that it can be sent to another process): from
        ``shared`` to what every chunk needs, for instance the reach graph. Called
        once a process; what it returns must not be changed by ``work``.
    work
        A function of a module: from what ``prepare`` returned and the chunk's own
        inputs to the chunk's rows. It must give the same rows wherever and whenever
        it is called.
    shared
        Anything that can be pickled.
    chunks
        The inputs of each chunk, JSON values; their order is the order of the rows.
    content
        All that ``shared`` depends on, as JSON values (see `case_content`): chunks
        of another study that was left unfinished are told apart by it.
    inputs
        Digests of the files that were read, to stand beside the rows.
    parameters
        What was asked, as JSON values, to stand beside the rows.
    """

    name: str
    columns: tuple[Column, ...]
    prepare: Callable[[Any], Any]
    work: Callable[[Any, Any], Iterable[Sequence[Any]]]
    shared: Any
    chunks: Sequence[Json]
    content: Json
    inputs: tuple[InputDigest, ...] = ()
    parameters: Mapping[str, Json]


def case_content(structure: Structure, situation: Situation, kit: Kit | None = None) -> Json:
    """Return everything in a structure, a situation and a kit, for `Study.content`."""
    return {
        "structure": structure.model_dump(mode="json"),
        "limits": situation.limits.model_dump(mode="json"),
        "person": None if situation.person is None else situation.person.model_dump(mode="json"),
        "carry": None if situation.carry is None else situation.carry.model_dump(mode="json"),
        "when": list(situation.when),
        "closed": list(situation.closed),
        "tow": situation.tow,
        "reels_m": None if kit is None else list(kit.reels_m),
    }


def study_digest(study: Study) -> str:
    """Return the SHA-256 of all that the rows of a study depend on, in hex.

    That is its content, parameters, columns and chunks, the version of Gripway
    and the text of its own modules: rows of another version are never mixed in.
    """
    whole = hashlib.sha256()
    head = [
        study.name,
        gripway_version(),
        program_digest(),
        [one.to_row() for one in study.inputs],
        [[column.name, column.kind] for column in study.columns],
        study.content,
        dict(study.parameters),
        len(study.chunks),
    ]
    whole.update(_canonical(head))
    for chunk in study.chunks:
        whole.update(b"\n")
        whole.update(_canonical(chunk))
    return whole.hexdigest()


@cache
def program_digest() -> str:
    """Return the SHA-256 of the modules of this very program, in hex, the same on every machine."""
    whole = hashlib.sha256()
    root = Path(__file__).resolve().parents[3]
    for package in ("routing", "structures"):
        for path in sorted((root / package).rglob("*.py"), key=lambda p: p.as_posix()):
            name = path.relative_to(root).as_posix().encode()
            data = path.read_bytes()
            whole.update(b"%d %d " % (len(name), len(data)) + name + data)
    return whole.hexdigest()


def row_of(study_columns: Sequence[Column], values: Sequence[Any]) -> Row:
    """Return a row as it is kept: of the columns' kinds, finite, in plain Python values.

    Raises
    ------
    TypeError, ValueError
        A value does not fit its column.
    """
    if len(values) != len(study_columns):
        raise ValueError(f"a row of {len(values)} values for {len(study_columns)} columns")
    return tuple(_value(c, v) for c, v in zip(study_columns, values, strict=True))


_FINITE: Final = float("inf")


def _value(column: Column, value: Any) -> Value:
    if value is None:
        return None
    match column.kind:
        case "number":
            number = float(value)
            if not -_FINITE < number < _FINITE:
                raise ValueError(f"{column.name} is {number}: leave it empty where there is none")
            return number
        case "count" if int(value) == value and not isinstance(value, bool):
            return int(value)
        case "flag" if value in {True, False}:
            return bool(value)
        case "text" if isinstance(value, str):
            return value
        case "texts" if not isinstance(value, str) and all(isinstance(v, str) for v in value):
            return tuple(value)
    raise TypeError(f"{column.name} takes a {column.kind}, not {value!r}")


def _canonical(value: Json) -> bytes:
    return json.dumps(value, sort_keys=True, ensure_ascii=True, allow_nan=False).encode()
