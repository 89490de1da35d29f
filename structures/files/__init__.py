"""Reading and writing documents: every problem at once, atomic writing, exact round trip."""

from structures.files.reader import (
    RecordDocument,
    StructureDocument,
    read_document,
    read_record,
    read_record_document,
    read_structure,
)
from structures.files.schema import json_schema
from structures.files.sources import InputFile
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
