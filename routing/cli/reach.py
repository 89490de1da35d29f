"""`gripway reach STRUCTURE`: what every worksite can be reached and tied from."""

from pathlib import Path
from typing import Annotated

import typer

from routing.cli.options import (
    AsJson,
    CarryOption,
    CloseOption,
    LimitsOption,
    PersonOption,
    Protocol,
    ProtocolOption,
    ReelOption,
    StructureArgument,
    WhenOption,
)

__all__ = ["command"]


def command(
    structure: StructureArgument,
    csv: Annotated[
        Path | None,
        typer.Option(
            "--csv", metavar="FILE", help="Write the whole table, with all columns, as CSV too."
        ),
    ] = None,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    carry: CarryOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    reel: ReelOption = None,
    as_json: AsJson = False,
) -> None:
    """List for every worksite the time from the hatch and the fewest equipment tethers."""
    from routing.cli.answers import ReachAnswer, head_of
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.reach_text import REACH_COLUMNS, reach_cells, reach_reasons, reach_verdict
    from routing.cli.stages import stage
    from routing.cli.tables import print_table
    from routing.paths.route import RouteOptions
    from routing.paths.worksite_routes import worksite_routes
    from routing.worksites.reach_table import reach_csv, reach_table
    from structures.files.writer import write_file

    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            carry=carry,
            limits=limits,
            reel=reel,
            protocol=protocol.value,
            targets=[] if csv is None else [Target("--csv", csv)],
        ),
    )
    graph = question.reach_graph()
    with stage("searching from the hatch"):
        options = RouteOptions(kit=question.kit, explain=False)
        routes = worksite_routes(graph, protocol=protocol.value, options=options)
    with stage("tying equipment tethers"):
        rows = reach_table(question.structure, graph, routes=routes)
    safe = all(row.safe for row in rows)
    if csv is not None:
        write_file(csv, reach_csv(rows).encode())
    if as_json:
        print_json(
            ReachAnswer(
                **head_of(question),
                protocol=protocol.value,
                reels_m=None if question.kit is None else question.kit.reels_m,
                safe=safe,
                worksites=rows,
            )
        )
    else:
        print_heading(question)
        print_lines(reach_verdict(rows), "")
        print_table(REACH_COLUMNS, [reach_cells(row) for row in rows])
        print_lines(*reach_reasons(rows))
        if csv is not None:
            print_lines("", written("the table", csv))
        print_caution()
    raise typer.Exit(0 if safe else 1)
