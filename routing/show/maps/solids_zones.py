"""Solids as filled outlines, the nearest on top, and zones as hatched ones."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.drawing import Drawing
from routing.show.sheets.hatching import hatch_lines
from routing.show.sheets.lettering import drawable
from routing.show.sheets.page import Ink
from routing.show.sheets.style import INK
from structures.elements import Solid, Zone
from structures.shapes import Shape
from structures.solids.distance import bounding_box
from structures.views import View, silhouette
from structures.zones import active_zones, zone_shape

if TYPE_CHECKING:
    from matplotlib.path import Path
    from shapely.geometry.base import BaseGeometry

__all__ = ["ZONE_LOOKS", "ZoneLook", "draw_solids", "draw_zones", "look_of", "zone_text"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class ZoneLook:
    """Edge and hatching of one kind of zone; lengths in points."""

    colour: str
    edge: tuple[float, ...]
    """On and off lengths of the edge; empty means a full line."""
    angle_deg: float
    spacing_pt: float
    hatch: tuple[float, ...]
    text: str


ZONE_LOOKS: Final[dict[str, ZoneLook]] = {
    "keep-out": ZoneLook(INK["keep-out"], (), 45.0, 4.5, (), "keep-out zone"),
    "slow-down": ZoneLook(INK["slow-down"], (5.0, 1.5), -45.0, 6.0, (2.0, 2.0), "slow-down zone"),
    "idle": ZoneLook(
        INK["idle zone"], (1.0, 2.0), 45.0, 14.0, (1.0, 2.5), "zone whose condition is not in force"
    ),
}
"""By kind; *idle* is a zone that does not count under the conditions of the drawing."""


def look_of(zone: Zone, active: frozenset[str]) -> str:
    """Return the key of a zone's look, given the ids of the zones that count."""
    return zone.kind if zone.id in active else "idle"


def zone_text(zone: Zone, active: frozenset[str]) -> str:
    """Return a zone's name with its conditions, and whether it counts by one of them now.

    Parameters
    ----------
    zone
        The zone.
    active
        Ids of the zones that count.

    Examples
    --------
    >>> from structures.shapes import Sphere
    >>> ball = Sphere(center_m=(0, 0, 0), radius_m=1)
    >>> zone = Zone(id="ZV", volume=ball, when=("venting",))
    >>> zone_text(zone, frozenset())
    'ZV (if venting)'
    >>> zone_text(zone, frozenset({"ZV"}))
    'ZV (in force: venting)'
    """
    name = zone.name or zone.id
    if not zone.when:
        return name
    return f"{name} ({'in force:' if zone.id in active else 'if'} {' or '.join(zone.when)})"


def _box(volume: Shape) -> Floats:
    """Return the lowest and highest corner of a volume, shape (2, 3) [m]."""
    return np.array(bounding_box(volume))


def draw_solids(drawing: Drawing, view: View) -> None:
    """Draw all solids as filled outlines, the farthest first, and ask for their names."""
    from matplotlib.collections import PathCollection

    def nearness(solid: Solid) -> tuple[float, str]:
        return (float(view.depth_m(_box(solid.volume)).max()), solid.id)

    solids = sorted(
        (one for one in drawing.structure.solids if drawing.projection.holds(_box(one.volume))),
        key=nearness,
    )
    outlines = [silhouette(solid.volume, view) for solid in solids]
    collection = PathCollection(
        [_as_path(outline) for outline in outlines],
        facecolors=INK["solid"],
        edgecolors=INK["outline"],
        linewidths=0.7,
        zorder=1,
    )
    collection.set_gid(f"{drawing.name}.solids")
    drawing.axes.add_collection(collection, autolim=False)
    _enter_edges(drawing, outlines)
    _name_solids(drawing, solids, outlines)


def _enter_edges(drawing: Drawing, outlines: list["BaseGeometry"]) -> None:
    """Enter outlines on the page, so that labels keep off them where they can."""
    import shapely

    rings = shapely.get_parts(shapely.boundary(np.array(outlines, dtype=object)))
    drawing.take_paths([shapely.get_coordinates(ring) for ring in rings], 0.8, Ink.EDGE)


def _name_solids(drawing: Drawing, solids: list[Solid], outlines: list["BaseGeometry"]) -> None:
    """Ask for a name inside the part of each solid that nearer ones leave in sight."""
    import shapely

    nearer: BaseGeometry = shapely.Polygon()
    left, bottom, right, top = drawing.panel.extent_m
    window = shapely.box(left, bottom, right, top)
    for solid, outline in zip(reversed(solids), reversed(outlines), strict=True):
        in_sight = outline.intersection(window).difference(nearer)
        nearer = nearer.union(outline)
        if in_sight.area > 0.02 * outline.area:
            _name_area(drawing, "module", solid.name or solid.id, in_sight)


