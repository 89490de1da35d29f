"""Ray casts by trimesh's own triangle test; boxes of triangles are sifted in numpy."""

import numpy as np
from trimesh import Trimesh
from trimesh.ray.ray_triangle import ray_triangle_id

__all__ = ["lines_hit"]


class _Boxes:
    """Stands in for the r-tree that trimesh would need another package for."""

    def __init__(self, mesh: Trimesh) -> None:
        self.low, self.high = mesh.triangles.min(axis=1), mesh.triangles.max(axis=1)
        self.bounds = mesh.bounds.ravel()

    def intersection(self, bounds: np.ndarray) -> np.ndarray:
        low, high = np.asarray(bounds).reshape(2, 3)
        return np.flatnonzero(((self.low <= high) & (self.high >= low)).all(axis=1))


def lines_hit(mesh: Trimesh, starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Tell which segments meet a triangle of a mesh, shape (n,)."""
    along = ends - starts
    length = np.linalg.norm(along, axis=1)
    _, rays, where = ray_triangle_id(
        mesh.triangles, starts, along / length[:, None], mesh.face_normals, _Boxes(mesh)
    )
    hit = np.zeros(len(starts), dtype=bool)
    if len(rays):
        away = np.linalg.norm(where - starts[rays], axis=1)
        hit[rays[away < length[rays]]] = True
    return hit
