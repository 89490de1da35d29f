"""Frames: the station analysis frame and documents written in another one.

Everything in memory is in one right-handed frame: +X forward, +Y starboard,
+Z nadir, origin where the structure's document says (SSP 30219 Rev F,
2001-10-26, Fig 4.0-1).
"""

from typing import Final

from structures.frozen import frozen

__all__ = ["DIRECTIONS", "IDENTITY", "STATION_AXES", "Frame", "Vector"]

Vector = tuple[float, float, float]

DIRECTIONS: Final[dict[str, Vector]] = {
    "forward": (1.0, 0.0, 0.0),
    "aft": (-1.0, 0.0, 0.0),
    "starboard": (0.0, 1.0, 0.0),
    "port": (0.0, -1.0, 0.0),
    "nadir": (0.0, 0.0, 1.0),
    "zenith": (0.0, 0.0, -1.0),
}
"""Unit vectors of the six trade directions in the station analysis frame."""

STATION_AXES: Final[tuple[str, str, str]] = ("x", "y", "z")


@frozen()
class Frame:
    """A frame whose axes are the station's axes, renamed and turned round.

    Parameters
    ----------
    axes
        For each station axis X, Y, Z the signed axis of this frame that runs
        along it: ``("-x", "-z", "-y")`` says X is minus this frame's x.
    offset_m
        Station coordinates of this frame's origin, shape (3,) [m].

    Raises
    ------
    ValueError
        The axes are not a right-handed renaming of x, y and z.

    Examples
    --------
    The conversion of SSP 30219 Rev F, Fig 4.0-4 (values in metres):

    >>> segment = Frame(("-x", "-z", "-y"), (-35.339, -0.006, 4.142))
    >>> segment.to_station((10.0, 2.0, -3.0))
    (-45.339, 2.994, 2.142)
    """

    axes: tuple[str, str, str]
    offset_m: Vector

    def __post_init__(self) -> None:
        names = tuple(axis.lstrip("+-") for axis in self.axes)
        if sorted(names) != list(STATION_AXES) or any(len(axis) > 2 for axis in self.axes):
            raise ValueError(
                f"axes {self.axes} do not name x, y and z once each; "
                'write each as "x", "-x", "y", "-y", "z" or "-z"'
            )
        sign = 1
        for axis in self.axes:
            sign *= -1 if axis.startswith("-") else 1
        order = tuple(STATION_AXES.index(name) for name in names)
        even = order in {(0, 1, 2), (1, 2, 0), (2, 0, 1)}
        if sign * (1 if even else -1) != 1:
            raise ValueError(
                f"axes {self.axes} make a left-handed frame, which would mirror the structure; "
                "turn one sign round"
            )

    def rotate(self, vector: Vector) -> Vector:
        """Return a direction of this frame in station axes, shape (3,)."""
        x, y, z = (self._pick(vector, axis) for axis in self.axes)
        return (x, y, z)

    def to_station(self, point_m: Vector) -> Vector:
        """Return a point of this frame in station coordinates, shape (3,) [m]."""
        x, y, z = self.rotate(point_m)
        dx, dy, dz = self.offset_m
        return (dx + x, dy + y, dz + z)

    def from_station(self, point_m: Vector) -> Vector:
        """Return a station point in this frame's coordinates, shape (3,) [m]."""
        found = {"x": 0.0, "y": 0.0, "z": 0.0}
        for axis, value, offset in zip(self.axes, point_m, self.offset_m, strict=True):
            sign = -1.0 if axis.startswith("-") else 1.0
            found[axis.lstrip("+-")] = sign * (value - offset)
        return (found["x"], found["y"], found["z"])

    @staticmethod
    def _pick(vector: Vector, axis: str) -> float:
        value = vector[STATION_AXES.index(axis.lstrip("+-"))]
        return -value if axis.startswith("-") else value


IDENTITY: Final = Frame(("x", "y", "z"), (0.0, 0.0, 0.0))
