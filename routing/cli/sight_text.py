"""Sight of a face as text for people and as JSON, and what may be wrong with the question."""

from collections.abc import Iterable
from typing import Final, Literal

from routing.cli.answers import NO_TIME_HOME, AnswerHead
from routing.cli.near_ids import what_is_near
from routing.cli.output import print_lines
from routing.cli.tables import Column, print_table
from routing.graph.sites import SITE_KINDS
from routing.paths.answers.results import Protocol
from routing.worksites.sight.records import FaceSight, Vantage
from structures.built_in import built_in_camera
from structures.elements import Handrail
from structures.errors import Problem
from structures.model import Structure

__all__ = ["SightAnswer", "check_sight", "print_sight"]


class SightAnswer(AnswerHead):
    """The answer of `gripway sight`."""

    answer: Literal["sight"] = "sight"
    protocol: Protocol
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit, where the protocol is that of reels [m]."""
    safe: bool
    """Whether all of the face can be seen from where safe tethered ways lead. The time home is not
    looked at."""
    sight: FaceSight


def check_sight(
    structure: Structure, asked: tuple[str, str | None, str | None], problems: list[Problem]
) -> None:
    """Report a face, camera or start that the structure does not have."""
    face, camera, start = asked
    cameras = [one.id for one in structure.cameras] or [built_in_camera().id]
    if camera is not None:
        _check("option --camera", "camera", camera, cameras, problems)
    _check("FACE", "face", face, [one.id for one in structure.faces], problems)
    if start is None and not structure.hatches:
        problems.append(
            Problem(
                place="option --from",
                message="the structure has no hatch to start at",
                remedy="say where the person starts",
            )
        )
    rail = structure.by_id.get((start or "").rpartition("@")[0])
    if start is not None and not isinstance(rail, Handrail):
        sites = [one.id for _, one in structure.elements() if type(one) in SITE_KINDS]
        _check("option --from", "site", start, sites, problems)


def _check(place: str, what: str, wanted: str, known: list[str], problems: list[Problem]) -> None:
    if wanted not in known:
        problems.append(
            Problem(
                place=place,
                message=f"no {what} has the id {wanted!r}",
                remedy=what_is_near(wanted, known),
            )
        )


_COLUMNS: Final = (
    Column("grip"),
    Column("hands s", number=True),
    Column("seen %", number=True),
    Column("range m", number=True),
    Column("worst slant deg", number=True),
)


def print_sight(found: FaceSight) -> None:
    """Print the verdict, the fewest vantage points, and the best single ones."""
    named = f" {found.name}" if found.name else ""
    blocked = any(finding.severity == "blocks" for finding in found.findings)
    unsafe = " (WAY THERE UNSAFE)" if blocked else "" if found.safe else " (NOT ALL SEEN)"
    print_lines(
        f"{found.face}{named}, camera {found.camera}, from {found.start}: {found.verdict}{unsafe}"
    )
    if found.reason:
        print_lines(found.reason)
    print_lines(
        f"{found.grips} grips that a tethered person gets to see some of its "
        f"{found.samples} samples"
    )
    for title, rows in (
        (_together(found), found.cover),
        ("All of it from one place, soonest first", found.whole),
        ("Most of it from one place", found.best),
    ):
        if rows:
            print_lines("", title)
            print_table(_COLUMNS, [_cells(row) for row in rows])
    if found.cover:
        print_lines(
            "",
            "hands s = from the start by the hands alone; tether transfers, and ways round for the "
            f"tether's sake, come on top. {NO_TIME_HOME}",
        )
    _print_findings(finding.message for finding in found.findings)


def _together(found: FaceSight) -> str:
    """Return how much of the face the fewest grips see together, which is all that can be seen."""
    percent = 100 * found.seen // found.samples if found.samples else 0
    return (
        f"The fewest that see all that can be seen: {len(found.cover)}; together they see "
        f"{found.seen} of {found.samples} samples, {percent} %"
    )


def _cells(row: Vantage) -> tuple[str, ...]:
    return (
        row.grip,
        f"{row.seconds:.0f}",
        f"{100 * row.fraction:.0f}",
        f"{row.nearest_m:.2f} to {row.farthest_m:.2f}",
        f"{row.slant_deg:.0f}",
    )


def _print_findings(messages: Iterable[str]) -> None:
    for message in messages:
        print_lines("", message)
