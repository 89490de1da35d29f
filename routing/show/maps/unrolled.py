"""The unrolled skin of a cylinder module: along its axis against clock angle, at true scale."""

from typing import TYPE_CHECKING, Final

import numpy as np

from routing.show.maps.drawing import Drawing, finish
from routing.show.maps.frame_arrows import draw_header
from routing.show.maps.maps import MapSheet
from routing.show.maps.projection import SKIN_REACH_M, SkinProjection
from routing.show.maps.rails_points import draw_handrails, draw_points
from routing.show.maps.routes import draw_route
from routing.show.maps.surface_zones import Surface, draw_surface_zones
from routing.show.sheets.axes import blank_sheet, panel_axes
from routing.show.sheets.inputs import DrawingError, MapFacts, MapRoute, refuse_too_many
from routing.show.sheets.legend import legend_entries
from routing.show.sheets.lettering import drawable, text_extent_pt
from routing.show.sheets.page import Ink
from routing.show.sheets.sheet import Panel, lay_out
from routing.show.sheets.style import DEFAULT_STYLE, FONT, INK, MapStyle
from routing.show.sheets.title_block import draw_foot, foot_height_pt, foot_of
from structures.elements import Solid
from structures.model import Structure
from structures.shapes import Cylinder
from structures.skins import Skin, unrolled_skin
from structures.views import named_direction

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["compose_unrolled", "draw_unrolled"]

_NO_FACTS = MapFacts()
_ANGLES: Final = range(-180, 181, 30)
"""Clock angles that may have a line [deg]."""
_STEPS_DEG: Final = (30, 90, 180, 360)
"""Between them, the smallest at which their texts have room."""
_GAP_PT: Final = 2.0


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
        As in `routing.show.maps.maps.draw_map`.

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
            f"solid {solid_id!r} is a {kind}; cylinders unroll, boxes have faces, others neither"
        )
    refuse_too_many(routes)
    skin = unrolled_skin(volume)
    foot = foot_of(
        structure, facts, legend_entries(structure, routes, facts, style, flat=False), style
    )
    foot_pt = foot_height_pt(foot, style)
    width, height = style.sheet_pt
    scale, panel = _room((width, height - foot_pt - 6.0), foot_pt, skin, style)
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
    surface = Surface((0.0, -skin.half_m), (skin.length_m, skin.half_m), skin.lift)
    draw_surface_zones(drawing, surface, named="skin")
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


def _room(
    area_pt: tuple[float, float], bottom_pt: float, skin: Skin, style: MapStyle
) -> tuple[float, Panel]:
    """Return scale and panel: the skin, what stands out at its ends, the angles left of that."""
    widest_pt = _GAP_PT + max(
        text_extent_pt(_angle_text(skin, angle), style.id_pt)[0] for angle in _ANGLES
    )
    right_m = skin.length_m + SKIN_REACH_M
    aside_m = 0.0
    while True:
        left_m = -SKIN_REACH_M - aside_m
        extent = (left_m, -skin.half_m, right_m, skin.half_m)
        scale, (panel,) = lay_out([extent], area_pt, bottom_pt)
        # Texts have one size at any scale: a smaller scale needs more metres for them.
        if aside_m * panel.points_per_m >= widest_pt - 1e-6:
            return scale, panel
        aside_m = widest_pt / panel.points_per_m


def _angles(skin: Skin, drawing: Drawing) -> tuple[int, ...]:
    """Return the clock angles that have lines: as many as have room for their texts, or zero."""
    high_pt = max(text_extent_pt(_angle_text(skin, one), drawing.style.id_pt)[1] for one in _ANGLES)
    for step in _STEPS_DEG:
        if np.deg2rad(step) * skin.radius_m * drawing.panel.points_per_m >= high_pt:
            return tuple(one for one in _ANGLES if (one + 180) % step == 0)
    return (0,)


def _angle_text(skin: Skin, angle: int) -> str:
    name = f"  {named_direction(skin.direction(angle))}" if angle % 90 == 0 else ""
    return f"{angle}\u00b0{name}"


def _notes(skin: Skin) -> tuple[str, ...]:
    x, y, z = (float(value) for value in skin.axis)
    ahead = named_direction((x, y, z))
    return (
        f"clock angle clockwise looking {ahead} (to the right), cut at 180 deg",
        "handrails along the cut are on both edges, with their ids above",
    )


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
    angles = _angles(skin, drawing)
    heights = [np.deg2rad(angle) * skin.radius_m for angle in angles]
    lines = LineCollection(
        [[(-SKIN_REACH_M, y), (skin.length_m, y)] for y in heights],
        colors=INK["outline"],
        linewidths=0.3,
        linestyles=[(0.0, (4.0, 3.0))],
        zorder=1.1,
    )
    lines.set_gid("skin.clock")
    drawing.axes.add_collection(lines, autolim=False)
    font = FontProperties(family=FONT, size=drawing.style.id_pt)
    for angle, y in zip(angles, heights, strict=True):
        text = _angle_text(skin, angle)
        size = text_extent_pt(text, drawing.style.id_pt)
        x_pt, y_pt = drawing.panel.to_page_pt(np.array([[-SKIN_REACH_M, y]]))[0]
        right_pt = x_pt - _GAP_PT
        box = (right_pt - size[0], y_pt - size[1] / 2, right_pt, y_pt + size[1] / 2)
        drawing.page.take_box(box, Ink.MARK)
        x_m, y_m = drawing.panel.to_flat_m((box[2], box[1] + size[2]))
        drawing.axes.text(
            x_m, y_m, text, fontproperties=font, color=INK["outline"], ha="right",
            va="baseline", parse_math=False, usetex=False, gid="skin.clock.text",
        )  # fmt: skip
