"""No route is an answer too: why, how far one gets, and what would open the way."""

from typing import Literal, TypeAlias

from routing.errors import RoutingError
from routing.paths.results import Answer, LineMargin, Result, SiteRef

__all__ = ["ClosestGrip", "NoRoute", "NoRouteError", "Opening", "Why"]

Why: TypeAlias = Literal[
    "zones", "closures", "limit", "load", "tether", "zones and closures", "disconnected", "unknown"
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
    tried: tuple[str, ...] = ()
    """What was changed, one at a time, and searched again."""
    not_tried: tuple[str, ...] = ()
    """What could have been changed but was not tried."""


class NoRouteError(RoutingError, LookupError):
    """No route leads from start to goal; ``answer`` holds the reasons as a record."""

    def __init__(self, answer: NoRoute) -> None:
        self.answer = answer
        super().__init__(answer.message)

    @property
    def start(self) -> str:
        """Id of the start."""
        return self.answer.start.id

    @property
    def goal(self) -> str:
        """Id of the goal."""
        return self.answer.goal.id

    @property
    def why(self) -> Why:
        """What stands in the way."""
        return self.answer.why

    @property
    def closest(self) -> ClosestGrip | None:
        """The reached grip nearest to the goal."""
        return self.answer.closest

    @property
    def openings(self) -> tuple[Opening, ...]:
        """What would open a route, one thing at a time."""
        return self.answer.openings
