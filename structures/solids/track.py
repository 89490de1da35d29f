"""Where the centre of a carried ball is at every moment of a move, and how fast it goes."""

import numpy as np

from structures.frozen import frozen
from structures.solids.axes import Flags, Floats, Indices, norms, points_array, rows_at

__all__ = ["Sweep", "Track"]

_UNIT_WITHIN = 1e-6
_OPPOSITE_WITHIN_RAD = 1e-6


@frozen(eq=False)
class Sweep:
    """The ways of a ball's centre on n moves.

    At time t from 0 to 1 the centre is the point between the two grips (linear
    in t), plus ``offset_m`` along a direction turned evenly, the short way
    round, from the first lean to the second.

    Two opposite leans have no short way round. How the body goes is then not
    known, and such a move is refused by everything that is computed from it.

    Parameters
    ----------
    start_m, end_m
        Grip positions, shape (n, 3) [m].
    start_lean, end_lean
        Unit directions from grip to ball centre, shape (n, 3).
    offset_m
        Distance from grip to ball centre [m].

    Raises
    ------
    ValueError
        The arrays do not fit each other, a number is not finite, a lean is not
        a unit vector, or the offset is negative.
    """

    start_m: Floats
    end_m: Floats
    start_lean: Floats
    end_lean: Floats
    offset_m: float

    def __post_init__(self) -> None:
        names = ("start_m", "end_m", "start_lean", "end_lean")
        for name in names:
            object.__setattr__(self, name, points_array(getattr(self, name), name))
        counts = {name: len(getattr(self, name)) for name in names}
        if len(set(counts.values())) > 1:
            raise ValueError(f"rows of a sweep must be as many in each array, not {counts}")
        for name in ("start_lean", "end_lean"):
            off = np.abs(norms(getattr(self, name)) - 1.0)
            if (off > _UNIT_WITHIN).any():
                worst = int(off.argmax())
                raise ValueError(
                    f"{name}[{worst}] = {getattr(self, name)[worst]} is not a unit vector; "
                    "divide directions by their length"
                )
        if not (np.isfinite(self.offset_m) and self.offset_m >= 0):
            raise ValueError(f"offset {self.offset_m} m; give a finite distance of 0 m or more")

    def __len__(self) -> int:
        return len(self.start_m)

    def take(self, some: Indices | Flags) -> "Sweep":
        """Return some of the moves."""
        # What is part of a sweep is one, and need not be looked at again.
        part = object.__new__(Sweep)
        part.__dict__.update(
            start_m=rows_at(self.start_m, some),
            end_m=rows_at(self.end_m, some),
            start_lean=rows_at(self.start_lean, some),
            end_lean=rows_at(self.end_lean, some),
            offset_m=self.offset_m,
        )
        return part


@frozen(eq=False)
class Track:
    """A sweep made ready to be evaluated many times.

    The direction at t is cos(t a) first + sin(t a) across, where a is the angle
    between the leans: the same as interpolating on the sphere.
    """

    parts_m: Floats
    """What the centre is put together from, shape (n, 4, 3) [m].

    Where the grip starts, how far it goes, and the offset times the first lean
    and times the unit vector towards which that turns: in one array, so that
    what belongs to a move is looked up once.
    """
    angle_rad: Floats
    speed_m: Floats
    """Upper bound of the centre's speed per unit of t, shape (n,) [m]."""
    bend_m: Floats
    """The centre's acceleration per unit of t squared, shape (n,) [m]."""
    middle_m: Floats
    """Where the centre is at t = 1/2, shape (n, 3) [m]."""
    known: Flags
    """Whether the way is known: False where the leans are opposite, shape (n,)."""

    @classmethod
    def of(cls, sweep: Sweep, start: int, stop: int) -> "Track":
        """Return the track of moves start to stop."""
        part = slice(start, stop)
        first, last = sweep.start_lean[part], sweep.end_lean[part]
        cosine = np.einsum("ij,ij->i", first, last)
        across = last - cosine[:, None] * first
        sine = norms(across)
        angle = np.arctan2(sine, cosine)
        across = across / np.where(sine > 0, sine, 1.0)[:, None]
        step = sweep.end_m[part] - sweep.start_m[part]
        offset_m = sweep.offset_m
        known = (angle < np.pi - _OPPOSITE_WITHIN_RAD) | (offset_m == 0)
        half = angle[:, None] / 2
        middle = sweep.start_m[part] + step / 2
        middle = middle + offset_m * (np.cos(half) * first + np.sin(half) * across)
        parts = (sweep.start_m[part], step, offset_m * first, offset_m * across)
        return cls(
            parts_m=np.stack(parts, axis=1),
            angle_rad=angle,
            speed_m=norms(step) + offset_m * angle,
            bend_m=offset_m * angle * angle,
            middle_m=middle,
            known=known,
        )

    def take(self, some: Indices) -> "Track":
        """Return the tracks of some moves, one of them as often as it is named."""
        return Track(
            parts_m=rows_at(self.parts_m, some),
            angle_rad=self.angle_rad[some],
            speed_m=self.speed_m[some],
            bend_m=self.bend_m[some],
            middle_m=rows_at(self.middle_m, some),
            known=self.known[some],
        )

    @property
    def reach_m(self) -> Floats:
        """How far the centre ever gets from its middle, an upper bound, shape (n,) [m]."""
        return self.speed_m / 2

    def centers(self, moves: Indices, at: Floats) -> Floats:
        """Return the centre of each of some moves at its time, shape (k, 3) [m]."""
        turned = at * self.angle_rad[moves]
        shares = np.empty((len(moves), 4))
        shares[:, 0], shares[:, 1] = 1.0, at
        np.cos(turned, out=shares[:, 2])
        np.sin(turned, out=shares[:, 3])
        centers: Floats = np.einsum("ij,ijk->ik", shares, rows_at(self.parts_m, moves))
        return centers
