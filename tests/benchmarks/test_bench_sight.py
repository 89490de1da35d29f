"""Lines of sight to a face against trimesh ray casts without an accelerator."""

import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

import numpy as np
import pytest
import trimesh

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.worksites.sight.lines import FACE_OFF_M, face_samples, view_face
from structures.faces import Camera, Face
from structures.files import read_structure
from structures.shapes import Box, Cone, Cylinder, Shape, Sphere
from tests.crosscheck.ray_casts import lines_hit

STATION = Path(__file__).parents[2] / "examples" / "station" / "station.toml"


def mesh_of(shape: Shape) -> trimesh.Trimesh | None:
    """Coarse meshes, which is in the ray casts' favour; prisms are left out."""
    if isinstance(shape, Box):
        return trimesh.creation.box(
            extents=shape.size_m,
            transform=trimesh.transformations.translation_matrix(shape.center_m),
        )
    if isinstance(shape, Sphere):
        mesh = trimesh.creation.icosphere(subdivisions=2, radius=shape.radius_m)
        mesh.apply_translation(shape.center_m)
        return mesh
    if isinstance(shape, Cylinder | Cone):
        radius = shape.radius_m if isinstance(shape, Cylinder) else shape.start_radius_m
        ends = [shape.start_m, shape.end_m]
        return trimesh.creation.cylinder(radius=max(radius, 0.01), segment=ends, sections=32)
    return None


@pytest.mark.benchmark
def test_sight_lines() -> None:
    graph = build_graph(read_structure(STATION), Situation())
    face, camera = graph.structure.find("FCD02"), graph.structure.find("CMD01")
    assert isinstance(face, Face)
    assert isinstance(camera, Camera)
    solids = survey(graph.structure, graph.situation).solids
    places = graph.grips.body_m
    views = view_face(face, camera, places, solids)
    ok = (views.range_m >= camera.nearest_m) & (views.range_m <= camera.farthest_m)
    ok &= views.slant_rad <= np.deg2rad(camera.incidence_deg)
    place, sample = np.nonzero(ok)
    normal = np.array(face.normal) / np.linalg.norm(face.normal)
    ends = face_samples(face)[sample] + FACE_OFF_M * normal
    starts = places[place]
    parts = [mesh for mesh in map(mesh_of, solids.shapes) if mesh is not None]
    mesh = trimesh.util.concatenate(parts)

    def seconds(work: Callable[[], object]) -> float:
        found = []
        for _ in range(3):
            started = time.perf_counter()
            work()
            found.append(time.perf_counter() - started)
        return median(found)

    cast = seconds(lambda: lines_hit(mesh, starts, ends))
    own = seconds(lambda: view_face(face, camera, places, solids))
    print(
        f"\nsight: {len(starts)} lines past {len(solids.shapes)} solids "
        f"({len(mesh.faces)} triangles): "
        f"ray casts {cast:.2f} s, own {own:.3f} s with range and slant of "
        f"{ok.size} pairs ({cast / own:.0f} x)"
    )
