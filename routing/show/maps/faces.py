"""The faces of a box module, each at true scale, with all that stands on it."""

from typing import TYPE_CHECKING, Final

import numpy as np

from routing.show.maps.drawing import Drawing, finish
from routing.show.maps.frame_arrows import draw_face_header
from routing.show.maps.maps import MapSheet
from routing.show.maps.projection import SKIN_REACH_M, FaceProjection
from routing.show.maps.rails_points import draw_handrails, draw_points, point_elements
from routing.show.maps.routes import draw_route
from routing.show.maps.surface_zones import Surface, draw_surface_zones
from routing.show.sheets.axes import blank_sheet, panel_axes
from routing.show.sheets.inputs import DrawingError, MapFacts, MapRoute, refuse_too_many
from routing.show.sheets.legend import legend_entries
from routing.show.sheets.lettering import drawable
from routing.show.sheets.page import Ink
from routing.show.sheets.sheet import lay_out
from routing.show.sheets.style import DEFAULT_STYLE, INK, MapStyle
from routing.show.sheets.title_block import draw_foot, foot_height_pt, foot_of
from structures.box_faces import BoxFace, box_faces
from structures.elements import Solid
from structures.model import Structure
from structures.shapes import Box

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["compose_faces", "draw_faces"]

_NO_FACTS = MapFacts()
_FACES: Final = 6


def draw_faces(
    structure: Structure,
    solid_id: str,
    *,
    routes: tuple[MapRoute, ...] = (),
    facts: MapFacts = _NO_FACTS,
    style: MapStyle = DEFAULT_STYLE,
) -> "Figure":
    """Draw those faces of a box on which something stands, all to one scale.

    Parameters
    ----------
    structure
        The structure.
    solid_id
        Id of a solid that is a box.
    routes, facts, style
        As in `routing.show.maps.maps.draw_map`.

    Returns
    -------
    matplotlib.figure.Figure
        Neither shown nor saved.

    Raises
    ------
    DrawingError
        The solid is no box, nothing stands on it, or there are too many routes.
    UnknownIdError
        There is no solid with this id.
    """
    return compose_faces(structure, solid_id, routes=routes, facts=facts, style=style).figure


def compose_faces(
    structure: Structure,
    solid_id: str,
    *,
    routes: tuple[MapRoute, ...] = (),
    facts: MapFacts = _NO_FACTS,
    style: MapStyle = DEFAULT_STYLE,
) -> MapSheet:
    """Draw the faces of a box and return them with their label boxes; as `draw_faces`."""
    solid = structure.find(solid_id, (Solid,))
    volume = getattr(solid, "volume", None)
    if not isinstance(volume, Box):
        raise DrawingError(f"solid {solid_id!r} is a {getattr(volume, 'shape', '')}, no box")
    refuse_too_many(routes)
    name = drawable(solid.name or solid.id, style.longest_text)
    faces = tuple(face for face in box_faces(volume) if _is_used(structure, face))
    if not faces:
        raise DrawingError(f"no handrail or other place is on a face of {solid_id!r}")
    unused = () if len(faces) == _FACES else ("faces with nothing on them are left out",)
    foot = foot_of(
        structure, facts, legend_entries(structure, routes, facts, style, flat=True), style
    )
    foot_pt = foot_height_pt(foot, style)
    width, height = style.sheet_pt
    scale, panels = lay_out(
        [_extent(face) for face in faces], (width, height - foot_pt - 6.0), foot_pt
    )
    figure, sheet = blank_sheet(style)
    results = []
    for face, panel in zip(faces, panels, strict=True):
        drawing = Drawing(
            f"face {face.view.name}",
            panel_axes(figure, panel, style),
            panel,
            FaceProjection(face),
            structure,
            routes,
            facts,
            style,
        )
        _draw_outline(drawing, face)
        low, high = (-face.half_m[0], -face.half_m[1]), face.half_m
        draw_surface_zones(drawing, Surface(low, high, face.lift), named="face")
        draw_handrails(drawing)
        draw_points(drawing)
        for index in range(len(routes)):
            draw_route(drawing, index)
        results.append(finish(drawing))
        about = f"of {name}, {2 * high[0]:g} x {2 * high[1]:g} m"
        notes = (about, *unused, *results[-1].notes)
        title = f"{face.view.name.upper()} FACE"
        draw_face_header(sheet, panel, (title, face.view), notes, style)
    draw_foot(sheet, foot, style, (scale, panels[0].points_per_m))
    return MapSheet(figure, tuple(results), scale)


def _is_used(structure: Structure, face: BoxFace) -> bool:
    """Tell whether a handrail or another place to hold, hook or work at is on a face."""
    projection = FaceProjection(face)
    for rail in structure.handrails:
        corners = np.array(rail.points_m)
        normals = np.repeat(np.array([rail.normal]), len(corners), axis=0)
        if projection.near(corners, normals).all():
            return True
    places = [np.array([one.position_m]) for one in point_elements(structure)]
    return any(projection.holds(place) for place in places)


def _extent(face: BoxFace) -> tuple[float, float, float, float]:
    right, up = face.half_m[0] + SKIN_REACH_M, face.half_m[1] + SKIN_REACH_M
    return (-right, -up, right, up)


def _draw_outline(drawing: Drawing, face: BoxFace) -> None:
    from matplotlib.patches import Rectangle

    right, up = face.half_m
    corners = np.array([(-right, -up), (right, -up), (right, up), (-right, up), (-right, -up)])
    drawing.take_paths([corners], 0.7, Ink.LINE)
    drawing.axes.add_patch(
        Rectangle(
            (-right, -up),
            2 * right,
            2 * up,
            facecolor=INK["solid"],
            edgecolor=INK["outline"],
            linewidth=0.7,
            zorder=1,
            gid="face.outline",
        )
    )
