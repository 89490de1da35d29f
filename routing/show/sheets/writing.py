"""Writing on a sheet outside its panels."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from routing.show.sheets.style import FONT, INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Writing", "write"]


@dataclass(frozen=True, slots=True)
class Writing:
    """How a line is written: size [pt], weight, where its place is, and its group in an SVG."""

    size: float
    weight: str = "normal"
    align: str = "left"
    gid: str = "note"
    layer: float = 3.0
    """What lies on a lower layer is under it."""


def write(axes: "Axes", place: tuple[float, float], text: str, writing: Writing) -> None:
    """Write a line of plain text at a place on the sheet's own axes [pt]."""
    from matplotlib.font_manager import FontProperties

    axes.text(
        place[0],
        place[1],
        text,
        fontproperties=FontProperties(family=FONT, size=writing.size, weight=writing.weight),
        color=INK["line"],
        ha=writing.align,
        va="baseline",
        parse_math=False,
        usetex=False,
        gid=writing.gid,
        zorder=writing.layer,
    )
