"""From where a face is seen, as a table with one row a vantage point of each list."""

from typing import Final

from routing.worksites.sight.records import FaceSight, Vantage
from structures.files.tables import table_text

__all__ = ["sight_csv"]

_LISTS: Final = ("cover", "whole", "best")
"""The fewest that see all that can be seen; those that see all; those that see most."""


def sight_csv(found: FaceSight) -> str:
    """Return the table as CSV text; see `structures.files.tables` for texts in it.

    A face that is seen from nowhere has one row, with its verdict and reason.
    """
    head = found.face, found.camera, found.start, found.verdict, found.reason
    columns = ("face", "camera", "start", "verdict", "reason", "list")
    places = [name for name in Vantage.field_names() if name != "camera_m"]
    rows = [
        (*head, name, *[getattr(one, place) for place in places], *one.camera_m)
        for name in _LISTS
        for one in getattr(found, name)
    ]
    nothing = (*head, *[None] * (len(places) + 4))
    return table_text((*columns, *places, "x_m", "y_m", "z_m"), rows or [nothing])
