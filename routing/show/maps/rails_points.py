"""Handrails and the point-like elements: sockets, tether points, worksites, hatches, handholds."""

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.drawing import Drawing
from routing.show.maps.projection import Projection
from routing.show.sheets.page import Ink
from routing.show.sheets.style import INK, MARKERS
from structures.elements import Handrail, Socket, Worksite
from structures.frames import Vector
from structures.model import Structure
from structures.polylines import Polyline, segment_gaps
from structures.zones import closed_by

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

__all__ = [
    "PointElement",
    "draw_handrails",
    "draw_points",
    "handrails_near",
    "point_elements",
    "worksite_place",
]

Floats = NDArray[np.float64]

_SHARES_LABELLED = (0.5, 0.25, 0.75)
"""A handrail's id may stand by these parts of its length."""


_SHARES_SEEN = np.array([0.1, 0.5, 0.9])
"""A handrail is looked at in these parts of its length."""

_PARTS = 24
"""One that is not in view in all of them is looked at in so many parts."""

_GAPS_IN_USE_PT = (5.0, 2.4, 9.5)
"""Off the route that lies on the handrail, or beyond the row of grip numbers beside it."""


def draw_handrails(drawing: Drawing) -> None:
    """Draw handrails: strong in view, thin and broken behind, crossed out where closed.

    One that goes behind something is drawn in parts. Ids are asked for all of which something
    is in view, and for those that are closed or that a route uses wherever they are.
    """
    structure = drawing.structure
    rails = [rail for rail in structure.handrails if drawing.projection.holds(_corners(rail))]
    rails.sort(key=lambda rail: rail.id)
    closed = {*drawing.facts.closed, *closed_by(structure, drawing.facts.when)}
    in_use = {rail_id for route in drawing.routes for rail_id in route.handrails}
    seen = _seen(drawing.projection, rails)
    paths: dict[str, list[Floats]] = {"near": [], "far": [], "closed": []}
    for rail, of_rail in zip(rails, seen, strict=True):
        parts = _parts(drawing.projection, rail, of_rail)
        shut = rail.id in closed
        for points_m, in_view in parts:
            look = "closed" if shut else "near" if in_view else "far"
            paths[look].extend(drawing.projection.pieces(points_m))
        used = rail.id in in_use
        if used or shut or any(in_view for _, in_view in parts):
            drawing.add_label(
                "handrail in use" if used else "closed" if shut else "handrail",
                f"{rail.id} closed" if shut else rail.id,
                drawing.projection.place(_anchors(rail, parts)),
                gaps_pt=_GAPS_IN_USE_PT if used else (2.2,),
            )
    drawing.take_paths([*paths["near"], *paths["closed"]], 1.6, Ink.LINE)
    for look, of_look in paths.items():
        if of_look:
            _draw_rails(drawing, look, of_look)
    _cross_out(drawing, [rail for rail in rails if rail.id in closed])


def _corners(rail: Handrail) -> Floats:
    return np.array(rail.points_m)


def handrails_near(projection: Projection, rails: "Sequence[Handrail]") -> list[bool]:
    """Tell which handrails are in view: half of their length or more."""
    return [bool(value) for value in _seen(projection, rails).sum(axis=1) >= 2]


def _seen(projection: Projection, rails: "Sequence[Handrail]") -> NDArray[np.bool_]:
    """Tell what is in view of handrails near one end, in the middle and near the other, (n, 3)."""
    if not rails:
        return np.zeros((0, len(_SHARES_SEEN)), np.bool_)
    lines = [Polyline.through(rail.points_m) for rail in rails]
    points = np.vstack([line.points_at(_SHARES_SEEN * line.length_m) for line in lines])
    normals = np.repeat(np.array([rail.normal for rail in rails]), len(_SHARES_SEEN), axis=0)
    return projection.near(points, normals).reshape(len(rails), len(_SHARES_SEEN))


def _parts(
    projection: Projection, rail: Handrail, seen: NDArray[np.bool_]
) -> list[tuple[Floats, bool]]:
    """Return a handrail in parts that are all in view or all not, each with corners (k, 3)."""
    if seen.all() or not seen.any():
        return [(_corners(rail), bool(seen[0]))]
    line = Polyline.through(rail.points_m)
    bounds_m = np.linspace(0.0, line.length_m, _PARTS + 1)
    middles = line.points_at((bounds_m[:-1] + bounds_m[1:]) / 2)
    near = projection.near(middles, np.repeat(np.array([rail.normal]), _PARTS, axis=0))
    changes = [0, *(np.flatnonzero(near[1:] != near[:-1]) + 1).tolist(), _PARTS]
    corners_m = np.cumsum(np.linalg.norm(np.diff(_corners(rail), axis=0), axis=1))[:-1]
    parts = []
    for first, last in pairwise(changes):
        low_m, high_m = bounds_m[first], bounds_m[last]
        inner_m = corners_m[(corners_m > low_m) & (corners_m < high_m)]
        parts.append((line.points_at(np.array([low_m, *inner_m, high_m])), bool(near[first])))
    return parts


def _anchors(rail: Handrail, parts: "Sequence[tuple[Floats, bool]]") -> Floats:
    """Return where the id of a handrail may stand, best first: by what is in view of it, (n, 3)."""
    shown = [Polyline.through(_triples(points)) for points, in_view in parts if in_view]
    if len(parts) == 1 or not shown:
        line = Polyline.through(rail.points_m)
        return line.points_at(np.array(_SHARES_LABELLED) * line.length_m)
    shown.sort(key=lambda line: -line.length_m)
    return np.vstack([line.points_at(np.array([line.length_m / 2])) for line in shown])


