"""A planned outing as text for people: findings first, then the run sheet, steps and ledger."""

from collections.abc import Iterator, Sequence
from textwrap import wrap
from typing import Final

from routing.cli.outing_books_text import print_books
from routing.cli.outing_change_text import change_lines, few_rails, finding_line
from routing.cli.outing_choice_text import get_ahead_lines, order_lines
from routing.cli.outing_home_text import home_lines
from routing.cli.output import print_lines
from routing.cli.tables import Column, print_table
from routing.limits import changed_texts
from routing.outings.lines.proposal import edit_text, edits_said
from routing.outings.lines.records import LinesCleared
from routing.outings.told.results import (
    OutingAnswer,
    OutingTotals,
    PersonSheet,
    RunRow,
    TetherChange,
)
from routing.outings.told.time_lost_text import time_lost_lines
from routing.outings.told.times_said import clock, left_of, rounded_down, total_said
from routing.outings.told.verdict import verdict_line
from routing.paths.tethers.kit import kit_text
from structures.counting import counted
from structures.units import length_text
from structures.versions import revision_text

__all__ = ["outing_text"]

_RUN_COLUMNS: Final = (
    Column("PET"),
    Column("to"),
    Column("who"),
    Column("act"),
    Column("what", keep=30),
    Column("handrails", keep=16),
    Column("transfers", number=True),
    Column("left m", number=True),
    Column("turn by"),
    Column("slack min", number=True),
    Column("remarks", keep=30),
)
_WIDE: Final = 100


def outing_text(answer: OutingAnswer, *, steps: bool, ledger: bool) -> None:
    """Print an outing."""
    print_lines(*_heading(answer), "")
    if answer.changes is not None:
        print_lines(*change_lines(answer.changes), "")
    if answer.order is not None:
        print_lines(*order_lines(answer.order), "")
    if answer.get_ahead_choice is not None:
        print_lines(*get_ahead_lines(answer.get_ahead_choice), "")
    if answer.time_lost is not None:
        print_lines(*time_lost_lines(answer.time_lost), "")
    if answer.lines_cleared is not None and answer.lines_cleared.applied:
        print_lines(*_cleared_lines(answer.lines_cleared), "")
    print_lines(*_finding_lines(answer))
    print_lines(
        "",
        "Run sheet (PET: phased elapsed time, hours and minutes since the outing began, egress "
        "included; * critical: a delay delays the end; turn by: latest moment to turn home; "
        "moments and slack are rounded down to the minute, how long something takes up; @ = metres "
        "along the handrail):",
    )
    print_table(_RUN_COLUMNS, [_run_cells(row) for row in answer.run_sheet])
    print_lines("", *(_person_line(sheet) for sheet in answer.people))
    print_lines(*home_lines(answer))
    print_lines(*_critical_lines(answer))
    if answer.get_aheads_left:
        print_lines(f"Get-aheads not planned: {', '.join(answer.get_aheads_left)}.")
    if steps:
        for sheet in answer.people:
            print_lines("", f"Steps of {sheet.person}:", *sheet.steps)
    if ledger:
        print_books(answer)


def _critical_lines(answer: OutingAnswer) -> list[str]:
    """Return the acts and gates that the end waits for, each with its way, in short lines."""
    named = {row.act for row in answer.run_sheet if row.act is not None}
    ways = {one: one.rpartition("@")[0] for one in answer.critical_path}
    acts = (way if way in named else one for one, way in ways.items())
    path = ", ".join(one for one in dict.fromkeys(acts) if one in named)
    return wrap(
        f"Critical path, with the ways to each: {path}.",
        width=_WIDE,
        subsequent_indent="  ",
        break_long_words=False,
        break_on_hyphens=False,
    )


