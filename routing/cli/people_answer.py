"""The JSON answer of `gripway people`."""

from typing import Any, Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import Protocol, Result
from routing.studies.pairs.trips import Way
from routing.studies.running.study import Row

__all__ = ["PeopleAnswer", "PeopleRow", "people_row"]


class PeopleRow(Result):
    """One worksite for one person with one load on one protocol."""

    person: str | None = None
    carry: str | None = None
    protocol: Protocol
    worksite: str
    own_reach_m: float
    way: Way
    seconds: float | None = None
    transfers: int | None = None
    why: str | None = None
    falls_off_m: float | None = None
    """Least own reach with which it is reached; left out where none up to the largest does."""
    not_below_m: float | None = None
    """Own reach with which it was seen not to be reached any more."""
    exact: bool
    """Whether these two are no more than a micrometre apart."""
    spare_m: float | None = None


class PeopleAnswer(AnswerHead):
    """Who gets to which worksite, and from which reach on."""

    answer: Literal["people"] = "people"
    people: tuple[str, ...]
    loads: tuple[str, ...]
    protocols: tuple[Protocol, ...]
    reels_m: tuple[float, ...] | None = None
    up_to_m: float
    """The largest reach looked at; the person's own where that is larger."""
    safe: bool
    """Whether everybody asked about gets safely to every worksite."""
    home: Literal["not checked"] = "not checked"
    """The time home from the ways is not looked at here."""
    worksites: tuple[PeopleRow, ...]


def people_row(row: Row) -> PeopleRow:
    """Return a row of the study as a record."""
    values: list[Any] = list(row)
    return PeopleRow(**dict(zip(PeopleRow.field_names(), values, strict=True)))
