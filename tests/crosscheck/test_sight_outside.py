"""Sight of faces against trimesh ray casts, and vantage points against ortools."""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model
from shapely import MultiPoint, Polygon

from routing.graph.surroundings import Named
from routing.worksites.sight.cover import fewest_cover
from routing.worksites.sight.lines import FACE_OFF_M, face_samples, view_face
from structures.faces import Camera, Face
from structures.shapes import Box, Cylinder, Sphere
from structures.solids.distance import signed_distance
from tests.crosscheck.ray_casts import lines_hit
from tests.draws import draws

FACE = Face(
    id="F", center_m=(0.0, 0.0, 0.0), normal=(0.0, 0.0, 2.0), across=(1.0, 0.0, 0.0), size_m=(2, 1)
)
CAMERA = Camera(id="C", nearest_m=0.5, farthest_m=3.0, incidence_deg=60.0)
SHAPES = (
    Box(center_m=(0.0, 0.0, -0.5), size_m=(3.0, 3.0, 1.0)),
    Box(center_m=(0.4, 0.1, 0.5), size_m=(0.3, 0.2, 0.4)),
    Sphere(center_m=(-0.5, 0.3, 0.7), radius_m=0.25),
    Cylinder(start_m=(-0.8, -0.9, 0.4), end_m=(0.9, -0.7, 0.9), radius_m=0.12),
)
SOLIDS = Named(SHAPES, ("deck", "box", "ball", "pipe"))
MESH_OFF_M = 2e-3
"""The round meshes lie inside the true shapes by no more than this [m]."""


def meshes() -> list[trimesh.Trimesh]:
    deck, box, ball, pipe = SHAPES
    found = [
        trimesh.creation.box(extents=one.size_m, transform=_at(one.center_m)) for one in (deck, box)
    ]
    found.append(trimesh.creation.icosphere(subdivisions=4, radius=ball.radius_m))
    found[-1].apply_translation(ball.center_m)
    found.append(
        trimesh.creation.cylinder(
            radius=pipe.radius_m, segment=[pipe.start_m, pipe.end_m], sections=96
        )
    )
    return found


def _at(center: tuple[float, float, float]) -> np.ndarray:
    return trimesh.transformations.translation_matrix(center)


def test_what_is_hidden_agrees_with_ray_casts() -> None:
    rng = np.random.default_rng(4)
    places = rng.uniform([-2, -2, 0.05], [2, 2, 2.5], (60, 3))
    outside = np.min([signed_distance(one, places) for one in SHAPES], axis=0) > 0.01
    places = places[outside]
    views = view_face(FACE, CAMERA, places, SOLIDS)
    place, sample = np.nonzero(
        (views.range_m >= 0.5) & (views.range_m <= 3.0) & (views.slant_rad <= np.pi / 3)
    )
    starts = places[place]
    ends = views.samples_m[sample] + FACE_OFF_M * np.array([0.0, 0.0, 1.0])
    hit = np.any([lines_hit(mesh, starts, ends) for mesh in meshes()], axis=0)
    # A line that only grazes a round shape is not told apart by its mesh.
    share = np.linspace(0, 1, 400)[:, None, None]
    along = (starts + share * (ends - starts)).reshape(-1, 3)
    depth = np.min([signed_distance(one, along) for one in SHAPES], axis=0).reshape(400, -1)
    clear_cut = np.abs(depth.min(axis=0)) > MESH_OFF_M
    sees = views.sees[place, sample]
    assert (sees == ~hit)[clear_cut].all()
    assert clear_cut.mean() > 0.9
    assert 0.2 < sees.mean() < 0.95


NOTCHED = ((-1.0, -0.5), (1.0, -0.5), (1.0, -0.4), (-0.4, -0.4), (-0.4, 0.5), (-1.0, 0.5))
"""An L: a wide arm, and one of 0.1 m that is narrower than samples are apart."""


def test_samples_of_a_polygon_are_inside_it_and_leave_no_part_out() -> None:
    """Against shapely: none outside, and no place of it is farther from all than two steps."""
    face = Face(
        id="P", center_m=(3.0, 2.0, 1.0), normal=(0, 0, 1), across=(0, 1, 0), outline_m=NOTCHED
    )
    polygon = Polygon(NOTCHED)
    # Across is +y and up is z cross y, which is -x.
    samples = face_samples(face) - np.array(face.center_m)
    flat = MultiPoint(np.stack([samples[:, 1], -samples[:, 0]], axis=1))
    assert np.abs(samples[:, 2]).max() == 0
    assert polygon.buffer(1e-9).contains(flat)
    assert polygon.difference(flat.buffer(2 * 2.0 / 12)).area < 1e-9


def test_a_narrow_arm_of_a_polygon_that_is_hidden_is_not_seen() -> None:
    """The arm lies under a beam, the rest in the open."""
    face = Face(
        id="P", center_m=(0.0, 0.0, 0.0), normal=(0, 0, 1), across=(1, 0, 0), outline_m=NOTCHED
    )
    deck = Box(center_m=(0.0, 0.0, -0.5), size_m=(6.0, 6.0, 1.0))
    beam = Box(center_m=(0.4, -0.45, 0.06), size_m=(1.4, 0.3, 0.1))
    places = np.array([[-0.6, 0.0, 1.5], [0.6, 1.0, 1.2]])
    free = view_face(face, CAMERA, places, Named((deck,), ("deck",)))
    hidden = view_face(face, CAMERA, places, Named((deck, beam), ("deck", "beam")))
    assert free.sees.any(axis=0).all()
    unseen = hidden.samples_m[~hidden.sees.any(axis=0)]
    assert len(unseen)
    assert (unseen[:, 0] > -0.4).all()
    assert (unseen[:, 1] < -0.3).all()
    as_box = FACE.model_copy(update={"size_m": (2.0, 1.0)})
    same = FACE.model_copy(
        update={"size_m": None, "outline_m": ((-1, -0.5), (1, -0.5), (1, 0.5), (-1, 0.5))}
    )
    assert (face_samples(same)[: len(face_samples(as_box))] == face_samples(as_box)).all()


@settings(deadline=None, max_examples=draws(150))
@given(st.lists(st.tuples(st.integers(0, 2**10 - 1), st.integers(0, 9)), min_size=1, max_size=12))
def test_cover_is_smallest_and_then_cheapest(drawn: list[tuple[int, int]]) -> None:
    sets, costs = [one for one, _ in drawn], [float(cost) for _, cost in drawn]
    found = fewest_cover(sets, costs)
    whole = 0
    for one in sets:
        whole |= one
    covered = 0
    for i in found:
        covered |= sets[i]
    assert covered == whole
    model = cp_model.CpModel()
    take = [model.new_bool_var(f"s{i}") for i in range(len(sets))]
    for bit in range(10):
        holders = [take[i] for i, one in enumerate(sets) if one >> bit & 1]
        if holders:
            model.add_bool_or(holders)
    # One set more is dearer than all costs together.
    model.minimize(sum((1000 + int(cost)) * x for cost, x in zip(costs, take, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    assert solver.objective_value == pytest.approx(1000 * len(found) + sum(costs[i] for i in found))


def test_samples_fill_the_face_evenly() -> None:
    samples = face_samples(FACE)
    assert samples.shape == (12 * 6, 3)
    assert samples.mean(axis=0) == pytest.approx([0, 0, 0], abs=1e-12)
    assert samples.min(axis=0) == pytest.approx([-1 + 1 / 12, -0.5 + 1 / 12, 0])
    thin = FACE.model_copy(update={"size_m": (2.0, 0.01)})
    assert face_samples(thin).shape == (12, 3)
