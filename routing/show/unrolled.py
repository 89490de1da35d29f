"""The unrolled skin of a cylinder module: along its axis against clock angle, at true scale."""

from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from routing.show.axes import blank_sheet, panel_axes
from routing.show.drawing import Drawing, finish
from routing.show.frame_arrows import draw_header
from routing.show.inputs import MOST_ROUTES, DrawingError, MapFacts, MapRoute
from routing.show.legend import legend_entries
from routing.show.lettering import drawable, text_extent_pt
from routing.show.maps import MapSheet
from routing.show.page import Ink
from routing.show.projection import SKIN_REACH_M, SkinProjection
from routing.show.rails_points import draw_handrails, draw_points
from routing.show.routes import draw_route
from routing.show.sheet import lay_out
from routing.show.solids_zones import ZONE_LOOKS, look_of
from routing.show.style import DEFAULT_STYLE, FONT, INK, MapStyle
from routing.show.title_block import draw_foot, foot_height_pt, foot_of
from structures.elements import Solid, Zone
from structures.model import Structure
from structures.shapes import Cylinder
from structures.skins import Skin, unrolled_skin
from structures.solids.distance import signed_distance
from structures.views import named_direction
from structures.zones import active_zones, zone_shape

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["compose_unrolled", "draw_unrolled"]

Floats = NDArray[np.float64]

_NO_FACTS = MapFacts()
_CLOCK_STEP_DEG: Final = 30
_ZONE_STEP_M: Final = 0.05
"""Zones are tried at points of the skin this far apart."""


def draw_unrolled(
    structure: Structure,
    solid_id: str,
    *,
    routes: tuple[MapRoute, ...] = (),
    facts: MapFacts = _NO_FACTS,
    style: MapStyle = DEFAULT_STYLE,
) -> "Figure":
    """Draw the unrolled skin of a cylinder with all that stands on it.

    Lengths along the axis and round the skin are to the same scale, so that the shortest way
    over the skin is a straight line.

    Parameters
    ----------
    structure
        The structure.
    solid_id
        Id of a solid that is a cylinder.
    routes, facts, style
        As in `routing.show.maps.draw_map`.

    Returns
    -------
    matplotlib.figure.Figure
        Neither shown nor saved.

    Raises
    ------
    DrawingError
        The solid is no cylinder, or there are too many routes.
    UnknownIdError
        There is no solid with this id.
    """
    return compose_unrolled(structure, solid_id, routes=routes, facts=facts, style=style).figure


def compose_unrolled(
    structure: Structure,
    solid_id: str,
    *,
    routes: tuple[MapRoute, ...] = (),
    facts: MapFacts = _NO_FACTS,
    style: MapStyle = DEFAULT_STYLE,
) -> MapSheet:
    """Draw an unrolled skin and return it with its label boxes; as `draw_unrolled`."""
    solid = structure.find(solid_id, (Solid,))
    volume = getattr(solid, "volume", None)
    if not isinstance(volume, Cylinder):
        kind = getattr(volume, "shape", "no volume")
        raise DrawingError(
            f"solid {solid_id!r} is a {kind}; only the skin of a cylinder can be unrolled"
        )
    if len(routes) > MOST_ROUTES:
        raise DrawingError(
            f"{len(routes)} routes on one map cannot be told apart; give at most {MOST_ROUTES}"
        )
    skin = unrolled_skin(volume)
    foot = foot_of(
        structure, facts, legend_entries(structure, routes, facts, style, flat=False), style
    )
    foot_pt = foot_height_pt(foot, style)
    width, height = style.sheet_pt
    reach_m = SKIN_REACH_M
    scale, (panel,) = lay_out(
        [(-reach_m, -skin.half_m, skin.length_m + reach_m, skin.half_m)],
        (width, height - foot_pt - 6.0),
        foot_pt,
    )
    figure, sheet = blank_sheet(style)
    drawing = Drawing(
        "skin",
        panel_axes(figure, panel, style),
        panel,
        SkinProjection(skin),
        structure,
        routes,
        facts,
        style,
    )
    _draw_clock(drawing, skin)
    _draw_zones(drawing, skin)
    draw_handrails(drawing)
    draw_points(drawing)
    for index in range(len(routes)):
        draw_route(drawing, index)
    result = finish(drawing)
    name = drawable(solid.name or solid.id, style.longest_text)
    title = f"SKIN OF {name}, radius {skin.radius_m:g} m, unrolled"
    draw_header(sheet, panel, title, (*_notes(skin), *result.notes), style)
    draw_foot(sheet, foot, style, (scale, panel.points_per_m))
    return MapSheet(figure, (result,), scale)


def _notes(skin: Skin) -> tuple[str, ...]:
    x, y, z = (float(value) for value in skin.axis)
    ahead = named_direction((x, y, z))
    return (f"clock angle clockwise looking {ahead} (to the right), cut at 180 deg",)


