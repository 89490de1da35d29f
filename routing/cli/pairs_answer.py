"""The JSON answer of `gripway pairs`."""

from functools import cache
from typing import Any, Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import Protocol, Result, SiteRef
from routing.studies.pairs.trips import Way
from routing.studies.running.study import Row

__all__ = ["OneWayMore", "PairRow", "PairsAnswer", "pair_row"]


class PairRow(Result):
    """The least-time trip from one site to another."""

    person: str | None = None
    carry: str | None = None
    protocol: Protocol
    start: SiteRef
    goal: SiteRef
    way: Way
    seconds: float | None = None
    transfers: int | None = None
    exposure_s: float | None = None
    distance_m: float | None = None
    hand_overs: int | None = None
    reach_left_m: float | None = None
    turn_left_deg: float | None = None
    clearance_m: float | None = None
    line_left_m: float | None = None
    """Least line left on a reel, the reserve included."""
    why: str | None = None


class OneWayMore(Result):
    """Two sites between which it takes longer one way than the other, or goes one way only."""

    person: str | None = None
    carry: str | None = None
    protocol: Protocol
    start: SiteRef
    """Start and goal of the longer way, or of the one that is not there."""
    goal: SiteRef
    seconds: float | None = None
    back_s: float
    """Seconds of the way back, the shorter one."""


class PairsAnswer(AnswerHead):
    """Trips between all pairs of sites, both ways."""

    answer: Literal["pairs"] = "pairs"
    people: tuple[str, ...]
    """Ids of the people asked for; none: the reach and rate of the limits."""
    loads: tuple[str, ...]
    """Ids of the items asked for; the way without a load is always among the trips."""
    protocols: tuple[Protocol, ...]
    reels_m: tuple[float, ...] | None = None
    tolerance_s: float
    """Ways that differ by no more than this count as the same both ways."""
    safe: bool
    home: Literal["not checked"] = "not checked"
    """The time home from the ways is not looked at here."""
    trips: tuple[PairRow, ...]
    one_way_more: tuple[OneWayMore, ...]
    """Most seconds more first; before them the pairs that go one way only."""


def pair_row(row: Row) -> PairRow:
    """Return a row of the study as a record."""
    values: list[Any] = list(row)
    person, carry, protocol, from_kind, start, to_kind, goal = values[:7]
    names = PairRow.field_names()[5:]
    return PairRow(
        person=person,
        carry=carry,
        protocol=protocol,
        start=_site(str(from_kind), str(start)),
        goal=_site(str(to_kind), str(goal)),
        **dict(zip(names, values[7:], strict=True)),
    )


@cache
def _site(kind: str, site_id: str) -> SiteRef:
    """Return a site; the same object for all its trips, which are many times as many."""
    return SiteRef(**{kind.replace(" ", "_"): site_id})
