"""Records of how near a route is to its limits, the time home among them."""

from typing import Final, Literal, TypeAlias

from routing.paths.answers.result_base import Result

__all__ = [
    "HOME_NOT_LOOKED_AT",
    "ClearanceMargin",
    "GapMargin",
    "HoldHomeward",
    "HomeVerdict",
    "Homeward",
    "LineMargin",
    "LineSaving",
    "Margins",
    "PointSaving",
    "TransferSaving",
    "TurnMargin",
    "WhatIf",
]


HomeVerdict: TypeAlias = Literal["not known", "too late", "in time", "not checked"]
"""What came of the time home from every hold; *not checked* is never called in time."""

HOME_NOT_LOOKED_AT: Final = "time home NOT looked at"
"""What is said beside every verdict under which it was not checked."""


class GapMargin(Result):
    """The largest gap from handrail to handrail, against the reach."""

    from_grip: str
    to_grip: str
    gap_m: float
    way_m: float
    reach_m: float
    """Reach of this person with this load."""
    left_m: float
    fails_below_reach_m: float
    """This way, hold for hold, needs that much reach: the largest way round an edge.

    Another way, as quick or slower, may need less: `gripway people` tells from which reach on
    a worksite is reached at all.
    """
    fails_from_grip: str
    fails_to_grip: str
    """The hand-over that fails first."""


class TurnMargin(Result):
    """The largest turn between outward normals, against the limit."""

    from_grip: str
    to_grip: str
    turn_deg: float
    limit_deg: float
    left_deg: float


class ClearanceMargin(Result):
    """The tightest place of the body corridor, and the solid or zone it is against.

    ``clearance_m`` is a guaranteed lower bound, beyond the corridor radius.
    """

    from_grip: str
    to_grip: str
    clearance_m: float
    corridor_radius_m: float
    solid: str | None = None
    zone: str | None = None


class LineMargin(Result):
    """The tether line along the route (reel)."""

    reserve_m: float
    most_payout_m: float
    least_left_m: float
    """Line left on the reel at the worst grip; the reserve must be in it."""
    worst_grip: str
    runs_out_at: str | None = None
    """The first grip at which the reserve is no longer there."""
    runs_out_after_m: float | None = None
    """Length of the hands' way up to that grip."""


class Margins(Result):
    """How near the route is to its limits; a key is left out where nothing is measured."""

    gap: GapMargin | None = None
    turn: TurnMargin | None = None
    clearance: ClearanceMargin | None = None
    line: LineMargin | None = None


class HoldHomeward(Result):
    """The way home from one hold of a route."""

    grip: str
    seconds: float | None = None
    """Left out where no way leads home."""
    transfers: int | None = None
    left_outside: tuple[str, ...] = ()
    """Tether points at which tethers stay outside."""
    why: str | None = None
    """Why no way leads home."""


class Homeward(Result):
    """The least-time way to the hatch from every hold of a route, the tethers as they then lie."""

    tethers: Literal["recovered", "left"] | None = None
    """Reel: whether every carried tether comes along, or may be left outside for less time."""
    hatches: tuple[str, ...]
    """Where home is: the one nearest by time counts."""
    limit_s: float
    worst_index: int
    """Index of the hold farthest from home in the route's grips; one without a way comes first."""
    worst_grip: str
    worst_s: float | None = None
    """Left out where no way leads home from there."""
    holds: tuple[HoldHomeward, ...]
    """In the order of the route's grips."""


class LineSaving(Result):
    """What longer tethers would save: every reel carried, or both short tethers."""

    factor: float
    """Length in parts of the present one."""
    seconds: float
    """Of the least-time route then."""
    saved_s: float


class TransferSaving(Result):
    """The transfer that costs most: what is saved if transfers there took no time."""

    tether_point: str | None = None
    """Where it hooks on to (reel)."""
    element: str | None = None
    """Handrail or other element it hooks on to (leapfrog)."""
    at_grip: str
    seconds: float
    """Of the least-time route then."""
    saved_s: float


class PointSaving(Result):
    """The one further tether point that would save most (reel).

    Candidates are every usable grip on a handrail that takes a tether hook, as if
    a tether point were right there, and every open tether point that is not
    rated for safety tethers, as if it were.
    """

    near_grip: str | None = None
    """Where to put it; left out where none saves anything."""
    tether_point: str | None = None
    """The tether point to rate instead."""
    seconds: float
    """Of the least-time route then."""
    saved_s: float
    candidates: int
    searched: int
    """Candidates for which a route was searched; the others cannot save more."""


class WhatIf(Result):
    """What would save time on the least-time route, each change by itself, all searched again."""

    seconds: float
    """Of the least-time route as it is."""
    more_line: LineSaving | None
    """Left out where the search over via sites gave up."""
    transfer: TransferSaving | None = None
    """Left out where there is no transfer."""
    tether_point: PointSaving | None = None
    """Left out under leapfrog, which needs no tether points on the way."""
    not_tried: tuple[str, ...] = ()
    """What was not searched for, and why; none without via sites."""
