"""What a drawing is asked to be: views, skin and sheet, checked before anything is computed."""

from collections.abc import Collection, Sequence
from typing import Final

from routing.cli.near_ids import what_is_near
from structures.errors import Problem
from structures.model import Structure
from structures.shapes import Box, Cylinder

__all__ = [
    "FARTHEST_M",
    "LEAST_M",
    "check_near",
    "check_skin",
    "drawing_problems",
    "idle_options",
    "sheet_named",
]


def sheet_named(name: str) -> str | None:
    """Return the name of a sheet as it is written, whatever letters are capital; or None."""
    from routing.show.sheets.style import SHEETS_IN

    return {one.lower(): one for one in SHEETS_IN}.get(name.lower())


def drawing_problems(views: Sequence[str], sheet: str | None = None) -> list[Problem]:
    """Return what is wrong with the views and the sheet that are asked for."""
    from routing.show.sheets.style import SHEETS_IN
    from structures.views import VIEWS

    problems = [
        Problem(
            place="option --view",
            message=f"there is no view {view!r}",
            remedy=f"the views are {', '.join(VIEWS)}",
        )
        for view in dict.fromkeys(views)
        if view not in VIEWS
    ]
    twice = sorted({view for view in views if views.count(view) > 1})
    if twice:
        problems.append(
            Problem(
                place="option --view",
                message=f"{', '.join(twice)} is asked for more than once",
                remedy="name one or more views, each once",
            )
        )
    if sheet is not None and sheet_named(sheet) is None:
        problems.append(
            Problem(
                place="option --sheet",
                message=f"there is no sheet {sheet!r}",
                remedy=f"the sheets are {', '.join(SHEETS_IN)}",
            )
        )
    return problems


_NO_SENSE_TOGETHER: Final = (
    ("--around", "--near", "both say what part is shown"),
    ("--around", "--skin", "a skin is drawn whole"),
    ("--near", "--skin", "a skin is drawn whole"),
    ("--view", "--skin", "a skin is drawn in no view"),
)
_OF_A_ROUTE: Final = ("--around", "--person", "--carry")


def idle_options(given: Collection[str], *, routes: bool) -> list[Problem]:
    """Return which options of a map would change nothing, or contradict each other.

    Parameters
    ----------
    given
        Names of the options that were given.
    routes
        Whether a route is drawn.
    """
    problems = [
        Problem(place=f"option {one}", message=why, remedy=f"leave one of {one} and {other} out")
        for one, other, why in _NO_SENSE_TOGETHER
        if one in given and other in given
    ]
    problems.extend(
        Problem(
            place=f"option {one}",
            message="there is no route on this map",
            remedy="add --route FROM TO, or leave it out",
        )
        for one in _OF_A_ROUTE
        if one in given and not routes
    )
    if "--within" in given and "--near" not in given:
        problems.append(
            Problem(
                place="option --within",
                message="there is nothing that it is from",
                remedy="add --near ID, or leave it out",
            )
        )
    return problems


LEAST_M: Final = 0.1
FARTHEST_M: Final = 100.0
"""A map goes so far beyond the elements it is drawn round, at least and at most [m]."""


def check_near(
    ids: Sequence[str], within_m: float, structure: Structure, problems: list[Problem]
) -> None:
    """Check that all elements round which to draw are there and have a place."""
    from routing.show.maps.regions import placed_ids

    known = placed_ids(structure)
    problems.extend(
        Problem(
            place="option --near",
            message=f"nothing that has a place has the id {one!r}",
            remedy=what_is_near(one, known),
        )
        for one in dict.fromkeys(ids)
        if one not in known
    )
    if not LEAST_M <= within_m <= FARTHEST_M:
        problems.append(
            Problem(
                place="option --within",
                message=f"{within_m:g} m",
                remedy=f"give {LEAST_M:g} to {FARTHEST_M:g} m",
            )
        )


def check_skin(skin: str, structure: Structure, problems: list[Problem]) -> None:
    """Check that the structure has a cylinder or box of this id, whose skin can be drawn."""
    solid = next((one for one in structure.solids if one.id == skin), None)
    if solid is None:
        round_ones = [one.id for one in structure.solids if isinstance(one.volume, Cylinder | Box)]
        message, remedy = f"no solid has the id {skin!r}", what_is_near(skin, round_ones)
    elif not isinstance(solid.volume, Cylinder | Box):
        message = f"solid {skin!r} is a {solid.volume.shape}"
        remedy = "cylinders have a skin to unroll, boxes have faces; draw others in views"
    else:
        return
    problems.append(Problem(place="option --skin", message=message, remedy=remedy))
