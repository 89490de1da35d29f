"""`gripway sight STRUCTURE FACE`: from which grips a camera can see a face."""

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

if TYPE_CHECKING:
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]


def command(
    structure: StructureArgument,
    face: Annotated[
        str, typer.Argument(metavar="FACE", help="The face, by its id.", show_default=False)
    ],
    start: Annotated[
        str | None,
        typer.Option("--from", metavar="SITE", help="Where the person starts. Default: hatch."),
    ] = None,
    camera: Annotated[
        str | None,
        typer.Option("--camera", metavar="ID", help="Which camera. Default: the first by id."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option("--output", "-o", metavar="FILE", help="Draw it too: SVG, PNG or PDF."),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv", metavar="FILE", help="Write the vantage points, a row each, as CSV too."
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
    """Find the grips from which a camera sees a face, and the fewest that see all of it."""
    from routing.cli.answers import head_of
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.sight_text import SightAnswer, check_sight, print_sight
    from routing.cli.stages import stage
    from routing.show.sheets.saving import FORMATS
    from routing.worksites.sight.table import sight_csv
    from routing.worksites.sight.vantage import cameras_of, sight_of
    from structures.faces import Face
    from structures.files.writer import write_file

    def check(read: "Structure", problems: "list[Problem]") -> None:
        check_sight(read, (face, camera, start), problems)

    suffixes = tuple(f".{one}" for one in FORMATS)
    targets = [] if picture is None else [Target("--output", picture, suffixes)]
    targets += [] if csv is None else [Target("--csv", csv)]
    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            limits=limits,
            reel=reel,
            protocol=protocol.value,
            targets=targets,
            checks=[check],
        ),
    )
    graph = question.reach_graph()
    looked_at = question.structure.find(face, (Face,))
    begin = start or min(one.id for one in question.structure.hatches)
    with stage("looking at the face"):
        found = sight_of(
            graph,
            looked_at,
            start=begin,
            camera=next((one for one in cameras_of(graph) if one.id == camera), None),
            outfitting=question.outfitting,
        )
    if picture is not None:
        from routing.show.pictures.sight import draw_sight
        from routing.show.sheets.saving import save_figure

        with stage("drawing"):
            figure = draw_sight(question.structure, found, question.situation, question.inputs)
            save_figure(figure, picture)
    if csv is not None:
        write_file(csv, sight_csv(found).encode())
    if as_json:
        print_json(
            SightAnswer(
                **head_of(question),
                protocol=protocol.value,
                reels_m=question.outfitting.reels_m or None,
                safe=found.safe,
                sight=found,
            )
        )
    else:
        print_heading(question)
        print_sight(found)
        if picture is not None:
            print_lines("", written("the picture", picture))
        if csv is not None:
            print_lines("", written("the table", csv))
        print_caution()
    raise typer.Exit(0 if found.safe else 1)
