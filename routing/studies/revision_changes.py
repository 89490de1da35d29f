"""What a new revision of a structure changes about the answers for its worksites."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias, get_args

from routing.paths.answers.results import Result
from routing.studies.revisions import QUESTIONS, Answers, AnswerState, Question, Worth

__all__ = [
    "CHANGES",
    "AnswerChange",
    "Change",
    "StillNotSafe",
    "compare_answers",
    "is_bad",
    "still_not_safe",
]

Change: TypeAlias = Literal[
    "lost",
    "turned unsafe",
    "new and not safe",
    "worse",
    "other reason",
    "other way",
    "better",
    "gained",
    "new",
]

CHANGES: Final[tuple[Change, ...]] = get_args(Change)
"""From worst to best."""


class AnswerChange(Result):
    """One answer that is not what it was."""

    worksite: str
    question: Question
    change: Change
    seconds_more: float | None = None
    """Seconds of the new answer less those of the old; where either has none it is left out."""
    transfers_more: int | None = None
    says: str
    """What is different, in words."""
    old: AnswerState | None = None
    """Left out where the old revision has no such worksite."""
    new: AnswerState | None = None


class StillNotSafe(Result):
    """One answer that is not safe in either revision."""

    worksite: str
    question: Question
    verdict: str
    """In the new revision."""
    reason: str | None = None


@dataclass(frozen=True, slots=True)
class _Measure:
    """A number that answers are compared by: its words, unit, and whether less is better."""

    name: str
    words: str
    unit: str
    less_is_better: bool
    within: float = 1e-9
    """Values (or shares of them) no farther apart than this are the same: rounding."""


_MEASURES: Final = (
    _Measure("seconds", "time", "s", less_is_better=True),
    _Measure("transfers", "transfers", "", less_is_better=True),
    _Measure("home_s", "longest time home", "s", less_is_better=True),
    _Measure("exposure_s", "time in slow-down zones", "s", less_is_better=True),
    _Measure("tethers", "tethers in series", "", less_is_better=True),
    _Measure("line_left_m", "line left", "m", less_is_better=False),
    # Clearances are bounds that are certain to a millimetre.
    _Measure("clearance_m", "clearance", "m", less_is_better=False, within=1e-3),
    _Measure("reach_left_m", "reach left", "m", less_is_better=False),
    _Measure("turn_left_deg", "turn left", "deg", less_is_better=False),
    _Measure("tether_margin_m", "margin of the chain", "m", less_is_better=False),
)


def compare_answers(old: Answers, new: Answers) -> tuple[AnswerChange, ...]:
    """Return the answers that changed, the worst first.

    Parameters
    ----------
    old, new
        From `worksite_answers`, for the same protocols.

    Returns
    -------
    tuple of AnswerChange
        By `CHANGES`; then most seconds more, most transfers more, worksite and
        question. An answer whose worksite is gone is lost. One that is worse in
        one measure and better in another counts as worse.
    """
    changes = (_compare(key, old.get(key), new.get(key)) for key in sorted({*old, *new}))
    return tuple(sorted((change for change in changes if change is not None), key=_rank))


def is_bad(changes: Iterable[AnswerChange]) -> bool:
    """Tell whether an answer was lost or turned unsafe, or is new and not safe."""
    return any(change.change in _BAD for change in changes)


def still_not_safe(old: Answers, new: Answers) -> tuple[StillNotSafe, ...]:
    """Return the answers that are no better than they were and not safe, by worksite and question.

    Of those the new revision changes nothing that counts: they are not safe in either.
    """
    there = ((key, new[key]) for key in sorted({*old} & {*new}))
    return tuple(
        StillNotSafe(worksite=key[0], question=key[1], verdict=state.verdict, reason=state.reason)
        for key, state in there
        if state.worth != "good" and old[key].worth == state.worth
    )


_BAD: Final = frozenset({"lost", "turned unsafe", "new and not safe"})


def _rank(change: AnswerChange) -> tuple[int, float, int, str, int]:
    return (
        CHANGES.index(change.change),
        -(change.seconds_more or 0.0),
        -(change.transfers_more or 0),
        change.worksite,
        QUESTIONS.index(change.question),
    )


def _compare(
    key: tuple[str, Question], old: AnswerState | None, new: AnswerState | None
) -> AnswerChange | None:
    change, says = _judged(old, new)
    if change is None:
        return None
    transfers_more = _more(old, new, lambda state: state.transfers)
    return AnswerChange(
        worksite=key[0],
        question=key[1],
        change=change,
        seconds_more=_more(old, new, lambda state: state.seconds),
        transfers_more=None if transfers_more is None else int(transfers_more),
        says=says,
        old=old,
        new=new,
    )


def _judged(old: AnswerState | None, new: AnswerState | None) -> tuple[Change | None, str]:
    if new is None:
        # Somebody may have planned on it, so that it is gone is never good news.
        return "lost", "the worksite is no longer there"
    if old is None:
        change: Change = "new" if new.worth == "good" else "new and not safe"
        return change, f"new worksite: {_verdict(new)}"
    if old.worth == new.worth:
        return _measured(old, new)
    return _WORTHS[old.worth, new.worth], f"was {old.verdict}, now {_verdict(new)}"


_WORTHS: Final[dict[tuple[Worth, Worth], Change]] = {
    ("good", "unsafe"): "turned unsafe",
    ("good", "none"): "lost",
    ("unsafe", "none"): "lost",
    ("unsafe", "good"): "gained",
    ("none", "good"): "gained",
    # Something to mend, where there was nothing at all; still nothing to act on.
    ("none", "unsafe"): "better",
}


def _measured(old: AnswerState, new: AnswerState) -> tuple[Change | None, str]:
    worse: list[str] = []
    better: list[str] = []
    for measure in _MEASURES:
        before, after = getattr(old, measure.name), getattr(new, measure.name)
        is_less = _is_less(before, after, measure)
        if is_less is not None:
            (better if is_less == measure.less_is_better else worse).append(
                f"{measure.words} {_told(before, after, measure)}"
            )
    by = _other_way(old, new)
    says = "; ".join([*worse, *better, *by])
    if worse:
        return "worse", says
    if old.verdict != new.verdict:
        return "other way", "; ".join([f"was {old.verdict}, now {_verdict(new)}", *better, *by])
    if old.reason != new.reason:
        return "other reason", "; ".join(
            [f"was {_verdict(old)}, now {_verdict(new)}", *better, *by]
        )
    if better:
        return "better", says
    return ("other way", says) if by else (None, "")


def _other_way(old: AnswerState, new: AnswerState) -> list[str]:
    """Say by what a way goes that it did not go by, and where it begins now."""
    said = [] if old.start == new.start else [f"from {new.start or 'nowhere'}"]
    if old.way != new.way:
        new_ones = ", ".join(_new_ones(old.way, new.way))
        said.append(f"by {new_ones or 'fewer of the same elements, or in another order'}")
    return said


def _is_less(before: float | None, after: float | None, measure: _Measure) -> bool | None:
    """Tell whether a number is less than it was, None where it is the same or says nothing."""
    if before is None or after is None:
        # A margin that is not there: nothing is near, which is more than any number.
        bounded = (before is None) != (after is None) and not measure.less_is_better
        return before is None if bounded else None
    return None if _same(before, after, measure.within) else after < before


def _told(before: float | None, after: float | None, measure: _Measure) -> str:
    unit = f" {measure.unit}" if measure.unit else ""
    if before is None or after is None:
        return f"{_number(before, 3, unit)} -> {_number(after, 3, unit)}"
    least = 0 if isinstance(after, int) else 1 if measure.unit == "s" else 3
    more = after - before
    # As many digits as it takes to see that it is not the same.
    digits = next((n for n in (least, 6) if round(more, n)), 12)
    return f"{before:.{digits}f} -> {after:.{digits}f}{unit} ({more:+.{digits}f})"


def _number(value: float | None, digits: int, unit: str) -> str:
    return "not bounded" if value is None else f"{value:.{digits}f}{unit}"


def _new_ones(old: tuple[str, ...], new: tuple[str, ...]) -> list[str]:
    return [one for one in dict.fromkeys(new) if one not in old]


def _same(a: float, b: float, within: float = 1e-9) -> bool:
    return abs(a - b) <= within * max(1.0, abs(a), abs(b))


def _verdict(state: AnswerState) -> str:
    return f"{state.verdict}: {state.reason}" if state.reason else state.verdict


_Number = Callable[[AnswerState], "float | None"]


def _more(old: AnswerState | None, new: AnswerState | None, number: _Number) -> float | None:
    """Return the new value less the old, and exactly 0 where they differ by rounding only."""
    if old is None or new is None:
        return None
    before, after = number(old), number(new)
    if before is None or after is None:
        return None
    return type(after)(0) if _same(before, after) else after - before
