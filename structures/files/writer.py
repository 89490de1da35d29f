"""Writing documents and other files: whole or not at all, and so that they read back the same."""

import errno
import os
import stat
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

from structures.errors import InvalidDocumentError, Problem
from structures.fields import Record
from structures.files.sources import LARGEST_FILE_BYTES
from structures.files.syntax import suffix_of
from structures.model import SCHEMA_VERSION, Structure
from structures.references import check_references

__all__ = [
    "PARTS",
    "document_of",
    "open_whole",
    "write_file",
    "write_record",
    "write_structure",
    "write_table",
]

Cell = str | float | int | bool | None

PARTS = ".gripway-*.part"
"""Pattern of the files under way; a process that is killed while it writes leaves one behind."""


def write_structure(structure: Structure, path: str | Path) -> None:
    """Write a structure as a TOML or JSON document, by the suffix of ``path``.

    The document is in metres and station axes and reads back as an equal
    structure. The file appears whole or not at all.

    Raises
    ------
    InvalidDocumentError
        The suffix is unknown, or ids are given twice or name nothing, so that
        the document could not be read again. Nothing is written.
    OSError
        The file cannot be written; what was there before is still there.
    """
    problems = check_references(structure)
    if problems:
        raise InvalidDocumentError(problems)
    write_record(structure, path)


def write_record(record: Record, path: str | Path, *, version: int = SCHEMA_VERSION) -> None:
    """Write any record as a TOML or JSON document that `read_record` reads back as equal.

    Raises
    ------
    InvalidDocumentError
        The suffix is unknown or the document is too large to be read again.
    OSError
        The file cannot be written; what was there before is still there.
    """
    path = Path(path)
    document = document_of(record, version=version)
    if suffix_of(path.name) == ".json":
        import json

        text = json.dumps(document, ensure_ascii=False, allow_nan=False, indent=2) + "\n"
    else:
        from structures.files.toml_text import toml_text

        text = toml_text(document)
    data = text.encode("utf-8")
    if len(data) > LARGEST_FILE_BYTES:
        problem = Problem(
            place=path.name,
            message=f"the document would have {len(data)} bytes",
            remedy=f"the most allowed is {LARGEST_FILE_BYTES} bytes (32 MiB); leave things out",
        )
        raise InvalidDocumentError((problem,))
    write_file(path, data)


def write_file(path: str | Path, data: bytes) -> None:
    """Write a file whole or not at all: beside its place first, then moved there.

    An existing file keeps its access rights; a link stays a link to what is written.

    Raises
    ------
    OSError
        The file cannot be written; what was there before is still there, and
        nothing is left beside it.
    """
    with open_whole(path) as stream:
        stream.write(data)


@contextmanager
def open_whole(path: str | Path) -> Iterator[BinaryIO]:
    """Open a file for writing that appears, as `write_file` has it, when all is written.

    For files that are too large to be held in memory. An exception inside
    leaves what was there before.
    """
    target = Path(os.path.realpath(path))
    try:
        part, descriptor = _open_part(target.parent)
    except OSError as error:
        error.filename = str(target)
        raise
    try:
        with os.fdopen(descriptor, "wb") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        if target.exists():
            part.chmod(stat.S_IMODE(target.stat().st_mode))
        part.replace(target)
    except BaseException as error:
        part.unlink(missing_ok=True)
        if isinstance(error, OSError) and _is_about(error, part):
            # What people know is the file that they asked for.
            error.filename, error.filename2 = str(target), None
        raise


_NAMELESS = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO})
"""What writing to an open file fails with, so that the error names no file."""


def _is_about(error: OSError, part: Path) -> bool:
    return error.filename == str(part) or (error.filename is None and error.errno in _NAMELESS)


def write_table(path: str | Path, columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> None:
    """Write a CSV table that is safe to open in a spreadsheet (see `structures.files.tables`).

    Raises
    ------
    OSError
        The file cannot be written; what was there before is still there.
    """
    from structures.files.tables import table_text

    write_file(path, table_text(columns, rows).encode("utf-8"))


def _open_part(folder: Path) -> tuple[Path, int]:
    """Create a new file of its own name in the folder, with the rights that new files get."""
    number = 0
    while True:
        part = folder / f".gripway-{os.getpid()}-{number}.part"
        try:
            return part, os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        except FileExistsError:
            number += 1


def document_of(record: Record, *, version: int = SCHEMA_VERSION) -> dict[str, Any]:
    """Return a record as the table that its document holds, in metres and station axes.

    Values at their default are left out, except the shapes that say which
    record a table is.
    """
    head = {"schema_version": version, "length_unit": "m"}
    return head | {key: value for key, value in _plain(record).items() if key not in head}


def _plain(record: Record) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for name, field in type(record).model_fields.items():
        value = getattr(record, name)
        default = field.get_default(call_default_factory=True, validated_data={})
        if name == "shape" or field.is_required() or value != default:
            found[field.alias or name] = _plain_value(value)
    return found


def _plain_value(value: Any) -> Any:
    if isinstance(value, Record):
        return _plain(value)
    if isinstance(value, tuple):
        return [_plain_value(one) for one in value]
    return value
