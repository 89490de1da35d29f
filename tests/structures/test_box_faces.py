"""Faces of boxes: places on them against the definition, for boxes turned any way."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.box_faces import box_faces
from structures.shapes import Box
from structures.views import VIEWS

span = st.floats(0.1, 20.0)
place = st.floats(-30.0, 30.0)


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    seed = draw(st.integers(0, 2**32 - 1))
    turned, _ = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    x, y = (tuple(float(value) for value in turned[:, i]) for i in (0, 1))
    return Box(
        center_m=(draw(place), draw(place), draw(place)),
        size_m=(draw(span), draw(span), draw(span)),
        x_axis=x,
        y_axis=y,
    )


@given(boxes())
def test_the_faces_close_up_to_the_box(box: Box) -> None:
    faces = box_faces(box)
    areas = sorted(4.0 * face.half_m[0] * face.half_m[1] for face in faces)
    a, b, c = box.size_m
    assert areas == pytest.approx(sorted([a * b, a * b, a * c, a * c, b * c, b * c]))
    corners = []
    for face in faces:
        right, up = face.half_m
        flat = np.array([(i * right, j * up) for i in (-1, 1) for j in (-1, 1)])
        lifted = face.lift(flat)
        corners.append(lifted)
        # There and back again, on the face itself.
        assert face.flat(lifted) == pytest.approx(np.column_stack([flat, np.zeros(4)]), abs=1e-9)
        # All of the box lies below each face.
        assert face.flat(np.array([box.center_m]))[0, 2] < 0
    # Every corner of the box is on three faces.
    keys, counts = np.unique(np.round(np.vstack(corners), 6), axis=0, return_counts=True)
    assert len(keys) == 8 or sum(counts) == 24


@pytest.mark.parametrize("name", ["forward", "aft", "starboard", "port", "nadir"])
def test_faces_along_the_axes_are_drawn_as_the_views_are(name: str) -> None:
    (face,) = [
        one for one in box_faces(Box(center_m=(1, 2, 3), size_m=(4, 2, 1))) if one.view.name == name
    ]
    assert (face.view.right, face.view.up) == (VIEWS[name].right, VIEWS[name].up)
