"""The sheet: one true scale for all panels, and where each panel stands."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import NDArray

from structures.units import INCH_M

__all__ = ["HEADER_PT", "Extent", "Panel", "lay_out"]

Floats = NDArray[np.float64]
Extent: TypeAlias = tuple[float, float, float, float]
"""Left, bottom, right, top of what a view must hold, in sheet coordinates [m]."""

POINTS_PER_M: Final = 72.0 / INCH_M
"""At full size."""

HEADER_PT: Final = 34.0
"""Height of the strip over a panel with its name, notes and frame arrows."""

MARGIN_PT: Final = 24.0
"""Least room round the outermost things of a panel, for their labels."""

GUTTER_PT: Final = 8.0
NARROWEST_PT: Final = 240.0
"""A panel is at least this wide, so that its header fits."""

_STEPS: Final = (1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.5)
_DENOMINATORS: Final = tuple(step * 10.0**power for power in range(6) for step in _STEPS)
"""Scales that people expect on a drawing: 1:1, 1:1.25 ... 1:750 000."""


@dataclass(frozen=True, slots=True)
class Panel:
    """One view on the sheet.

    Parameters
    ----------
    left_pt, bottom_pt, width_pt, height_pt
        The panel without its header, on the sheet [pt].
    low_m
        Sheet coordinates (right, up) at the panel's lower left corner [m].
    points_per_m
        Scale, the same for all panels of a sheet [pt/m].
    """

    left_pt: float
    bottom_pt: float
    width_pt: float
    height_pt: float
    low_m: tuple[float, float]
    points_per_m: float

    @property
    def extent_m(self) -> Extent:
        """What the panel shows [m]."""
        left, bottom = self.low_m
        return (
            left,
            bottom,
            left + self.width_pt / self.points_per_m,
            bottom + self.height_pt / self.points_per_m,
        )

    def to_page_pt(self, flat_m: Floats) -> Floats:
        """Return places (n, 2) in the panel from sheet coordinates [m], shape (n, 2) [pt]."""
        page: Floats = (np.asarray(flat_m) - np.array(self.low_m)) * self.points_per_m
        return page

    def to_flat_m(self, page_pt: tuple[float, float]) -> tuple[float, float]:
        """Return sheet coordinates of a place in the panel [m]."""
        return (
            self.low_m[0] + page_pt[0] / self.points_per_m,
            self.low_m[1] + page_pt[1] / self.points_per_m,
        )

    def shows(self, flat_m: Floats) -> NDArray[np.bool_]:
        """Tell which sheet coordinates (n, 2) are inside the panel, shape (n,)."""
        left, bottom, right, top = self.extent_m
        inside: NDArray[np.bool_] = (
            (flat_m[:, 0] >= left)
            & (flat_m[:, 0] <= right)
            & (flat_m[:, 1] >= bottom)
            & (flat_m[:, 1] <= top)
        )
        return inside


def lay_out(
    extents: Sequence[Extent],
    area_pt: tuple[float, float],
    bottom_pt: float,
    *,
    alike: bool = False,
) -> tuple[float, tuple[Panel, ...]]:
    """Choose the largest usual scale at which all panels fit, and place them.

    Parameters
    ----------
    extents
        What each panel must hold [m], in the order of importance.
    area_pt
        Width and height of the room for panels [pt].
    bottom_pt
        Where that room begins on the sheet, from below [pt].
    alike
        Whether panels of one extent are to be of one size.

    Returns
    -------
    tuple
        Denominator of the scale (200 for 1:200), and a panel for each extent. Panels fill
        the sheet from the top left, each at the highest place it fits, and take what is free
        to the right of and below them.

    Raises
    ------
    ValueError
        What the panels must hold fits at no usual scale.
    """
    for denominator in _DENOMINATORS:
        scale = POINTS_PER_M / denominator
        if _packed(_sizes_pt(extents, scale, _LEAST_MARGINS), area_pt) is not None:
            break
    else:
        raise ValueError(f"extents {list(extents)} m do not fit on the sheet at any scale")
    sizes = _sizes_pt(extents, scale, _roomiest_margins(extents, scale, area_pt))
    corners = _packed(sizes, area_pt) or []
    grown = _grown(corners, sizes, area_pt)
    if alike:
        more = np.min(np.array(grown) - np.array(sizes), axis=0)
        grown = [(wide + float(more[0]), high + float(more[1])) for wide, high in sizes]
    sizes = grown
    panels = []
    for extent, (width, height), (x, y) in zip(extents, sizes, corners, strict=True):
        middle = ((extent[0] + extent[2]) / 2, (extent[1] + extent[3]) / 2)
        high = height - HEADER_PT
        panels.append(
            Panel(
                GUTTER_PT + x,
                bottom_pt + area_pt[1] - y - height,
                width,
                high,
                (middle[0] - width / scale / 2, middle[1] - high / scale / 2),
                scale,
            )
        )
    return denominator, tuple(panels)


_LEAST_MARGINS: Final = (MARGIN_PT, MARGIN_PT)


def _roomiest_margins(
    extents: Sequence[Extent], scale: float, area_pt: tuple[float, float]
) -> tuple[float, float]:
    """Return the widest margins at which panels of a scale still fit: more room for labels."""
    x, y = _LEAST_MARGINS
    for step_x, step_y in ((6.0, 6.0), (0.0, 6.0), (6.0, 0.0)):
        while _packed(_sizes_pt(extents, scale, (x + step_x, y + step_y)), area_pt) is not None:
            x, y = x + step_x, y + step_y
    return x, y


def _grown(
    corners: Sequence[tuple[float, float]],
    sizes: Sequence[tuple[float, float]],
    area_pt: tuple[float, float],
) -> list[tuple[float, float]]:
    """Return the sizes of boxes that also take what is free to their right and below them [pt]."""
    grown = list(sizes)
    for i, (x, y) in enumerate(corners):
        rest = [(*corners[k], *grown[k]) for k in range(len(corners)) if k != i]
        high = grown[i][1]
        right = [
            left for left, top, _, tall in rest if left > x and top < y + high and y < top + tall
        ]
        wide = min(right, default=area_pt[0] - GUTTER_PT) - GUTTER_PT - x
        below = [
            top for left, top, broad, _ in rest if top > y and left < x + wide and x < left + broad
        ]
        high = min(below, default=area_pt[1]) - GUTTER_PT - y
        grown[i] = (wide, high)
    return grown


def _sizes_pt(
    extents: Sequence[Extent], scale: float, margins_pt: tuple[float, float]
) -> list[tuple[float, float]]:
    """Return width and height of each panel with its header [pt]."""
    return [
        (
            max((right - left) * scale + 2 * margins_pt[0], NARROWEST_PT),
            (top - bottom) * scale + 2 * margins_pt[1] + HEADER_PT,
        )
        for left, bottom, right, top in extents
    ]


def _packed(
    sizes: Sequence[tuple[float, float]], area_pt: tuple[float, float]
) -> list[tuple[float, float]] | None:
    """Return left and top of each box (y runs down), or nothing if they do not all fit."""
    placed: list[tuple[float, float, float, float]] = []
    for width, height in sizes:
        lefts = sorted({0.0, *(right for _, _, right, _ in placed)})
        tops = sorted({0.0, *(below for _, _, _, below in placed)})
        spot = next(
            (
                (x, y)
                for y in tops
                for x in lefts
                if x + width + 2 * GUTTER_PT <= area_pt[0]
                and y + height + GUTTER_PT <= area_pt[1]
                and not any(
                    x < right
                    and x + width + GUTTER_PT > left
                    and y < below
                    and y + height + GUTTER_PT > above
                    for left, above, right, below in placed
                )
            ),
            None,
        )
        if spot is None:
            return None
        x, y = spot
        placed.append((x, y, x + width + GUTTER_PT, y + height + GUTTER_PT))
    return [(left, above) for left, above, _, _ in placed]
