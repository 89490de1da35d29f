"""How checks of sites say what they found, and what they could not look at."""

from typing import NamedTuple

from routing.outings.plan_file.records import Act
from routing.outings.told.results import OutingFinding
from routing.outings.told.times_said import clock
from structures.findings import Severity

__all__ = ["Unchecked", "finding_at"]


class Unchecked(NamedTuple):
    """Something that could not be looked at, and what to add so that it can."""

    what: str
    why: str


def finding_at(  # noqa: PLR0913 (one finding has so many parts)
    when: tuple[Act, float],
    code: str,
    elements: tuple[str, ...],
    message: str,
    remedy: str,
    measured: tuple[float | None, float, str],
    *,
    severity: Severity = "blocks",
) -> OutingFinding:
    """Return a finding; when: act and its start [s], measured: value, limit, unit."""
    act, at_s = when
    value, limit, unit = measured
    return OutingFinding(
        code=code,
        severity=severity,
        act=act.id,
        person=act.who[0],
        at_s=at_s,
        elements=elements,
        message=f"{message} (at {clock(at_s)})",
        remedy=remedy,
        value=value,
        limit=None if value is None else limit,
        unit=unit,
    )
