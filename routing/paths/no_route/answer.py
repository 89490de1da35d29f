"""No route is an answer too: why, how far one gets, and what would open the way."""

from typing import Literal, TypeAlias

from routing.paths.answers.results import Answer, LineMargin, Result, SiteRef
from routing.paths.no_route.error import NoRouteError

__all__ = ["ClosestGrip", "NoRoute", "NoRouteError", "Opening", "OpeningTogether", "Why"]

Why: TypeAlias = Literal[
    "place out of reach",
    "zones",
    "closures",
    "limit",
    "load",
    "tether",
    "zones and closures",
    "disconnected",
    "unknown",
]


class ClosestGrip(Result):
    """The reached grip nearest to where one wants to get."""

    grip: str
    distance_m: float
    """Straight to the nearest grip of the site [m]."""


class Opening(Result):
    """One single thing that opens a route, found by searching again with it changed."""

    zone: str | None = None
    closure: str | None = None
    limit: str | None = None
    carry: str | None = None
    value: float | None = None
    """A limit: the value that opens a route."""
    now: float | None = None
    """A limit: its value now."""
    unit: str = ""
    smallest: bool | None = None
    """A limit: whether no smaller change of it alone would do."""
    seconds: float
    """Time of the route that it opens."""
    message: str
    blocked_by: tuple[str, ...] = ()
    """Codes of the findings that make that route unsafe; none: it is safe."""


class OpeningTogether(Result):
    """Zones and closures that open a route when all of them are lifted, and with none left out."""

    zones: tuple[str, ...] = ()
    closures: tuple[str, ...] = ()
    seconds: float
    """Time of the route that they open."""
    message: str
    blocked_by: tuple[str, ...] = ()
    """Codes of the findings that make that route unsafe; none: it is safe."""


class NoRoute(Answer):
    """The answer when there is no route."""

    answer: Literal["no-route"] = "no-route"
    verdict: Literal["no route"] = "no route"
    why: Why
    message: str
    from_site: SiteRef
    """The leg that cannot be done begins here."""
    to_site: SiteRef
    reached_grips: int
    closest: ClosestGrip | None = None
    line: LineMargin | None = None
    """Reel: the line on the least-time way, if the tether alone stands in the way of it."""
    openings: tuple[Opening, ...] = ()
    """What opens a route that is safe."""
    unsafe_openings: tuple[Opening, ...] = ()
    """What opens a way that a finding blocks: no remedy by itself."""
    together: OpeningTogether | None = None
    """Where no single change opens a way, but zones and closures together do: the least of them.

    With any one of them left out that way is shut; others may open another one.
    """
    tried: tuple[str, ...] = ()
    """What was changed, one at a time, and searched again."""
    not_tried: tuple[str, ...] = ()
    """What could have been changed but was not tried."""
