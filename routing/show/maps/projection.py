"""What a panel shows of space: a view from outside, or the unrolled skin of a module."""

from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from routing.show.sheets.inputs import Region
from structures.box_faces import BoxFace
from structures.elements import Solid
from structures.fields import FARTHEST_M
from structures.skins import Skin
from structures.solids.distance import bounding_box
from structures.solids.sight import crosses
from structures.views import View

__all__ = ["FaceProjection", "FlatProjection", "Projection", "SkinProjection"]

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

SKIN_REACH_M: Final = 1.0
"""What stands further off a module's skin, or beyond its ends, is not on its unrolled map [m]."""

_ON_CUT_M: Final = 0.001
"""What lies this near to the cut of a skin lies on it, whichever side rounding puts it [m]."""

_BELOW_FACE_M: Final = 0.01
"""What lies lower than this is on another face, or inside [m]."""


class Projection(Protocol):
    """Places of space on the plane of a panel."""

    def place(self, points_m: Floats) -> Floats:
        """Return sheet coordinates of points (n, 3), shape (n, 2) [m]."""

    def pieces(self, points_m: Floats) -> tuple[Floats, ...]:
        """Return the pieces of a line with corners (k, 3) as they are drawn, each (j, 2) [m]."""

    def holds(self, points_m: Floats) -> bool:
        """Tell whether a line with these corners belongs on this panel."""

    def near(self, points_m: Floats, normals: Floats) -> Flags:
        """Tell which points with outward normals (n, 3) are on the viewer's side, shape (n,)."""


class FlatProjection:
    """A view of a structure, all of it or a region.

    Parameters
    ----------
    view
        The view.
    solids
        What may stand between the viewer and a point.
    region
        What is shown; ``None`` means all.
    """

    def __init__(self, view: View, solids: tuple[Solid, ...], region: Region | None) -> None:
        self.view = view
        self._region = region
        # What is outside the region is cut away: it hides nothing either.
        self._solids = [one for one in solids if self.holds(np.array(bounding_box(one.volume)))]

    def place(self, points_m: Floats) -> Floats:
        """Return sheet coordinates of points (n, 3), shape (n, 2) [m]."""
        return self.view.project(points_m)

    def pieces(self, points_m: Floats) -> tuple[Floats, ...]:
        """Return the projected line, in one piece."""
        return (self.view.project(points_m),)

    def holds(self, points_m: Floats) -> bool:
        """Tell whether the line's bounding box meets the region."""
        if self._region is None:
            return True
        low, high = np.min(points_m, axis=0), np.max(points_m, axis=0)
        return bool((low <= self._region.high_m).all() and (high >= self._region.low_m).all())

    def near(self, points_m: Floats, normals: Floats) -> Flags:
        """Tell which points face the viewer with no solid in between."""
        seen = self.view.faces_viewer(normals)
        toward = np.array(self.view.toward)
        for solid in self._solids:
            if seen.any():
                starts = points_m[seen]
                seen[seen] = ~crosses(solid.volume, starts, starts + FARTHEST_M * toward)
        return seen


class SkinProjection:
    """The unrolled skin of a module."""

    def __init__(self, skin: Skin) -> None:
        self.skin = skin

    def place(self, points_m: Floats) -> Floats:
        """Return distance along and round the skin of points (n, 3), shape (n, 2) [m].

        What lies on the cut has its place, and so its name, on the upper edge.
        """
        flat = self.skin.unroll(points_m)[:, :2]
        flat[self._on_cut(flat), 1] = self.skin.half_m
        return flat

    def pieces(self, points_m: Floats) -> tuple[Floats, ...]:
        """Return the line on the skin, cut where the skin is cut; along the cut on both edges."""
        lines = self.skin.unroll_path(points_m)
        half_m = self.skin.half_m
        if not all(self._on_cut(line).all() for line in lines):
            return lines
        return tuple(
            np.column_stack([line[:, 0], np.full(len(line), edge_m)])
            for edge_m in (half_m, -half_m)
            for line in lines
        )

    def _on_cut(self, flat_m: Floats) -> Flags:
        on: Flags = np.abs(flat_m[:, 1]) >= self.skin.half_m - _ON_CUT_M
        return on

    def holds(self, points_m: Floats) -> bool:
        """Tell whether all corners are on the skin or close to it."""
        return bool(self._on_skin(points_m).all())

    def near(self, points_m: Floats, normals: Floats) -> Flags:
        """Tell which points are on the skin or close to it; normals do not matter here."""
        del normals
        return self._on_skin(points_m)

    def _on_skin(self, points_m: Floats) -> Flags:
        along, _, height = self.skin.unroll(points_m).T
        on: Flags = (
            (np.abs(height) <= SKIN_REACH_M)
            & (along >= -SKIN_REACH_M)
            & (along <= self.skin.length_m + SKIN_REACH_M)
        )
        return on


class FaceProjection:
    """One face of a box, seen straight from outside."""

    def __init__(self, face: BoxFace) -> None:
        self.face = face

    def place(self, points_m: Floats) -> Floats:
        """Return places from the middle of the face, shape (n, 2) [m]."""
        return self.face.flat(points_m)[:, :2]

    def pieces(self, points_m: Floats) -> tuple[Floats, ...]:
        """Return the line as seen from outside, in one piece."""
        return (self.place(points_m),)

    def holds(self, points_m: Floats) -> bool:
        """Tell whether all corners are on the face or close to it."""
        return bool(self._on_face(points_m).all())

    def near(self, points_m: Floats, normals: Floats) -> Flags:
        """Tell which points are on the face or close to it, and face outward from it."""
        return self._on_face(points_m) & self.face.view.faces_viewer(normals)

    def _on_face(self, points_m: Floats) -> Flags:
        right, up, height = self.face.flat(points_m).T
        on: Flags = (
            (height >= -_BELOW_FACE_M)
            & (height <= SKIN_REACH_M)
            & (np.abs(right) <= self.face.half_m[0] + SKIN_REACH_M)
            & (np.abs(up) <= self.face.half_m[1] + SKIN_REACH_M)
        )
        return on
