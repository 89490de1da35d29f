"""What a route is once found: plain records, the same in memory and as JSON.

Every dimensioned key ends in its unit; a key that does not apply is left out
of the JSON. A worksite's id is always under the key ``worksite``.
"""

from collections.abc import Iterable
from typing import Literal, TypeAlias

from routing.paths.answers.margin_records import (
    HOME_NOT_LOOKED_AT,
    ClearanceMargin,
    GapMargin,
    HoldHomeward,
    HomeVerdict,
    Homeward,
    LineMargin,
    Margins,
    TurnMargin,
    WhatIf,
)
from routing.paths.answers.result_base import Result
from structures.findings import Finding
from structures.frames import Vector

__all__ = [
    "HOME_NOT_LOOKED_AT",
    "Answer",
    "ClearanceMargin",
    "GapMargin",
    "GripPlace",
    "HandOver",
    "HoldHomeward",
    "HomeVerdict",
    "Homeward",
    "InputDigest",
    "LimitChange",
    "LineMargin",
    "Margins",
    "Protocol",
    "Result",
    "Route",
    "SiteRef",
    "SituationRef",
    "Stay",
    "Stretch",
    "StructureRef",
    "Totals",
    "Transfer",
    "TurnMargin",
    "WhatIf",
]

Protocol: TypeAlias = Literal["leapfrog", "reel"]


class StructureRef(Result):
    """Which structure an answer is about."""

    name: str
    revision: str
    date: str = ""


class InputDigest(Result):
    """A file that was read, and the digest of its bytes."""

    name: str
    sha256: str


class LimitChange(Result):
    """A limit that differs from its default."""

    value: float
    default: float


class SituationRef(Result):
    """Who moved, with what, under which conditions, with what closed."""

    person: str | None = None
    carry: str | None = None
    when: tuple[str, ...] = ()
    closed: tuple[str, ...] = ()


class _Named(Result):
    """An element under a key that says what it is; exactly one key is there."""

    worksite: str | None = None
    socket: str | None = None
    handrail: str | None = None
    handhold: str | None = None
    hatch: str | None = None
    tether_point: str | None = None

    @property
    def kind(self) -> str:
        """The key that is there."""
        return next(k for k in _SITE_KEYS if getattr(self, k, None) is not None)

    @property
    def id(self) -> str:
        """The id under it."""
        return str(getattr(self, self.kind))


_SITE_KEYS = ("worksite", "socket", "handrail", "handhold", "hatch", "tether_point", "grip")


class SiteRef(_Named):
    """A place that a route begins at, ends at or goes by."""

    grip: str | None = None


class GripPlace(_Named):
    """A grip of the route, under the element it is on.

    ``along_m`` is the distance along the handrail from its first point.
    """

    grip: str
    along_m: float | None = None
    position_m: Vector


class Stretch(_Named):
    """The part of a route on one handrail, handhold, hatch or socket.

    ``from_m`` and ``to_m`` are distances along the handrail. ``seconds`` and
    ``way_m`` are spent on it; the hand-over that led to it is not in them.
    """

    name: str = ""
    from_m: float | None = None
    to_m: float | None = None
    first_grip: int
    """Index into the route's grips."""
    last_grip: int
    heading: str | None = None
    """The dominant direction from its first grip to its last one."""
    way_m: float
    seconds: float


class HandOver(Result):
    """One hand-over: the move from one grip to the next."""

    from_grip: str
    to_grip: str
    changes_rail: bool
    gap_m: float
    way_m: float
    turn_deg: float
    seconds: float
    """The sum of the five parts that follow; a transfer's seconds are in the transfer."""
    travel_s: float
    gap_s: float
    turn_s: float
    face_s: float
    slow_s: float
    exposure_s: float
    slow_zones: tuple[str, ...] = ()
    """Ids of the slow-down zones the body touches on it."""
    payout_m: float | None = None
    """Line out once the hand-over is done (reel)."""


class Transfer(_Named):
    """One tether transfer: hook to the element named, then release the one before."""

    at_grip: str
    grip_index: int
    seconds: float
    line_m: float | None = None
    """Length of the tether in use afterwards (reel)."""
    returns: bool = False
    """Whether it is an earlier tether, taken again on going back (reel)."""


class Stay(Result):
    """A tether point at which a reel is anchored on the way."""

    tether_point: str
    length_m: float
    from_grip: int
    """Index into the route's grips."""
    to_grip: int
    first_payout_m: float
    """Line out at its first grip, once it is hooked on."""
    most_payout_m: float
    least_left_m: float
    """Length less payout at the worst grip, before the reserve is taken off."""
    worst_grip: str
    stowed_m: float | None = None
    """Line out once it is released and its end stowed at the next tether point."""


class Totals(Result):
    """Sums over the route. ``seconds`` is the sum of the six ``_s`` parts before it."""

    travel_s: float = 0.0
    gap_s: float = 0.0
    turn_s: float = 0.0
    face_s: float = 0.0
    slow_s: float = 0.0
    transfers_s: float = 0.0
    seconds: float = 0.0
    exposure_s: float = 0.0
    """Of the seconds, those inside slow-down zones."""
    distance_m: float = 0.0
    """Length of the hands' way."""
    hand_overs: int = 0
    transfers: int = 0


class Answer(Result):
    """What every answer carries: where it is from, what was asked, and the caution."""

    schema_version: Literal[1] = 1
    gripway: str
    structure: StructureRef
    inputs: tuple[InputDigest, ...] = ()
    situation: SituationRef
    limits_changed: dict[str, LimitChange]
    protocol: Protocol
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit, the one hooked at the start included (reel) [m]."""
    start: SiteRef
    goal: SiteRef
    via: tuple[SiteRef, ...] = ()
    findings: tuple[Finding, ...] = ()
    caution: str


class Route(Answer):
    """A route from start to goal, with all that a reviewer asks of it."""

    answer: Literal["route"] = "route"
    verdict: Literal["answered and safe", "unsafe"]
    """*answered and safe* only when no finding blocks; see ``home`` for what that leaves out."""
    home: HomeVerdict = "not checked"
    """Whether the time home from every hold is within its limit; *not checked* if not asked for."""
    totals: Totals
    handrails: tuple[Stretch, ...]
    """In order; handholds, hatches and sockets on the way are among them."""
    grips: tuple[GripPlace, ...]
    via_grips: tuple[int, ...] = ()
    """For each via site the index of the grip at which it is met."""
    hand_overs: tuple[HandOver, ...] = ()
    transfers: tuple[Transfer, ...] = ()
    stays: tuple[Stay, ...] = ()
    margins: Margins
    homeward: Homeward | None = None
    """The time home from every hold, where it was asked for."""
    what_if: WhatIf | None = None
    """What would save time, where it was asked for."""
    steps: tuple[str, ...] = ()
    """Step text to paste, one step a line."""

    @property
    def safe(self) -> bool:
        """Whether no finding blocks."""
        return self.verdict == "answered and safe"


def verdict_of(findings: Iterable[Finding]) -> Literal["answered and safe", "unsafe"]:
    """Return the verdict that findings allow: one that blocks makes a route unsafe."""
    blocked = any(finding.severity == "blocks" for finding in findings)
    return "unsafe" if blocked else "answered and safe"
