"""Before and after: two revisions side by side to one scale, what changed marked on both."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.drawing import Drawing, PanelResult, finish
from routing.show.maps.frame_arrows import draw_view_header
from routing.show.maps.maps import (
    MapSheet,
    chosen_views,
    draw_region,
    extent_of,
    points_to_hold,
    region_notes,
)
from routing.show.maps.projection import FlatProjection
from routing.show.maps.rails_points import draw_handrails, draw_points, point_elements
from routing.show.maps.solids_zones import draw_solids, draw_zones
from routing.show.sheets.axes import blank_sheet, panel_axes
from routing.show.sheets.inputs import MapFacts, Region
from routing.show.sheets.legend import Entry, legend_entries
from routing.show.sheets.lettering import drawable
from routing.show.sheets.page import Ink
from routing.show.sheets.sheet import lay_out
from routing.show.sheets.style import DEFAULT_STYLE, INK, MapStyle
from routing.show.sheets.title_block import draw_foot, foot_height_pt, foot_of
from structures.comparison import Comparison
from structures.elements import Handrail, Solid, Zone
from structures.model import Structure
from structures.shapes import Shape
from structures.solids.distance import bounding_box
from structures.views import View, silhouette
from structures.zones import zone_shape

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["Mark", "Revision", "compose_before_after", "draw_before_after", "marks_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """One of the two structures, and what the title block says of it."""

    structure: Structure
    facts: MapFacts


@dataclass(frozen=True, slots=True)
class _Look:
    """How one kind of change is marked: sign before the id, band colour, and dash of its rim."""

    sign: str
    colour: str
    dash: tuple[float, ...]
    text: str


_LOOKS: Final[dict[str, _Look]] = {
    "removed": _Look("\u2212", "#e8b7cf", (1.2, 1.6), "removed (before only)"),
    "added": _Look("+", "#f5ec8a", (), "added (after only)"),
    "moved": _Look("\u2192", "#9fd3f2", (5.0, 2.0), "moved: where it was, where it is, how far"),
    "changed": _Look("~", "#d3d7da", (9.0, 1.5, 1.5, 1.5), "changed in place"),
}
"""Told apart by sign and rim in grey as by colour; the band lies under what it marks."""

_BAND_PT: Final = 6.5
_RIM_PT: Final = 7.9
_AROUND_M: Final = 2.0
"""Margin of the region around what changed [m]."""
_SHORTEST_ARROW_PT: Final = 7.0
"""A shift drawn shorter than this is told by its label only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """An element to mark in one revision: how, where and with which words."""

    look: str
    id: str
    label: str
    line_m: tuple[tuple[float, float, float], ...] = ()
    """The handrail, or one point, shape (k, 3) [m]."""
    volume: Solid | Zone | None = None
    was_m: tuple[tuple[float, float, float], ...] = ()
    """Where a moved one was, as many points as ``line_m`` [m]."""


def draw_before_after(
    old: Revision,
    new: Revision,
    elements: Comparison,
    *,
    views: tuple[str, ...] = ("plan",),
    around: bool = False,
    style: MapStyle = DEFAULT_STYLE,
) -> "Figure":
    """Draw two revisions side by side in each view, to one scale and of one extent.

    Parameters
    ----------
    old, new
        The revisions.
    elements
        What changed from one to the other.
    views
        Names of views; see `structures.views.VIEWS`.
    around
        Whether only the region around what changed is shown, if anything did.
    style
        Sizes.

    Raises
    ------
    DrawingError
        A view is unknown or named twice, or there is nothing to draw.
    """
    return compose_before_after(old, new, elements, views=views, around=around, style=style).figure


