"""Reading and writing documents: every problem at once, atomic writing, exact round trip."""

from typing import TYPE_CHECKING, Any

from structures.files.reader import (
    RecordDocument,
    StructureDocument,
    read_document,
    read_record,
    read_record_document,
    read_structure,
)
from structures.files.sources import InputFile

if TYPE_CHECKING:
    from structures.files.schema import json_schema
    from structures.files.writer import write_file, write_record, write_structure, write_table

__all__ = [
    "InputFile",
    "RecordDocument",
    "StructureDocument",
    "json_schema",
    "read_document",
    "read_record",
    "read_record_document",
    "read_structure",
    "write_file",
    "write_record",
    "write_structure",
    "write_table",
]

_WHEN_ASKED = {
    "json_schema": "structures.files.schema",
    "write_file": "structures.files.writer",
    "write_record": "structures.files.writer",
    "write_structure": "structures.files.writer",
    "write_table": "structures.files.writer",
}
"""Names that whoever only reads does not load; most answers only read."""


def __getattr__(name: str) -> Any:
    if name not in _WHEN_ASKED:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_WHEN_ASKED[name]), name)
