"""What the answer to an outing says about time lost and what is dropped for it."""

from typing import Literal, TypeAlias

from routing.paths.answers.results import Result

__all__ = ["BrokenLimit", "DropKind", "DropMiss", "DropRow", "TimeLost", "WorthLost"]

DropKind: TypeAlias = Literal["get-ahead", "may be dropped"]


class DropRow(Result):
    """One group of acts that could be dropped."""

    id: str
    name: str = ""
    kind: DropKind
    worth: float
    acts: tuple[str, ...]
    dropped: bool
    begun: bool = False
    """Whether some of it has begun, or somebody is on the way to it, when the loss shows."""


class BrokenLimit(Result):
    """A finding that blocks with the time lost, and did not before."""

    code: str
    act: str | None = None
    at_s: float | None = None
    message: str


class WorthLost(Result):
    """What is lost with what is dropped; what may be dropped counts before get-aheads."""

    may_drop: float
    get_aheads: float


class DropMiss(Result):
    """A set of groups without which the outing is in time, but not clean for other reasons."""

    dropped: tuple[str, ...]
    worth_lost: WorthLost
    total_s: float
    ways_missing: int = 0
    """Ways that were not found: the total is without them, and so too short."""
    broken: tuple[BrokenLimit, ...]
    """What is in the way of it."""
    lines_only: bool
    """Whether that is nothing but lines that tangle, or may: waits or other ways may clear it."""


class TimeLost(Result):
    """What a loss of time breaks, and what is dropped so that the plan is clean again."""

    minutes: float
    at: str | None = None
    """The act that takes longer; none: before the first act."""
    shows_s: float
    """From then on the loss shows; what has begun by then stays."""
    total_before_s: float
    total_late_s: float
    """With nothing dropped."""
    total_s: float
    """With what is dropped."""
    missing_before: int = 0
    """Ways that were not found: each total is without those, and so too short."""
    missing_late: int = 0
    missing: int = 0
    broken: tuple[BrokenLimit, ...] = ()
    dropped: tuple[str, ...] = ()
    worth_lost: WorthLost
    worth_lost_at_least: WorthLost
    """No set of groups to drop that makes the plan clean loses less."""
    proven: bool
    """Whether what is dropped is the best by the rule."""
    enough: bool
    """Whether the plan is clean again; if not, nothing is dropped in it."""
    at_least_s: float | None = None
    """Where it is not enough: so long it takes at least, whatever is dropped (a bound)."""
    misses: tuple[DropMiss, ...] = ()
    """Where it is not enough: the best sets that are in time, those with `lines_only` first, then
    by what they lose; none: no set that can be done from what has begun is in time."""
    rule: str
    plans: int
    ruled_out: int
    rows: tuple[DropRow, ...]
    reason: str = ""
    """Why nothing was looked for, where that is so."""
