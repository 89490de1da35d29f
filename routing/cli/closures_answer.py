"""The JSON answer of `gripway closures`."""

from typing import Final, Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import HOME_NOT_LOOKED_AT, Protocol, Result
from routing.studies.closures.additions import Addition, Chosen, Value
from routing.studies.closures.ranking import Critical, SinglePoint
from routing.studies.closures.reached import ReachedGoal

__all__ = ["CLOSURES_HOME", "AdditionsAnswer", "Candidate", "ClosuresAnswer"]

CLOSURES_HOME: Final = (
    f"{HOME_NOT_LOOKED_AT[0].upper()}{HOME_NOT_LOOKED_AT[1:]}, so what is only slower may be too "
    "late; `gripway reach --close ID` does."
)
"""What is said under the verdict, in text and on the map."""


class Candidate(Result):
    """A handrail in a near miss, and what it is worth alone."""

    addition: Addition
    alone: Value


class AdditionsAnswer(Result):
    """Handrails in near misses, each worth what building and searching anew has shown."""

    chosen: tuple[Chosen, ...]
    """One after the other, each the best with those before; good, not proven the best set."""
    candidates: tuple[Candidate, ...]
    """All of them, in the order of `gripway inspect`."""


class ClosuresAnswer(AnswerHead):
    """What becomes of the trips when elements are out of use, worst first."""

    answer: Literal["closures"] = "closures"
    protocol: Protocol
    reels_m: tuple[float, ...] | None = None
    """Length of each reel of the kit, where the protocol is that of reels [m]."""
    trips: int
    closures: int
    """Closures that were looked at, each against every trip."""
    changed: int
    """Closures and trips of which the answer is another one; see `--rows`."""
    safe: bool
    """Whether every goal has a safe way, and keeps one unless it is gone with what it is at."""
    home: Literal["not checked"] = "not checked"
    """No closure is held against the time home: a goal that is only slower may be too late.

    `gripway reach --close ID` looks at it for every worksite.
    """
    intact: tuple[ReachedGoal, ...]
    """The best way of each trip with nothing closed."""
    critical: tuple[Critical, ...]
    """Closures that change anything, worst first."""
    single_points: tuple[SinglePoint, ...]
    """Goals that have no safe way once a single thing is lost, by id."""
    cut_grips: tuple[str, ...]
    """Grips without which the reach graph falls apart, tethers left out of account."""
    bridges: tuple[tuple[str, str], ...]
    """Hand-overs that are the only one between what lies on either side."""
    additions: AdditionsAnswer | None = None
    """Where `--additions` was asked for."""
