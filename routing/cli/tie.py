"""`gripway tie STRUCTURE WORKSITE`: how one worksite's payload is tied."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.options import (
    AsJson,
    CloseOption,
    LimitsOption,
    PersonOption,
    Protocol,
    ProtocolOption,
    ReelOption,
    StructureArgument,
    WhenOption,
)
from routing.cli.tethers_option import TethersOption

if TYPE_CHECKING:
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]


def command(
    structure: StructureArgument,
    worksite: Annotated[
        str, typer.Argument(metavar="WORKSITE", help="The worksite, by its id.", show_default=False)
    ],
    tethers: TethersOption = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--picture", metavar="FILE", help="Draw chains and payload too: SVG, PNG or PDF."
        ),
    ] = None,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    reel: ReelOption = None,
    as_json: AsJson = False,
) -> None:
    """Show how one worksite's payload is tied: chain by chain, held and seated, and by whom."""
    from routing.cli.answers import head_of
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.sites import check_worksite
    from routing.cli.stages import stage
    from routing.cli.tethers_option import read_tethers
    from routing.cli.tie_text import TieAnswer, tie_lines
    from routing.show.sheets.saving import FORMATS
    from routing.worksites.tethered import reached_for_work
    from routing.worksites.ties.details import tie_details
    from routing.worksites.ties.kit import TetherKit

    kits: list[TetherKit | None] = []

    def check(read: "Structure", problems: "list[Problem]") -> None:
        check_worksite(read, worksite, problems)
        kits.append(read_tethers(tethers, read, problems))

    suffixes = tuple(f".{one}" for one in FORMATS)
    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            limits=limits,
            reel=reel,
            protocol=protocol.value,
            targets=[] if picture is None else [Target("--picture", picture, suffixes)],
            checks=[check],
        ),
    )
    graph = question.reach_graph()
    with stage("tying equipment tethers"):
        found = tie_details(
            question.structure,
            worksite,
            graph.situation,
            kit=kits[0],
            reached=reached_for_work(graph, worksite, question.outfitting),
        )
    if picture is not None:
        from routing.show.pictures.tie import draw_tie
        from routing.show.sheets.saving import save_figure

        with stage("drawing"):
            figure = draw_tie(question.structure, found, question.situation, question.inputs)
            save_figure(figure, picture)
    if as_json:
        print_json(
            TieAnswer(
                **head_of(question),
                protocol=protocol.value,
                reels_m=question.outfitting.reels_m or None,
                safe=found.safe,
                tie=found,
            )
        )
    else:
        print_heading(question)
        print_lines(*tie_lines(found))
        if picture is not None:
            print_lines("", written("the picture", picture))
        print_caution()
    raise typer.Exit(0 if found.safe else 1)
