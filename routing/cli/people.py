"""`gripway people STRUCTURE`: who gets to which worksite, and from which reach on."""

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Final

import typer

from routing.cli.cases import (
    CasePick,
    LoadsOption,
    OnePeopleOption,
    PeopleOption,
    RatesOption,
    ReachesOption,
)
from routing.cli.options import (
    AsJson,
    CloseOption,
    LimitsOption,
    Protocol,
    ReelOption,
    StructureArgument,
    WhenOption,
)
from routing.cli.pairs import TwoProtocolsOption, both_protocols, check_running
from routing.cli.study_options import (
    ClusterOption,
    RowsOption,
    Running,
    WorkersOption,
    WorkOption,
    run_for,
)

if TYPE_CHECKING:
    from routing.cli.people_answer import PeopleAnswer, PeopleRow
    from routing.cli.question import Question
    from routing.studies.people.study import PeopleAsked
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]

_UP_TO: Final = "36in"


def command(
    structure: StructureArgument,
    person: PeopleOption = None,
    people: OnePeopleOption = False,
    reach: ReachesOption = None,
    rate: RatesOption = None,
    carry: LoadsOption = None,
    up_to: Annotated[
        str,
        typer.Option(
            "--up-to", metavar="LENGTH", help="The largest reach that is looked at, with its unit."
        ),
    ] = _UP_TO,
    when: WhenOption = None,
    close: CloseOption = None,
    limits: LimitsOption = None,
    protocol: TwoProtocolsOption = None,
    reel: ReelOption = None,
    workers: WorkersOption = 1,
    cluster: ClusterOption = None,
    work: WorkOption = None,
    rows: RowsOption = None,
    as_json: AsJson = False,
) -> None:
    """Tell who gets to which worksite, and from which reach on: where each one falls off."""
    from routing.cli.answers import head_of
    from routing.cli.kit_option import read_length_m
    from routing.cli.output import print_json, print_lines, written
    from routing.cli.people_answer import PeopleAnswer, people_row
    from routing.cli.question import Choices, ask
    from routing.paths.tethers.kit import default_kit
    from routing.studies.people.study import PeopleAsked, people_study

    pick = CasePick(
        people=person or (),
        everybody=people,
        reaches=reach or (),
        rates=rate or (),
        loads=carry or (),
    )
    running = Running(workers=workers, cluster=cluster, work=work, rows=rows)

    def check_up_to(structure: "Structure", problems: "list[Problem]") -> None:
        del structure
        read_length_m(up_to, "option --up-to", problems, what="a reach")

    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            limits=limits,
            reel=reel,
            protocol="leapfrog" if protocol == Protocol.LEAPFROG else "reel",
            targets=running.targets(),
            checks=(check_running(running), pick.check, check_up_to),
        ),
    )
    asked = PeopleAsked(
        structure=question.structure,
        situations=pick.situations(question),
        protocols=both_protocols(protocol),
        kit=question.kit or default_kit(question.situation.limits),
        up_to_m=read_length_m(up_to, "", []) or 0.0,
    )
    if not question.structure.hatches:
        from routing.paths.worksite_routes import NoHatchError

        raise NoHatchError(question.structure.name)
    found = tuple(people_row(row) for row in run_for(people_study(asked, question.inputs), running))
    answer = PeopleAnswer(
        **head_of(question),
        people=pick.people_in(asked.situations),
        loads=pick.loads_in(asked.situations),
        protocols=asked.protocols,
        reels_m=asked.kit.reels_m if "reel" in asked.protocols else None,
        up_to_m=asked.up_to_m,
        safe=all(row.way == "safe" for row in found),
        worksites=found,
    )
    if as_json:
        print_json(answer)
    else:
        _print_text(question, asked, answer)
        if rows is not None:
            print_lines("", written("every row", rows))
        from routing.cli.output import print_caution

        print_caution()
    raise typer.Exit(0 if answer.safe else 1)


def _print_text(question: "Question", asked: "PeopleAsked", answer: "PeopleAnswer") -> None:
    from routing.cli.cases import cases_text
    from routing.cli.output import print_data, print_lines, print_situation
    from routing.cli.tables import Column, print_table
    from routing.paths.answers.results import HOME_NOT_LOOKED_AT
    from structures.units import fine_text

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
    columns = (
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
    ordered = sorted(answer.worksites, key=_badness)
    print_table(columns, [_cells(row) for row in ordered])
    print_lines(*_inexact(ordered))


def _badness(row: "PeopleRow") -> tuple[float, str, str, str, str]:
    spare_m = float("-inf") if row.spare_m is None else row.spare_m
    return (spare_m, row.worksite, row.protocol, row.person or "", row.carry or "")


def _inexact(rows: "Sequence[PeopleRow]") -> list[str]:
    """Say where the least reach is known as a span only."""
    return [
        f"{row.worksite} ({row.protocol}): the least reach is between {row.not_below_m:.4f} and "
        f"{row.falls_off_m:.4f} m"
        for row in rows
        if not row.exact and row.falls_off_m is not None and row.not_below_m is not None
    ]


def _cells(row: "PeopleRow") -> tuple[str, ...]:
    who = " ".join([row.person or "", f"with {row.carry}" if row.carry else ""]).strip()
    falls = "beyond" if row.falls_off_m is None else f"{row.falls_off_m:.4f}"
    return (
        row.worksite,
        row.protocol,
        who,
        f"{row.own_reach_m:.4f}",
        falls,
        "" if row.spare_m is None else f"{row.spare_m:.4f}",
        row.way,
        "" if row.seconds is None else f"{row.seconds:.0f}",
        row.why or "",
    )
