"""Squares of a panel, as on a paper map: rows have letters, columns numbers.

What has no room for its name on a drawing has a square in which it lies.
"""

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from routing.show.sheets.leaders import Label
from routing.show.sheets.page import Box, Spot
from routing.show.sheets.sheet import Panel
from routing.show.sheets.style import INK

if TYPE_CHECKING:
    from routing.show.maps.drawing import Drawing

__all__ = ["SQUARE_NAME", "Squares", "draw_squares", "names_at_the_edges", "squares_over"]

SQUARE_NAME: Final = "square name"
"""Kind of the labels at the edges of a panel."""

_ROWS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""No letter that looks like a digit."""
_LEAST_PT: Final = 30.0
_STEPS: Final = tuple(step * 10.0**power for power in range(-2, 6) for step in (1.0, 2.0, 5.0))
_EDGE_PT: Final = 3.0
"""Between the edge of a panel and the names along it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Squares:
    """The squares of a panel; their sides lie on whole multiples of their length.

    Parameters
    ----------
    panel
        The panel.
    step_m
        Length of a side [m].
    """

    panel: Panel
    step_m: float

    @property
    def first(self) -> tuple[int, int]:
        """Which multiple of a side the first column begins at, and the first row ends at."""
        left, _, _, top = self.panel.extent_m
        return math.floor(left / self.step_m), math.ceil(top / self.step_m)

    @property
    def counts(self) -> tuple[int, int]:
        """How many columns and rows there are, parts of squares at the edges included."""
        _, bottom, right, _ = self.panel.extent_m
        column, row = self.first
        return math.ceil(right / self.step_m) - column, row - math.floor(bottom / self.step_m)

    def name_at(self, spot_pt: Spot) -> str:
        """Return the name of the square that a place of the panel lies in."""
        x_m, y_m = self.panel.to_flat_m(spot_pt)
        columns, rows = self.counts
        column = math.floor(x_m / self.step_m) - self.first[0]
        row = self.first[1] - math.floor(y_m / self.step_m) - 1
        return f"{_ROWS[min(max(row, 0), rows - 1)]}{min(max(column, 0), columns - 1) + 1}"

    def lines_m(self) -> tuple[list[float], list[float]]:
        """Return where the sides are: across, and up, inside the panel [m]."""
        (column, row), (columns, rows) = self.first, self.counts
        return (
            [(column + i) * self.step_m for i in range(1, columns)],
            [(row - i) * self.step_m for i in range(1, rows)],
        )


def squares_over(panel: Panel) -> Squares:
    """Return the smallest squares of a panel that can be told apart and have a letter a row.

    Raises
    ------
    ValueError
        The panel is too large for a letter a row, whatever the squares.
    """
    least_m = _LEAST_PT / panel.points_per_m
    for step_m in _STEPS:
        squares = Squares(panel=panel, step_m=step_m)
        if step_m >= least_m and squares.counts[1] <= len(_ROWS):
            return squares
    raise ValueError(f"a panel of {panel.extent_m} m has no squares of {_STEPS[-1]:g} m or less")


def names_at_the_edges(drawing: "Drawing", squares: Squares) -> tuple[tuple[Label, Box], ...]:
    """Return the names of rows and columns, at both ends of each where that is free."""
    panel = drawing.panel
    across, up = squares.lines_m()
    left_m, bottom_m = panel.low_m
    lefts = [0.0, *((x - left_m) * panel.points_per_m for x in across), panel.width_pt]
    tops = [panel.height_pt, *((y - bottom_m) * panel.points_per_m for y in up), 0.0]
    found: list[tuple[Label, Box]] = []
    for along, sides in ((0, lefts), (1, tops)):
        for number, (one, two) in enumerate(pairwise(sides)):
            text = _ROWS[number] if along else str(number + 1)
            wide, high, _ = drawing.extent_pt(SQUARE_NAME, text)
            if abs(two - one) < (wide, high)[along]:
                continue  # a sliver of a square
            middle = (one + two) / 2
            far = (panel.width_pt, panel.height_pt)[1 - along] - _EDGE_PT
            for low in (_EDGE_PT, far - (wide, high)[1 - along]):
                corner = (low, middle - high / 2) if along else (middle - wide / 2, low)
                box = (*corner, corner[0] + wide, corner[1] + high)
                if drawing.page.is_free(box, 0xFF) and not any(
                    _meet(box, other) for _, other in found
                ):
                    label = Label(
                        kind=SQUARE_NAME, text=text, width_pt=wide, height_pt=high, anchors=()
                    )
                    found.append((label, box))
    return tuple(found)


def _meet(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def draw_squares(drawing: "Drawing", squares: Squares) -> None:
    """Draw the sides of squares, faint, over the faces of solids and under all else."""
    from matplotlib.collections import LineCollection

    left, bottom, right, top = drawing.panel.extent_m
    across, up = squares.lines_m()
    lines = LineCollection(
        [
            *([(x, bottom), (x, top)] for x in across),
            *([(left, y), (right, y)] for y in up),
        ],
        colors=INK["square"],
        linewidths=0.35,
        zorder=1.06,
    )
    lines.set_gid(f"{drawing.name}.squares")
    drawing.axes.add_collection(lines, autolim=False)
