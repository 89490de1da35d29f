"""`gripway map STRUCTURE -o FILE`: drawings to scale, with routes on them."""

from typing import Annotated

import typer

from routing.cli.beside import Beside
from routing.cli.options import (
    AsJson,
    CarryOption,
    CloseOption,
    LimitsOption,
    OutputOption,
    PersonOption,
    Protocol,
    ProtocolOption,
    ReelOption,
    StructureArgument,
    WhenOption,
)

__all__ = ["command"]

_WITHIN_M = 3.0
"""How far a map goes beyond the elements of `--near` where nothing else is said [m]."""


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
    beside: Annotated[
        Beside | None,
        typer.Option(
            "--beside",
            help="Draw other routes of --route beside it: alternatives, the fallback, or the "
            "least-time path whatever the reel's length (mostly unsafe).",
        ),
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
        typer.Option(
            "--skin",
            metavar="ID",
            help="Draw the unrolled skin of this cylinder, or the faces of this box.",
        ),
    ] = None,
    around: Annotated[
        bool, typer.Option("--around", help="Show only the region around the routes.")
    ] = False,
    near: Annotated[
        list[str] | None,
        typer.Option(
            "--near",
            metavar="ID",
            help="Show only the box round this element (any with a place: handrail, worksite, "
            "solid, zone ...); may be repeated: one box round them all.",
        ),
    ] = None,
    within_m: Annotated[
        float | None,
        typer.Option(
            "--within",
            metavar="METRES",
            help="How far the box of --near goes beyond its elements. [default: 3]",
        ),
    ] = None,
    sheet: Annotated[
        str,
        typer.Option(
            "--sheet",
            metavar="SHEET",
            help="A0 to A4, Letter or Tabloid, landscape; A3-upright, A4-upright, Letter-upright.",
        ),
    ] = "A3",
    carry: CarryOption = None,
    person: PersonOption = None,
    when: WhenOption = None,
    close: CloseOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    reel: ReelOption = None,
    as_json: AsJson = False,
) -> None:
    """Draw the structure to scale as SVG, PNG or PDF, by the suffix of FILE."""
    from functools import partial

    from routing.cli.answers import head_of
    from routing.cli.drawing_options import (
        check_near,
        check_skin,
        drawing_problems,
        idle_options,
        sheet_named,
    )
    from routing.cli.found_routes import FoundRoutes
    from routing.cli.left_out import left_out_lines, left_out_of
    from routing.cli.output import (
        print_caution,
        print_heading,
        print_json,
        print_lines,
        written,
    )
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.stages import stage
    from routing.cli.written_answers import MapAnswer, written_file
    from routing.show.maps.from_route import DRAWN_SUFFIXES, RouteDrawing, compose_routes
    from routing.show.sheets.saving import save_figure
    from routing.show.sheets.style import SHEETS_IN, MapStyle

    views = tuple(view or ("plan", "starboard"))
    chosen = tuple(dict.fromkeys(near or ()))
    beyond_m = _WITHIN_M if within_m is None else within_m
    paper = sheet_named(sheet) or ""
    if beside is not None:
        _check_beside(beside, protocol, route=route, second=second)
    asked = tuple(pair for pair in (route, second) if pair is not None)
    given = {
        "--within": within_m, "--near": near or None, "--around": around or None, "--skin": skin,
        "--view": view or None, "--person": person, "--carry": carry,
    }  # fmt: skip
    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            carry=carry,
            limits=limits,
            reel=reel,
            protocol=protocol.value if asked or reel else None,
            trips=[
                tuple((f"option {option}", site) for site in pair)
                for option, pair in (("--route", route), ("--second", second))
                if pair is not None
            ],
            targets=[Target("--output", output, DRAWN_SUFFIXES)],
            problems=[
                *drawing_problems(views, sheet),
                *idle_options([one for one in given if given[one] is not None], routes=bool(asked)),
            ],
            checks=[
                *(() if skin is None else (partial(check_skin, skin),)),
                *((partial(check_near, chosen, beyond_m),) if chosen else ()),
            ],
        ),
    )
    found = FoundRoutes.find(question, asked, beside)
    drawing = RouteDrawing(
        situation=question.situation,
        routes=found.routes,
        names=found.names,
        inputs=question.inputs,
        unsafe=not found.safe,
        views=views,
        skin=skin,
        around=around,
        near=chosen,
        within_m=beyond_m,
        style=MapStyle(sheet_in=SHEETS_IN[paper]),
    )
    with stage("drawing"):
        drawn = compose_routes(question.structure, drawing)
        save_figure(drawn.figure, output)
    left_out = left_out_of(drawn)
    if as_json:
        print_json(
            MapAnswer(
                **head_of(question),
                written=written_file(output),
                safe=found.safe,
                protocol=question.protocol,
                reels_m=None if question.kit is None else question.kit.reels_m,
                views=() if skin is not None else views,
                skin=skin,
                near=chosen,
                within_m=beyond_m if chosen else None,
                sheet=paper,
                left_out=left_out,
                trips=found.trips,
            )
        )
    else:
        print_heading(question)
        print_lines(*found.remarks, *left_out_lines(left_out), written("the drawing", output))
        print_caution()
    raise typer.Exit(0 if found.safe else 1)


def _check_beside(
    beside: Beside,
    protocol: Protocol,
    *,
    route: tuple[str, str] | None,
    second: tuple[str, str] | None,
) -> None:
    """Refuse what cannot be drawn beside a route."""
    if route is None:
        wrong = "there is no route to draw it beside; add --route FROM TO"
    elif second is not None:
        wrong = "with --second the drawing is of two people; draw the two one at a time"
    elif beside is Beside.LEAST_TIME and protocol is not Protocol.REEL:
        wrong = "the least-time path differs by the reel's length only; add --protocol reel"
    else:
        return
    raise typer.BadParameter(wrong, param_hint="--beside")
