"""Foot restraints as text for people, and the answer as JSON."""

from collections.abc import Iterator, Sequence
from typing import Final, Literal

from routing.cli.answers import AnswerHead
from routing.cli.output import print_lines
from routing.cli.tables import Column, print_table
from routing.worksites.restraints.records import BodyReach, SocketReach, WorksiteRestraint
from routing.worksites.restraints.verdict import margin_text, setting_text, shortfall_text

__all__ = ["RestraintAnswer", "print_all", "site_lines"]


class RestraintAnswer(AnswerHead):
    """The answer of `gripway restraint`."""

    answer: Literal["restraint"] = "restraint"
    safe: bool
    """Whether every body that was asked about can work at every worksite."""
    worksites: tuple[WorksiteRestraint, ...]


_COLUMNS: Final = (
    Column("worksite", keep=24),
    Column("verdict"),
    Column("bodies able"),
    Column("socket"),
    Column("restraint"),
    Column("decides"),
    Column("margin m", number=True),
    Column("setting"),
)


def print_all(found: Sequence[WorksiteRestraint]) -> None:
    """Print one row a worksite, and below the reasons of those that are not done."""
    bad = [one.worksite for one in found if not one.safe]
    good = len(found) - len(bad)
    if not found:
        print_lines("There are no worksites at sockets in this structure.")
        return
    verdict = (
        f"NO SETTING FOR EVERY BODY: {', '.join(bad)}. Done: {good} of {len(found)}."
        if bad
        else f"Every body can work at every worksite, {good} in all."
    )
    print_lines(verdict, "")
    print_table(_COLUMNS, [_cells(one) for one in found])
    reasons = [f"  {one.worksite}: {one.reason}" for one in found if one.reason]
    if reasons:
        print_lines("", "Why not:", *reasons)
    print_lines(*_findings(found))


def site_lines(found: WorksiteRestraint) -> Iterator[str]:
    """Yield all that is known of one worksite, best socket first."""
    named = f" {found.name}" if found.name else ""
    count = f"{found.targets} target{'' if found.targets == 1 else 's'}"
    yield f"{found.worksite}{named}, {count}: {found.verdict}{'' if found.safe else ' (NOT SAFE)'}"
    if found.reason:
        yield found.reason
    for one in found.sockets:
        if one.own or any(body.working for body in one.bodies):
            yield ""
        yield from _socket_lines(one)
    yield from _findings([found])


def _cells(one: WorksiteRestraint) -> tuple[str, ...]:
    return (
        one.worksite if not one.name else f"{one.worksite} {one.name}",
        one.verdict,
        ", ".join(one.able),
        one.socket or "",
        one.restraint or "",
        one.body or "",
        "" if one.margin_m is None else f"{one.margin_m:.3f}",
        "" if one.setting is None else setting_text(one.setting),
    )


def _socket_lines(one: SocketReach) -> Iterator[str]:
    rated = "" if one.rated else ", NOT RATED for the loads"
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
