"""`gripway map STRUCTURE -o FILE`: drawings to scale, with routes on them."""

import sys
from typing import Annotated

import typer

from routing.cli.options import (
    CarryOption,
    CloseOption,
    LimitsOption,
    OutputOption,
    PersonOption,
    Protocol,
    ProtocolOption,
    StructureArgument,
    WhenOption,
)

__all__ = ["command"]


def command(
    structure: StructureArgument,
    output: OutputOption,
    route: Annotated[
        tuple[str, str] | None,
        typer.Option("--route", metavar="FROM TO", help="Draw the route between two sites."),
    ] = None,
    second: Annotated[
        tuple[str, str] | None,
        typer.Option("--second", metavar="FROM TO", help="Draw the second person's route too."),
    ] = None,
    view: Annotated[
        list[str] | None,
        typer.Option(
            "--view",
            metavar="VIEW",
            help="plan, port, starboard, zenith, nadir, "
            "forward or aft; may be repeated. Default: plan and starboard.",
        ),
    ] = None,
    skin: Annotated[
        str | None,
        typer.Option("--skin", metavar="ID", help="Draw the unrolled skin of this cylinder."),
    ] = None,
    around: Annotated[
        bool, typer.Option("--around", help="Show only the region around the routes.")
    ] = False,
    carry: CarryOption = None,
    person: PersonOption = None,
    when: WhenOption = None,
    close: CloseOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
) -> None:
    """Draw the structure to scale as SVG, PNG or PDF, by the suffix of FILE."""
    from routing.cli.drawing import FoundRoutes
    from routing.cli.loading import Choices, choose_situation, load
    from routing.cli.output import print_caution, print_heading
    from routing.cli.stages import stage
    from routing.show.from_route import RouteDrawing, draw_routes
    from routing.show.saving import check_format, save_figure

    check_format(output)
    document = load(structure)
    situation = choose_situation(
        document.structure,
        Choices(when=when, close=close, person=person, carry=carry, limits=limits),
    )
    asked = tuple(pair for pair in (route, second) if pair is not None)
    found = FoundRoutes.find(document.structure, situation, asked, protocol.value)
    drawing = RouteDrawing(
        situation=situation,
        routes=found.routes,
        digest=document.inputs[0].sha256,
        unsafe=not found.safe,
        views=tuple(view or ("plan", "starboard")),
        skin=skin,
        around=around,
    )
    with stage("drawing"):
        figure = draw_routes(document.structure, drawing)
        save_figure(figure, output)
    print_heading(document, situation)
    for line in found.remarks:
        sys.stdout.write(f"{line}\n")
    sys.stdout.write(f"the drawing is in {output}\n")
    print_caution()
    raise typer.Exit(0 if found.safe else 1)