def compose_before_after(
    old: Revision,
    new: Revision,
    elements: Comparison,
    *,
    views: tuple[str, ...] = ("plan",),
    around: bool = False,
    style: MapStyle = DEFAULT_STYLE,
) -> MapSheet:
    """Draw before and after, and return them with their label boxes."""
    chosen = chosen_views(views)
    marks = {"before": marks_of(old, elements, None), "after": marks_of(new, elements, old)}
    every = [mark for one in marks.values() for mark in one]
    region = _region(every) if around and every else None
    points = np.vstack([points_to_hold(one.structure, (), region) for one in (old, new)])
    facts = _facts(old, new, elements, every)
    shown = {mark.look for mark in every}
    entries = (
        *(Entry(_swatch(look), look.text) for name, look in _LOOKS.items() if name in shown),
        *legend_entries(new.structure, (), facts, style),
    )
    foot = foot_of(new.structure, facts, entries, style)
    foot_pt = foot_height_pt(foot, style)
    width, height = style.sheet_pt
    scale, panels = lay_out(
        [extent_of(view.project(points)) for view in chosen for _ in marks],
        (width, height - foot_pt - 6.0),
        foot_pt,
        alike=True,
    )
    figure, sheet = blank_sheet(style)
    results = []
    sides = [(view, word) for view in chosen for word in marks]
    for (view, word), panel in zip(sides, panels, strict=True):
        revision = old if word == "before" else new
        drawing = Drawing(
            f"{view.name}.{word}",
            panel_axes(figure, panel, style),
            panel,
            FlatProjection(view, revision.structure.solids, region),
            revision.structure,
            (),
            revision.facts,
            style,
        )
        draw_region(drawing, region)
        result = _draw_side(drawing, view, marks[word])
        results.append(result)
        note = f"{word.upper()}: revision {drawable(revision.structure.revision, 40)}"
        notes = (note, *region_notes(region), *result.notes)
        draw_view_header(sheet, panel, view, notes, style)
    draw_foot(sheet, foot, style, (scale, panels[0].points_per_m))
    return MapSheet(figure, tuple(results), scale)


def _facts(old: Revision, new: Revision, elements: Comparison, marks: Iterable[Mark]) -> MapFacts:
    """Return the facts of the new revision, with what was compared as their subject."""
    marked = {mark.id for mark in marks}
    changes = [one.id for one in (*elements.added, *elements.removed)]
    changes += [one.id for one in elements.changed]
    unplaced = sum(one not in marked for one in changes)
    subject = (
        f"Revision {old.structure.revision} to {new.structure.revision}: "
        f"{len(elements.added)} added, {len(elements.removed)} removed, "
        f"{len(elements.changed)} changed"
    )
    if unplaced:
        subject += f"; {unplaced} without a place of their own are not drawn"
    return replace(new.facts, subject=subject, before=old.facts.inputs)


def marks_of(revision: Revision, elements: Comparison, old: Revision | None) -> tuple[Mark, ...]:
    """Return what to mark in a revision; what has no place (people, items) has no mark.

    Parameters
    ----------
    revision
        The one to be marked.
    elements
        What changed.
    old
        The revision before, if ``revision`` is the one after.
    """
    structure = revision.structure
    once = elements.removed if old is None else elements.added
    look = "removed" if old is None else "added"
    found = [_mark(structure, one.id, look, f"{_LOOKS[look].sign} {one.id}") for one in once]
    for change in elements.changed:
        moved = change.moved_m > 0
        look = "moved" if moved else "changed"
        label = f"{_LOOKS[look].sign} {change.id}" + (f" {change.moved_m:.2f} m" if moved else "")
        mark = _mark(structure, change.id, look, label)
        if mark is not None and moved and old is not None:
            before = _mark(old.structure, change.id, look, label)
            if before is not None and len(before.line_m) == len(mark.line_m):
                mark = replace(mark, was_m=before.line_m)
        found.append(mark)
    return tuple(mark for mark in found if mark is not None)


def _mark(structure: Structure, element_id: str, look: str, label: str) -> Mark | None:
    element = structure.by_id.get(element_id)
    if isinstance(element, Handrail):
        return Mark(look=look, id=element_id, label=label, line_m=element.points_m)
    if isinstance(element, Solid | Zone):
        return Mark(look=look, id=element_id, label=label, volume=element)
    place = {one.id: one.position_m for one in point_elements(structure)}.get(element_id)
    if place is None:
        return None
    return Mark(look=look, id=element_id, label=label, line_m=(place,))


def _region(marks: Iterable[Mark]) -> Region:
    """Return the box round all that is marked, and a margin."""
    points = [
        point
        for mark in marks
        for point in (
            mark.line_m
            if mark.volume is None
            else np.array(bounding_box(_shape_of(mark.volume))).tolist()
        )
    ]
    low, high = np.min(points, axis=0) - _AROUND_M, np.max(points, axis=0) + _AROUND_M
    return Region(low_m=tuple(low.tolist()), high_m=tuple(high.tolist()))


def _shape_of(volume: Solid | Zone) -> Shape:
    return zone_shape(volume) if isinstance(volume, Zone) else volume.volume


def _draw_side(drawing: Drawing, view: View, marks: tuple[Mark, ...]) -> PanelResult:
    draw_solids(drawing, view)
    draw_zones(drawing, view)
    draw_handrails(drawing)
    draw_points(drawing)
    # A marked element is named by its mark, with the sign; its plain label would be one too many.
    named = {mark.id for mark in marks}
    drawing.labels = [label for label in drawing.labels if label.text not in named]
    for mark in marks:
        _draw_mark(drawing, view, mark)
    return finish(drawing)


