"""What the answer to an outing says about the choice of its get-aheads."""

from routing.paths.answers.results import Result

__all__ = ["GetAheadChoice", "GetAheadRow"]


class GetAheadRow(Result):
    """One get-ahead, chosen or not."""

    id: str
    name: str = ""
    worth: float
    chosen: bool
    longer_s: float | None = None
    """What it makes the outing longer beside the others that are chosen; below 0: shorter. None
    where a way is missing with it."""
    why_not: str = ""
    """What stands against it beside those that are chosen."""


class GetAheadChoice(Result):
    """The get-aheads that are worth most in the time there is."""

    chosen: tuple[str, ...]
    worth: float
    worth_at_most: float
    """No set that can be planned is worth more."""
    proven: bool
    """Whether no other set is worth more."""
    plans: int
    """Sets that were really planned."""
    ruled_out: int
    """Sets, or beginnings of sets, that cannot fit by a bound."""
    rows: tuple[GetAheadRow, ...]
    reason: str = ""
    """Why nothing could be chosen, where that is so."""
