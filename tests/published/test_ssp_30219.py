"""Frames of the station.

SSP 30219 Revision F, 2001-10-26: Fig 4.0-1 (PDF p40), analysis frame +X forward, +Y starboard,
+Z nadir, right-handed; Fig 4.0-4 (PDF p43), a segment's own frame (x aft, y zenith, z port):
X = -35.339 - x, Y = -0.006 - z, Z = 4.142 - y in metres. Values as found in a page-by-page check of
the document; the inverse and the determinant are computed here.
"""

import numpy as np
import pytest

from structures.frames import DIRECTIONS, Frame, Vector

SEGMENT = Frame(("-x", "-z", "-y"), (-35.339, -0.006, 4.142))


def test_analysis_frame_is_right_handed() -> None:
    forward, starboard, nadir = (
        np.array(DIRECTIONS[name]) for name in ("forward", "starboard", "nadir")
    )
    assert (forward == [1, 0, 0]).all()
    assert (starboard == [0, 1, 0]).all()
    assert (nadir == [0, 0, 1]).all()
    assert (np.cross(forward, starboard) == nadir).all()


def test_segment_axes_in_station_axes() -> None:
    assert SEGMENT.rotate((1.0, 0.0, 0.0)) == DIRECTIONS["aft"]
    assert SEGMENT.rotate((0.0, 1.0, 0.0)) == DIRECTIONS["zenith"]
    assert SEGMENT.rotate((0.0, 0.0, 1.0)) == DIRECTIONS["port"]
    turn = np.array([SEGMENT.rotate(axis) for axis in [(1.0, 0, 0), (0, 1.0, 0), (0, 0, 1.0)]])
    assert np.linalg.det(turn) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("segment", "station"),
    [
        ((0.0, 0.0, 0.0), (-35.339, -0.006, 4.142)),
        ((10.0, 2.0, -3.0), (-45.339, 2.994, 2.142)),
    ],
)
def test_conversion_and_back(segment: Vector, station: Vector) -> None:
    # Printed to the millimetre; the sums are exact to rounding.
    assert SEGMENT.to_station(segment) == pytest.approx(station, abs=1e-12)
    assert SEGMENT.from_station(station) == pytest.approx(segment, abs=1e-12)
    x, y, z = station
    assert SEGMENT.from_station(station) == pytest.approx((-35.339 - x, 4.142 - z, -0.006 - y))
