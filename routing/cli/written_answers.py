"""The JSON answers of commands that write a file: what is in it, its digest, and the verdict."""

from hashlib import sha256
from pathlib import Path
from typing import Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import HomeVerdict, Protocol, Result, Totals
from routing.show.sheets.inputs import LabelKind

__all__ = ["DrawnTrip", "GraphAnswer", "LeftOut", "MapAnswer", "WrittenFile", "written_file"]


class WrittenFile(Result):
    """A file that was written, as it is on the disk."""

    name: str
    """As named in the call."""
    sha256: str
    bytes: int


class GraphAnswer(AnswerHead):
    """The answer of `gripway graph`."""

    answer: Literal["graph"] = "graph"
    written: WrittenFile
    grips: int
    moves: int


class DrawnTrip(Result):
    """What became of a route that a map was asked to show."""

    start: str
    goal: str
    beside: str | None = None
    """What it is, where it is drawn beside the route asked for."""
    verdict: Literal["answered and safe", "unsafe", "no route"]
    home: HomeVerdict = "not checked"
    """Whether the time home from every hold of it is within its limit."""
    message: str | None = None
    """Why there is no route."""
    line_runs_out_at: str | None = None
    """The grip at which the tether line runs out on it."""
    totals: Totals | None = None


class LeftOut(Result):
    """Labels of one view that found no room on the sheet; its header counts them."""

    view: str
    what: LabelKind
    texts: tuple[str, ...]
    """As they would have stood there: long ones are cut in their middle."""


class MapAnswer(AnswerHead):
    """The answer of `gripway map`."""

    answer: Literal["map"] = "map"
    written: WrittenFile
    safe: bool
    """Whether every route asked for is there and safe; true for a map without routes."""
    protocol: Protocol | None = None
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit (reel) [m]."""
    views: tuple[str, ...]
    """Empty where a skin is drawn."""
    skin: str | None = None
    near: tuple[str, ...] = ()
    """Ids of the elements round which alone the structure is shown."""
    within_m: float | None = None
    """How far round them [m]."""
    sheet: str
    left_out: tuple[LeftOut, ...] = ()
    """What finds no room on the sheet; each view has its own."""
    trips: tuple[DrawnTrip, ...]


def written_file(path: Path) -> WrittenFile:
    """Return the name, size and digest of a file that was just written."""
    content = path.read_bytes()
    return WrittenFile(name=str(path), sha256=sha256(content).hexdigest(), bytes=len(content))
