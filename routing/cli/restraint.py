"""`gripway restraint STRUCTURE [SITE]`: which foot-restraint settings put hands on the work."""

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

if TYPE_CHECKING:
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]


def command(
    structure: StructureArgument,
    site: Annotated[
        str | None,
        typer.Argument(
            metavar="[SITE]",
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
    as_json: AsJson = False,
) -> None:
    """Try every foot-restraint setting for every body: which put hands and eyes on the work."""
    from routing.cli.answers import head_of
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.restraint_checks import check_body, check_picture
    from routing.cli.restraint_text import RestraintAnswer, print_all, site_lines
    from routing.cli.sites import check_worksite
    from routing.cli.stages import stage
    from routing.show.sheets.saving import FORMATS
    from routing.worksites.restraints.at_worksite import all_restraints, restraint_reach
    from routing.worksites.restraints.table import restraint_csv
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
            targets=targets,
            checks=[check],
        ),
    )
    worksite = question.structure.by_id.get(site or "")
    with stage("trying foot-restraint settings"):
        found = (
            (restraint_reach(question.structure, worksite, question.situation, body=body),)
            if isinstance(worksite, Worksite)
            else all_restraints(question.structure, question.situation, body=body)
        )
    if picture is not None and isinstance(worksite, Worksite):
        from routing.show.pictures.restraint import draw_restraint
        from routing.show.sheets.saving import save_figure

        with stage("drawing"):
            figure = draw_restraint(
                question.structure, found[0], question.situation, question.inputs
            )
            save_figure(figure, picture)
    safe = all(one.safe for one in found)
    if csv is not None:
        write_file(csv, restraint_csv(found).encode())
    if as_json:
        print_json(RestraintAnswer(**head_of(question), safe=safe, worksites=found))
    else:
        print_heading(question)
        if site is not None:
            print_lines(*site_lines(found[0]))
        else:
            print_all(found)
        if picture is not None:
            print_lines("", written("the picture", picture))
        if csv is not None:
            print_lines("", written("the table", csv))
        print_caution()
    raise typer.Exit(0 if safe else 1)
