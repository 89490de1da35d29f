"""The map of a structure: views to one true scale on one sheet, with routes on them."""

from collections.abc import Callable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.additions import NOTHING_ADDED, Additions, draw_additions
from routing.show.maps.drawing import Drawing, PanelResult, finish
from routing.show.maps.frame_arrows import draw_view_header
from routing.show.maps.projection import FlatProjection
from routing.show.maps.rails_points import draw_handrails, draw_points, point_elements
from routing.show.maps.routes import draw_route
from routing.show.maps.solids_zones import draw_solids, draw_zones
from routing.show.sheets.axes import blank_sheet, panel_axes
from routing.show.sheets.inputs import DrawingError, MapFacts, MapRoute, Region, refuse_too_many
from routing.show.sheets.legend import Entry, added_entries, legend_entries
from routing.show.sheets.page import Ink
from routing.show.sheets.sheet import Extent, lay_out
from routing.show.sheets.style import DEFAULT_STYLE, INK, MapStyle
from routing.show.sheets.title_block import draw_foot, foot_height_pt, foot_of
from structures.model import Structure
from structures.solids.distance import bounding_box
from structures.views import VIEWS, View
from structures.zones import zone_shape

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = [
    "MapContent",
    "MapSheet",
    "chosen_views",
    "compose_map",
    "compose_views",
    "draw_map",
    "draw_region",
    "extent_of",
    "points_to_hold",
    "region_notes",
]

Floats = NDArray[np.float64]

_NO_FACTS = MapFacts()


