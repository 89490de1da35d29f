"""A fault of a good document: what is changed, and what must be said of it."""

from typing import NamedTuple

__all__ = ["DEEP", "Fault"]

DEEP = 100_000
"""More brackets, one in the other, than any parser follows."""


class Fault(NamedTuple):
    """A text of the good file and what stands in its place, and what the problem must say."""

    name: str
    old: str
    new: str
    place: str
    message: str
    remedy: str
