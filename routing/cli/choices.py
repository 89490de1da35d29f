"""`gripway choices STRUCTURE FROM TO`: what else there is between two sites."""

from typing import Annotated

import typer

from routing.cli.option_faults import finite
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
    WhatIfOption,
    WhenOption,
)

__all__ = ["command"]


def command(
    structure: StructureArgument,
    start: Annotated[str, typer.Argument(metavar="FROM", help="Where the routes begin: an id.")],
    goal: Annotated[str, typer.Argument(metavar="TO", help="Where they end: an id.")],
    via: Annotated[
        list[str] | None,
        typer.Option("--via", metavar="SITE", help="A site to go by; repeat in order."),
    ] = None,
    count: Annotated[
        int,
        typer.Option(
            "--count", min=1, max=12, help="How many alternatives at most, the quickest included."
        ),
    ] = 4,
    overlap: Annotated[
        float,
        typer.Option(
            "--overlap",
            callback=finite,
            min=0.0,
            max=0.99,
            help="Metres an alternative may have on handrails used before it, as a part of the "
            "quickest route's metres on handrails.",
        ),
    ] = 0.5,
    carry: CarryOption = None,
    person: PersonOption = None,
    when: WhenOption = None,
    close: CloseOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.LEAPFROG,
    reel: ReelOption = None,
    what_if: WhatIfOption = False,
    as_json: AsJson = False,
) -> None:
    """List what else there is between two sites: trade-offs, alternatives, a fallback.

    The trade-offs are complete: every route that keeps the tether rules is
    matched or beaten by one of them in seconds, transfers and exposure (time
    inside slow-down zones). With --via on reels they are the best of each kind.
    """
    from routing.cli.choices_text import print_choices
    from routing.cli.output import print_caution, print_heading, print_json, print_lines
    from routing.cli.question import Choices, ask
    from routing.cli.route_text import no_route_answer
    from routing.cli.stages import stage
    from routing.paths.choices.choices import ChoiceOptions, find_choices
    from routing.paths.no_route.answer import NoRouteError
    from routing.paths.route import RouteOptions

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
        ),
    )
    options = ChoiceOptions(
        route=RouteOptions(kit=question.kit, inputs=question.inputs, what_if=what_if),
        count=count,
        max_overlap=overlap,
        stage=stage,
    )
    graph = question.reach_graph()
    try:
        answer = find_choices(
            graph, start, goal, via=via or (), protocol=protocol.value, options=options
        )
    except NoRouteError as error:
        if as_json:
            print_json(error.answer)
        else:
            print_heading(question)
            print_lines(*no_route_answer(error.answer))
            print_caution()
        raise typer.Exit(1) from None
    if as_json:
        print_json(answer)
    else:
        print_heading(question)
        print_choices(answer)
        print_caution()
    raise typer.Exit(0 if answer.safe else 1)
