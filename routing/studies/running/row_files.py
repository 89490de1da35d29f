"""The rows of a study as a file: CSV, JSON lines or Parquet, each with what it was made from.

Beside ``rows.csv`` stands ``rows.csv.about.json``: the study, what was asked, the
digests of its inputs, what each column means, the digest of the file itself and
the caution. The first column of every row, ``study``, has the first digits of the
study's digest, so that a row that is copied elsewhere can be traced too.
"""

import hashlib
import json
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Sequence
from importlib.util import find_spec
from itertools import chain, islice
from pathlib import Path
from typing import Any, BinaryIO, Final

from routing.caution import CAUTION
from routing.studies.running.study import Column, Row, Study, StudyError, study_digest
from routing.version import gripway_version
from structures.files.tables import Cell, table_text
from structures.files.writer import open_whole, write_file

__all__ = ["ROW_SUFFIXES", "about_path", "check_row_file", "write_rows"]

ROW_SUFFIXES: Final = (".csv", ".jsonl", ".parquet")
_AT_A_TIME: Final = 10_000
"""Rows held in memory."""
_KEY_LENGTH: Final = 16


def about_path(path: Path) -> Path:
    """Return where the description of a file of rows is."""
    return path.with_name(path.name + ".about.json")


def check_row_file(path: Path) -> None:
    """Refuse a file that could not be written once all is worked out.

    Raises
    ------
    StudyError
        The suffix is unknown, or it is Parquet and pyarrow is not installed.
    """
    if path.suffix.lower() not in ROW_SUFFIXES:
        raise StudyError(f"{path.name!r}: rows are written as {', '.join(ROW_SUFFIXES)}")
    if path.suffix.lower() == ".parquet" and find_spec("pyarrow") is None:
        raise StudyError(
            f"{path.name!r}: Parquet needs pyarrow; install gripway[parquet], or name a .csv or "
            ".jsonl file"
        )


def write_rows(path: Path, study: Study, rows: Iterable[Row]) -> int:
    """Write rows and their description, each whole or not at all; return how many there are.

    Parameters
    ----------
    path
        Its suffix says how they are written.
    study
        Where the rows come from.
    rows
        Taken one after the other; never all held in memory.
    """
    check_row_file(path)
    digest = study_digest(study)
    about = _about(study, digest)
    form = _FORMS[path.suffix.lower()]
    batches = _batches(rows)
    # All is worked out before the first row comes: until then no half-written file lies
    # about, which a run that is killed would leave behind.
    first = next(batches, [])
    with open_whole(path) as stream:
        hashed = _Hashed(stream)
        writer = form(hashed, study.columns, about)
        count, key = 0, digest[:_KEY_LENGTH]
        for some in chain([first] if first else [], batches):
            writer.write([(key, *row) for row in some])
            count += len(some)
        writer.close()
    about |= {"file": path.name, "rows": count, "sha256": hashed.digest.hexdigest()}
    text = json.dumps(about, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    write_file(about_path(path), text.encode())
    return count


def _about(study: Study, digest: str) -> dict[str, Any]:
    return {
        "schema_version": 1,
        "study": study.name,
        "study_sha256": digest,
        "gripway": gripway_version(),
        "inputs": [one.to_row() for one in study.inputs],
        "parameters": dict(study.parameters),
        "columns": [
            {"name": column.name, "kind": column.kind, "meaning": column.meaning}
            for column in _with_key(study.columns)
        ],
        "caution": CAUTION,
    }


def _with_key(columns: Sequence[Column]) -> tuple[Column, ...]:
    key = Column("study", "text", f"first {_KEY_LENGTH} digits of the study's SHA-256")
    return (key, *columns)


def _batches(rows: Iterable[Row]) -> Iterator[list[Row]]:
    left = iter(rows)
    while some := list(islice(left, _AT_A_TIME)):
        yield some


class _Hashed:
    """A stream that digests what goes through it; never read, never moved back in."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self.digest = hashlib.sha256()
        self.closed = False

    def write(self, data: bytes) -> int:
        self.digest.update(data)
        return self._stream.write(data)

    def flush(self) -> None:
        self._stream.flush()

    def close(self) -> None:
        self.closed = True


class _Form(ABC):
    """A way to write rows."""

    def __init__(self, stream: _Hashed, columns: Sequence[Column], about: dict[str, Any]) -> None:
        self.stream = stream
        self.columns = _with_key(columns)
        self.begin(about)

    @abstractmethod
    def begin(self, about: dict[str, Any]) -> None: ...

    @abstractmethod
    def write(self, rows: Sequence[Row]) -> None: ...

    @abstractmethod
    def close(self) -> None: ...


class _Csv(_Form):
    """CSV that a spreadsheet takes for data only; lists of texts with blanks between them."""

    def begin(self, about: dict[str, Any]) -> None:
        del about  # stands beside the file: CSV has no place for it
        self.stream.write(table_text([column.name for column in self.columns], []).encode())

    def write(self, rows: Sequence[Row]) -> None:
        cells: list[list[Cell]] = [
            [" ".join(value) if isinstance(value, tuple) else value for value in row]
            for row in rows
        ]
        names = [column.name for column in self.columns]
        text = table_text(names, cells)
        self.stream.write(text[len(table_text(names, [])) :].encode())

    def close(self) -> None:
        """Do nothing: the last row is the end."""


class _JsonLines(_Form):
    """One JSON object a line; values that are missing are left out."""

    def begin(self, about: dict[str, Any]) -> None:
        del about  # stands beside the file, so that every line is a row

    def write(self, rows: Sequence[Row]) -> None:
        names = [column.name for column in self.columns]
        lines = []
        for row in rows:
            content = {n: v for n, v in zip(names, row, strict=True) if v is not None}
            lines.append(json.dumps(content, ensure_ascii=False, allow_nan=False) + "\n")
        self.stream.write("".join(lines).encode())

    def close(self) -> None:
        """Do nothing: the last row is the end."""


class _Parquet(_Form):
    """Parquet with the description in its metadata too."""

    def begin(self, about: dict[str, Any]) -> None:
        import pyarrow as pa
        from pyarrow import parquet

        kinds: dict[str, Any] = {
            "text": pa.string(),
            "texts": pa.list_(pa.string()),
            "number": pa.float64(),
            "count": pa.int64(),
            "flag": pa.bool_(),
        }
        fields = [pa.field(column.name, kinds[column.kind]) for column in self.columns]
        text = json.dumps(about, ensure_ascii=False, allow_nan=False)
        self.schema = pa.schema(fields, metadata={"gripway": text})
        self.writer = parquet.ParquetWriter(self.stream, self.schema)

    def write(self, rows: Sequence[Row]) -> None:
        import pyarrow as pa

        columns = list(zip(*rows, strict=True))
        arrays = [
            pa.array(values, type=field.type)
            for values, field in zip(columns, self.schema, strict=True)
        ]
        self.writer.write_table(pa.Table.from_arrays(arrays, schema=self.schema))

    def close(self) -> None:
        self.writer.close()


_FORMS: Final[dict[str, type[_Form]]] = {
    ".csv": _Csv,
    ".jsonl": _JsonLines,
    ".parquet": _Parquet,
}
