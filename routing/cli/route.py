"""`gripway route STRUCTURE FROM TO`: the least-time route under the tether rules."""

import sys
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
    as_json: AsJson = False,
) -> None:
    """Find the least-time route between two sites, with steps to paste and its margins."""
    from routing.cli.loading import Choices, choose_situation, load
    from routing.cli.output import print_caution, print_heading, print_json
    from routing.cli.route_text import no_route_answer, route_answer
    from routing.cli.stages import stage
    from routing.graph.build import build_graph
    from routing.paths.no_route import NoRouteError
    from routing.paths.results import InputDigest
    from routing.paths.route import RouteOptions, find_route

    document = load(structure)
    situation = choose_situation(
        document.structure,
        Choices(when=when, close=close, person=person, carry=carry, limits=limits),
    )
    inputs = tuple(InputDigest(name=one.name, sha256=one.sha256) for one in document.inputs)
    with stage("building the reach graph"):
        graph = build_graph(document.structure, situation)
    try:
        with stage("searching"):
            answer = find_route(
                graph,
                start,
                goal,
                via=via or (),
                protocol=protocol.value,
                options=RouteOptions(situation=situation, inputs=inputs),
            )
    except NoRouteError as error:
        if as_json:
            print_json(error.answer)
        else:
            print_heading(document, situation)
            sys.stdout.write(no_route_answer(error.answer))
            print_caution()
        raise typer.Exit(1) from None
    if as_json:
        print_json(answer)
    else:
        print_heading(document, situation)
        sys.stdout.write(route_answer(answer))
    raise typer.Exit(0 if answer.safe else 1)
