"""The JSON answer of `gripway closures`."""

from collections.abc import Iterable
from typing import Final, Literal

from routing.cli.answers import AnswerHead
from routing.paths.answers.results import HomeVerdict, Protocol, Result
from routing.studies.closures.additions import Addition, Chosen, Value
from routing.studies.closures.ranking import Critical, SinglePoint, Tally
from routing.studies.closures.reached import ReachedGoal
from routing.studies.closures.times_home import FAILS

__all__ = [
    "FAILS",
    "AdditionsAnswer",
    "Candidate",
    "ClosuresAnswer",
    "home_of",
    "home_scope",
]


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
    """Whether every goal has a safe way, and keeps one unless it is gone with what it is at.

    With a time home within the limit wherever it was looked at, for who goes out later and
    for who is at the goal when it closes; ``home`` says whether it was looked at everywhere.
    """
    home: HomeVerdict
    """The worst there is of the time home, with nothing closed and under every closure.

    From every hold of each way that is left, and for who is at the goal when it closes.
    *Too late* also where a closure leaves no way home. Who is at what is closed is not
    looked at.
    """
    home_limit_s: float
    """The emergency limit on the time home [s]."""
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


def home_of(intact: Iterable[ReachedGoal], tally: Tally) -> HomeVerdict:
    """Return the worst verdict on a time home; what was not checked is never in time."""
    found: set[HomeVerdict] = {one.home for one in intact}
    if any(one.late or one.caught for one in tally.critical):
        found.add("too late")
    if any(one.caught_not_checked for one in tally.critical):
        found.add("not checked")
    order: tuple[HomeVerdict, ...] = ("not known", "too late", "not checked", "in time")
    return next((one for one in order if one in found), "not checked")


def home_scope(answer: ClosuresAnswer, *, short: bool = False) -> str:
    """Say which times home were looked at, and which not: under the verdict, or short on a map."""
    told = []
    reel = answer.protocol == "reel"
    if any(one.home != "not checked" for one in answer.intact):
        tethers = " (every tether recovered)" if reel else ""
        left = " (tethers left outside)" if reel else ""
        told.append(
            f"Time home (limit {answer.home_limit_s:.0f} s) looked at."
            if short
            else f"Time home within {answer.home_limit_s:.0f} s: looked at from every hold of each "
            f"way, closed before going out{tethers}, and from the goal for who is there when it "
            f"closes{left}."
        )
    if any(one.home == "not checked" and one.start is not None for one in answer.intact):
        told.append(_NOT_FROM_HATCHES)
    return " ".join(told) or "Time home NOT looked at: nothing is reached."


_NOT_FROM_HATCHES: Final = (
    "Time home NOT looked at where a way does not begin at a hatch: the lines to it are not known."
)
