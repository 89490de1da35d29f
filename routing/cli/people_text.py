"""Who gets to which worksite, in words: each person in a line, then the worst worksites."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from routing.cli.cases import cases_text
from routing.cli.output import print_caution, print_data, print_lines, print_situation, written
from routing.cli.people_answer import PeopleAnswer, PeopleRow
from routing.cli.question import Question
from routing.cli.tables import Column, print_table
from routing.paths.answers.results import HOME_NOT_LOOKED_AT
from routing.studies.people.study import PeopleAsked
from structures.units import fine_text

__all__ = ["print_people", "worst_first"]

_PEOPLE_COLUMNS: Final = (
    Column("who", keep=16),
    Column("protocol"),
    Column("reach m", number=True),
    Column("safe", number=True),
    Column("unsafe", number=True),
    Column("no way", number=True),
    Column("least spare m", number=True),
    Column("at", keep=12),
)
_WORKSITE_COLUMNS: Final = (
    Column("worksite", keep=12),
    Column("protocol"),
    Column("who", keep=16),
    Column("reach m", number=True),
    Column("falls off below m", number=True),
    Column("spare m", number=True),
    Column("way"),
    Column("s", number=True),
    Column("why", keep=40),
)
_WAYS: Final = ("no way", "unsafe", "safe")


def worst_first(rows: Sequence[PeopleRow]) -> list[PeopleRow]:
    """Return rows by how bad they are: no way, unsafe, then by the least spare reach."""
    return sorted(rows, key=_badness)


def _badness(row: PeopleRow) -> tuple[int, float, str, str, str, str]:
    spare_m = float("-inf") if row.spare_m is None else row.spare_m
    who = (row.person or "", row.carry or "")
    return (_WAYS.index(row.way), spare_m, row.worksite, row.protocol, *who)


def print_people(
    question: Question, asked: PeopleAsked, answer: PeopleAnswer, *, top: int, rows: Path | None
) -> None:
    """Print what was asked, the verdict, a line for each person, and the worst worksites."""
    print_data(question)
    print_situation(replace(question, protocol=None))
    bad = [row for row in answer.worksites if row.way != "safe"]
    total = len(answer.worksites)
    print_lines(
        f"On {' and on '.join(asked.protocols)}; asked at every reach up to "
        f"{fine_text(answer.up_to_m)}",
        f"Who: {cases_text(asked.situations)}",
        f"NOT SAFE OR NOT REACHED: {len(bad)} of {total}."
        if bad
        else f"Answered and safe within the limits given: {total} of {total}; "
        f"{HOME_NOT_LOOKED_AT} (`gripway reach` does).",
        "",
    )
    print_table(_PEOPLE_COLUMNS, [_person(of) for of in _by_case(answer.worksites)])
    ordered = worst_first(answer.worksites)
    shown = ordered[:top]
    if shown:
        print_lines("", _shown_text(len(shown), ordered), "")
        print_table(_WORKSITE_COLUMNS, [_worksite(row) for row in shown])
        print_lines(*_inexact(shown))
    if rows is not None:
        print_lines("", written("every row", rows))
    print_caution()


def _shown_text(count: int, ordered: Sequence[PeopleRow]) -> str:
    said = f"The worst first, {count} of {len(ordered)}"
    left = [row.way for row in ordered[count:]]
    if not left:
        return f"{said}:"
    bad = sum(way != "safe" for way in left)
    hidden = f", {bad} of them NOT SAFE OR NOT REACHED" if bad else ", all safe"
    return f"{said} ({len(left)} left out{hidden}: --top prints more, --rows and --json all):"


def _by_case(rows: Sequence[PeopleRow]) -> list[list[PeopleRow]]:
    """Return the rows of each person, load and protocol, in the order asked."""
    found: dict[tuple[str | None, ...], list[PeopleRow]] = {}
    for row in rows:
        found.setdefault((row.person, row.carry, row.protocol), []).append(row)
    return list(found.values())


def _person(rows: Sequence[PeopleRow]) -> tuple[str, ...]:
    count = Counter(row.way for row in rows)
    worst = min(rows, key=lambda row: (_spare_m(row), row.worksite))
    return (
        _who(rows[0]),
        rows[0].protocol,
        _down(rows[0].own_reach_m),
        *(str(count[way]) for way in ("safe", "unsafe", "no way")),
        "beyond" if worst.spare_m is None else _down(worst.spare_m),
        worst.worksite,
    )


def _spare_m(row: PeopleRow) -> float:
    return float("-inf") if row.spare_m is None else row.spare_m


def _worksite(row: PeopleRow) -> tuple[str, ...]:
    return (
        row.worksite,
        row.protocol,
        _who(row),
        _down(row.own_reach_m),
        "beyond" if row.falls_off_m is None else _up(row.falls_off_m),
        "" if row.spare_m is None else _down(row.spare_m),
        row.way,
        "" if row.seconds is None else f"{row.seconds:.0f}",
        row.why or "",
    )


def _who(row: PeopleRow) -> str:
    who = row.person or "limits"
    return f"{who} with {row.carry}" if row.carry else who


_STEP: Final = 1e4
_ROUNDING: Final = 1e-4
"""Of a step: what is this near to a printed number is that number."""


def _up(value_m: float) -> str:
    """Return a least reach, never less than it is.

    Examples
    --------
    >>> _up(0.33831), _up(0.3383), _up(0.1 + 0.2)
    ('0.3384', '0.3383', '0.3000')
    """
    return f"{math.ceil(value_m * _STEP - _ROUNDING) / _STEP:.4f}"


def _down(value_m: float) -> str:
    """Return a reach that is there, or what is spare, never more than it is.

    Examples
    --------
    >>> _down(0.33839), _down(-0.00001), _down(0.3 - 0.1 - 0.1)
    ('0.3383', '-0.0001', '0.1000')
    """
    return f"{math.floor(value_m * _STEP + _ROUNDING) / _STEP:.4f}"


def _inexact(rows: Sequence[PeopleRow]) -> Iterator[str]:
    """Say where the least reach is known as a span only."""
    return (
        f"{row.worksite} ({row.protocol}): the least reach is between {row.not_below_m:.4f} and "
        f"{_up(row.falls_off_m)} m"
        for row in rows
        if not row.exact and row.falls_off_m is not None and row.not_below_m is not None
    )
