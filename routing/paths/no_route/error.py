"""The error of a search without a way, apart from its records: a route that is found needs none."""

from typing import TYPE_CHECKING

from routing.errors import RoutingError

if TYPE_CHECKING:
    from routing.paths.no_route.answer import ClosestGrip, NoRoute, Opening, Why

__all__ = ["NoRouteError"]


class NoRouteError(RoutingError, LookupError):
    """No route leads from start to goal; ``answer`` holds the reasons as a record."""

    def __init__(self, answer: "NoRoute") -> None:
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
    def why(self) -> "Why":
        """What stands in the way."""
        return self.answer.why

    @property
    def closest(self) -> "ClosestGrip | None":
        """The reached grip nearest to the goal."""
        return self.answer.closest

    @property
    def openings(self) -> "tuple[Opening, ...]":
        """What would open a route, one thing at a time."""
        return self.answer.openings
