"""The JSON answers of the commands, as records: what is printed is what the schema says."""

from typing import Any, Final, Literal

from routing.caution import CAUTION
from routing.cli.question import Question
from routing.limits import changed_limits
from routing.paths.answers.results import (
    InputDigest,
    LimitChange,
    Protocol,
    Result,
    SituationRef,
    StructureRef,
)
from routing.version import gripway_version
from routing.worksites.kit_comparison import KitsCompared
from routing.worksites.reach_table import ReachRow
from routing.worksites.safety_chains import SafetyChain
from structures.findings import Finding

__all__ = ["NO_TIME_HOME", "AnswerHead", "InspectAnswer", "ReachAnswer", "head_of"]

NO_TIME_HOME: Final = "Time home NOT looked at."
"""Texts of answers about one worksite or face say so."""


class AnswerHead(Result):
    """What every answer carries."""

    schema_version: Literal[1] = 1
    gripway: str
    structure: StructureRef
    inputs: tuple[InputDigest, ...]
    situation: SituationRef
    limits_changed: dict[str, LimitChange]
    caution: str


class InspectAnswer(AnswerHead):
    """The answer of `gripway inspect`."""

    answer: Literal["inspect"] = "inspect"
    grips: int
    moves: int
    blocks: bool
    """Whether a finding must be mended before an answer may be used."""
    findings: tuple[Finding, ...]


class ReachAnswer(AnswerHead):
    """The answer of `gripway reach`."""

    answer: Literal["reach"] = "reach"
    protocol: Protocol
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit, where the protocol is that of reels [m]."""
    tethers: dict[str, int | None] | None = None
    """The equipment tethers at hand and how many of each; missing: all that the structure lists."""
    safe: bool
    """Whether every worksite is within reach in every way that was asked about."""
    verdict: Literal["safe", "not all checked", "not safe"]
    """The same with what was not looked at: *not all checked* where nothing that was is unsafe."""
    not_checked: tuple[str, ...] = ()
    """What was not looked at, of which worksites, why, and how to ask."""
    worksites: tuple[ReachRow, ...]
    """With the kit that the comparison says is used."""
    compared: KitsCompared
    """The kit or kits asked about."""
    chains: tuple[SafetyChain, ...]
    """For every kit and every worksite, stay by stay."""


def head_of(question: Question) -> dict[str, Any]:
    """Return what every answer to this question carries."""
    structure, situation = question.structure, question.situation
    return {
        "gripway": gripway_version(),
        "structure": StructureRef(
            name=structure.name, revision=structure.revision, date=structure.date
        ),
        "inputs": question.inputs,
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
