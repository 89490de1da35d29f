"""The return-time map of `gripway home`: of its first person, load and protocol."""

from collections.abc import Sequence
from pathlib import Path

from routing.cli.cases import cases_text
from routing.cli.home_answer import HomeAnswer, HomeRow
from routing.cli.question import Question
from routing.cli.stages import stage
from routing.graph.situation import Situation
from routing.show.maps.return_times import ReturnTimes, TimedGrip, draw_return_times
from routing.show.sheets.inputs import MapFacts
from routing.show.sheets.saving import save_figure

__all__ = ["draw_home"]


def draw_home(
    question: Question,
    situation: Situation,
    answer: HomeAnswer,
    *,
    views: tuple[str, ...],
    tow: bool,
    path: Path,
) -> None:
    """Draw the times home of the answer's first case and protocol."""
    first = answer.places[:1]
    rows = [row for row in answer.places if first and _case(row) == _case(first[0])]
    times = [row.tow_s if tow else row.home_s for row in rows]
    facts = MapFacts(
        subject=_subject(answer, situation, rows, times, tow=tow),
        inputs=question.inputs,
        limits=situation.limits,
        when=situation.when,
        closed=situation.closed,
    )
    grips = [
        TimedGrip(
            id=row.place.grip,
            element=row.place.id,
            along_m=row.place.along_m or 0.0,
            position_m=row.place.position_m,
            reached=row.out_s is not None,
            seconds=seconds,
        )
        for row, seconds in zip(rows, times, strict=True)
    ]
    with stage("drawing"):
        figure = draw_return_times(
            question.structure,
            ReturnTimes(
                grips=tuple(grips),
                limit_s=answer.limit_s,
                reach_m=situation.ability.reach_m,
            ),
            views=views,
            facts=facts,
        )
        save_figure(figure, path)


def _case(row: HomeRow) -> tuple[str | None, str | None, str]:
    return (row.person, row.carry, row.protocol)


def _subject(
    answer: HomeAnswer,
    situation: Situation,
    rows: Sequence[HomeRow],
    times: Sequence[float | None],
    *,
    tow: bool,
) -> str:
    """Say whose times these are, and first if not all are in time."""
    bad = sum(
        row.out_s is not None and (seconds is None or seconds > answer.limit_s)
        for row, seconds in zip(rows, times, strict=True)
    )
    protocol = rows[0].protocol if rows else answer.protocols[0]
    how = "with a partner in tow" if tow else "alone"
    said = f"Time home {how}, {protocol}, {cases_text((situation,))}"
    if any(row.verdict == "not held" for row in rows):
        return f"NOT HELD AT THE HATCH. {said}"
    return f"NOT IN TIME FROM {bad} GRIPS. {said}" if bad else said
