"""Empty sheets: a figure, axes in points over all of it, and axes in metres over each panel."""

from typing import TYPE_CHECKING

from routing.show.sheets.sheet import Panel
from routing.show.sheets.style import MapStyle

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["blank_sheet", "panel_axes"]


def blank_sheet(style: MapStyle) -> tuple["Figure", "Axes"]:
    """Return a figure of the sheet's size, and axes over all of it whose unit is the point."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=style.sheet_in, facecolor="white")
    sheet = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    sheet.set_axis_off()
    sheet.set_xlim(0.0, style.sheet_pt[0])
    sheet.set_ylim(0.0, style.sheet_pt[1])
    return figure, sheet


def panel_axes(figure: "Figure", panel: Panel, style: MapStyle) -> "Axes":
    """Return axes over a panel whose unit is the metre, at the panel's scale."""
    width, height = style.sheet_pt
    axes = figure.add_axes(
        (
            panel.left_pt / width,
            panel.bottom_pt / height,
            panel.width_pt / width,
            panel.height_pt / height,
        )
    )
    axes.set_axis_off()
    left, bottom, right, top = panel.extent_m
    axes.set_xlim(left, right)
    axes.set_ylim(bottom, top)
    return axes
