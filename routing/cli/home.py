"""`gripway home STRUCTURE`: the time home from every grip, alone and with a partner in tow."""

from pathlib import Path
from typing import Annotated

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
from routing.cli.study_drawing import StudyDrawing, ViewsOption
from routing.cli.study_options import (
    ClusterOption,
    RowsOption,
    Running,
    WorkersOption,
    WorkOption,
    run_for,
)

__all__ = ["command"]


def command(
    structure: StructureArgument,
    output: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Draw the return times of the first case too: SVG, PNG or PDF.",
        ),
    ] = None,
    view: ViewsOption = None,
    tow: Annotated[
        bool, typer.Option("--tow", help="Draw the times with a partner in tow, not alone.")
    ] = False,
    leave_tethers: Annotated[
        bool,
        typer.Option(
            "--leave-tethers", help="On reels: tethers may stay outside on the way home alone too."
        ),
    ] = False,
    person: PeopleOption = None,
    people: OnePeopleOption = False,
    reach: ReachesOption = None,
    rate: RatesOption = None,
    carry: LoadsOption = None,
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
    """Find the time home from every grip, alone and with a partner in tow, against the limit.

    Everybody is taken to have come by the least-time way from the hatch, with
    the tethers that this leaves them on. Exit code 1: from some grip that is
    reached home is not reached in time, alone or in tow; nobody gets anywhere;
    or what people hang on at a hatch does not hold.
    """
    from routing.cli.answers import head_of
    from routing.cli.home_answer import HomeAnswer, home_row
    from routing.cli.home_text import print_home
    from routing.cli.output import print_json
    from routing.cli.question import Choices, ask
    from routing.paths.tethers.kit import default_kit
    from routing.studies.home.starts import hatch_findings
    from routing.studies.home.study import HomeAsked, home_study

    pick = CasePick(
        people=person or (),
        everybody=people,
        reaches=reach or (),
        rates=rate or (),
        loads=carry or (),
    )
    drawing = StudyDrawing(output, view)
    running = Running(workers=workers, cluster=cluster, work=work, rows=rows)
    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            limits=limits,
            reel=reel,
            protocol="leapfrog" if protocol == Protocol.LEAPFROG else "reel",
            targets=[*running.targets(), *drawing.targets()],
            problems=drawing.problems(),
            checks=(check_running(running), pick.check),
        ),
    )
    situations, protocols = pick.situations(question), both_protocols(protocol)
    kit = question.kit or default_kit(question.situation.limits)
    at_hatch = hatch_findings(question.structure, situations, protocols, kit)
    asked = HomeAsked(
        structure=question.structure,
        situations=situations,
        protocols=protocols,
        kit=kit,
        leave=leave_tethers,
        not_held=tuple(one for one in protocols if at_hatch[one]),
    )
    found = tuple(home_row(row) for row in run_for(home_study(asked, question.inputs), running))
    reached = [row for row in found if row.out_s is not None]
    cases = len(asked.situations) * len(asked.protocols)
    every = len({(row.person, row.carry, row.protocol) for row in reached}) == cases
    said = {(one.code, one.elements): one for found in at_hatch.values() for one in found}
    blocks = tuple(said.values())
    sound = every and not blocks
    answer = HomeAnswer(
        **head_of(question),
        people=pick.people_in(asked.situations),
        loads=pick.loads_in(asked.situations),
        protocols=asked.protocols,
        reels_m=asked.kit.reels_m if "reel" in asked.protocols else None,
        tethers="left" if leave_tethers else "recovered",
        limit_s=question.situation.limits.time_home_limit_s,
        safe=sound and all(row.verdict == "in time" for row in reached),
        safe_in_tow=sound and all(row.tow_verdict == "in time" for row in reached),
        findings=blocks,
        places=found,
    )
    if output is not None:
        from routing.cli.home_drawing import draw_home

        first = asked.situations[0]
        draw_home(question, first, answer, views=drawing.views, tow=tow, path=output)
    if as_json:
        print_json(answer)
    else:
        print_home(question, asked, answer, {"every grip": rows, "the drawing": output})
    raise typer.Exit(0 if answer.safe and answer.safe_in_tow else 1)
