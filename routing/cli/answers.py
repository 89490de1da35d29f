"""The JSON answers of the commands, as records: what is printed is what the schema says."""

from typing import Any, Literal

from routing.caution import CAUTION
from routing.graph.situation import Situation
from routing.limits import changed_limits
from routing.paths.results import InputDigest, LimitChange, Result, SituationRef, StructureRef
from routing.version import gripway_version
from routing.worksites.reach_table import ReachRow
from structures.files.reader import StructureDocument
from structures.findings import Finding

__all__ = ["InspectAnswer", "ReachAnswer", "head_of"]


class _Head(Result):
    """What every answer carries."""

    schema_version: Literal[1] = 1
    gripway: str
    structure: StructureRef
    inputs: tuple[InputDigest, ...]
    situation: SituationRef
    limits_changed: dict[str, LimitChange]
    caution: str


class InspectAnswer(_Head):
    """The answer of `gripway inspect`."""

    answer: Literal["inspect"] = "inspect"
    grips: int
    moves: int
    blocks: bool
    """Whether a finding must be mended before an answer may be used."""
    findings: tuple[Finding, ...]


class ReachAnswer(_Head):
    """The answer of `gripway reach`."""

    answer: Literal["reach"] = "reach"
    safe: bool
    """Whether every worksite is within reach in every way that was checked."""
    worksites: tuple[ReachRow, ...]


def head_of(document: StructureDocument, situation: Situation) -> dict[str, Any]:
    """Return what every answer about this document in this situation carries."""
    structure = document.structure
    return {
        "gripway": gripway_version(),
        "structure": StructureRef(
            name=structure.name, revision=structure.revision, date=structure.date
        ),
        "inputs": tuple(InputDigest(name=one.name, sha256=one.sha256) for one in document.inputs),
        "situation": SituationRef(
            person=None if situation.person is None else situation.person.id,
            carry=None if situation.carry is None else situation.carry.id,
            when=situation.when,
            closed=situation.closed,
        ),
        "limits_changed": {
            name: LimitChange(value=value, default=default)
            for name, (value, default) in changed_limits(situation.limits).items()
        },
        "caution": CAUTION,
    }
