"""What the answer to an outing says about lines that cross over its time."""

from typing import Literal

from routing.paths.answers.results import Result
from structures.frames import Vector

__all__ = ["LaidFor", "LinesCleared", "LinesMeet", "PlanEdit"]


class LaidFor(Result):
    """One of two lines where they meet: since when it lies there, and until when."""

    person: str
    at: str
    """Grip or tether point from which the line lies there."""
    laid_for: str | None = None
    """The act on whose way it is laid; none from the start on."""
    laid_s: float
    taken_up_for: str | None = None
    """The act on whose way it is taken up; none where it stays outside."""
    taken_up_s: float | None = None


class LinesMeet(Result):
    """A stretch along which two people's lines lie one over the other, and for how long.

    Told of the pieces that are nearest to each other; the others in it are laid and taken
    up on the same ways.
    """

    start_s: float
    end_s: float
    ends: Literal["undoes itself", "may tangle", "tangles", "may cross"]
    """*undoes itself*: the line over is taken up first, for certain. *may tangle*: it is by the
    clock, but the order of acts does not make it certain. *tangles*: the line under is taken
    up first. *may cross*: never both there by the clock (from start to end neither is),
    but the order of acts does not make it certain."""
    over: str | None = None
    """Whose line was laid later and lies over; none where that is not known."""
    lines: tuple[LaidFor, LaidFor]
    position_m: Vector
    distance_m: float
    """At the nearest; a lower bound where a line goes round an edge."""


class PlanEdit(Result):
    """One change to a plan, as it may be written into the file."""

    kind: Literal["wait", "way"]
    """*wait*: put an act in before another; *way*: lead the way to an act by other grips."""
    id: str
    """Of the wait, or of the act the way leads to."""
    person: str
    before: str
    """The act before which the wait comes, or to which the way leads."""
    after: tuple[str, ...] = ()
    """Acts and gates that are waited for."""
    minutes: float | None = None
    """How long it waits, from then on."""
    via: tuple[str, ...] = ()
    """The grips that the way is led by."""


class LinesCleared(Result):
    """The cheapest change found that keeps two people's lines from tangling."""

    found: bool
    applied: bool = False
    """Whether this answer is that of the changed plan."""
    edits: tuple[PlanEdit, ...] = ()
    total_s: float | None = None
    """Length of the changed outing."""
    longer_s: float | None = None
    """What that is more than before."""
    plans: int
    """Changed plans that were looked at."""
    gave_up: bool = False
    """Whether the search gave up: there may be one."""
