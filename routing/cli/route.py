"""`gripway route STRUCTURE FROM TO`: the least-time route under the tether rules."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from routing.cli.options import (
    AsJson,
    BestOption,
    CarryOption,
    CloseOption,
    LimitsOption,
    PersonOption,
    Protocol,
    ProtocolOption,
    ReelOption,
    StructureArgument,
    WhatIfOption,
    WhenOption,
)

if TYPE_CHECKING:
    from routing.cli.output_files import Target
    from routing.graph.reach_graph import ReachGraph
    from routing.paths.answers.results import InputDigest, Route

__all__ = ["command"]


def command(
    structure: StructureArgument,
    start: Annotated[str, typer.Argument(metavar="FROM", help="Where the route begins: an id.")],
    goal: Annotated[str, typer.Argument(metavar="TO", help="Where it ends: an id.")],
    via: Annotated[
        list[str] | None,
        typer.Option("--via", metavar="SITE", help="A site to go by; repeat in order."),
    ] = None,
    carry: CarryOption = None,
    person: PersonOption = None,
    when: WhenOption = None,
    close: CloseOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    reel: ReelOption = None,
    profile: Annotated[
        Path | None,
        typer.Option(
            "--profile",
            metavar="FILE",
            help="Draw line out, gaps and clearance along the route too: SVG, PNG or PDF.",
        ),
    ] = None,
    homeward: Annotated[
        bool,
        typer.Option(
            "--homeward",
            help="Work out the time home to the hatch from every hold, tethers as they then lie "
            "and all recovered, and hold the longest against its limit.",
        ),
    ] = False,
    leave_tethers: Annotated[
        bool,
        typer.Option(
            "--leave-tethers",
            help="The same with tethers left outside where that is quicker (reel).",
        ),
    ] = False,
    best: BestOption = None,
    what_if: WhatIfOption = False,
    as_json: AsJson = False,
) -> None:
    """Find the least-time route between two sites, with steps to paste and its margins.

    A site is a worksite, socket, handrail, handhold, hatch, tether point or
    grip (H12@0.250), each by its id.
    """
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.question import Choices, ask
    from routing.cli.route_text import no_route_answer, route_answer
    from routing.cli.stages import stage
    from routing.paths.no_route.error import NoRouteError
    from routing.paths.route import RouteOptions, find_route

    trip = (("FROM", start), *(("option --via", one) for one in via or ()), ("TO", goal))
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
            trips=[trip],
            targets=_profile_target(profile),
        ),
    )
    graph = question.reach_graph()
    options = RouteOptions(
        kit=question.kit,
        inputs=question.inputs,
        what_if=what_if,
        best=None if best is None else best.value,
        homeward="left" if leave_tethers else "recovered" if homeward else None,
    )
    try:
        with stage(
            "searching, again and again for what would save time" if what_if else "searching"
        ):
            answer = find_route(
                graph, start, goal, via=via or (), protocol=protocol.value, options=options
            )
    except NoRouteError as error:
        if as_json:
            print_json(error.answer)
        else:
            print_heading(question)
            print_lines(*no_route_answer(error.answer))
            if profile is not None:
                print_lines(f"No profile was drawn; {profile} was not written.")
            print_caution()
        raise typer.Exit(1) from None
    if profile is not None:
        _draw_profile(graph, answer, profile, question.inputs)
    if as_json:
        print_json(answer)
    else:
        print_heading(question)
        print_lines(*route_answer(answer))
        if profile is not None:
            print_lines(written("the profile", profile))
        print_caution()
    raise typer.Exit(0 if answer.safe else 1)


def _profile_target(profile: Path | None) -> "list[Target]":
    if profile is None:
        return []
    from routing.cli.output_files import Target
    from routing.show.maps.from_route import DRAWN_SUFFIXES

    return [Target("--profile", profile, DRAWN_SUFFIXES)]


def _draw_profile(
    graph: "ReachGraph", route: "Route", profile: Path, inputs: "tuple[InputDigest, ...]"
) -> None:
    from routing.cli.stages import stage
    from routing.show.maps.from_route import draw_route_profile
    from routing.show.sheets.saving import save_figure

    with stage("drawing the profile"):
        save_figure(draw_route_profile(graph, route, inputs), profile)
