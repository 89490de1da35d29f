"""Colours of the drawings as people without red or green cones see them.

Machado, Oliveira, Fernandes: A Physiologically-based Model for Simulation of Color Vision
Deficiency. IEEE Transactions on Visualization and Computer Graphics 15(6), 2009,
doi 10.1109/TVCG.2009.113: the matrices of its table 1 at severity 1.0, for linear sRGB.
The matrices are as quoted alike in three public programs; the paper itself was not at hand.
sRGB and its matrix to XYZ: IEC 61966-2-1:1999; differences: CIE 1976 L*a*b* (CIE 15),
where about 2.3 can just be told apart (from memory).
"""

from itertools import combinations

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from routing.show.sheets.style import INK, ROUTE_LOOKS

SEEN_BY = {
    "all cones": np.eye(3),
    "protanopia": np.array([
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ]),
    "deuteranopia": np.array([
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ]),
}  # fmt: skip
SRGB_TO_XYZ = np.array([
    (0.4124564, 0.3575761, 0.1804375),
    (0.2126729, 0.7151522, 0.0721750),
    (0.0193339, 0.1191920, 0.9503041),
])  # fmt: skip
WHITE = SRGB_TO_XYZ.sum(axis=1)
APART = 15.0
"""Six times what can just be told apart: lines and hatches are thin."""


def seen(colour: str, eyes: str) -> np.ndarray:
    """Return L*, a*, b* of a colour as somebody sees it."""
    srgb = np.array(to_rgb(colour))
    linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
    share = SRGB_TO_XYZ @ np.clip(SEEN_BY[eyes] @ linear, 0.0, 1.0) / WHITE
    f = np.where(share > 216 / 24389, np.cbrt(share), (24389 / 27 * share + 16) / 116)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def apart(first: str, second: str, eyes: str) -> float:
    return float(np.linalg.norm(seen(first, eyes) - seen(second, eyes)))


def test_the_matrices_leave_white_white_and_mix_red_with_green() -> None:
    for eyes in SEEN_BY:
        assert seen("#ffffff", eyes) == pytest.approx([100.0, 0.0, 0.0], abs=0.1)
    # A red and a green that differ much, and to people without one of the cones only in lightness.
    red, green = "#c00000", "#008000"
    for eyes in ("protanopia", "deuteranopia"):
        hues = seen(red, eyes)[1:] - seen(green, eyes)[1:]
        assert np.linalg.norm(hues) < 0.4 * apart(red, green, "all cones")


@pytest.mark.parametrize("eyes", SEEN_BY)
def test_routes_and_zones_are_told_apart_by_everybody(eyes: str) -> None:
    colours = {f"route {i}": look.colour for i, look in enumerate(ROUTE_LOOKS)}
    for (one, first), (other, second) in combinations(colours.items(), 2):
        assert apart(first, second, eyes) > APART, (one, other)
    assert apart(INK["keep-out"], INK["slow-down"], eyes) > APART
    for name, colour in (*colours.items(), ("keep-out", INK["keep-out"])):
        assert apart(colour, INK["line"], eyes) > APART, name
        assert apart(colour, INK["paper"], eyes) > APART, name