def _heading(answer: OutingAnswer) -> Iterator[str]:
    totals = answer.totals
    revision = f", revision {answer.outing.revision}" if answer.outing.revision else ""
    yield (
        f"{answer.outing.name}{revision}, on {answer.structure.name}, "
        f"{revision_text(answer.structure.revision)}"
        + "".join(f"; {one.name} (sha256 {one.sha256[:12]})" for one in answer.inputs)
        + f", Gripway {answer.gripway}"
    )
    yield "; ".join(_tethered(one, answer.tethers) for one in answer.people)
    if answer.closed:
        because = answer.closed_because or {}
        said = (f"{one} ({because[one]})" if one in because else one for one in answer.closed)
        yield f"closed {', '.join(said)}"
    if answer.limits_changed:
        changed = answer.limits_changed.items()
        limits = changed_texts((name, one.value, one.default) for name, one in changed)
        yield f"limits changed: {'; '.join(limits)}"
    yield verdict_line(answer)
    yield _not_asked(answer)
    yield (
        f"{counted(totals.acts, 'act')} and {counted(totals.translations, 'way')} in "
        f"{_total(totals)}; planned length {clock(totals.planned_s)} "
        f"({_left(totals, totals.planned_s)}), suits {clock(totals.consumables_s)} "
        f"({_left(totals, totals.consumables_s)})"
    )


def _not_asked(answer: OutingAnswer) -> str:
    """Say what the verdict does not cover, and that a pack of the same plan asks it."""
    spread = "" if answer.spread is not None else "how the times spread (--spread N); "
    return (
        f"Not asked here, and not in this verdict: {spread}whether each worksite of the structure "
        "is reached, tied, served by a restraint and in time from home (`gripway reach`); "
        "`gripway pack` asks all of it, and may so find more."
    )


def _tethered(sheet: PersonSheet, tethers: Sequence[TetherChange]) -> str:
    kit = f", {kit_text(sheet.reels_m)}" if sheet.protocol == "reel" else ""
    if len(set(sheet.reels_m)) > 1:
        own = (one.stack for one in tethers if one.person == sheet.person and one.stack)
        first = next(own, None)
        said = "not known" if first is None else kit_text((first[0].length_m,))
        kit += f" (hooked on first: {said})"
    return f"{sheet.person}: protocol {sheet.protocol}{kit}"


def _total(totals: OutingTotals) -> str:
    total = total_said(totals.total_s, totals.ways_missing)
    if not totals.ways_missing:
        ends = clock(totals.total_s)
        return total if ends == total else f"{total} (rounded up; the run sheet ends at {ends})"
    return f"{total} (without {counted(totals.ways_missing, 'way')} that could not be found)"


def _left(totals: OutingTotals, limit_s: float) -> str:
    if totals.ways_missing:
        return "what is left is not known"
    return left_of(limit_s, totals.total_s)


def _finding_lines(answer: OutingAnswer) -> Iterator[str]:
    if answer.findings:
        yield "Findings, worst first:"
        yield from (f"  {finding_line(one)}" for one in answer.findings)
    else:
        yield "No findings."
    watched = sum(bool(way.remarks) for way in answer.translations if way.found)
    if watched:
        yield (
            f"{watched} of {len(answer.translations)} ways have something to watch (remarks in the "
            "run sheet; in full in --json)."
        )


def _cleared_lines(cleared: LinesCleared) -> Iterator[str]:
    yield (
        f"The plan is changed so that lines do not tangle: {edits_said(cleared)}; the shortest "
        f"clear one of {cleared.plans} changed plans looked at (waits and other ways, not other "
        "orders of acts)."
    )
    yield "To be written into the plan:"
    yield from (f"  {line}" for line in edit_text(cleared.edits))


def _run_cells(row: RunRow) -> tuple[str, ...]:
    return (
        f"{clock(row.start_s)}{'*' if row.critical and row.kind != 'block' else ''}",
        clock(row.end_s),
        " + ".join(row.who),
        row.act or "",
        row.text,
        few_rails(list(dict.fromkeys(row.handrails))) if row.handrails else "",
        "" if not row.transfers else str(row.transfers),
        "" if row.line_left_m is None else rounded_down(row.line_left_m, 1),
        "" if row.turn_by_s is None else clock(max(row.turn_by_s, 0.0)),
        "" if row.slack_s is None or row.kind == "block" else rounded_down(row.slack_s / 60, 0),
        "; ".join(row.remarks),
    )


def _person_line(sheet: PersonSheet) -> str:
    line = (
        ""
        if sheet.least_left_m is None
        else f", least line left {length_text(sheet.least_left_m, 'down')} on the way to "
        f"{sheet.least_left_act}"
    )
    return (
        f"{sheet.person}: {sheet.moving_s / 60:.0f} min under way over {sheet.distance_m:.0f} m, "
        f"{counted(sheet.transfers, 'transfer')}, {sheet.waiting_s / 60:.0f} min waiting{line}."
    )
