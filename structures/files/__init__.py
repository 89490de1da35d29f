"""Reading and writing documents: every problem at once, atomic writing, exact round trip."""

from structures.files.reader import (
    RecordDocument,
    StructureDocument,
    read_document,
    read_record,
    read_record_document,
    read_structure,
)
from structures.files.sources import InputFile

__all__ = [
    "InputFile",
    "RecordDocument",
    "StructureDocument",
    "read_document",
    "read_record",
    "read_record_document",
    "read_structure",
]
