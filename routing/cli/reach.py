"""`gripway reach STRUCTURE`: what every worksite can be reached and tied from."""

import sys
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
    StructureArgument,
    WhenOption,
)

__all__ = ["command"]


def command(
    structure: StructureArgument,
    csv: Annotated[
        Path | None,
        typer.Option("--csv", metavar="FILE", help="Write the table as CSV too."),
    ] = None,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    carry: CarryOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    as_json: AsJson = False,
) -> None:
    """List for every worksite the time from the hatch and the fewest equipment tethers."""
    from routing.cli.answers import ReachAnswer, head_of
    from routing.cli.loading import Choices, choose_situation, load
    from routing.cli.output import print_caution, print_heading, print_json, print_table
    from routing.cli.reach_text import REACH_HEADS, reach_cells
    from routing.cli.stages import stage
    from routing.graph.build import build_graph
    from routing.paths.worksite_routes import worksite_routes
    from routing.worksites.reach_table import reach_csv, reach_table
    from structures.files.writer import write_file

    document = load(structure)
    situation = choose_situation(
        document.structure,
        Choices(when=when, close=close, person=person, carry=carry, limits=limits),
    )
    with stage("building the reach graph"):
        graph = build_graph(document.structure, situation)
    with stage("searching from the hatch"):
        routes = worksite_routes(graph, protocol=protocol.value)
    with stage("tying equipment tethers"):
        rows = reach_table(document.structure, graph, routes=routes)
    safe = all(row.safe for row in rows)
    if csv is not None:
        write_file(csv, reach_csv(rows).encode())
    if as_json:
        print_json(ReachAnswer(**head_of(document, situation), safe=safe, worksites=rows))
    else:
        print_heading(document, situation)
        print_table(REACH_HEADS, [reach_cells(row) for row in rows])
        if csv is not None:
            sys.stdout.write(f"the table is in {csv}\n")
        print_caution()
    raise typer.Exit(0 if safe else 1)
