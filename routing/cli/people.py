"""`gripway people STRUCTURE`: who gets to which worksite, and from which reach on."""

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
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]

_UP_TO: Final = "36in"
_TOP_REMEDY: Final = "give 0 or more"
_NO_SITE: Final = "there is no worksite that anybody could get to"
_NO_SITE_REMEDY: Final = "add worksites to the document"


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
            "--up-to",
            metavar="LENGTH",
            help="The largest reach that is looked at, with its unit, if the own is no larger.",
        ),
    ] = _UP_TO,
    top: Annotated[
        int, typer.Option("--top", metavar="N", help="How many of the rows to print, worst first.")
    ] = 20,
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
    from routing.cli.output import print_json
    from routing.cli.people_answer import PeopleAnswer, people_row
    from routing.cli.question import Choices, ask
    from routing.paths.tethers.kit import default_kit
    from routing.studies.people.study import PeopleAsked, people_study
    from structures.errors import Problem

    pick = CasePick(
        people=person or (),
        everybody=people,
        reaches=reach or (),
        rates=rate or (),
        loads=carry or (),
    )
    running = Running(workers=workers, cluster=cluster, work=work, rows=rows)

    def check_rest(structure: "Structure", problems: "list[Problem]") -> None:
        read_length_m(up_to, "option --up-to", problems, what="a reach")
        if top < 0:
            problems.append(Problem(place="option --top", message=f"{top}", remedy=_TOP_REMEDY))
        if not structure.worksites:
            problems.append(Problem(place="STRUCTURE", message=_NO_SITE, remedy=_NO_SITE_REMEDY))

    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            limits=limits,
            reel=reel,
            protocol="leapfrog" if protocol == Protocol.LEAPFROG else "reel",
            targets=running.targets(),
            checks=(check_running(running), pick.check, check_rest),
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
        from routing.cli.people_text import print_people

        print_people(question, asked, answer, top=top, rows=rows)
    raise typer.Exit(0 if answer.safe else 1)
