"""What a new revision changes, in words."""

import json
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any, Final

from routing.cli.compare_answer import CompareAnswer
from routing.cli.output import print_data, print_lines, print_situation
from routing.cli.question import Question
from routing.cli.tables import Column, print_table
from routing.paths.tethers.kit import kit_text
from routing.studies.revision_changes import CHANGES, AnswerChange, StillNotSafe, is_bad
from structures.comparison import Comparison, ElementChange, ElementRef, FieldChange

__all__ = ["print_compared"]

_ANSWER_COLUMNS: Final = (
    Column("worksite", keep=16),
    Column("question"),
    Column("change"),
    Column("s more", number=True),
    Column("what", keep=60),
)
_STILL_COLUMNS: Final = (
    Column("worksite", keep=16),
    Column("question"),
    Column("verdict"),
    Column("why", keep=60),
)
_HANGING_COLUMNS: Final = (
    Column("worksite", keep=16),
    Column("protocol"),
    Column("hangs on now", keep=40),
    Column("no longer on", keep=40),
)
_ELEMENT_COLUMNS: Final = (
    Column("kind"),
    Column("id", keep=12),
    Column("moved m", number=True),
    Column("turned deg", number=True),
    Column("fields", keep=60),
)


def print_compared(before: Question, after: Question, answer: CompareAnswer, *, top: int) -> None:
    """Print which revisions were compared, the verdict, and what changed, the worst first.

    Of elements and answers ``top`` each; answers that are lost or not safe are never left out.
    """
    print_data(before, "OLD: ")
    print_data(after, "NEW: ")
    print_situation(replace(after, protocol=None))
    asked = [
        f"routes on {kit_text(answer.reels_m or ())}" if one == "reel" else f"routes on {one}"
        for one in answer.protocols
    ]
    print_lines(
        f"Asked for every worksite: {'; '.join(asked)}, each with the time home (alone, tethers "
        "recovered); equipment tethers (foot restraints NOT: `gripway reach` looks at them)"
    )
    print_lines(_verdict(answer), "")
    print_lines(*_elements(answer.elements))
    moved = answer.elements.changed
    _print_worst(
        ("",),
        (_ELEMENT_COLUMNS, [_changed(one) for one in moved[:top]]),
        _left_out(len(moved) - top, "changed elements that moved no farther"),
    )
    bad = sum(is_bad([change]) for change in answer.answers)
    shown = answer.answers[: max(top, bad)]
    _print_worst(
        ("", "Answers that changed, the worst first:", ""),
        (_ANSWER_COLUMNS, [_answer(change) for change in shown]),
        _left_out(len(answer.answers) - len(shown), "answers, none lost or unsafe now"),
    )
    same = answer.compared - len(answer.answers)
    print_lines("", f"Unchanged: {same} of {answer.compared} answers")
    _print_still(answer.still_not_safe)
    _print_hanging(answer)


def _print_worst(
    head: Sequence[str],
    table: tuple[Sequence[Column], Sequence[Sequence[str]]],
    left_out: Sequence[str],
) -> None:
    """Print a table under its head, if there is anything in it, and what is not in it."""
    columns, rows = table
    if rows:
        print_lines(*head)
        print_table(columns, rows)
    print_lines(*left_out)


def _left_out(count: int, what: str) -> tuple[str, ...]:
    return (f"and {count} more {what} (--top, or --json for all)",) if count > 0 else ()


def _print_still(still: Sequence[StillNotSafe]) -> None:
    if still:
        print_lines("", "NOT SAFE BEFORE AND NOT SAFE NOW:", "")
        rows = [(one.worksite, one.question, one.verdict, one.reason or "") for one in still]
        print_table(_STILL_COLUMNS, rows)


def _print_hanging(answer: CompareAnswer) -> None:
    if answer.hanging is None:
        print_lines("", "What worksites hang on was NOT compared (--closures does).")
    elif not answer.hanging:
        print_lines("", "Closures: each worksite that has a safe way hangs on the same as before.")
    else:
        print_lines("", "Closures: what leaves no safe way, in time home, in one revision:", "")
        rows = [
            (one.worksite, one.protocol, ", ".join(one.now), ", ".join(one.no_longer))
            for one in answer.hanging
        ]
        print_table(_HANGING_COLUMNS, rows)


