"""Structures and routes that the drawing tests share, and ways to look into a figure."""

from collections.abc import Iterable
from itertools import combinations
from typing import Any

import numpy as np
from matplotlib.artist import Artist
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure

from routing.show.maps.drawing import PanelResult
from routing.show.sheets.inputs import MapRoute, MapTransfer
from structures.elements import (
    Condition,
    Handhold,
    Handrail,
    Hatch,
    Socket,
    Solid,
    TetherPoint,
    Transmitter,
    Worksite,
    Zone,
)
from structures.model import Structure
from structures.shapes import Box, Cone, Cylinder, Prism, Sphere
from tests.benchmarks.stations import make_station

__all__ = [
    "artist",
    "artists",
    "covered",
    "dense_station",
    "grey",
    "overlaps",
    "small_depot",
    "straight_route",
    "texts",
    "walker",
]

ZENITH, NADIR = (0.0, 0.0, -1.0), (0.0, 0.0, 1.0)


def small_depot(**changes: Any) -> Structure:
    """Make a module along X with a rail on each of four sides, and one of everything else."""
    fields: dict[str, Any] = {
        "name": "Depot",
        "revision": "B",
        "date": "2031-04-02",
        "solids": (
            Solid(
                id="M1",
                name="Long module",
                volume=Cylinder(start_m=(0, 0, 0), end_m=(8, 0, 0), radius_m=2.0),
            ),
            Solid(
                id="N1",
                name="Nose",
                volume=Cone(start_m=(8, 0, 0), end_m=(9, 0, 0), start_radius_m=2, end_radius_m=0.5),
            ),
            Solid(id="B1", volume=Box(center_m=(4, 0, 2.6), size_m=(2, 1, 1.2))),
            Solid(
                id="W1",
                name="Wing",
                volume=Prism(
                    origin_m=(1, 3, 0), outline_m=((0, 0), (6, 0), (6, 4), (0, 4)), height_m=0.1
                ),
            ),
        ),
        "handrails": (
            Handrail(id="HZ", points_m=((1, 0, -2.1), (5, 0, -2.1)), normal=ZENITH),
            Handrail(id="HN", points_m=((1, 0.8, 2.0), (5, 0.8, 2.0)), normal=NADIR),
            Handrail(id="HS", points_m=((1, 2.1, 0), (5, 2.1, 0)), normal=(0, 1, 0)),
            Handrail(id="HP", points_m=((1, -2.1, 0), (5, -2.1, 0)), normal=(0, -1, 0)),
        ),
        "handholds": (Handhold(id="K1", position_m=(6, 0, -2.1), normal=ZENITH),),
        "sockets": (
            Socket(id="S1", position_m=(7, 0, -2.0), normal=ZENITH, clock_zero=(1, 0, 0)),
            Socket(id="S2", position_m=(2, 0.5, -1.95), normal=ZENITH, clock_zero=(1, 0, 0)),
        ),
        "tether_points": (
            TetherPoint(id="TP1", position_m=(1, 0.3, -2.1)),
            TetherPoint(id="TP2", position_m=(4, 0.3, -2.1), staged_m=(25.9,)),
        ),
        "hatches": (Hatch(id="A1", position_m=(0.5, 0, -2.1), normal=ZENITH, tether_point="TP1"),),
        "worksites": (
            Worksite(id="WS1", socket="S1"),
            Worksite(id="WS2", handrail="HS", place_m=(3.0, 2.4, 0.1)),
        ),
        "zones": (
            Zone(id="Z1", name="Thruster", volume=Sphere(center_m=(8, 0, -3), radius_m=1.0)),
            Zone(id="Z2", kind="slow-down", volume=Box(center_m=(3, 0, -2), size_m=(1, 1, 1))),
            Zone(
                id="Z3",
                name="Dish",
                volume=Transmitter(center_m=(4, -4, -2), power_w=4, gain=30, frequency_mhz=2200),
                when=("radar-on",),
            ),
        ),
        "conditions": (Condition(id="radar-on", closes=("HP",)),),
    }
    return Structure(**(fields | changes))


def dense_station() -> Structure:
    """Make a station of about 450 handrails, with 24 of them used by the route beside it."""
    return make_station(2_700)


def straight_route(structure: Structure, prefix: str, person: str) -> MapRoute:
    """Return a route along the handrails whose id begins so, with one transfer and one stay."""
    rails = [rail for rail in structure.handrails if rail.id.startswith(prefix)]
    grips, normals = [], []
    for rail in rails:
        a, b = np.array(rail.points_m[0]), np.array(rail.points_m[-1])
        for share in np.linspace(0.0, 1.0, 6):
            x, y, z = a + share * (b - a)
            grips.append((float(x), float(y), float(z)))
            normals.append(rail.normal)
    first, second = structure.tether_points[0].id, structure.tether_points[1].id
    middle = len(grips) // 2
    return MapRoute(
        person=person,
        grips_m=tuple(grips),
        normals=tuple(normals),
        handrails=tuple(rail.id for rail in rails),
        transfers=(MapTransfer(position_m=grips[middle], tether_point=second, label="reel 2"),),
        stays=(first, second),
        lays_m=(tuple(grips[: middle + 1]), tuple(grips[middle:])),
    )


def artists(figure: Figure, gid: str) -> list[Any]:
    """Return the artists with this group id."""
    return [one for one in figure.findobj(Artist) if one.get_gid() == gid]


def artist(figure: Figure, gid: str) -> Any:
    """Return the only artist with this group id."""
    (only,) = artists(figure, gid)
    return only


def texts(figure: Figure) -> list[str]:
    """Return all texts on a figure."""
    from matplotlib.text import Text

    return [one.get_text() for one in figure.findobj(Text) if one.get_text()]


Box4 = tuple[float, float, float, float]


def _meet(a: Box4, b: Box4) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def overlaps(panel: PanelResult) -> list[tuple[str, str]]:
    """Return the texts of labels whose boxes overlap."""
    pairs = combinations(panel.placed, 2)
    return [(a.label.text, b.label.text) for a, b in pairs if _meet(a.box, b.box)]


def covered(panel: PanelResult) -> list[str]:
    """Return the texts of labels that cover a mark."""
    marks: Iterable[Box4] = panel.mark_boxes
    return [one.label.text for one in panel.placed if any(_meet(one.box, mark) for mark in marks)]


def walker(**changes: Any) -> MapRoute:
    """Make a route along HZ of the small depot, with a transfer, a stay and a lay."""
    fields: dict[str, Any] = {
        "person": "EV1",
        "grips_m": ((1.0, 0.0, -2.1), (2.0, 0.0, -2.1), (3.0, 0.0, -2.1), (5.0, 0.0, -2.1)),
        "handrails": ("HZ",),
        "transfers": (MapTransfer(position_m=(4.0, 0.0, -2.1), tether_point="TP2", label="reel"),),
        "stays": ("TP1",),
        "lays_m": (((1.0, 0.3, -2.1), (1.0, 0.0, -2.1), (4.0, 0.0, -2.1)),),
    }
    return MapRoute(**(fields | changes))


def grey(colour: Any) -> float:
    """Return the lightness of a colour as a grey print shows it (ITU-R BT.601 luma)."""
    return float(np.array(to_rgb(colour)) @ [0.299, 0.587, 0.114])
