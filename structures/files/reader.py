"""Reading documents: one validation when all is well, every problem in one go when not."""

from collections.abc import Callable, Mapping, Sequence
from operator import itemgetter
from pathlib import Path
from types import MappingProxyType
from typing import Any, Generic, NamedTuple, TypeVar

from pydantic import ValidationError

from structures.errors import InvalidDocumentError, Problem
from structures.fields import Reading, Record
from structures.files.faults import MOST_FAULTS, Fault, path_of
from structures.files.head import HEAD_KEYS, Head, metres_per, read_head
from structures.files.record_types import element_types
from structures.files.sources import InputFile, Source, read_source
from structures.files.syntax import LARGE_TEXT, check_lists, parse, suffix_of_document
from structures.model import SCHEMA_VERSION, Structure
from structures.references import check_references
from structures.units import METRES_PER_UNIT, TableUnit

__all__ = [
    "RecordDocument",
    "StructureDocument",
    "read_document",
    "read_record",
    "read_record_document",
    "read_structure",
]

AnyRecord = TypeVar("AnyRecord", bound=Record)
Check = Callable[[Mapping[str, Sequence[Any] | None]], tuple[Problem, ...]]


class RecordDocument(NamedTuple, Generic[AnyRecord]):
    """A record and the files it was read from, the document first."""

    record: AnyRecord
    inputs: tuple[InputFile, ...]
    tables: Mapping[str, TableUnit] = MappingProxyType({})
    """For each list that is from a file of its own: which, and in what unit."""


class StructureDocument(NamedTuple):
    """A structure and the files it was read from, the document first."""

    structure: Structure
    inputs: tuple[InputFile, ...]
    tables: Mapping[str, TableUnit] = MappingProxyType({})


def read_structure(path: str | Path) -> Structure:
    """Read a structure from a TOML or JSON document.

    Parameters
    ----------
    path
        The document; its suffix says how it is written. CSV files that it
        names lie beside it.

    Returns
    -------
    Structure
        In metres and station axes, whatever the document's unit and frame.

    Raises
    ------
    InvalidDocumentError
        With every problem of the document and its CSV files.
    """
    return read_document(path).structure


def read_document(path: str | Path) -> StructureDocument:
    """Read a structure together with the names and digests of the files it came from.

    Raises
    ------
    InvalidDocumentError
        With every problem of the document and its CSV files.
    """
    found = read_record_document(path, Structure, check=check_references)
    return StructureDocument(*found)


def read_record(
    path: str | Path, record_type: type[AnyRecord], *, version: int = SCHEMA_VERSION
) -> AnyRecord:
    """Read any record (limits, kits, outings) from a TOML or JSON document.

    The document has ``schema_version`` and ``length_unit`` like a structure, may
    have a ``frame``, and may name CSV files for its lists of records.

    Raises
    ------
    InvalidDocumentError
        With every problem of the document.
    """
    return read_record_document(path, record_type, version=version).record


def read_record_document(
    path: str | Path,
    record_type: type[AnyRecord],
    *,
    version: int = SCHEMA_VERSION,
    check: Check | None = None,
) -> RecordDocument[AnyRecord]:
    """Read any record together with the names and digests of the files it came from.

    Parameters
    ----------
    path
        The document.
    record_type
        What it holds.
    version
        The schema version that the document must have.
    check
        Rules across the record's lists: takes the lists by key, as plain tables
        or records (None for one that could not be read whole), and returns
        problems whose places are paths inside the document.

    Raises
    ------
    InvalidDocumentError
        With every problem of the document.
    """
    path = Path(path)
    suffix_of_document(path)
    source = read_source(path)
    raw = parse(source)
    check_lists(source, raw)
    return _Reader(source, raw, record_type, check).read(version)


