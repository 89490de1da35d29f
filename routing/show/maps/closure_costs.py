"""The closure map: handrails and points by what their loss costs, the worst of them named."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.drawing import Drawing
from routing.show.maps.maps import MapContent, MapSheet, chosen_views, compose_views, points_to_hold
from routing.show.maps.projection import FlatProjection
from routing.show.maps.rails_points import handrails_near, point_elements
from routing.show.sheets.inputs import DrawingError, MapFacts
from routing.show.sheets.legend import Entry, legend_entries
from routing.show.sheets.lettering import drawable
from routing.show.sheets.page import Ink
from routing.show.sheets.style import DEFAULT_STYLE, INK, MapStyle
from routing.studies.closures.ranking import Critical
from structures.frozen import frozen
from structures.model import Structure
from structures.polylines import Polyline
from structures.views import View

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "ClosureCost",
    "band_of",
    "closure_costs",
    "compose_closure_costs",
    "draw_closure_costs",
]

Floats = NDArray[np.float64]


@frozen(kw_only=True)
class ClosureCost:
    """What the loss of one element costs.

    Parameters
    ----------
    element
        Id of a handrail, handhold, tether point or socket.
    cuts_off
        Goals that have no safe way left.
    itself
        Goals that are lost because they are on the element itself.
    late
        Goals with a safe way that it puts over the emergency limit on the time home, be it for
        who goes out after it or for who is there when it closes.
    most_extra_s
        The most time that it costs on the way to any goal that is left [s].
    """

    element: str
    cuts_off: int = 0
    itself: int = 0
    late: int = 0
    most_extra_s: float = 0.0


@frozen()
class _Band:
    """How elements of one band are drawn, the dearer the wider and darker."""

    name: str
    least_s: float
    width_pt: float
    colour: str
    text: str
    rungs: tuple[float, float] | None = None
    """On and off lengths of rungs across it, in its widths: told from the others in grey too."""


_CUTS_OFF: Final = _Band(
    "cuts-off", 0.0, 7.0, "#d55e00", "lost: a goal has NO SAFE WAY left", (0.2, 0.45)
)
_ITSELF: Final = _Band("itself", 0.0, 4.2, "#e69f00", "lost: a goal is GONE with it", (0.3, 0.9))
_LATE: Final = _Band("late", 0.0, 6.0, "#cc79a7", "lost: TOO LATE HOME from a goal", (0.7, 1.1))
_SLOWER: Final = (
    _Band("far", 300.0, 6.0, "#0b3d66", "lost: a goal is more than 5 min later"),
    _Band("later", 60.0, 4.8, "#2f86b8", "lost: a goal is 1 to 5 min later"),
    _Band("little", 1e-9, 3.6, "#86c3e3", "lost: a goal is less than 1 min later"),
)
"""The first whose least time is not above the cost; common practice in minutes, no source."""
_NOTHING: Final = _Band("nothing", 0.0, 0.0, INK["line"], "lost: no goal is later")
_BANDS: Final = (_CUTS_OFF, _LATE, _ITSELF, *_SLOWER, _NOTHING)
_COSTING: Final = (
    (_CUTS_OFF, "in force they cut goals off", "they cut goals off"),
    (_LATE, "in force it is TOO LATE HOME", "without them it is TOO LATE HOME"),
    (_ITSELF, "in force a goal is GONE with them", "a goal is GONE with them"),
)
"""What is said of those that a map cannot show: conditions, and what no view has in front."""

_Look: TypeAlias = tuple[str, float, tuple[float, float] | None, float]
"""Colour, width [pt], dash [widths] and zorder."""

_NAMED: Final = frozenset({"hatch", "worksite", "module", "zone", "closed"})
"""Kinds of labels that stay; of handrails those are named whose loss costs most."""
_MOST_NAMED: Final = 8
"""So many elements that cut nothing off have the time written that they cost."""
_MOST_LISTED: Final = 6
_LONGEST_ID: Final = 24
_MARK_PT: Final = 9.0
_SHARES: Final = (0.5, 0.25, 0.75)


def closure_costs(critical: Iterable[Critical]) -> tuple[ClosureCost, ...]:
    """Return what single closures cost, by id: what `compose_closure_costs` draws.

    Closures of two elements are left out, since neither of them costs that alone.
    """
    found = [
        ClosureCost(
            element=one.closure[0],
            cuts_off=one.cuts_off,
            itself=len(one.itself),
            late=len(one.late) + len(one.only_caught),
            most_extra_s=one.most_extra_s,
        )
        for one in critical
        if len(one.closure) == 1
    ]
    return tuple(sorted(found, key=lambda one: one.element))


def band_of(cost: ClosureCost) -> str:
    """Return the name of the band that a cost is drawn in."""
    return _band(cost).name


def draw_closure_costs(
    structure: Structure,
    costs: Sequence[ClosureCost],
    *,
    views: tuple[str, ...] = ("plan", "nadir"),
    facts: MapFacts,
    every: bool = True,
    style: MapStyle = DEFAULT_STYLE,
) -> "Figure":
    """Draw what the loss of each element costs; parameters as `compose_closure_costs`."""
    return compose_closure_costs(
        structure, costs, views=views, facts=facts, every=every, style=style
    ).figure


def compose_closure_costs(
    structure: Structure,
    costs: Sequence[ClosureCost],
    *,
    views: tuple[str, ...] = ("plan", "nadir"),
    facts: MapFacts,
    every: bool = True,
    style: MapStyle = DEFAULT_STYLE,
) -> MapSheet:
    """Draw the map and return it with its label boxes.

    Parameters
    ----------
    structure
        What the elements are of.
    costs
        See `closure_costs`; what is not placed (a condition) is told in the legend.
    views
        Names of views; see `structures.views.VIEWS`.
    facts
        What the title block says.
    every
        Whether every element was closed; if not, the legend says that the loss of those
        without colour may not have been looked at.
    style
        Sizes.

    Raises
    ------
    DrawingError
        There is no handrail and no point to draw, a cost is of nothing in the structure, or
        a view is unknown or named twice.
    """
    chosen = chosen_views(views)
    unknown = sorted({one.element for one in costs} - {*structure.by_id})
    if unknown:
        raise DrawingError(f"costs of {', '.join(unknown)}, which the structure does not have")
    cost_of = {one.element: one for one in costs}
    points = points_to_hold(structure, (), None)
    facts = replace(facts, subject=facts.subject or "what the loss of each element costs")
    entries = (
        *_entries(structure, costs, _hidden(structure, costs, chosen), every=every),
        *legend_entries(structure, (), facts, style),
    )
    content = MapContent(structure=structure, points_m=points, entries=entries, facts=facts)
    named = _named(costs)

    def paint(drawing: Drawing) -> None:
        drawing.labels = [label for label in drawing.labels if label.kind in _NAMED]
        _paint_handrails(drawing, cost_of, named)
        _paint_points(drawing, cost_of, named)

    return compose_views(chosen, content, style, paint)


def _band(cost: ClosureCost) -> _Band:
    if cost.cuts_off:
        return _CUTS_OFF
    if cost.late:
        return _LATE
    if cost.itself:
        return _ITSELF
    return next((band for band in _SLOWER if cost.most_extra_s >= band.least_s), _NOTHING)


def _costs_goals(cost: ClosureCost) -> bool:
    return bool(cost.cuts_off or cost.itself or cost.late)


def _named(costs: Iterable[ClosureCost]) -> dict[str, str]:
    """Return what is written beside elements: all that cut off, and the dearest of the others.

    Of those with which goals are gone, and of those that make them late home, as many as of
    those that cost time, the most goals first.
    """
    dear = sorted(costs, key=lambda one: (-one.cuts_off, -one.most_extra_s, one.element))
    cutting = [one for one in dear if one.cuts_off]
    others = [one for one in dear if not one.cuts_off and one.most_extra_s > 0]
    gone = sorted((one for one in dear if _band(one) is _ITSELF), key=lambda one: -one.itself)
    late = sorted((one for one in dear if _band(one) is _LATE), key=lambda one: -one.late)
    others = [one for one in others if not one.itself and not one.late]
    return {
        **{one.element: f"{one.element} cuts off {one.cuts_off}" for one in cutting},
        **{one.element: f"{one.element} GONE {one.itself}" for one in gone[:_MOST_NAMED]},
        **{one.element: f"{one.element} LATE {one.late}" for one in late[:_MOST_NAMED]},
        **{one.element: f"{one.element} +{one.most_extra_s:.0f} s" for one in others[:_MOST_NAMED]},
    }


def _paint_handrails(
    drawing: Drawing, cost_of: dict[str, ClosureCost], named: dict[str, str]
) -> None:
    from matplotlib.collections import LineCollection

    rails = [
        rail
        for rail in sorted(drawing.structure.handrails, key=lambda one: one.id)
        if rail.id in cost_of and drawing.projection.holds(np.array(rail.points_m))
    ]
    paths: dict[tuple[str, bool], list[Floats]] = {}
    for rail, in_view in zip(rails, handrails_near(drawing.projection, rails), strict=True):
        key = (_band(cost_of[rail.id]).name, in_view)
        paths.setdefault(key, []).extend(drawing.projection.pieces(np.array(rail.points_m)))
        if in_view and rail.id in named:
            line = Polyline.through(rail.points_m)
            anchors = line.points_at(np.array(_SHARES) * line.length_m)
            _name(drawing, named[rail.id], anchors)
    for order, band in enumerate(reversed(_BANDS)):
        for in_view in (False, True):
            here = paths.get((band.name, in_view), [])
            if not here or not band.width_pt:
                continue
            width = band.width_pt if in_view else 0.5 * band.width_pt
            layer = (3.1 if in_view else 1.4) + 0.01 * order
            looks: list[_Look] = [(band.colour, width, None, layer)]
            if band.rungs is not None:
                looks.append((INK["line"], width, band.rungs, layer + 0.005))
            for colour, line_pt, dash, zorder in looks:
                lines = LineCollection(
                    here, colors=colour, linewidths=line_pt, linestyles=[(0.0, dash)],
                    capstyle="butt", alpha=1.0 if in_view else 0.5, zorder=zorder,
                )  # fmt: skip
                kind = "rungs" if dash else "near" if in_view else "far"
                lines.set_gid(f"{drawing.name}.loss.{band.name}.{kind}")
                drawing.axes.add_collection(lines, autolim=False)
            if in_view:
                drawing.take_paths(here, band.width_pt, Ink.LINE)


def _paint_points(drawing: Drawing, cost_of: dict[str, ClosureCost], named: dict[str, str]) -> None:
    """Draw a square round points whose loss costs something."""
    points = [
        one
        for one in point_elements(drawing.structure)
        if one.id in cost_of and drawing.projection.holds(np.array([one.position_m]))
    ]
    if not points:
        return
    places = np.array([one.position_m for one in points])
    near = drawing.projection.near(places, np.array([one.normal for one in points]))
    flat = drawing.projection.place(places)
    for band in reversed(_BANDS):
        here = [i for i in range(len(points)) if near[i] and _band(cost_of[points[i].id]) is band]
        if not here or not band.width_pt:
            continue
        drawing.axes.plot(
            *flat[here].T, linestyle="none", marker="s", markersize=_MARK_PT,
            markerfacecolor="none", markeredgecolor=band.colour,
            markeredgewidth=0.35 * band.width_pt, zorder=3.3, scalex=False, scaley=False,
            gid=f"{drawing.name}.loss.{band.name}.points",
        )  # fmt: skip
        drawing.take_marks(flat[here], _MARK_PT)
    for i, one in enumerate(points):
        if near[i] and one.id in named:
            _name(drawing, named[one.id], np.array([one.position_m]))


def _name(drawing: Drawing, text: str, places_m: Floats) -> None:
    drawing.add_label(
        "change",
        text,
        drawing.projection.place(places_m),
        gaps_pt=(5.0, 9.0, 13.0),
        leader_pt=96.0,
    )


def _hidden(
    structure: Structure, costs: Iterable[ClosureCost], views: Iterable[View]
) -> tuple[str, ...]:
    """Return what costs goals and is in view in none of the views, by id."""
    cutting = {one.element for one in costs if _costs_goals(one)}
    rails = [rail for rail in structure.handrails if rail.id in cutting]
    points = [one for one in point_elements(structure) if one.id in cutting]
    places = np.array([one.position_m for one in points]).reshape(-1, 3)
    normals = np.array([one.normal for one in points]).reshape(-1, 3)
    ids = [*(rail.id for rail in rails), *(one.id for one in points)]
    seen: set[str] = set()
    for view in views:
        projection = FlatProjection(view, structure.solids, None)
        near = [*handrails_near(projection, rails), *projection.near(places, normals)]
        seen.update(one for one, is_near in zip(ids, near, strict=True) if is_near)
    return tuple(sorted({*ids} - seen))


def _entries(
    structure: Structure, costs: Sequence[ClosureCost], hidden: Sequence[str], *, every: bool
) -> list[Entry]:
    """Return the legend of the bands there are, and what the map cannot show."""
    count = Counter(_band(one).name for one in costs)
    entries = [
        Entry(_swatch(band), f"{band.text} ({count[band.name]})")
        for band in _BANDS
        if count[band.name] and band.width_pt
    ]
    points = {one.id for one in point_elements(structure)}
    if any(one.element in points and _band(one).width_pt for one in costs):
        entries.append(Entry(_square, "the same of a point"))
    placed = points | {rail.id for rail in structure.handrails}
    band_at = {one.element: _band(one) for one in costs}
    nowhere = sorted(one.element for one in costs if _costs_goals(one))
    nowhere = [one for one in nowhere if one not in placed]
    lists = [(what, [one for one in nowhere if band_at[one] is band]) for band, what, _ in _COSTING]
    lists += [
        (f"{what}, behind in every view here", [one for one in hidden if band_at[one] is band])
        for band, _, what in _COSTING
    ]
    for what, ids in lists:
        if ids:
            more = f" and {len(ids) - _MOST_LISTED} more" if len(ids) > _MOST_LISTED else ""
            shown = ", ".join(drawable(one, _LONGEST_ID) for one in ids[:_MOST_LISTED])
            entries.append(Entry(_blank, f"{what}: {shown}{more}"))
    plain = "no goal is later" if every else "no goal is later, or it was NOT LOOKED AT"
    entries.append(Entry(_blank, f"loss of those without colour: {plain}"))
    return entries


def _swatch(band: _Band) -> Callable[["Axes", float, float], None]:
    def draw(axes: "Axes", x: float, y: float) -> None:
        looks: list[_Look] = [(band.colour, band.width_pt, None, 1.0)]
        if band.rungs is not None:
            looks.append((INK["line"], band.width_pt, band.rungs, 1.1))
        looks.append((INK["line"], 1.5, None, 1.2))
        for colour, width, dash, zorder in looks:
            axes.plot(
                [x - 13.0, x + 13.0], [y, y], color=colour, linewidth=width,
                linestyle=(0.0, dash), dash_capstyle="butt", solid_capstyle="butt",
                zorder=zorder, scalex=False, scaley=False,
            )  # fmt: skip

    return draw


def _square(axes: "Axes", x: float, y: float) -> None:
    axes.plot(
        [x], [y], linestyle="none", marker="s", markersize=_MARK_PT, markerfacecolor="none",
        markeredgecolor=INK["line"], markeredgewidth=1.5, scalex=False, scaley=False,
    )  # fmt: skip


def _blank(axes: "Axes", x: float, y: float) -> None:
    """Draw nothing: the text says it all."""
    del axes, x, y
