"""Zones on a surface that is drawn flat: hatched where they reach the hands on its handrails."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, cast

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.drawing import Drawing
from routing.show.maps.solids_zones import ZONE_LOOKS, look_of, zone_text
from routing.show.sheets.page import Ink
from structures.elements import Zone
from structures.solids.distance import signed_distance
from structures.zones import active_zones, zone_shape

__all__ = ["Surface", "draw_surface_zones"]

Floats = NDArray[np.float64]

_STEP_M: Final = 0.05
"""Zones are tried at points of the surface this far apart."""
_HAND_HEIGHT_M: Final = 0.1
"""A zone that comes this near to the surface reaches the hands on its handrails [m]."""


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A rectangle of a panel, and which points of space its places are.

    ``lift`` takes places (n, 2) on the panel to points (n, 3) in space [m].
    """

    low_m: tuple[float, float]
    high_m: tuple[float, float]
    lift: Callable[[Floats], Floats]


def draw_surface_zones(drawing: Drawing, surface: Surface, *, named: str) -> None:
    """Hatch a surface where zones touch it, or come within hand's height of it."""
    from matplotlib.collections import LineCollection

    active = frozenset(zone.id for zone in active_zones(drawing.structure, drawing.facts.when))
    for zone in sorted(drawing.structure.zones, key=lambda one: one.id):
        look = ZONE_LOOKS[look_of(zone, active)]
        spacing_m = look.spacing_pt / drawing.panel.points_per_m
        lines = _hatched(surface, zone, spacing_m, look.angle_deg)
        if not lines:
            continue
        outline = _outline(surface, zone)
        for part, drawn, dashes, wide_pt, above in (
            ("zone", lines, look.hatch, 0.6, 2.0),
            ("zone-outline", outline, look.edge, 1.0, 2.1),
        ):
            collection = LineCollection(
                drawn,
                colors=look.colour,
                linewidths=wide_pt,
                linestyles=[(0.0, dashes or None)],
                zorder=above,
            )
            collection.set_gid(f"{named}.{part}.{zone.id}")
            drawing.axes.add_collection(collection, autolim=False)
        drawing.take_paths(outline, 0.8, Ink.EDGE)
        middle = lines[len(lines) // 2].mean(axis=0)
        drawing.add_label("zone", zone_text(zone, active), middle[None], gaps_pt=(3.0,))


def _outline(surface: Surface, zone: Zone) -> list[Floats]:
    """Return the lines on the surface where a zone begins, each (k, 2) [m].

    Where the zone goes on beyond the edge of the surface the line is open.
    """
    from contourpy import contour_generator

    (left, bottom), (right, top) = surface.low_m, surface.high_m
    x, y = (
        np.linspace(low, high, 1 + max(1, int(np.ceil((high - low) / _STEP_M))))
        for low, high in ((left, right), (bottom, top))
    )
    flat = np.column_stack([part.ravel() for part in np.meshgrid(x, y)])
    away = signed_distance(zone_shape(zone), surface.lift(flat)).reshape(len(y), len(x))
    # As separate lines of points, which is what it returns where nothing else is asked for.
    return cast("list[Floats]", contour_generator(x, y, away).lines(_HAND_HEIGHT_M))


def _hatched(surface: Surface, zone: Zone, spacing_m: float, angle_deg: float) -> list[Floats]:
    """Return pieces of slanted lines over the surface that are in a zone, each (2, 2) [m]."""
    slope = 1.0 if angle_deg > 0 else -1.0
    (left, bottom), (right, top) = surface.low_m, surface.high_m
    along = np.arange(left, right + _STEP_M / 2, _STEP_M)
    step_m = spacing_m * np.sqrt(2.0)
    far = max(abs(bottom), abs(top)) + max(abs(left), abs(right))
    starts = np.arange(np.ceil(-far / step_m), np.floor(far / step_m) + 1) * step_m
    up = starts[:, None] + slope * along[None, :]
    flat = np.column_stack([np.broadcast_to(along, up.shape).ravel(), up.ravel()])
    inside = signed_distance(zone_shape(zone), surface.lift(flat)) <= _HAND_HEIGHT_M
    inside = inside.reshape(up.shape) & (up >= bottom) & (up <= top)
    pieces: list[Floats] = []
    for row, flags in zip(up, inside, strict=True):
        edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
        pieces.extend(
            np.array([(along[a], row[a]), (along[b - 1], row[b - 1])])
            for a, b in zip(edges[::2], edges[1::2], strict=True)
            if b - a > 1
        )
    return pieces