def _name_area(drawing: Drawing, kind: str, text: str, area: "BaseGeometry") -> None:
    """Ask for a label at places inside an area where its box fits, the middle first."""
    import shapely

    width, height, _ = drawing.extent_pt(kind, drawable(text, drawing.style.longest_text))
    scale = drawing.panel.points_per_m
    left, bottom, right, top = area.bounds
    x, y = np.meshgrid(np.linspace(left, right, 13)[1:-1], np.linspace(bottom, top, 13)[1:-1])
    spots = np.column_stack([x.ravel(), y.ravel()])
    half = np.array([width, height]) / scale / 2
    low, high = spots - half, spots + half
    boxes = shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1])
    shapely.prepare(area)
    middle = np.array([(left + right) / 2, (bottom + top) / 2])
    order = np.argsort(np.abs(spots - middle) @ [1.0, 1.0], kind="stable")
    order = order[shapely.contains(area, boxes)[order]]
    if len(order):
        drawing.add_label(kind, text, spots[order], inside=True, leader_pt=0.0)
        return
    point = area.representative_point()
    drawing.add_label(kind, text, np.array([[point.x, point.y]]), gaps_pt=(3.0,), leader_pt=96.0)


def draw_zones(drawing: Drawing, view: View) -> None:
    """Draw all zones hatched by kind, those not in force faintly, and ask for their names."""
    import shapely

    left, bottom, right, top = drawing.panel.extent_m
    window = shapely.box(left, bottom, right, top)
    active = frozenset(zone.id for zone in active_zones(drawing.structure, drawing.facts.when))
    seen: dict[str, list[tuple[BaseGeometry, BaseGeometry]]] = {kind: [] for kind in ZONE_LOOKS}
    for zone in sorted(drawing.structure.zones, key=lambda zone: zone.id):
        volume = zone_shape(zone)
        if not drawing.projection.holds(_box(volume)):
            continue
        whole = silhouette(volume, view)
        area = whole.intersection(window)
        if not area.is_empty:
            # Where the panel cuts a zone off there is no edge: it does not end there.
            edge = whole if window.covers(whole) else whole.boundary.intersection(window)
            seen[look_of(zone, active)].append((area, edge))
            _name_zone(drawing, zone, area, active)
    for kind, of_kind in seen.items():
        if of_kind:
            areas, edges = map(list, zip(*of_kind, strict=True))
            _enter_edges(drawing, areas)
            _draw_areas(drawing, kind, areas, edges)


def _draw_areas(
    drawing: Drawing, kind: str, areas: list["BaseGeometry"], edges: list["BaseGeometry"]
) -> None:
    from matplotlib.collections import LineCollection, PathCollection

    look = ZONE_LOOKS[kind]
    lines = [
        line
        for area in areas
        for line in hatch_lines(
            area,
            angle_deg=look.angle_deg,
            spacing_m=look.spacing_pt / drawing.panel.points_per_m,
        )
    ]
    hatching = LineCollection(
        lines,
        colors=look.colour,
        linewidths=0.45,
        linestyles=[(0.0, look.hatch or None)],
        alpha=0.75,
        zorder=2,
    )
    outlines = PathCollection(
        [_as_path(edge) for edge in edges],
        facecolors="none",
        edgecolors=look.colour,
        linewidths=1.0,
        linestyles=[(0.0, look.edge or None)],
        zorder=2.1,
    )
    hatching.set_gid(f"{drawing.name}.zones.{kind}.hatching")
    outlines.set_gid(f"{drawing.name}.zones.{kind}")
    drawing.axes.add_collection(hatching, autolim=False)
    drawing.axes.add_collection(outlines, autolim=False)


def _name_zone(drawing: Drawing, zone: Zone, area: "BaseGeometry", active: frozenset[str]) -> None:
    _name_area(drawing, "zone", zone_text(zone, active), area)


def _as_path(outline: "BaseGeometry") -> "Path":
    """Return polygons, with their holes, and lines as one matplotlib path."""
    import shapely
    from matplotlib.path import Path

    parts = shapely.get_parts(outline)
    rings = [
        Path(shapely.get_coordinates(ring), closed=True)
        for part in parts
        if part.geom_type == "Polygon"
        for ring in (part.exterior, *part.interiors)
    ]
    lines = [part for part in parts if part.geom_type == "LineString"]
    if lines:
        merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(lines)))
        rings.extend(Path(shapely.get_coordinates(line)) for line in merged)
    return Path.make_compound_path(*rings) if rings else Path(np.empty((0, 2)))
