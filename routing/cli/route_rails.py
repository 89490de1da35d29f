"""Handrails that routes use, for what must be kept clear of them."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated, NamedTuple, TypeAlias

import typer

if TYPE_CHECKING:
    from routing.cli.question import Check, Question, Trip

__all__ = [
    "KeepClearOption",
    "RouteOption",
    "RouteRails",
    "SecondOption",
    "check_rails",
    "route_rails",
    "trips_of",
]

RouteOption: TypeAlias = Annotated[
    tuple[str, str] | None,
    typer.Option("--route", metavar="FROM TO", help="Keep clear of the handrails of this route."),
]
SecondOption: TypeAlias = Annotated[
    tuple[str, str] | None,
    typer.Option("--second", metavar="FROM TO", help="And of those of a second person's route."),
]
KeepClearOption: TypeAlias = Annotated[
    list[str] | None,
    typer.Option(
        "--keep-clear", metavar="ID", help="Keep clear of this handrail too; may be repeated."
    ),
]


class RouteRails(NamedTuple):
    """What must be kept clear, and what has to be said about it."""

    ids: tuple[str, ...]
    remarks: tuple[str, ...]
    safe: bool
    """Whether every route asked for is there and safe: else its handrails are not known."""


def trips_of(route: tuple[str, str] | None, second: tuple[str, str] | None) -> "list[Trip]":
    """Return the routes asked for, with where they were typed."""
    return [
        tuple((f"option {option}", site) for site in pair)
        for option, pair in (("--route", route), ("--second", second))
        if pair is not None
    ]


def check_rails(keep_clear: Sequence[str] | None) -> "Check":
    """Return the check that every id to keep clear of is a handrail or handhold."""
    from routing.cli.near_ids import what_is_near
    from structures.elements import Handhold, Handrail
    from structures.errors import Problem
    from structures.model import Structure

    def check(structure: Structure, problems: list[Problem]) -> None:
        for one in keep_clear or ():
            if not isinstance(structure.by_id.get(one), Handrail | Handhold):
                known = [rail.id for rail in (*structure.handrails, *structure.handholds)]
                problems.append(
                    Problem(
                        place="option --keep-clear",
                        message=f"no handrail or handhold has the id {one!r}",
                        remedy=what_is_near(one, known),
                    )
                )

    return check


def route_rails(
    question: "Question",
    routes: Sequence[tuple[str, str] | None],
    keep_clear: Sequence[str] | None,
) -> RouteRails:
    """Find the routes, and return the handrails and handholds that are in use."""
    from routing.cli.found_routes import FoundRoutes

    found = FoundRoutes.find(question, [pair for pair in routes if pair is not None])
    used = {stretch.id for route in found.routes for stretch in route.handrails}
    used |= {grip.grip for route in found.routes for grip in route.grips}
    held = {one.id for one in (*question.structure.handrails, *question.structure.handholds)}
    return RouteRails(
        tuple(sorted((used & held) | set(keep_clear or ()))), found.remarks, found.safe
    )