@dataclass(frozen=True, slots=True)
class MapSheet:
    """A drawn map and what became of the labels of each panel."""

    figure: "Figure"
    panels: tuple[PanelResult, ...]
    scale: float
    """Denominator: 200 for 1:200."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapContent:
    """What the views of a map have in common.

    Parameters
    ----------
    points_m
        Points whose projections span every panel, shape (n, 3) [m].
    entries
        Of the legend.
    """

    structure: Structure
    points_m: Floats
    entries: tuple[Entry, ...]
    facts: MapFacts
    routes: tuple[MapRoute, ...] = ()
    region: Region | None = None


def draw_map(  # noqa: PLR0913 (what a map shows, part by part, each by name)
    structure: Structure,
    *,
    views: tuple[str, ...] = ("plan", "starboard"),
    routes: tuple[MapRoute, ...] = (),
    facts: MapFacts = _NO_FACTS,
    style: MapStyle = DEFAULT_STYLE,
    region: Region | None = None,
    additions: Additions = NOTHING_ADDED,
) -> "Figure":
    """Draw a map of a structure.

    Parameters
    ----------
    structure
        What is drawn.
    views
        Names of views, the most important first; see `structures.views.VIEWS`.
    routes
        Up to four, drawn in order.
    facts
        What the title block says.
    style
        Sizes.
    region
        What part of space is shown; ``None`` means all of the structure.
    additions
        Lines and marks drawn over it all.

    Returns
    -------
    matplotlib.figure.Figure
        Neither shown nor saved: see `routing.show.sheets.saving.save_figure`.

    Raises
    ------
    DrawingError
        A view is unknown or named twice, there are too many routes, or there is nothing to
        draw.
    UnknownIdError
        A stay or a condition is not in the structure.
    """
    return compose_map(
        structure,
        views=views,
        routes=routes,
        facts=facts,
        style=style,
        region=region,
        additions=additions,
    ).figure


def compose_map(  # noqa: PLR0913 (as `draw_map`)
    structure: Structure,
    *,
    views: tuple[str, ...] = ("plan", "starboard"),
    routes: tuple[MapRoute, ...] = (),
    facts: MapFacts = _NO_FACTS,
    style: MapStyle = DEFAULT_STYLE,
    region: Region | None = None,
    additions: Additions = NOTHING_ADDED,
) -> MapSheet:
    """Draw a map and return it with its label boxes; parameters as in `draw_map`."""
    chosen = chosen_views(views)
    refuse_too_many(routes)
    points = points_to_hold(structure, routes, region)
    entries = (
        *legend_entries(structure, routes, facts, style),
        *added_entries(additions),
    )
    content = MapContent(
        structure=structure,
        points_m=points,
        entries=entries,
        facts=facts,
        routes=routes,
        region=region,
    )

    def paint(drawing: Drawing) -> None:
        for index in range(len(routes)):
            draw_route(drawing, index)
        draw_additions(drawing, additions)

    return compose_views(chosen, content, style, paint)


def compose_views(
    views: tuple[View, ...],
    content: MapContent,
    style: MapStyle,
    paint: Callable[[Drawing], None],
) -> MapSheet:
    """Draw a structure in views to one scale, with ``paint`` putting on each what the map is of."""
    foot = foot_of(content.structure, content.facts, content.entries, style)
    foot_pt = foot_height_pt(foot, style)
    width, height = style.sheet_pt
    scale, panels = lay_out(
        [extent_of(view.project(content.points_m)) for view in views],
        (width, height - foot_pt - 6.0),
        foot_pt,
    )
    figure, sheet = blank_sheet(style)
    results = []
    for view, panel in zip(views, panels, strict=True):
        drawing = Drawing(
            view.name,
            panel_axes(figure, panel, style),
            panel,
            FlatProjection(view, content.structure.solids, content.region),
            content.structure,
            content.routes,
            content.facts,
            style,
        )
        draw_region(drawing, content.region)
        draw_solids(drawing, view)
        draw_zones(drawing, view)
        draw_handrails(drawing)
        draw_points(drawing)
        paint(drawing)
        results.append(finish(drawing))
        notes = (*region_notes(content.region), *results[-1].notes)
        draw_view_header(sheet, panel, view, notes, style)
    draw_foot(sheet, foot, style, (scale, panels[0].points_per_m))
    return MapSheet(figure, tuple(results), scale)


def region_notes(region: Region | None) -> tuple[str, ...]:
    """Say that a map is only of a part, and of which."""
    if region is None:
        return ()
    spans = (
        f"{axis} {low:.1f} to {high:.1f}"
        for axis, low, high in zip("XYZ", region.low_m, region.high_m, strict=True)
    )
    return (f"part only, inside the frame: {', '.join(spans)} m",)


def draw_region(drawing: Drawing, region: Region | None) -> None:
    """Draw where the part that is shown ends: beyond it is no more than what reaches in."""
    from matplotlib.patches import Rectangle

    if region is None:
        return
    corners_m = _corners(np.array(region.low_m), np.array(region.high_m))
    left, bottom, right, top = extent_of(drawing.projection.place(corners_m))
    corners = [(left, bottom), (right, bottom), (right, top), (left, top), (left, bottom)]
    drawing.take_paths([np.array(corners)], 0.5, Ink.EDGE)
    drawing.axes.add_patch(
        Rectangle(
            (left, bottom),
            right - left,
            top - bottom,
            facecolor="none",
            edgecolor=INK["outline"],
            linewidth=0.5,
            linestyle=(0.0, (9.0, 3.0, 1.5, 3.0)),
            zorder=1.05,
            gid=f"{drawing.name}.region",
        )
    )


def chosen_views(names: tuple[str, ...]) -> tuple[View, ...]:
    """Return views by name; an unknown one, none, or one named twice is a `DrawingError`."""
    if not names or len(set(names)) < len(names):
        raise DrawingError(f"views {list(names)}: name one or more views, each once")
    for name in names:
        if name not in VIEWS:
            near = get_close_matches(name, VIEWS, n=1)
            hint = f"did you mean {near[0]!r}?" if near else "choose from these"
            raise DrawingError(f"there is no view {name!r}; {hint} ({', '.join(VIEWS)})")
    return tuple(VIEWS[name] for name in names)


def points_to_hold(
    structure: Structure, routes: tuple[MapRoute, ...], region: Region | None
) -> Floats:
    """Return points (n, 3) whose projections span every panel [m].

    Raises
    ------
    DrawingError
        The structure has nothing to draw, not even a zone.
    """
    if region is not None:
        return _corners(np.array(region.low_m), np.array(region.high_m))
    parts = [_corners(*bounding_box(solid.volume)) for solid in structure.solids]
    parts.extend(np.array(rail.points_m) for rail in structure.handrails)
    parts.extend(np.array([one.position_m]) for one in point_elements(structure))
    parts.extend(np.array(line) for route in routes for line in (route.grips_m, *route.lays_m))
    if not parts:
        parts = [_corners(*bounding_box(zone_shape(zone))) for zone in structure.zones]
    if not parts:
        raise DrawingError(
            f"structure {structure.name!r} has no solids, handrails or other places; "
            "there is nothing to draw"
        )
    return np.vstack(parts)


def _corners(low: Floats, high: Floats) -> Floats:
    return np.array(
        [(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )


def extent_of(flat: Floats) -> Extent:
    """Return what a panel must be as large as to hold sheet coordinates (n, 2) [m]."""
    (left, bottom), (right, top) = flat.min(axis=0), flat.max(axis=0)
    return (float(left), float(bottom), float(right), float(top))
