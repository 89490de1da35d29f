"""`gripway cable STRUCTURE FROM TO`: how a cable is laid between two connectors."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.options import (
    AsJson,
    CloseOption,
    LimitsOption,
    PersonOption,
    StructureArgument,
    WhenOption,
)
from routing.cli.route_rails import KeepClearOption, RouteOption, SecondOption

if TYPE_CHECKING:
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]


def command(
    structure: StructureArgument,
    start: Annotated[
        str, typer.Argument(metavar="FROM", help="The connector it runs from.", show_default=False)
    ],
    goal: Annotated[
        str, typer.Argument(metavar="TO", help="The connector it runs to.", show_default=False)
    ],
    cable: Annotated[
        str | None,
        typer.Option("--cable", metavar="ID", help="Which cable, if there is more than one."),
    ] = None,
    route: RouteOption = None,
    second: SecondOption = None,
    keep_clear: KeepClearOption = None,
    count: Annotated[
        int, typer.Option("--ways", min=1, max=50, help="How many ways are looked at.")
    ] = 3,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE", help="Draw the ways too: SVG, PNG or PDF."),
    ] = None,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    limits: LimitsOption = None,
    as_json: AsJson = False,
) -> None:
    """Find how a cable is laid over its ties: length needed, bends, and where spare is stowed."""
    from routing.cli.answers import head_of
    from routing.cli.cable_text import CableAnswer, cable_lines
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.route_rails import check_rails, route_rails, trips_of
    from routing.cli.stages import stage
    from routing.show.sheets.saving import FORMATS
    from routing.worksites.cables.runs import find_cable_runs

    picked: list[str] = []

    def check(read: "Structure", problems: "list[Problem]") -> None:
        picked.append(_check(read, (start, goal), cable, problems))

    suffixes = tuple(f".{one}" for one in FORMATS)
    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            limits=limits,
            protocol="leapfrog" if route or second else None,
            trips=trips_of(route, second),
            targets=[] if picture is None else [Target("--picture", picture, suffixes)],
            checks=[check, check_rails(keep_clear)],
        ),
    )
    rails = route_rails(question, (route, second), keep_clear)
    with stage("laying the cable"):
        found = find_cable_runs(
            question.structure,
            picked[0],
            (start, goal),
            question.situation,
            keep_clear=rails.ids,
            count=count,
        )
    if picture is not None:
        from routing.show.pictures.cable import draw_cable
        from routing.show.sheets.saving import save_figure

        with stage("drawing"):
            figure = draw_cable(question.structure, found, question.situation, question.inputs)
            save_figure(figure, picture)
    safe = found.safe and rails.safe
    if as_json:
        print_json(CableAnswer(**head_of(question), safe=safe, remarks=rails.remarks, runs=found))
    else:
        print_heading(question)
        print_lines(*rails.remarks, *cable_lines(found))
        if picture is not None:
            print_lines("", written("the picture", picture))
        print_caution()
    raise typer.Exit(0 if safe else 1)


def _check(
    structure: "Structure",
    ends: tuple[str, str],
    cable: str | None,
    problems: "list[Problem]",
) -> str:
    """Return the cable; report connectors and cables that the structure does not have."""
    from routing.cli.near_ids import what_is_near
    from structures.counting import counted
    from structures.errors import Problem

    known = [one.id for one in structure.connectors]
    problems.extend(
        Problem(
            place=place,
            message=f"no connector has the id {end!r}",
            remedy=what_is_near(end, known),
        )
        for place, end in zip(("FROM", "TO"), ends, strict=True)
        if end not in known
    )
    if ends[0] == ends[1]:
        problems.append(
            Problem(
                place="TO",
                message=f"a cable from {ends[0]!r} to itself leads nowhere",
                remedy="name another connector",
            )
        )
    cables = [one.id for one in structure.cables]
    if cable is None and len(cables) == 1:
        return cables[0]
    if cable is None:
        several = f"name one of {', '.join(cables)}" if cables else "add a cable to the structure"
        problems.append(
            Problem(
                place="option --cable",
                message=f"the structure has {counted(len(cables), 'cable')}, and none is named",
                remedy=several,
            )
        )
    elif cable not in cables:
        problems.append(
            Problem(
                place="option --cable",
                message=f"no cable has the id {cable!r}",
                remedy=what_is_near(cable, cables),
            )
        )
    return cable or ""
