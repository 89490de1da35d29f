"""Everything that can be wrong with a structure, as exceptions that teach.

An error that comes from a document carries *all* problems of that document,
each with its place, the value found, what is allowed and what to do.
"""

from typing import NamedTuple

__all__ = ["InvalidDocumentError", "Problem", "StructureError", "UnknownIdError"]


class Problem(NamedTuple):
    """One thing wrong with a document.

    Parameters
    ----------
    place
        Where: ``file:line`` where the line is known, and the path inside the
        document, for instance ``station.toml:41 handrails[3].normal``.
    message
        What is wrong, with the value and its unit.
    remedy
        What is allowed and what to do.
    """

    place: str
    message: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.place}: {self.message}; {self.remedy}"


class StructureError(Exception):
    """Base of all errors raised by this package."""


class InvalidDocumentError(StructureError, ValueError):
    """A document cannot be used; ``problems`` lists everything wrong with it."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        self.problems = problems
        super().__init__("\n".join(str(problem) for problem in problems))


class UnknownIdError(StructureError, LookupError):
    """No element has this id; ``nearest`` holds the ids most like it, ``note`` what helps more."""

    def __init__(
        self, element_id: str, *, wanted: str, nearest: tuple[str, ...], note: str = ""
    ) -> None:
        self.element_id = element_id
        self.nearest = nearest
        hint = f"did you mean {' or '.join(nearest)}?" if nearest else "see `gripway inspect`"
        more = f" ({note})" if note else ""
        super().__init__(f"no {wanted} has the id {element_id!r}{more}; {hint}")
