"""Zones that bar all lines from a piece of rail: only said where it is so of every place."""

import numpy as np
import pytest

from routing.graph.situation import Situation
from routing.graph.surroundings import Named
from routing.worksites.ties.chains import find_chain
from routing.worksites.ties.lines import LinesTo
from structures.elements import AttachPoint, Handrail, Worksite, Zone
from structures.model import Structure
from structures.shapes import Box, Cone, Cylinder, Shape, Sphere
from structures.solids.sight import crosses

POINT = (0.0, 0.0, 1.0)


def shapes(random: np.random.Generator, count: int) -> tuple[Shape, ...]:
    """Shapes between a rail on the ground and a point above it."""

    def near(x: float, y: float, z: float) -> tuple[float, float, float]:
        return tuple((np.array([x, y, z]) + random.uniform(-0.4, 0.4, 3)).tolist())

    made: list[Shape] = []
    for _ in range(count):
        size = tuple(random.uniform(0.05, 1.5, 3).tolist())
        made.append(
            [
                Box(center_m=near(0, 0, 0.5), size_m=size, x_axis=(1, 0.2, 0), y_axis=(-0.2, 1, 0)),
                Sphere(center_m=near(0, 0, 0.4), radius_m=size[0] / 3),
                Cylinder(start_m=near(-0.3, 0, 0.5), end_m=near(0.3, 0, 0.5), radius_m=0.1),
                Cone(
                    start_m=near(-0.4, 0, 0.5),
                    end_m=near(0.4, 0, 0.5),
                    start_radius_m=0.05,
                    end_radius_m=0.3,
                ),
            ][int(random.integers(4))]
        )
    return tuple(made)


def named(some: tuple[Shape, ...], letter: str) -> Named:
    return Named(some, tuple(f"{letter}{i}" for i in range(len(some))))


def test_barred_is_only_what_no_place_has_a_free_line_from() -> None:
    random = np.random.default_rng(11)
    said, not_said = 0, 0
    ground = Box(center_m=(0.0, 0.0, -1.06), size_m=(9.0, 9.0, 2.0))
    for _ in range(70):
        solids = (ground, *shapes(random, int(random.integers(0, 2))))
        to = LinesTo.to(POINT, named(solids, "S"), named(shapes(random, 2), "Z"), 4.0)
        middle = np.array([*random.uniform(-0.8, 0.8, 2), 0.0])
        along = np.array([*random.normal(size=2), 0.0])
        along *= float(random.uniform(0.02, 0.4)) / np.linalg.norm(along)
        places = [middle + by * along for by in np.linspace(-1.0, 1.0, 21)]
        every = all(
            any(crosses(zone, one[None], np.array([POINT]))[0] for zone in to.zones.shapes)
            and to.sees(one, float(np.linalg.norm(one - POINT)))
            for one in places
        )
        if to.barred_between(middle - along, middle + along):
            assert every
            said += 1
        else:
            not_said += every
    assert said > 8
    assert said > not_said / 2


@pytest.mark.parametrize("position", ["held", "seated"])
def test_a_position_in_a_zone_is_said_to_be_at_once(position: str) -> None:
    places = {"held": (0.0, 0.5, 1.0), "seated": (0.0, -0.5, 1.0)}
    zone = Zone(
        id="Z",
        volume=Sphere(center_m=places[position], radius_m=0.2),
        applies_to=("tether",),
    )
    structure = Structure(
        name="barred",
        revision="A",
        handrails=(Handrail(id="H", points_m=((-1, 0, 0), (1, 0, 0)), normal=(0, 0, 1)),),
        worksites=(
            Worksite(
                id="W",
                handrail="H",
                place_m=(0.0, 0.0, 0.0),
                attach=(AttachPoint(id="a", held_m=places["held"], seated_m=places["seated"]),),
            ),
        ),
        zones=(zone,),
    )
    found = find_chain(structure, "W", Situation()).attach[0]
    assert found.verdict == "no chain"
    assert found.reason == f"the {position} position is in zone Z, which keeps tethers out"
