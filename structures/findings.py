"""Findings: what a check has to say about something that is legal but doubtful.

An invalid document is an error (`structures.errors`); a finding is about a
structure, a graph or a route that can be computed on and should be looked at.
"""

from collections.abc import Iterable
from typing import Annotated, Final, Literal, TypeAlias

from pydantic import Field, model_validator

from structures.fields import Identifier, Number, Record, Text

__all__ = ["SEVERITIES", "Finding", "Severity", "sorted_findings", "worst_severity"]

Severity: TypeAlias = Literal["blocks", "warns", "notes"]

SEVERITIES: Final[tuple[Severity, ...]] = ("blocks", "warns", "notes")
"""From worst to least: *blocks* must be mended before an answer may be used."""

_CAUSE_OF_OTHERS: Final = "length-unit-doubtful"
"""What may be the one cause of many others stands before all of them."""

Code: TypeAlias = Annotated[str, Field(pattern=r"^[a-z]+(-[a-z0-9]+)*$", max_length=64)]


class Finding(Record):
    """One thing that a check has to say.

    ``message`` gives the condition, what follows from it, and what to do.
    ``value`` and ``limit`` are what was measured and what it was held against,
    both in ``unit``; each may be missing where there is no number to give.
    """

    code: Code
    """Which check says it, for instance ``handrail-inside-solid``."""
    severity: Severity
    elements: tuple[Identifier, ...] = ()
    """Ids of the elements it is about, the one to change first."""
    worksite: Identifier | None = None
    """The worksite it is about, if it is about one."""
    message: Text
    value: Number | None = None
    limit: Number | None = None
    unit: Annotated[str, Field(max_length=16)] = ""

    @model_validator(mode="after")
    def _numbers_have_units(self) -> "Finding":
        if not self.unit and (self.value is not None or self.limit is not None):
            raise ValueError('a value or a limit needs its unit; give "m", "N", "deg" or "1"')
        return self


def sorted_findings(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings worst severity first, then by code; each check's own order stays.

    A doubt about the length unit comes before all, because it may be the cause of the rest.
    A check gives its findings in id order, or worst first where its numbers rank them.

    Examples
    --------
    >>> note = Finding(code="unused-condition", severity="notes", elements=("c1",), message="m")
    >>> stop = Finding(code="zone-over-hatch", severity="blocks", elements=("z1",), message="m")
    >>> [f.code for f in sorted_findings([note, stop])]
    ['zone-over-hatch', 'unused-condition']
    """
    return tuple(sorted(findings, key=_rank))


def _rank(one: Finding) -> tuple[bool, int, str]:
    return (one.code != _CAUSE_OF_OTHERS, SEVERITIES.index(one.severity), one.code)


def worst_severity(findings: Iterable[Finding]) -> Severity | None:
    """Return the worst severity among findings, ``None`` for no findings."""
    return min((f.severity for f in findings), key=SEVERITIES.index, default=None)
