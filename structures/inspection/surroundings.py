"""What is round a point: the nearest solid, how far, and which way is away from it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from structures.elements import Solid
from structures.solids.distance import bounding_box, signed_distance

__all__ = ["PROBE_M", "Surroundings"]

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

PROBE_M = 0.01
"""Step taken along a direction to see whether it leads away from the solids [m].

Small against the standoff of a handrail, large against rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class Surroundings:
    """The solids of a structure with their bounding boxes."""

    solids: tuple[Solid, ...]
    boxes_m: tuple[tuple[Floats, Floats], ...]

    @classmethod
    def of(cls, solids: Sequence[Solid]) -> "Surroundings":
        """Make the surroundings that these solids are, in id order."""
        ordered = tuple(sorted(solids, key=lambda solid: solid.id))
        return cls(ordered, tuple(bounding_box(solid.volume) for solid in ordered))

    def nearest(self, points_m: Floats) -> tuple[Floats, Indices]:
        """Return the distance to the nearest solid and which one it is, for each point.

        Parameters
        ----------
        points_m
            Shape (n, 3) [m].

        Returns
        -------
        tuple
            Signed distance, negative inside, shape (n,) [m], infinite without
            solids; index into ``solids``, shape (n,), -1 without solids.
        """
        distance_m = np.full(len(points_m), np.inf)
        index = np.full(len(points_m), -1, dtype=np.int64)
        for i, (solid, (low, high)) in enumerate(zip(self.solids, self.boxes_m, strict=True)):
            outside = np.maximum(np.maximum(low - points_m, points_m - high), 0.0)
            # A solid is no nearer than its bounding box.
            near = np.flatnonzero(np.sqrt((outside**2).sum(axis=1)) <= np.maximum(distance_m, 0.0))
            if not len(near):
                continue
            found = signed_distance(solid.volume, points_m[near])
            better = found < distance_m[near]
            distance_m[near[better]] = found[better]
            index[near[better]] = i
        return distance_m, index

    def outwardness(self, points_m: Floats, directions: Floats) -> Floats:
        """Return how far each direction leads away from the solids, shape (n,).

        1 is straight away, 0 along them, -1 straight towards them: the change
        of distance over a step of `PROBE_M`, divided by that step.
        """
        unit = directions / np.sqrt((directions**2).sum(axis=1))[:, None]
        here, _ = self.nearest(points_m)
        there, _ = self.nearest(points_m + PROBE_M * unit)
        apart = np.subtract(there, here, out=np.ones(len(points_m)), where=np.isfinite(here))
        return np.where(np.isfinite(here), apart / PROBE_M, 1.0)

    def name(self, index: int) -> str:
        """Return the solid's id, for messages."""
        return self.solids[index].id
