"""Sight of faces: the station's own, what must hold, and how it is drawn."""

from pathlib import Path

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import InputDigest
from routing.show.pictures.sight import draw_sight
from routing.show.sheets.saving import save_figure
from routing.worksites.sight.records import FaceSight
from routing.worksites.sight.vantage import sight_of
from structures.elements import Solid
from structures.faces import Camera, Face
from structures.files import read_structure
from structures.shapes import Box

STATION = Path(__file__).parents[3] / "examples" / "station" / "station.toml"


@pytest.fixture(scope="module")
def graph() -> ReachGraph:
    return build_graph(read_structure(STATION), Situation())


def seen(graph: ReachGraph, face_id: str, camera: Camera | None = None) -> FaceSight:
    face = graph.structure.find(face_id, (Face,))
    assert isinstance(face, Face)
    return sight_of(graph, face, start="hatch", camera=camera)


def test_the_truss_nadir_face_needs_two_vantage_points(graph: ReachGraph) -> None:
    found = seen(graph, "FCD01")
    assert (found.verdict, found.safe) == ("seen from several", True)
    assert (found.seen, found.samples, found.whole) == (60, 60, ())
    assert [one.grip for one in found.cover] == ["H6169@0.000", "H6170@0.000"]
    assert [round(one.fraction, 2) for one in found.cover] == [0.52, 0.70]
    assert max(one.fraction for one in found.best) == pytest.approx(0.8)
    assert found.cover[0].seconds < found.cover[1].seconds
    assert all(one.slant_deg <= 60 for one in found.cover)


def test_a_part_of_the_pylon_is_hidden_by_its_gusset(graph: ReachGraph) -> None:
    found = seen(graph, "FCD02")
    assert (found.verdict, found.safe) == ("partly seen", False)
    assert found.reason == "14 of 96 samples are seen from nowhere: 14 hidden by solids"
    hidden = np.array(found.samples_m)[list(found.unseen)]
    # The gusset is 0.3 m wide about y = 0.
    assert np.abs(hidden[:, 1]).max() < 0.15


def test_why_not_is_counted(graph: ReachGraph) -> None:
    short = Camera(id="short", nearest_m=0.01, farthest_m=0.05, incidence_deg=60.0)
    assert "60 beyond 0.05 m of every reachable grip" in (seen(graph, "FCD01", short).reason or "")
    flat = Camera(id="flat", nearest_m=0.1, farthest_m=9.0, incidence_deg=1.0)
    assert "seen at more than 1 deg only" in (seen(graph, "FCD01", flat).reason or "")
    far = Camera(id="far", nearest_m=500.0, farthest_m=501.0, incidence_deg=60.0)
    assert "60 within 500 m of every grip in range" in (seen(graph, "FCD01", far).reason or "")


def test_more_camera_never_sees_less_and_more_solid_never_more(graph: ReachGraph) -> None:
    camera = Camera(id="c", nearest_m=0.4, farthest_m=2.0, incidence_deg=50.0, held_out_m=0.3)
    better = camera.model_copy(update={"farthest_m": 4.0, "incidence_deg": 65.0})
    for face_id in ("FCD01", "FCD02"):
        assert set(seen(graph, face_id, better).unseen) <= set(seen(graph, face_id, camera).unseen)
    wall = Solid(id="wall", volume=Box(center_m=(0.0, 10.5, -2.6), size_m=(0.6, 0.6, 0.1)))
    structure = graph.structure.model_copy(update={"solids": (*graph.structure.solids, wall)})
    walled = build_graph(structure, Situation())
    assert set(seen(graph, "FCD01").unseen) <= set(seen(walled, "FCD01").unseen)


def test_people_look_from_grips_they_can_be_at(graph: ReachGraph) -> None:
    found = seen(graph, "FCD02")
    ids = {one: i for i, one in enumerate(graph.grips.ids)}
    for one in (*found.best, *found.cover):
        grip = ids[one.grip]
        assert graph.grips.usable[grip]
        assert graph.grips.kind[grip] != GripKind.SOCKET
        held = graph.grips.body_m[grip] + 0.3 * graph.grips.lean[grip]
        assert one.camera_m == pytest.approx(held)


def test_without_cameras_the_built_in_one_is_said_to_be_used(graph: ReachGraph) -> None:
    bare = graph.structure.model_copy(update={"cameras": ()})
    found = seen(build_graph(bare, Situation()), "FCD02")
    # The gusset before this face is thinner than its samples tell for certain.
    assert [one.code for one in found.findings] == ["built-in-camera", "thin-solid-in-view"]
    assert not seen(graph, "FCD01").findings


def test_picture_names_cameras_and_what_is_not_seen(graph: ReachGraph, tmp_path: Path) -> None:
    found = seen(graph, "FCD02")
    digest = InputDigest(name="s", sha256="cd" * 32)
    path = tmp_path / "sight.svg"
    save_figure(draw_sight(graph.structure, found, Situation(), (digest,)), path)
    text = path.read_text()
    assert "NOT ALL SEEN: sight of FCD02" in text
    assert "CAUTION" in text
    for one in found.cover:
        assert f"{one.grip}: {100 * one.fraction:.0f} % after {one.seconds:.0f} s" in text
