"""Foot restraints as text for people, and the answer as JSON."""

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from routing.cli.answers import NO_TIME_HOME, AnswerHead
from routing.cli.output import print_lines
from routing.cli.tables import Column, print_table
from routing.paths.answers.results import Protocol
from routing.worksites.restraints.records import BodyReach, SocketReach, WorksiteRestraint
from routing.worksites.restraints.verdict import margin_text, setting_text, shortfall_text

__all__ = ["RestraintAnswer", "print_found"]


class RestraintAnswer(AnswerHead):
    """The answer of `gripway restraint`."""

    answer: Literal["restraint"] = "restraint"
    protocol: Protocol
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit, where the protocol is that of reels [m]."""
    safe: bool
    """Whether every body asked about can work at every worksite, and a safe tethered way leads to
    each socket that it is done from. The time home is not looked at."""
    worksites: tuple[WorksiteRestraint, ...]


_COLUMNS: Final = (
    Column("worksite", keep=24),
    Column("verdict"),
    Column("way"),
    Column("bodies able"),
    Column("socket"),
    Column("restraint"),
    Column("decides"),
    Column("margin m", number=True),
    Column("setting"),
)


def print_found(found: Sequence[WorksiteRestraint], *, in_full: bool) -> None:
    """Print all that is known of one worksite, or one row for each."""
    if in_full:
        print_lines(*_site_lines(found[0]))
    else:
        _print_all(found)


def _print_all(found: Sequence[WorksiteRestraint]) -> None:
    """Print one row a worksite, and below the reasons of those that are not done."""
    unable = [one.worksite for one in found if not one.able_there]
    away = [one.worksite for one in found if one.way == "not reached"]
    good = sum(one.safe for one in found)
    if not found:
        print_lines("There are no worksites at sockets in this structure.")
        return
    bad = [
        f"{what}: {', '.join(ids)}."
        for what, ids in (
            ("NO SAFE TETHERED WAY TO THE SOCKET", away),
            ("NO SETTING FOR EVERY BODY", unable),
        )
        if ids
    ]
    verdict = (
        f"{' '.join(bad)} Done: {good} of {len(found)}."
        if bad
        else f"Every body can work at every worksite, {good} in all."
    )
    print_lines(f"{verdict} {NO_TIME_HOME}", "")
    print_table(_COLUMNS, [_cells(one) for one in found])
    reasons = [f"  {one.worksite}: {one.reason}" for one in found if one.reason]
    if reasons:
        print_lines("", "Why not:", *reasons)
    print_lines(*_findings(found))


def _site_lines(found: WorksiteRestraint) -> Iterator[str]:
    """Yield all that is known of one worksite, best socket first."""
    named = f" {found.name}" if found.name else ""
    count = f"{found.targets} target{'' if found.targets == 1 else 's'}"
    yield f"{found.worksite}{named}, {count}: {_told(found)}"
    if found.reason:
        yield found.reason
    yield NO_TIME_HOME
    for one in found.sockets:
        if one.own or any(body.working for body in one.bodies):
            yield ""
        yield from _socket_lines(one)
    yield from _findings([found])


def _told(found: WorksiteRestraint) -> str:
    if found.safe:
        return found.verdict
    away = "; NO SAFE TETHERED WAY TO THE SOCKET" if found.way == "not reached" else ""
    return f"{found.verdict}{away} (NOT SAFE)"


def _cells(one: WorksiteRestraint) -> tuple[str, ...]:
    return (
        one.worksite if not one.name else f"{one.worksite} {one.name}",
        one.verdict,
        one.way,
        ", ".join(one.able),
        one.socket or "",
        one.restraint or "",
        one.body or "",
        "" if one.margin_m is None else f"{one.margin_m:.3f}",
        "" if one.setting is None else setting_text(one.setting),
    )


def _socket_lines(one: SocketReach) -> Iterator[str]:
    rated = "" if one.rated else ", NOT RATED for the loads"
    rated += ", NO SAFE TETHERED WAY THERE" if one.reached is False else ""
    own = " (the worksite's own)" if one.own else ""
    head = f"Socket {one.socket}{own}, restraint {one.restraint}{rated}"
    if not own and not any(body.working for body in one.bodies):
        yield f"{head}: no setting works for any body"
        return
    yield head
    for body in one.bodies:
        yield f"  {body.body}: {body.working} of {body.settings} settings work"
        for row in body.best:
            yield f"    {setting_text(row)}: {margin_text(row)}"
        if body.nearest is not None:
            yield f"    nearest: {setting_text(body.nearest)}: {shortfall_text(body.nearest)}"
        yield from _fail_lines(body)


def _fail_lines(body: BodyReach) -> Iterator[str]:
    if body.fails:
        counts = "; ".join(f"{one.check} {one.settings} of {one.of}" for one in body.fails)
        yield f"    fail: {counts}"


def _findings(found: Sequence[WorksiteRestraint]) -> Iterator[str]:
    messages = dict.fromkeys(finding.message for one in found for finding in one.findings)
    if messages:
        yield ""
        yield from messages