def _draw_mark(drawing: Drawing, view: View, mark: Mark) -> None:
    if mark.volume is not None:
        _draw_volume(drawing, view, mark, mark.volume)
        return
    flat = drawing.projection.place(np.array(mark.line_m))
    _draw_band(drawing, mark, flat)
    anchors = flat.mean(axis=0)[None] if len(flat) > 1 else flat
    if mark.was_m:
        was = drawing.projection.place(np.array(mark.was_m))
        _draw_shift(drawing, was, flat)
    drawing.add_label("change", mark.label, anchors, gaps_pt=(5.0, 8.0, 11.0), leader_pt=96.0)


def _draw_band(drawing: Drawing, mark: Mark, flat: Floats) -> None:
    """Draw a wide band under a line, or a disc under a point, with a rim."""
    look = _LOOKS[mark.look]
    for width, colour, order in ((_RIM_PT, INK["line"], 1.5), (_BAND_PT, look.colour, 1.55)):
        rim = colour == INK["line"]
        dash = (0.0, look.dash or None) if rim else "-"
        drawing.axes.plot(
            *flat.T,
            linestyle="none" if len(flat) == 1 else dash,
            marker="o" if len(flat) == 1 else "none",
            markersize=width + 5.0,
            markeredgewidth=0.0,
            linewidth=width,
            color=colour,
            dash_capstyle="butt",
            solid_capstyle="butt",
            zorder=order,
            gid=f"{drawing.name}.mark.{mark.look}.{'rim' if rim else 'band'}",
            scalex=False,
            scaley=False,
        )
    if len(flat) == 1:
        drawing.take_marks(flat, _RIM_PT + 3.0)


def _draw_shift(drawing: Drawing, was: Floats, now: Floats) -> None:
    """Draw where a moved element was, and arrows from there to where it is."""
    scale = drawing.panel.points_per_m
    straight = float(np.hypot(*(now - was).T).max())
    turned = float(np.hypot(*(now - was[::-1]).T).max())
    was = was[::-1] if turned < straight else was
    if min(straight, turned) * scale < _SHORTEST_ARROW_PT:
        return
    gid = f"{drawing.name}.was"
    if len(was) > 1:
        drawing.axes.plot(
            *was.T, color=INK["far"], linewidth=1.1, linestyle=(0.0, (1.0, 1.4)), zorder=3.1,
            gid=gid, scalex=False, scaley=False,
        )  # fmt: skip
    for tail, head in zip(was, now, strict=True):
        if float(np.hypot(*(head - tail))) * scale >= _SHORTEST_ARROW_PT:
            drawing.axes.annotate(
                "", tuple(head), tuple(tail),
                arrowprops={"arrowstyle": "-|>,head_width=0.14,head_length=0.3", "linewidth": 0.7,
                            "color": INK["line"], "shrinkA": 0, "shrinkB": 0},
                zorder=3.3, gid=f"{drawing.name}.shift",
            )  # fmt: skip
            drawing.take_paths([np.array([tail, head])], 0.9, Ink.LINE)


def _draw_volume(drawing: Drawing, view: View, mark: Mark, volume: Solid | Zone) -> None:
    """Draw a band along the outline of a solid or zone."""
    import shapely

    outline = silhouette(_shape_of(volume), view)
    rings = shapely.get_parts(shapely.boundary(np.array([outline], dtype=object)))
    for ring in rings:
        _draw_band(drawing, mark, shapely.get_coordinates(ring))
    spots = shapely.get_coordinates(outline)
    top = spots[np.lexsort((spots[:, 0], -spots[:, 1]))[:1]]
    drawing.add_label("change", mark.label, top, gaps_pt=(5.0, 8.0, 11.0), leader_pt=96.0)


def _swatch(look: _Look) -> Callable[["Axes", float, float], None]:
    def draw(axes: "Axes", x: float, y: float) -> None:
        ends = [x - 11.0, x + 7.0]
        for width, colour, dash in (
            (_RIM_PT, INK["line"], (0.0, look.dash or None)),
            (_BAND_PT, look.colour, "-"),
        ):
            axes.plot(
                ends, [y, y], color=colour, linewidth=width, linestyle=dash,
                dash_capstyle="butt", solid_capstyle="butt", scalex=False, scaley=False,
            )  # fmt: skip
        axes.text(
            x + 11.5, y, look.sign, ha="center", va="center", size=7.0, color=INK["line"],
            weight="bold", family="DejaVu Sans", gid="legend.sign",
        )  # fmt: skip

    return draw
