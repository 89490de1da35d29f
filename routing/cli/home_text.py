"""Return times, in words: the worst places first."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from routing.cli.cases import cases_text
from routing.cli.home_answer import HomeAnswer, HomeRow
from routing.cli.output import print_caution, print_data, print_lines, print_situation, written
from routing.cli.question import Question
from routing.cli.tables import Column, print_table
from routing.paths.tethers.kit import kit_text
from routing.studies.home.places import Verdict
from routing.studies.home.study import HomeAsked
from structures.units import Side, number_text

__all__ = ["print_home", "worst_first"]

_SHOWN: Final = 20
_COLUMNS: Final = (
    Column("grip", keep=14),
    Column("protocol"),
    Column("who", keep=16),
    Column("out s", number=True),
    Column("home s", number=True),
    Column("left s", number=True),
    Column("alone"),
    Column("tow s", number=True),
    Column("tow left s", number=True),
    Column("in tow"),
    Column("why", keep=40),
)
_KEY: Final = (
    "Key: out = least time there from the hatch; home = the way back alone; tow = with a partner "
    "in tow; left = what the limit leaves of it."
)
_VERDICTS: Final[tuple[Verdict, ...]] = ("no way", "too late", "not held", "in time")


def worst_first(rows: Sequence[HomeRow]) -> list[HomeRow]:
    """Return the grips that are reached: those with no way home first, then the longest times."""
    return sorted((row for row in rows if row.out_s is not None), key=_badness)


def _badness(row: HomeRow) -> tuple[int, int, float, float, str, str]:
    return (
        _VERDICTS.index(row.verdict),
        _VERDICTS.index(row.tow_verdict),
        -(row.home_s or 0.0),
        -(row.tow_s or 0.0),
        row.place.grip,
        row.protocol,
    )


def print_home(
    question: Question, asked: HomeAsked, answer: HomeAnswer, files: Mapping[str, Path | None]
) -> None:
    """Print what was asked, the verdict, and the worst places."""
    print_data(question)
    print_situation(replace(question, protocol=None))
    asked_on = [
        f"reel ({kit_text(asked.kit.reels_m)}, tethers {answer.tethers})" if one == "reel" else one
        for one in asked.protocols
    ]
    print_lines(
        f"On {' and on '.join(asked_on)}; limit {answer.limit_s:g} s",
        f"Who: {cases_text(asked.situations)}",
        *_verdicts(asked, answer),
        *(f"STOP: {finding.message}" for finding in answer.findings),
        "",
    )
    worst = _one_each(worst_first(answer.places))
    shown = worst[:_SHOWN]
    if shown:
        print_lines(
            f"The worst grip of each element, {len(shown)} of {len(worst)} (@ = metres along the "
            "handrail):",
            "",
        )
        print_table(_COLUMNS, [_cells(row, answer.limit_s) for row in shown])
        print_lines(_KEY)
    print_lines(*_not_reached(answer))
    for what, path in files.items():
        if path is not None:
            print_lines("", written(what, path))
    print_caution()


def _one_each(rows: Sequence[HomeRow]) -> list[HomeRow]:
    """Return the first row of each element, case and protocol."""
    found: dict[tuple[str | None, ...], HomeRow] = {}
    for row in rows:
        found.setdefault((row.person, row.carry, row.protocol, _element(row)), row)
    return list(found.values())


def _verdicts(asked: HomeAsked, answer: HomeAnswer) -> Iterator[str]:
    """Yield for each case and protocol how many places there are of each verdict."""
    for situation in asked.situations:
        person = None if situation.person is None else situation.person.id
        carry = None if situation.carry is None else situation.carry.id
        for protocol in asked.protocols:
            rows = [
                row
                for row in answer.places
                if (row.person, row.carry, row.protocol) == (person, carry, protocol)
            ]
            reached = [row for row in rows if row.out_s is not None]
            name = f"{protocol}, {cases_text((situation,))}"
            alone = Counter(row.verdict for row in reached)
            tow = Counter(row.tow_verdict for row in reached)
            yield (
                f"{name}: {'' if reached else 'NOBODY GETS ANYWHERE: '}"
                f"{len(reached)} of {len(rows)} grips reached; "
                f"alone {_counted(alone)}; in tow {_counted(tow)}"
            )


def _counted(verdicts: Counter[Verdict]) -> str:
    said = [f"{verdicts[one]} {one.upper() if one != 'in time' else one}"
            for one in _VERDICTS if verdicts[one]]  # fmt: skip
    return ", ".join(said) or "none"


def _not_reached(answer: HomeAnswer) -> Iterator[str]:
    """Yield which elements nobody gets to, whoever goes and however."""
    reached = {_element(row) for row in answer.places if row.out_s is not None}
    others = sorted({_element(row) for row in answer.places} - reached)
    if others:
        yield ""
        yield f"No way to any grip of: {', '.join(others)}"


def _element(row: HomeRow) -> str:
    return row.place.id


def _cells(row: HomeRow, limit_s: float) -> tuple[str, ...]:
    who = " ".join([row.person or "", f"with {row.carry}" if row.carry else ""]).strip()
    whys = [f"alone: {row.why}" if row.why else "", f"in tow: {row.tow_why}" if row.tow_why else ""]
    return (
        row.place.grip,
        row.protocol,
        who,
        _seconds(row.out_s, "near"),
        _seconds(row.home_s, "up"),
        _seconds(None if row.home_s is None else limit_s - row.home_s, "down"),
        row.verdict,
        _seconds(row.tow_s, "up"),
        _seconds(None if row.tow_s is None else limit_s - row.tow_s, "down"),
        row.tow_verdict,
        "; ".join(why for why in whys if why),
    )


def _seconds(value: float | None, side: Side) -> str:
    return "" if value is None else number_text(value, side, 0)