def _draw_clock(drawing: Drawing, skin: Skin) -> None:
    """Draw the skin and its clock lines, each with its angle and, every 90 deg, its direction."""
    from matplotlib.collections import LineCollection
    from matplotlib.font_manager import FontProperties
    from matplotlib.patches import Rectangle

    drawing.axes.add_patch(
        Rectangle(
            (0.0, -skin.half_m),
            skin.length_m,
            2 * skin.half_m,
            facecolor=INK["solid"],
            edgecolor=INK["outline"],
            linewidth=0.7,
            zorder=1,
            gid="skin.outline",
        )
    )
    angles = range(-180, 181, _CLOCK_STEP_DEG)
    heights = [np.deg2rad(angle) * skin.radius_m for angle in angles]
    lines = LineCollection(
        [[(0.0, y), (skin.length_m, y)] for y in heights],
        colors=INK["outline"],
        linewidths=0.3,
        linestyles=[(0.0, (4.0, 3.0))],
        zorder=1.1,
    )
    lines.set_gid("skin.clock")
    drawing.axes.add_collection(lines, autolim=False)
    font = FontProperties(family=FONT, size=drawing.style.id_pt)
    for angle, y in zip(angles, heights, strict=True):
        name = f"  {named_direction(skin.direction(angle))}" if angle % 90 == 0 else ""
        text = f"{angle}\u00b0{name}"
        size = text_extent_pt(text, drawing.style.id_pt)
        x_pt, y_pt = drawing.panel.to_page_pt(np.array([[0.0, y]]))[0]
        box = (x_pt - size[0] - 2.0, y_pt - size[1] / 2, x_pt - 2.0, y_pt + size[1] / 2)
        drawing.page.take_box(box, Ink.MARK)
        x_m, y_m = drawing.panel.to_flat_m((box[2], box[1] + size[2]))
        drawing.axes.text(
            x_m, y_m, text, fontproperties=font, color=INK["outline"], ha="right",
            va="baseline", parse_math=False, usetex=False, gid="skin.clock.text",
        )  # fmt: skip


def _draw_zones(drawing: Drawing, skin: Skin) -> None:
    """Hatch the skin where zones touch it, or come within hand's height of it."""
    from matplotlib.collections import LineCollection

    active = frozenset(zone.id for zone in active_zones(drawing.structure, drawing.facts.when))
    for zone in sorted(drawing.structure.zones, key=lambda one: one.id):
        look = ZONE_LOOKS[look_of(zone, active)]
        spacing_m = look.spacing_pt / drawing.panel.points_per_m
        lines = _hatched(skin, zone, spacing_m, look.angle_deg)
        if not lines:
            continue
        hatching = LineCollection(
            lines,
            colors=look.colour,
            linewidths=0.6,
            linestyles=[(0.0, look.hatch or None)],
            zorder=2,
        )
        hatching.set_gid(f"skin.zone.{zone.id}")
        drawing.axes.add_collection(hatching, autolim=False)
        middle = lines[len(lines) // 2].mean(axis=0)
        text = zone.name or zone.id
        if zone.when:
            text = f"{text} (if {' or '.join(zone.when)})"
        drawing.add_label("zone", text, middle[None], gaps_pt=(3.0,))


def _hatched(skin: Skin, zone: Zone, spacing_m: float, angle_deg: float) -> list[Floats]:
    """Return pieces of slanted lines over the skin that are in a zone, each (2, 2) [m]."""
    slope = 1.0 if angle_deg > 0 else -1.0
    along = np.arange(0.0, skin.length_m + _ZONE_STEP_M / 2, _ZONE_STEP_M)
    step_m = spacing_m * np.sqrt(2.0)
    reach = skin.half_m + skin.length_m
    starts = np.arange(np.ceil(-reach / step_m), np.floor(reach / step_m) + 1) * step_m
    round_m = starts[:, None] + slope * along[None, :]
    angle = round_m / skin.radius_m
    out = np.cos(angle)[..., None] * skin.clock_zero + np.sin(angle)[..., None] * np.cross(
        skin.axis, skin.clock_zero
    )
    points = skin.start_m + along[None, :, None] * skin.axis + skin.radius_m * out
    inside = signed_distance(zone_shape(zone), points.reshape(-1, 3)) <= _HAND_HEIGHT_M
    inside = inside.reshape(round_m.shape) & (np.abs(round_m) <= skin.half_m)
    pieces: list[Floats] = []
    for row, flags in zip(round_m, inside, strict=True):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
        pieces.extend(
            np.array([(along[a], row[a]), (along[b - 1], row[b - 1])])
            for a, b in zip(edges[::2], edges[1::2], strict=True)
            if b - a > 1
        )
    return pieces


_HAND_HEIGHT_M: Final = 0.1
"""A zone that comes this near to the skin reaches the hands on its handrails [m]."""
