"""`gripway bags STRUCTURE WORKSITE`: where a bag can be tied near a worksite."""

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
from routing.cli.route_rails import KeepClearOption, RouteOption, SecondOption

if TYPE_CHECKING:
    from structures.errors import Problem
    from structures.model import Structure

__all__ = ["command"]


def command(
    structure: StructureArgument,
    worksite: Annotated[
        str, typer.Argument(metavar="WORKSITE", help="The worksite, by its id.", show_default=False)
    ],
    item: Annotated[
        str, typer.Option("--item", metavar="ITEM", help="The bag or cover, by its id.")
    ],
    route: RouteOption = None,
    second: SecondOption = None,
    keep_clear: KeepClearOption = None,
    picture: Annotated[
        Path | None,
        typer.Option("--picture", metavar="FILE", help="Draw the places too: SVG, PNG or PDF."),
    ] = None,
    when: WhenOption = None,
    close: CloseOption = None,
    person: PersonOption = None,
    limits: LimitsOption = None,
    as_json: AsJson = False,
) -> None:
    """Find where a bag or cover can be tied near a worksite, and why not elsewhere."""
    from routing.cli.answers import NO_TIME_HOME, head_of
    from routing.cli.bags_text import BAG_COLUMNS, BagsAnswer, bag_cells, bag_head, bag_reasons
    from routing.cli.output import print_caution, print_heading, print_json, print_lines, written
    from routing.cli.output_files import Target
    from routing.cli.question import Choices, ask
    from routing.cli.route_rails import check_rails, route_rails, trips_of
    from routing.cli.sites import check_worksite
    from routing.cli.stages import stage
    from routing.cli.tables import print_table
    from routing.show.sheets.saving import FORMATS
    from routing.worksites.bags.near_worksite import find_bag_places
    from routing.worksites.tethered import LEAPFROG, reached_for_work
    from structures.elements import Item

    def check(read: "Structure", problems: "list[Problem]") -> None:
        check_worksite(read, worksite, problems)
        _check_item(read, item, problems)

    suffixes = tuple(f".{one}" for one in FORMATS)
    question = ask(
        structure,
        Choices(
            when=when,
            close=close,
            person=person,
            limits=limits,
            protocol="leapfrog",
            trips=trips_of(route, second),
            targets=[] if picture is None else [Target("--picture", picture, suffixes)],
            checks=[check, check_rails(keep_clear)],
        ),
    )
    rails = route_rails(question, (route, second), keep_clear)
    graph = question.reach_graph()
    bag = question.structure.find(item, (Item,))
    with stage("looking for places"):
        found = find_bag_places(
            graph,
            worksite,
            bag,
            keep_clear=rails.ids,
            reached=reached_for_work(graph, worksite, LEAPFROG),
        )
    if picture is not None:
        from routing.show.pictures.bag import draw_bags
        from routing.show.sheets.saving import save_figure

        with stage("drawing"):
            figure = draw_bags(question.structure, found, question.situation, question.inputs)
            save_figure(figure, picture)
    safe = found.safe and rails.safe
    if as_json:
        print_json(
            BagsAnswer(
                **head_of(question),
                protocol="leapfrog",
                safe=safe,
                remarks=rails.remarks,
                bags=found,
            )
        )
    else:
        print_heading(question)
        print_lines(*rails.remarks, f"{bag_head(found)} {NO_TIME_HOME}", "")
        if found.places:
            print_table(
                BAG_COLUMNS, [bag_cells(rank, one) for rank, one in enumerate(found.places, 1)]
            )
            print_lines("rail@m = metres along the handrail")
        print_lines(*bag_reasons(found))
        if picture is not None:
            print_lines("", written("the picture", picture))
        print_caution()
    raise typer.Exit(0 if safe else 1)


def _check_item(structure: "Structure", item: str, problems: "list[Problem]") -> None:
    from routing.cli.near_ids import what_is_near
    from structures.errors import Problem

    known = [one.id for one in structure.items]
    if item not in known:
        problems.append(
            Problem(
                place="option --item",
                message=f"no item has the id {item!r}",
                remedy=what_is_near(item, known),
            )
        )