def _triples(points_m: Floats) -> list[Vector]:
    return [(float(x), float(y), float(z)) for x, y, z in points_m]


_RAIL_LOOKS = {
    "near": (INK["line"], 1.5, None, 3.2),
    "far": (INK["far"], 0.6, (2.4, 1.8), 1.5),
    "closed": (INK["line"], 1.0, (1.0, 1.6), 3.2),
}
"""Colour, width [pt], dash [pt] and zorder."""


def _draw_rails(drawing: Drawing, look: str, paths: list[Floats]) -> None:
    from matplotlib.collections import LineCollection

    colour, width, dash, zorder = _RAIL_LOOKS[look]
    lines = LineCollection(
        paths,
        colors=colour,
        linewidths=width,
        linestyles=[(0.0, dash)],
        capstyle="butt" if dash else "round",
        zorder=zorder,
    )
    lines.set_gid(f"{drawing.name}.handrails.{look}")
    drawing.axes.add_collection(lines, autolim=False)


def _cross_out(drawing: Drawing, rails: list[Handrail]) -> None:
    if not rails:
        return
    lines = [Polyline.through(rail.points_m) for rail in rails]
    middles = np.vstack([line.points_at(np.array([line.length_m / 2])) for line in lines])
    flat = drawing.projection.place(middles)
    drawing.axes.plot(
        *flat.T,
        linestyle="none",
        marker="x",
        markersize=6.5,
        markeredgewidth=1.5,
        color=INK["keep-out"],
        zorder=3.6,
        gid=f"{drawing.name}.closures",
        scalex=False,
        scaley=False,
    )
    drawing.take_marks(flat, 7.0)


@dataclass(frozen=True, slots=True)
class PointElement:
    """An element drawn as one symbol; without a normal it is in view unless a solid hides it."""

    id: str
    kind: str
    position_m: tuple[float, float, float]
    normal: tuple[float, float, float] = (0.0, 0.0, 0.0)


def worksite_place(structure: Structure, worksite: Worksite) -> PointElement:
    """Return where a worksite is: at its socket, or at the nearest point of its handrail."""
    if worksite.socket is not None:
        socket = structure.find(worksite.socket, (Socket,))
        return PointElement(worksite.id, "worksite", socket.position_m, socket.normal)
    rail = structure.find(worksite.handrail or "", (Handrail,))
    place = np.array([worksite.place_m or rail.points_m[0]])
    starts, ends = Polyline.through(rail.points_m).segments()
    gaps, _, shares = segment_gaps(place, place, starts, ends)
    piece = int(np.argmin(gaps))
    x, y, z = (float(v) for v in starts[piece] + shares[piece] * (ends[piece] - starts[piece]))
    return PointElement(worksite.id, "worksite", (x, y, z), rail.normal)


def point_elements(structure: Structure) -> "Iterator[PointElement]":
    """Yield all elements that are drawn as a symbol, by kind and id."""
    for hatch in sorted(structure.hatches, key=lambda one: one.id):
        yield PointElement(hatch.id, "hatch", hatch.position_m, hatch.normal)
    for worksite in sorted(structure.worksites, key=lambda one: one.id):
        yield worksite_place(structure, worksite)
    for point in sorted(structure.tether_points, key=lambda one: one.id):
        kind = "staged tether" if point.staged_m else "tether point"
        yield PointElement(point.id, kind, point.position_m)
    for socket in sorted(structure.sockets, key=lambda one: one.id):
        yield PointElement(socket.id, "socket", socket.position_m, socket.normal)
    for handhold in sorted(structure.handholds, key=lambda one: one.id):
        yield PointElement(handhold.id, "handhold", handhold.position_m, handhold.normal)


def draw_points(drawing: Drawing) -> None:
    """Draw the symbols of point-like elements, pale behind, and ask for ids of those in view."""
    stays = {stay for route in drawing.routes for stay in route.stays}
    elements = [
        one
        for one in point_elements(drawing.structure)
        if drawing.projection.holds(np.array([one.position_m]))
    ]
    if not elements:
        return
    points = np.array([one.position_m for one in elements])
    near = drawing.projection.near(points, np.array([one.normal for one in elements]))
    flat = drawing.projection.place(points)
    for kind in MARKERS:
        for in_view in (False, True):
            chosen = [
                i for i, one in enumerate(elements) if one.kind == kind and near[i] == in_view
            ]
            if chosen:
                _draw_symbols(drawing, kind, flat[chosen], in_view=in_view)
    for i, one in enumerate(elements):
        if near[i] and one.id not in stays:
            kind = "tether point" if one.kind == "staged tether" else one.kind
            drawing.add_label(
                kind, one.id, flat[[i]], gaps_pt=(MARKERS[one.kind].size_pt / 2 + 1.2, 5.5, 8.0)
            )


def _draw_symbols(drawing: Drawing, kind: str, flat: Floats, *, in_view: bool) -> None:
    marker = MARKERS[kind]
    colour = INK["line"] if in_view else INK["far"]
    drawing.axes.plot(
        *flat.T,
        linestyle="none",
        marker=marker.symbol,
        markersize=marker.size_pt,
        markerfacecolor=colour if marker.filled and in_view else INK["paper"],
        markeredgecolor=colour,
        markeredgewidth=0.8 if in_view else 0.5,
        zorder=3.4 if in_view else 1.6,
        gid=f"{drawing.name}.{kind.replace(' ', '-')}.{'near' if in_view else 'far'}",
        scalex=False,
        scaley=False,
    )
    if in_view:
        drawing.take_marks(flat, marker.size_pt)
