"""`gripway both STRUCTURE`: both people's routes out, and whether their lines cross."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

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
    WhenOption,
)

if TYPE_CHECKING:
    from routing.cli.output_files import Target
    from routing.cli.question import Question
    from routing.graph.reach_graph import ReachGraph
    from routing.paths.answers.results import Route
    from routing.paths.two_people.meeting import MeetingRoutes

__all__ = ["command"]


def command(
    structure: StructureArgument,
    first: Annotated[
        tuple[str, str],
        typer.Option("--first", metavar="FROM TO", help="The first person's way out: two ids."),
    ],
    second: Annotated[
        tuple[str, str],
        typer.Option("--second", metavar="FROM TO", help="The second person's way out."),
    ],
    later: Annotated[
        float,
        typer.Option(
            "--later",
            metavar="SECONDS",
            callback=finite,
            min=0.0,
            max=86_400.0,
            help="How much later the second person starts; the line laid later lies over.",
        ),
    ] = 0.0,
    drawing: Annotated[
        Path | None,
        typer.Option(
            "--map", metavar="FILE", help="Draw the pair to take too: SVG, PNG or PDF by suffix."
        ),
    ] = None,
    carry: CarryOption = None,
    person: PersonOption = None,
    when: WhenOption = None,
    close: CloseOption = None,
    limits: LimitsOption = None,
    protocol: ProtocolOption = Protocol.REEL,
    reel: ReelOption = None,
    second_person: Annotated[
        str | None,
        typer.Option(
            "--second-person", metavar="NAME", help="The second person, if not as the first."
        ),
    ] = None,
    second_carry: Annotated[
        str | None,
        typer.Option(
            "--second-carry",
            metavar="ITEM",
            help="What the second person carries, if not the same.",
        ),
    ] = None,
    second_reel: Annotated[
        list[str] | None,
        typer.Option(
            "--second-reel",
            metavar="LENGTH",
            help="A reel of the second person, if not the same; repeat for each.",
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Find two people's routes out, whether their lines cross, and how to avoid it.

    Each has an own kit. Person, load and reels hold for both unless the second
    person's are given. Under leapfrog no line stays behind: told is when the two
    are so near each other that their short tethers can come together.
    """
    from routing.cli.answers import head_of
    from routing.cli.both_answer import BothAnswer, both_text
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.question import Choices, ask
    from routing.cli.second_person import SecondPerson
    from routing.cli.stages import stage
    from routing.paths.route import RouteOptions
    from routing.paths.tethers.kit import default_kit
    from routing.paths.two_people.both import SecondHas, both_routes

    if second_reel and protocol is Protocol.LEAPFROG:
        raise typer.BadParameter(
            "reels are for --protocol reel; leave them out", param_hint="--second-reel"
        )
    other = SecondPerson(person=second_person, carry=second_carry, reel=second_reel)
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
            trips=[
                tuple((f"option {option}", site) for site in pair)
                for option, pair in (("--first", first), ("--second", second))
            ],
            targets=_target(drawing),
            checks=[other.check],
        ),
    )
    graph = question.reach_graph()
    options = RouteOptions(kit=question.kit, inputs=question.inputs, explain=False)
    second_graph = other.reach_graph(question)
    if protocol is Protocol.LEAPFROG:
        met = _meet(question, (graph, second_graph or graph), (first, second), later)
        _tell_meeting(question, met, drawing, as_json=as_json)
        raise typer.Exit(0 if met.safe else 1)
    with stage("searching for both"):
        found = both_routes(
            graph,
            first,
            second,
            second_after_s=later,
            options=options,
            second_has=SecondHas(graph=second_graph, kit=other.kit),
        )
    # The pair whose lines do not cross, else the best one.
    pair = found.clean or found.best
    routes = () if pair is None else (pair.first, pair.second)
    drawn = drawing is not None and _draw(question, routes, drawing, safe=found.safe)
    if as_json:
        kit = question.kit or default_kit(question.situation.limits)
        answer = BothAnswer(
            **head_of(question),
            reels_m=kit.reels_m,
            second_reels_m=(other.kit or kit).reels_m,
            safe=found.safe,
            routes=found,
        )
        print_json(answer)
    else:
        print_heading(question)
        print_lines(*both_text(found))
        if drawing is not None:
            print_lines(written("the map", drawing) if drawn else f"{drawing} was not written.")
        print_caution()
    raise typer.Exit(0 if found.safe else 1)


def _target(drawing: Path | None) -> "list[Target]":
    if drawing is None:
        return []
    from routing.cli.output_files import Target
    from routing.show.maps.from_route import DRAWN_SUFFIXES

    return [Target("--map", drawing, DRAWN_SUFFIXES)]


def _meet(
    question: "Question",
    graphs: "tuple[ReachGraph, ReachGraph]",
    trips: tuple[tuple[str, str], tuple[str, str]],
    later: float,
) -> "MeetingRoutes":
    from routing.cli.stages import stage
    from routing.paths.route import RouteOptions
    from routing.paths.two_people.meeting import meeting_routes

    options = RouteOptions(inputs=question.inputs, explain=False)
    with stage("searching for both"):
        return meeting_routes(graphs, trips, second_after_s=later, options=options)


def _tell_meeting(
    question: "Question", found: "MeetingRoutes", drawing: Path | None, *, as_json: bool
) -> None:
    from routing.cli.answers import head_of
    from routing.cli.both_answer import MeetingAnswer, meeting_text
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written

    routes = tuple(route for route in (found.first, found.second) if route is not None)
    drawn = drawing is not None and _draw(question, routes, drawing, safe=found.safe)
    if as_json:
        print_json(MeetingAnswer(**head_of(question), safe=found.safe, routes=found))
        return
    print_heading(question)
    print_lines(*meeting_text(found))
    if drawing is not None:
        print_lines(written("the map", drawing) if drawn else f"{drawing} was not written.")
    print_caution()


def _draw(question: "Question", routes: "tuple[Route, ...]", drawing: Path, *, safe: bool) -> bool:
    """Draw both routes; tell whether there are any."""
    from routing.cli.stages import stage
    from routing.show.maps.from_route import RouteDrawing, draw_routes
    from routing.show.sheets.saving import save_figure

    if not routes:
        return False
    with stage("drawing"):
        drawn = RouteDrawing(
            situation=question.situation,
            routes=routes,
            inputs=question.inputs,
            unsafe=not safe,
            around=True,
        )
        save_figure(draw_routes(question.structure, drawn), drawing)
    return True
