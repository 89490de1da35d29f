"""The faces of a box, each seen straight from outside, at true scale."""

from dataclasses import dataclass

import numpy as np

from structures.shapes import Box
from structures.solids.axes import Floats, square
from structures.views import VIEWS, View, named_direction

__all__ = ["BoxFace", "box_faces"]


@dataclass(frozen=True, slots=True, eq=False)
class BoxFace:
    """One face of a box, to be drawn flat.

    ``view`` looks at it from outside; its right and up run along the edges.
    """

    view: View
    center_m: Floats
    half_m: tuple[float, float]
    """Half of the face's size to the right and up [m]."""

    def flat(self, points_m: Floats) -> Floats:
        """Return where points (n, 3) are from the middle of the face, shape (n, 3) [m].

        Returns
        -------
        NDArray
            To the right, up, and height above the face, negative inside the box.
        """
        axes = np.array([self.view.right, self.view.up, self.view.toward])
        placed: Floats = (np.asarray(points_m, dtype=np.float64) - self.center_m) @ axes.T
        return placed

    def lift(self, flat_m: Floats) -> Floats:
        """Return the points (n, 3) of the face at places (n, 2) from its middle [m]."""
        lifted: Floats = self.center_m + flat_m @ np.array([self.view.right, self.view.up])
        return lifted


def box_faces(box: Box) -> tuple[BoxFace, ...]:
    """Return the six faces of a box, each named for where it looks.

    Up on a face is the edge nearest to what is up in the station's own view from there, so
    the faces of a box along the station axes are drawn as its views are.

    Examples
    --------
    >>> box = Box(center_m=(0, 0, 0), size_m=(4, 2, 1))
    >>> [(face.view.name, face.half_m) for face in box_faces(box)][:3]
    [('forward', (1.0, 0.5)), ('aft', (1.0, 0.5)), ('starboard', (2.0, 0.5))]
    """
    axes = square(box.x_axis, box.y_axis)
    center_m = np.array(box.center_m)
    half_m = np.array(box.size_m) / 2.0
    faces = []
    for i in range(3):
        for sign in (1.0, -1.0):
            toward = sign * axes[i]
            like = max(VIEWS.values(), key=lambda one: float(toward @ np.array(one.toward)))
            others = [(j, way) for j in range(3) if j != i for way in (1.0, -1.0)]
            j, way = max(others, key=lambda one: float(one[1] * axes[one[0]] @ np.array(like.up)))
            up = way * axes[j]
            right = np.cross(up, toward)
            k = 3 - i - j
            view = View(named_direction(_vector(toward)), _vector(right), _vector(up))
            faces.append(
                BoxFace(view, center_m + half_m[i] * toward, (float(half_m[k]), float(half_m[j])))
            )
    return tuple(faces)


def _vector(direction: Floats) -> tuple[float, float, float]:
    x, y, z = (float(value) + 0.0 for value in direction)
    return (x, y, z)