def _verdict(answer: CompareAnswer) -> str:
    more = sum(bool(one.now) for one in answer.hanging or ())
    hanging = f" HANG ON WHAT THEY DID NOT HANG ON: {more} ways to worksites." * bool(more)
    return f"{_of_answers(answer)}{hanging}"


def _of_answers(answer: CompareAnswer) -> str:
    if not answer.compared:
        return "There is no worksite in either revision: no answer to compare."
    counts = Counter(change.change for change in answer.answers)
    said = [f"{counts[one]} {one}" for one in CHANGES if counts[one]]
    still = f" NOT SAFE BEFORE AND NOW: {len(answer.still_not_safe)}." * bool(answer.still_not_safe)
    if not said:
        return f"No answer changed.{still}"
    bad = "LOST OR UNSAFE NOW: " if is_bad(answer.answers) else ""
    return f"{bad}answers {', '.join(said)}.{still}"


_NOW_ANOTHER: Final = "; BEWARE: that id was another one's, closures and plans may mean that"


def _elements(found: Comparison) -> Iterator[str]:
    if found.same and not found.head:
        yield "Elements: all are the same."
        return
    yield (
        f"Elements: {len(found.added)} added, {len(found.removed)} removed, "
        f"{len(found.changed)} changed ({sum(one.moved_m > 0 for one in found.changed)} moved)"
    )
    yield from (f"  {_field(change)}" for change in found.head)
    yield from _listed("added", found.added)
    yield from _listed("removed", found.removed)
    shifted = {(one.kind, one.id) for one in found.changed}
    yield from (
        f"  renamed? {one.kind} {one.old} -> {one.new}: a guess, as all but the id is the same"
        + (_NOW_ANOTHER if (one.kind, one.new) in shifted else "")
        for one in found.renamed_guess
    )


def _listed(word: str, elements: Sequence[ElementRef]) -> Iterator[str]:
    by_kind: dict[str, list[str]] = {}
    for one in elements:
        by_kind.setdefault(one.kind, []).append(one.id)
    yield from (f"  {word}: {kind} {', '.join(ids)}" for kind, ids in by_kind.items())


def _changed(one: ElementChange) -> tuple[str, ...]:
    return (
        one.kind,
        one.id,
        _number(one.moved_m, 3),
        _number(one.turned_deg, 1),
        "; ".join(_field(field) for field in one.fields),
    )


def _number(value: float, digits: int) -> str:
    """Return a number, nothing for 0, and never 0 for what is not."""
    if not value:
        return ""
    least = 10.0**-digits
    return f"{value:.{digits}f}" if value >= least / 2 else f"< {least:g}"


def _field(change: FieldChange) -> str:
    """Say what a field was and is, with as many digits as it takes to tell the two apart."""
    apart = _apart(change.old, change.new)
    digits = next((n for n in _DIGITS if round(apart, n)), _DIGITS[0])
    old, new = (_value(one, digits) for one in (change.old, change.new))
    return f"{change.field} {old} -> {new}"


_DIGITS: Final = (4, 6, 9)


def _apart(old: Any, new: Any) -> float:
    """Return by how much two values differ where that can be said in numbers, else 0."""
    if isinstance(old, list) and isinstance(new, list) and len(old) == len(new):
        return max(map(_apart, old, new), default=0.0)
    both = isinstance(old, float) and isinstance(new, float)
    return abs(new - old) if both else 0.0


def _value(value: Any, digits: int) -> str:
    return "not given" if value is None else json.dumps(_rounded(value, digits), ensure_ascii=False)


def _rounded(value: Any, digits: int) -> Any:
    if isinstance(value, list):
        return [_rounded(one, digits) for one in value]
    return round(value, digits) if isinstance(value, float) else value


def _answer(change: AnswerChange) -> tuple[str, ...]:
    more = "" if change.seconds_more is None else f"{change.seconds_more:+.1f}"
    return (change.worksite, change.question, change.change, more, change.says)
