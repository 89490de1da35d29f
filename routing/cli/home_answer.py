"""The JSON answer of `gripway home`."""

from functools import cache
from typing import Any, Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import GripPlace, Protocol, Result
from routing.studies.home.places import Verdict
from routing.studies.running.study import Row
from structures.findings import Finding
from structures.frames import Vector

__all__ = ["HomeAnswer", "HomeRow", "home_row"]


class HomeRow(Result):
    """Time out to one grip, and home from it."""

    person: str | None = None
    carry: str | None = None
    protocol: Protocol
    place: GripPlace
    out_s: float | None = None
    """Left out where nobody gets to; then so are the times home."""
    home_s: float | None = None
    home_transfers: int | None = None
    verdict: Verdict
    why: str | None = None
    tow_s: float | None = None
    tow_transfers: int | None = None
    tow_verdict: Verdict
    tow_why: str | None = None


class HomeAnswer(AnswerHead):
    """Return times of all grips, against the limit."""

    answer: Literal["home"] = "home"
    people: tuple[str, ...]
    loads: tuple[str, ...]
    protocols: tuple[Protocol, ...]
    reels_m: tuple[float, ...] | None = None
    tethers: Literal["recovered", "left"]
    """Whether all tethers come along on the way home alone, or may stay outside (reel)."""
    limit_s: float
    safe: bool
    """Whether home is reached in time from every grip that is reached, alone.

    False where a case reaches none, and where something blocks at a hatch."""
    safe_in_tow: bool
    """The same with a partner in tow."""
    findings: tuple[Finding, ...] = ()
    """What blocks at the hatches: a tether point that does not hold, a hook out of reach."""
    places: tuple[HomeRow, ...]


def home_row(row: Row) -> HomeRow:
    """Return a row of the study as a record."""
    values: list[Any] = list(row)
    person, carry, protocol, grip, kind, element, along_m, x, y, z = values[:10]
    names = [name for name in HomeRow.field_names() if name not in _HEAD]
    return HomeRow(
        person=person,
        carry=carry,
        protocol=protocol,
        place=_place(grip, str(kind), element, along_m, (x, y, z)),
        **dict(zip(names, values[10:], strict=True)),
    )


@cache
def _place(
    grip: str, kind: str, element: str, along_m: float | None, position_m: Vector
) -> GripPlace:
    """Return a grip; the same object for everybody who gets there, however they do."""
    on: dict[str, Any] = {kind: element}
    return GripPlace(grip=grip, along_m=along_m, position_m=position_m, **on)


_HEAD = frozenset({"person", "carry", "protocol", "place"})
