"""The picture of places for a bag near a worksite."""

from typing import TYPE_CHECKING

from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.maps.additions import Additions, MapMark
from routing.show.pictures.around import draw_around
from routing.show.sheets.inputs import DrawingError
from routing.worksites.bags.near_worksite import BagAnswer
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["draw_bags"]

_AROUND_M = 1.5


def draw_bags(
    structure: Structure, found: BagAnswer, situation: Situation, inputs: tuple[InputDigest, ...]
) -> "Figure":
    """Draw the region around the places found, in three views.

    Raises
    ------
    DrawingError
        There is no place to draw.
    """
    if not found.places:
        raise DrawingError(
            f"there is no place for {found.item} at {found.worksite}, so there is no picture; "
            "leave out --picture to read why"
        )
    marks = tuple(
        MapMark(
            look="bag" if rank == 1 else "other bag",
            position_m=place.place_m,
            label=f"{rank}: {place.handrail} at {place.along_m:.2f} m",
        )
        for rank, place in enumerate(found.places, start=1)
    )
    additions = Additions(marks=marks)
    subject = f"places for {found.item} at {found.worksite}"
    asked = (situation, inputs)
    return draw_around(structure, additions, asked, subject=subject, margin_m=_AROUND_M)
