"""What is found about foot restraints at a worksite, as records."""

from typing import Final, Literal, TypeAlias, get_args

from routing.paths.answers.results import Result
from structures.findings import Finding

__all__ = [
    "RESTRAINT_VERDICTS",
    "BodyReach",
    "FailCount",
    "RestraintVerdict",
    "SettingRow",
    "SocketReach",
    "WorksiteRestraint",
]

RestraintVerdict: TypeAlias = Literal[
    "unknown",
    "no setting",
    "another socket",
    "some bodies",
    "not asked",
    "ok",
    "none planned",
    "nothing to reach",
]

RESTRAINT_VERDICTS: Final[tuple[RestraintVerdict, ...]] = get_args(RestraintVerdict)
"""From worst to best; only the last three are safe. *Not asked*: the worksite is on a handrail,
so that no socket is named to ask about: hands may get to the work or not. *None planned*: the
worksite says itself that it is done without."""


class SettingRow(Result):
    """One setting of a restraint, and what limits it."""

    clock: int
    """Clock position, from 0 on."""
    joints_deg: dict[str, float]
    """Angle of each joint by its id, from the socket on [deg]."""
    margin_m: float | None = None
    """Worst margin over all checks and targets [m]; below zero: the largest shortfall. Missing
    where a line is blocked, for which there is no number."""
    limited_by: str
    """The check that is worst."""
    target: str | None = None
    """The target that is worst in it; missing where the body decides."""
    near: str | None = None
    """The solid or zone that the body or the boots are nearest to, where that decides."""


class FailCount(Result):
    """How many settings fail a check; one that fails several is counted in each."""

    check: str
    settings: int
    of: int
    """For how many it was made: what stands in the way is looked at only for settings that pass
    reach, facing and view."""


class BodyReach(Result):
    """What one body can do from one socket with one restraint."""

    body: str
    settings: int
    working: int
    best: tuple[SettingRow, ...]
    """The best settings that work, best first."""
    fails: tuple[FailCount, ...]
    nearest: SettingRow | None = None
    """Where none works: the setting with the smallest largest shortfall."""


class SocketReach(Result):
    """What all bodies can do from one socket with one restraint."""

    socket: str
    own: bool
    """Whether it is the socket that the worksite names."""
    restraint: str
    rated: bool
    """Whether the restraint is rated for the loads of the limits."""
    reached: bool | None = None
    """Whether a safe tethered way leads there from a hatch; missing: not asked."""
    bodies: tuple[BodyReach, ...]


class WorksiteRestraint(Result):
    """Whether a foot restraint puts the hands where the work of a worksite is."""

    worksite: str
    name: str = ""
    verdict: RestraintVerdict
    """Of the settings alone."""
    way: Literal["reached", "not reached", "not asked"] = "not asked"
    """Whether a safe tethered way leads from a hatch to the socket that is named below."""
    targets: int
    bodies: tuple[str, ...]
    """The bodies that were asked about."""
    able: tuple[str, ...] = ()
    """Those that can do all of it, from the socket that is named below."""
    socket: str | None = None
    restraint: str | None = None
    body: str | None = None
    """The body that decides: the one with the smallest margin, or the worst shortfall."""
    setting: SettingRow | None = None
    """Its best setting, or where none works the nearest."""
    margin_m: float | None = None
    reason: str | None = None
    """Why the verdict is not ok."""
    sockets: tuple[SocketReach, ...] = ()
    """Best first; the worksite's own before others that are no better."""
    findings: tuple[Finding, ...] = ()

    @property
    def safe(self) -> bool:
        """Whether every body asked about can do the work, where a restraint is used for it."""
        return self.able_there and self.way != "not reached"

    @property
    def able_there(self) -> bool:
        """The same of people who are at the socket, however they got there."""
        return self.verdict in {"ok", "none planned", "nothing to reach"}