class _Reader(Generic[AnyRecord]):
    """One document on its way into a record."""

    def __init__(
        self, source: Source, raw: dict[str, Any], record_type: type[AnyRecord], check: Check | None
    ) -> None:
        self.source = source
        self.raw = raw
        self.record_type = record_type
        self.check = check
        self.faults: list[Fault] = []
        self.uncounted = 0
        self.lists: dict[str, Any] = {}

    def read(self, version: int) -> RecordDocument[AnyRecord]:
        own_keys = {field.alias or name for name, field in self.record_type.model_fields.items()}
        if not own_keys.issuperset(self.raw.keys() - HEAD_KEYS):
            from structures.files.kinds import other_kind

            others = other_kind(self.source.name, self.raw, own_keys)
            if others:
                raise InvalidDocumentError(others)
        head = read_head(self.raw, version, self.faults)
        values = {
            key: value
            for key, value in self.raw.items()
            if key not in HEAD_KEYS or (key in own_keys and key == "schema_version")
        }
        self._read_lists(values)
        plain = dict(values)
        self._convert_lists(values, head)
        record = self._validate(values, plain, head)
        # Elements that could not be converted are in the plain tables only.
        self._check_across(plain if record is None or self.faults else record)
        if record is None or self.faults:
            raise InvalidDocumentError(self._problems())
        files = [one.source.input_file for one in self.lists.values()]
        return RecordDocument(
            record, (self.source.input_file, *files), MappingProxyType(self._tables(head))
        )

    def _tables(self, head: Head) -> dict[str, TableUnit]:
        origin_m = head.reading.frame.offset_m
        return {
            key: TableUnit(found.source.input_file.name, unit, origin_m, document)
            for key, found in self.lists.items()
            for document in METRES_PER_UNIT
            if document == head.unit
            for unit in METRES_PER_UNIT
            if unit == (found.unit or head.unit)
        }

    def _read_lists(self, values: dict[str, Any]) -> None:
        """Put in the place of each file name the elements that the file holds."""
        for key, element_type in element_types(self.record_type).items():
            if isinstance(values.get(key), str | dict):
                from structures.files.lists import read_list_file

                found = read_list_file(key, values[key], element_type, self.source, self.faults)
                self.lists[key] = found
                values[key] = found.elements

    def _convert_lists(self, values: dict[str, Any], head: Head) -> None:
        """Validate element by element the lists that cannot go with the whole document.

        They are the ones from files with a length unit of their own, and all
        of a document so large that its faults must not be collected without end.
        """
        large = len(self.source.text) >= LARGE_TEXT
        for key, element_type in element_types(self.record_type).items():
            found = self.lists.get(key)
            unit = found.unit if found is not None and found.unit else head.unit
            if not isinstance(values.get(key), list) or (unit == head.unit and not large):
                continue
            reading = Reading(metres_per(unit), head.reading.frame)
            made: list[Record] = []
            for i, element in enumerate(values[key]):
                try:
                    made.append(_validated(element_type, element, reading))
                except ValidationError as error:
                    self._explain(error, element_type, element, unit, (key, i))
                    if len(self.faults) > MOST_FAULTS:
                        break
            values[key] = made

    def _validate(
        self, values: dict[str, Any], plain: dict[str, Any], head: Head
    ) -> AnyRecord | None:
        try:
            return _validated(self.record_type, values, head.reading)
        except ValidationError as error:
            self._explain(error, self.record_type, plain, head.unit, ())
            return None

    def _explain(
        self,
        error: ValidationError,
        record_type: type[Record],
        raw: Any,
        unit: str,
        before: tuple[str | int, ...],
    ) -> None:
        """Add what a validation found, without what was said of a cell already."""
        from structures.files.explain import explain

        self.uncounted += max(0, error.error_count() - MOST_FAULTS)
        for fault in explain(error, record_type, raw, unit):
            path = (*before, *fault.path)
            if not self._is_said(path):
                self.faults.append(Fault(path, fault.message, fault.remedy))

    def _is_said(self, path: tuple[str | int, ...]) -> bool:
        if path == ("schema_version",):
            return True
        found = self.lists.get(str(path[0])) if path else None
        if found is None:
            return False
        if len(path) < 3:
            return bool(found.source is None)
        return path[1:3] in found.unread or path[2] in found.absent

    def _check_across(self, values: Any) -> None:
        if self.check is None:
            return
        lists: dict[str, Sequence[Any] | None] = {}
        for key in element_types(self.record_type):
            one = values.get(key, ()) if isinstance(values, dict) else getattr(values, key)
            file = self.lists.get(key)
            whole = file is None or file.whole
            lists[key] = one if isinstance(one, list | tuple) and whole else None
        for problem in self.check(lists):
            self.faults.append(Fault(path_of(problem.place), problem.message, problem.remedy))

    def _problems(self) -> tuple[Problem, ...]:
        from structures.files.joined_rows import joined_rows
        from structures.files.places import Places

        places = Places(
            self.source,
            {
                key: (found.source.name, found.lines)
                for key, found in self.lists.items()
                if found.source is not None
            },
        )
        found = [places.problem(fault) for fault in self.faults[:MOST_FAULTS]]
        problems = joined_rows(sorted(found, key=itemgetter(0)), self.source.name)
        more = self.uncounted + len(self.faults) - len(found)
        if more:
            problems.append(
                Problem(
                    place=self.source.name,
                    message=f"there are at least {more} more problems",
                    remedy="correct these first; so many often have one cause",
                )
            )
        return tuple(problems)


def _validated(record_type: type[AnyRecord], raw: Any, reading: Reading) -> AnyRecord:
    return record_type.model_validate(raw, context=reading, by_alias=True, by_name=False)
