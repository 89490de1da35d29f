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
from routing.studies.revisions import CHANGES, AnswerChange
from structures.comparison import Comparison, ElementRef, FieldChange

__all__ = ["print_compared"]

_ANSWER_COLUMNS: Final = (
    Column("worksite", keep=16),
    Column("question"),
    Column("change"),
    Column("s more", number=True),
    Column("what", keep=60),
)
_ELEMENT_COLUMNS: Final = (
    Column("kind"),
    Column("id", keep=12),
    Column("moved m", number=True),
    Column("turned deg", number=True),
    Column("fields", keep=60),
)


def print_compared(before: Question, after: Question, answer: CompareAnswer) -> None:
    """Print which revisions were compared, the verdict, and all that changed."""
    print_data(before, "OLD: ")
    print_data(after, "NEW: ")
    print_situation(replace(after, protocol=None))
    asked = [
        f"routes on {kit_text(answer.reels_m or ())}" if one == "reel" else f"routes on {one}"
        for one in answer.protocols
    ]
    print_lines(f"Asked for every worksite: {'; '.join(asked)}; equipment tethers")
    print_lines(_verdict(answer), "")
    print_lines(*_elements(answer.elements))
    if answer.elements.changed:
        print_lines("")
        print_table(_ELEMENT_COLUMNS, list(_changed(answer.elements)))
    if answer.answers:
        print_lines("", "Answers that changed, the worst first:", "")
        print_table(_ANSWER_COLUMNS, [_answer(change) for change in answer.answers])
    same = answer.compared - len(answer.answers)
    print_lines("", f"Unchanged: {same} of {answer.compared} answers")


def _verdict(answer: CompareAnswer) -> str:
    counts = Counter(change.change for change in answer.answers)
    said = [f"{counts[one]} {one}" for one in CHANGES if counts[one]]
    if not said:
        return "No answer changed."
    return f"{'' if answer.safe else 'LOST OR UNSAFE NOW: '}answers {', '.join(said)}."


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
    yield from (
        f"  renamed? {one.kind} {one.old} -> {one.new}: a guess, as all but the id is the same"
        for one in found.renamed_guess
    )


def _listed(word: str, elements: Sequence[ElementRef]) -> Iterator[str]:
    by_kind: dict[str, list[str]] = {}
    for one in elements:
        by_kind.setdefault(one.kind, []).append(one.id)
    yield from (f"  {word}: {kind} {', '.join(ids)}" for kind, ids in by_kind.items())


def _changed(found: Comparison) -> Iterator[tuple[str, ...]]:
    for one in found.changed:
        yield (
            one.kind,
            one.id,
            f"{one.moved_m:.3f}" if one.moved_m else "",
            f"{one.turned_deg:.1f}" if one.turned_deg else "",
            "; ".join(_field(field) for field in one.fields),
        )


def _field(change: FieldChange) -> str:
    return f"{change.field} {_value(change.old)} -> {_value(change.new)}"


def _value(value: Any) -> str:
    return "not given" if value is None else json.dumps(_rounded(value), ensure_ascii=False)


def _rounded(value: Any) -> Any:
    if isinstance(value, list):
        return [_rounded(one) for one in value]
    return round(value, 4) if isinstance(value, float) else value


def _answer(change: AnswerChange) -> tuple[str, ...]:
    more = "" if change.seconds_more is None else f"{change.seconds_more:+.1f}"
    return (change.worksite, change.question, change.change, more, change.says)
