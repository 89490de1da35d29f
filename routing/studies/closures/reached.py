"""Which goals are reached with nothing closed, how, and how long it is home from there."""

from collections.abc import Sequence

from routing.paths.answers.results import HomeVerdict, Result, SiteRef
from routing.studies.closures.answers import Answers, Trip
from routing.studies.closures.ground import Answer
from routing.studies.closures.ranking import site_ref
from routing.studies.closures.times_home import TimesHome

__all__ = ["ReachedGoal", "reached_goals"]


class ReachedGoal(Result):
    """The best way of one trip with nothing closed."""

    goal: SiteRef
    safe: bool
    start: SiteRef | None = None
    """Where it begins; without one there is no way."""
    seconds: float | None = None
    transfers: int | None = None
    chain: tuple[str, ...] = ()
    """Stays (reel) or elements held (leapfrog), in order."""
    why: str | None = None
    """Why it is not safe."""
    home: HomeVerdict = "not checked"
    """Whether the time home from every hold of it is within the emergency limit."""
    home_s: float | None = None
    """The longest of these, where all are known [s]."""


def reached_goals(answers: Answers, trips: Sequence[Trip]) -> tuple[ReachedGoal, ...]:
    """Return the best way of every trip, in their order."""
    found = {trip: answers.best(trip) for trip in trips}
    times = TimesHome(answers, {trip: best for trip, best in found.items() if best is not None})
    return tuple(_reached(answers, times, trip, found[trip]) for trip in trips)


def _reached(
    answers: Answers, times: TimesHome, trip: Trip, best: tuple[str, Answer] | None
) -> ReachedGoal:
    structure = answers.asked.structure
    goal = site_ref(structure, trip.goal)
    if best is None:
        return ReachedGoal(goal=goal, safe=False, why="no way leads there")
    start, answer = best
    home = times.before(answer)
    return ReachedGoal(
        goal=goal,
        safe=answer.safe,
        start=site_ref(structure, start),
        seconds=answer.seconds,
        transfers=answer.transfers,
        chain=answer.chain,
        why="; ".join(answer.blocks) or None,
        home=home.verdict,
        home_s=home.seconds,
    )
