"""`gripway restraint STRUCTURE [SITE]`: which foot-restraint settings put hands on the work."""

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
    from routing.cli.question import Question
    from routing.worksites.restraints.records import WorksiteRestraint
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]


def command(
    structure: StructureArgument,
    site: Annotated[
        str | None,
        typer.Argument(
            metavar="SITE",
            help="The worksite, by its id. Not given: all worksites at sockets, in short.",
            show_default=False,
        ),
    ] = None,
    body: Annotated[
        str | None,
        typer.Option("--body", metavar="ID", help="Ask about this body only. Default: all."),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(
            "--output",
            "-o",
            metavar="FILE",
            help="Draw the deciding setting too, as SVG, PNG or PDF; with SITE only.",
        ),
    ] = None,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv",
            metavar="FILE",
            help="Write every body in every socket tried, a row each, as CSV too.",
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
    """Try every foot-restraint setting for every body: which put hands and eyes on the work.

    Whether a tethered person gets to the socket is asked too; the time home is not.
    """
    from routing.cli.answers import head_of
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.restraint_checks import check_body, check_picture
    from routing.cli.restraint_text import RestraintAnswer, print_found
    from routing.cli.sites import check_worksite
    from routing.cli.stages import stage
    from routing.show.sheets.saving import FORMATS
    from routing.worksites.restraints.at_worksite import all_restraints, restraint_reach
    from routing.worksites.restraints.table import restraint_csv
    from routing.worksites.tethered import safe_sites
    from structures.elements import Worksite
    from structures.files.writer import write_file

    def check(read: "Structure", problems: "list[Problem]") -> None:
        if site is not None:
            check_worksite(read, site, problems)
        check_body(read, body, problems)
        check_picture(picture, site, problems)

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
    worksite = question.structure.by_id.get(site or "")
    graph = question.reach_graph()
    with stage("looking for ways to the sockets"):
        sockets = sorted(one.id for one in question.structure.sockets)
        reached = safe_sites(graph, sockets, question.outfitting)
    with stage("trying foot-restraint settings"):
        found = (
            (
                restraint_reach(
                    question.structure, worksite, question.situation, body=body, reached=reached
                ),
            )
            if isinstance(worksite, Worksite)
            else all_restraints(question.structure, question.situation, body=body, reached=reached)
        )
    if picture is not None:
        _draw(question, found[0], picture)
    safe = all(one.safe for one in found)
    if csv is not None:
        write_file(csv, restraint_csv(found).encode())
    if as_json:
        print_json(
            RestraintAnswer(
                **head_of(question),
                protocol=protocol.value,
                reels_m=question.outfitting.reels_m or None,
                safe=safe,
                worksites=found,
            )
        )
    else:
        print_heading(question)
        print_found(found, in_full=site is not None)
        if picture is not None:
            print_lines("", written("the picture", picture))
        if csv is not None:
            print_lines("", written("the table", csv))
        print_caution()
    raise typer.Exit(0 if safe else 1)


def _draw(question: "Question", found: "WorksiteRestraint", picture: Path) -> None:
    from routing.cli.stages import stage
    from routing.show.pictures.restraint import draw_restraint
    from routing.show.sheets.saving import save_figure

    with stage("drawing"):
        figure = draw_restraint(question.structure, found, question.situation, question.inputs)
        save_figure(figure, picture)
