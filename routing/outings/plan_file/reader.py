"""Reading a plan: the outing, its structure and its limits, with every problem in one go."""

from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

from routing.limits import DEFAULT_LIMITS, Limits
from routing.outings.plan_file.records import Outing
from routing.outings.plan_file.references import check_plan
from structures.errors import InvalidDocumentError, Problem
from structures.files.reader import RecordDocument, read_document, read_record_document
from structures.files.sources import InputFile, read_source
from structures.files.syntax import parse, suffix_of_document
from structures.model import Structure

__all__ = ["OutingDocument", "read_outing"]


class OutingDocument(NamedTuple):
    """A plan, what it is planned on, and the files all this was read from, the plan first."""

    outing: Outing
    structure: Structure
    limits: Limits
    inputs: tuple[InputFile, ...]
    paths: tuple[Path, ...]
    """The files themselves, so that nothing is written over them."""


def read_outing(path: str | Path) -> OutingDocument:
    """Read a plan together with the structure and the limits that it names.

    Parameters
    ----------
    path
        The plan; the structure and the limits are named in it, seen from its folder.

    Raises
    ------
    InvalidDocumentError
        With every problem of the plan, of the structure and of the limits: keys
        and values, ids that do not exist (with the nearest that do), and acts
        that wait for each other.
    """
    path = Path(path)
    suffix_of_document(path)
    raw = parse(read_source(path))
    problems: list[Problem] = []
    structure, structure_inputs = _structure(path, raw.get("structure"), problems)
    limits = _limits(path, raw.get("limits"), problems)
    try:
        plan = read_record_document(
            path, Outing, check=partial(check_plan, raw, structure, limits.record)
        )
    except InvalidDocumentError as error:
        raise InvalidDocumentError((*error.problems, *problems)) from None
    if problems or structure is None:
        raise InvalidDocumentError(tuple(problems))
    return OutingDocument(
        outing=plan.record,
        structure=structure,
        limits=limits.record,
        inputs=(*plan.inputs, *structure_inputs, *limits.inputs),
        paths=(
            path,
            *(path.parent / one.name for one in plan.inputs[1:]),
            path.parent / plan.record.structure,
            *((path.parent / plan.record.structure).parent / one.name for one in structure_inputs),
            *([path.parent / plan.record.limits] if plan.record.limits else []),
        ),
    )


def _structure(
    plan: Path, name: Any, problems: list[Problem]
) -> tuple[Structure | None, tuple[InputFile, ...]]:
    if not isinstance(name, str):
        return None, ()  # reading the plan itself says that it is missing or no text
    try:
        found = read_document(plan.parent / name)
    except InvalidDocumentError as error:
        problems.extend(error.problems)
        return None, ()
    return found.structure, found.inputs


def _limits(plan: Path, name: Any, problems: list[Problem]) -> RecordDocument[Limits]:
    if isinstance(name, str) and name:
        try:
            return read_record_document(plan.parent / name, Limits)
        except InvalidDocumentError as error:
            problems.extend(error.problems)
    return RecordDocument(DEFAULT_LIMITS, ())
