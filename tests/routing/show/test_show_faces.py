"""Faces of a box: rails where they are, on the right face, at the scale that is written."""

import numpy as np
import pytest

from routing.show.maps.faces import compose_faces, draw_faces
from routing.show.sheets.inputs import DrawingError, MapRoute
from structures.elements import Handrail, Solid, TetherPoint, Zone
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.shapes import Box, Sphere
from tests.routing.show.show_ground import artist, artists, covered, overlaps, texts

BAY = Solid(id="BAY", name="Bay", volume=Box(center_m=(0, 10, -4), size_m=(2, 6, 1)))


TOP = Handrail(id="TOP", points_m=((-0.5, 8, -4.56), (-0.5, 9, -4.56)), normal=(0, 0, -1))
FRONT = Handrail(id="FRONT", points_m=((1.06, 11, -4.2), (1.06, 12, -4.2)), normal=(1, 0, 0))
STRUCTURE = Structure(
    schema_version=1,
    name="Bay",
    revision="A",
    solids=(BAY,),
    handrails=(TOP, FRONT),
    tether_points=(TetherPoint(id="TP", position_m=(1.0, 12.5, -4.0)),),
)


def test_each_rail_is_on_its_own_face_and_where_it_is() -> None:
    sheet = compose_faces(STRUCTURE, "BAY")
    assert [panel.name for panel in sheet.panels] == ["face forward", "face zenith"]
    places = {
        panel.name: {one.label.text for one in panel.placed if one.label.kind == "handrail"}
        for panel in sheet.panels
    }
    assert places == {"face forward": {"FRONT"}, "face zenith": {"TOP"}}
    # Plan has forward to the right and port up: 0.5 m aft of the middle, 2 to 1 m port of it.
    near = artist(sheet.figure, "face zenith.handrails.near")
    ends = np.vstack([path.vertices for path in near.get_paths()])
    assert ends == pytest.approx(np.array([(-0.5, 2.0), (-0.5, 1.0)]))
    outline = artists(sheet.figure, "face.outline")[1]
    assert (outline.get_width(), outline.get_height()) == (2.0, 6.0)


def test_both_directions_have_the_scale_that_is_written() -> None:
    sheet = compose_faces(STRUCTURE, "BAY")
    per_m = 72.0 / 0.0254 / sheet.scale
    for panel in sheet.panels:
        across = panel.panel.to_page_pt(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
        assert across[1] - across[0] == pytest.approx([per_m, 0.0])
        assert across[2] - across[0] == pytest.approx([0.0, per_m])


def test_zones_are_hatched_on_the_face_they_reach() -> None:
    ball = Zone(id="ZB", volume=Sphere(center_m=(0.0, 10.0, -4.6), radius_m=0.5))
    figure = draw_faces(STRUCTURE.model_copy(update={"zones": (ball,)}), "BAY")
    ends = np.vstack([path.vertices for path in artist(figure, "face.zone.ZB").get_paths()])
    assert 0.4 < np.hypot(*ends.T).max() < 0.5 + 0.1 + 0.1


def test_labels_and_route_on_faces_do_not_collide() -> None:
    grips = ((-0.5, 8.0, -4.56), (-0.5, 9.0, -4.56), (1.06, 11.0, -4.2), (1.06, 12.0, -4.2))
    sheet = compose_faces(STRUCTURE, "BAY", routes=(MapRoute(person="EV1", grips_m=grips),))
    for panel in sheet.panels:
        assert overlaps(panel) == []
        assert covered(panel) == []
    shown = texts(sheet.figure)
    assert "ZENITH FACE" in shown
    assert "faces with nothing on them are left out" in shown


def test_what_has_no_faces_or_nothing_on_them_is_said() -> None:
    ball = Solid(id="BALL", volume=Sphere(center_m=(0, 0, 0), radius_m=1))
    bare = Solid(id="BARE", volume=Box(center_m=(50, 0, 0), size_m=(1, 1, 1)))
    structure = Structure(
        schema_version=1, name="Bay", revision="A", solids=(BAY, ball, bare), handrails=(TOP,)
    )
    with pytest.raises(DrawingError, match="'BALL' is a sphere"):
        draw_faces(structure, "BALL")
    with pytest.raises(DrawingError, match="no handrail or other place is on a face of 'BARE'"):
        draw_faces(structure, "BARE")
    with pytest.raises(UnknownIdError, match="BAY"):
        draw_faces(structure, "BAI")
