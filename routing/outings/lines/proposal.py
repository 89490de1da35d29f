"""The change that clears two people's lines, in words, in the findings and as text of a plan."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from routing.outings.clock.schedule import MINUTE_S
from routing.outings.lines.records import LinesCleared, PlanEdit
from routing.outings.told.results import OutingAnswer

__all__ = ["LINE_CODES", "edit_text", "edits_said", "only_lines_block", "with_proposal"]

LINE_CODES = frozenset({"lines-tangle", "lines-may-tangle"})
"""What findings about lines that may tangle are called."""


def only_lines_block(answer: OutingAnswer) -> bool:
    """Tell whether a plan would be clean but for lines that tangle."""
    blocking = {one.code for one in answer.findings if one.severity == "blocks"}
    return bool(blocking) and blocking <= LINE_CODES


def with_proposal(answer: OutingAnswer, cleared: LinesCleared) -> OutingAnswer:
    """Return an answer with the change that clears its lines, proposed in the findings it mends."""
    remedy = f"change the plan: {edits_said(cleared)} (--clear-lines does)"
    if not cleared.found:
        end = "the search gave up" if cleared.gave_up else "there is none of waits and other ways"
        remedy = (
            f"no change that clears it was found in {cleared.plans} plans ({end}); change the "
            "order of acts, or let one of them work on the other side"
        )
    findings = tuple(
        replace(one, remedy=remedy) if one.code in LINE_CODES else one for one in answer.findings
    )
    return replace(answer, findings=findings, lines_cleared=cleared)


def edits_said(cleared: LinesCleared) -> str:
    """Return all edits and what they cost in one sentence."""
    longer = "so long as ways are missing it is not known how much longer it takes"
    if cleared.longer_s is not None:
        longer = f"it takes {cleared.longer_s / MINUTE_S:.1f} min more"
    return "; ".join((*(_said(one) for one in cleared.edits), longer))


def _said(edit: PlanEdit) -> str:
    if edit.kind == "way":
        return f"{edit.person} goes to {edit.before} by way of {', '.join(edit.via)}"
    until = f" until {', '.join(edit.after)} is done" if edit.after else ""
    minutes = "" if edit.minutes is None else f"{edit.minutes:g} min"
    more = f" and {minutes} more" if until and minutes else (f" {minutes}" if minutes else "")
    return f"{edit.person} waits before {edit.before}{until}{more}"


def edit_text(edits: Sequence[PlanEdit]) -> Iterator[str]:
    """Yield edits as lines of a plan file, each with where it belongs."""
    for edit in edits:
        if edit.kind == "way":
            yield f"# in act {edit.before}"
            yield f"via = [{_quoted(edit.via)}]"
        else:
            yield f"# before act {edit.before}"
            yield "[[acts]]"
            yield f'id = "{edit.id}"'
            yield f'who = ["{edit.person}"]'
            yield 'does = "wait"'
            if edit.after:
                yield f"after = [{_quoted(edit.after)}]"
            if edit.minutes is not None:
                yield f"minutes = {edit.minutes:g}"


def _quoted(ids: Sequence[str]) -> str:
    return ", ".join(f'"{one}"' for one in ids)
