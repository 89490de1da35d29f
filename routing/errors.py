"""What can go wrong on the way: no route is an answer with a reason, not a crash."""

__all__ = ["RoutingError"]


class RoutingError(Exception):
    """Base of all errors raised by this package."""
