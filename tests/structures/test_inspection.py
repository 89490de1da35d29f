"""Inspection where nothing is to be found, and values that are those of the geometry."""

import math

import numpy as np
import pytest

from structures.elements import (
    Condition,
    Handrail,
    Item,
    Solid,
    Transmitter,
)
from structures.inspection.hardware import nearest_along
from structures.model import Structure
from structures.polylines import Polyline
from structures.shapes import Box, Sphere
from structures.solids.distance import signed_distance
from tests.structures.inspection_faults import FAULTS
from tests.structures.inspection_ground import (
    GLOVE_M,
    KICK_M,
    RAIL_Z,
    UP,
    base,
    inspected,
    kick_box,
    rail,
    with_one,
    zone,
)


def test_nothing_to_say_about_the_base() -> None:
    assert inspected(base()) == ()


ALLOWED: dict[str, Structure] = {
    "standoff within the tolerance": with_one("handrails", rail(-2.0635 - 0.0249)),
    "rail as long as a glove": with_one(
        "handrails",
        Handrail(id="H1", points_m=((1.0, 0.0, RAIL_Z), (1.0 + GLOVE_M, 0.0, RAIL_Z)), normal=UP),
    ),
    "less than half a rail on another": with_one(
        "handrails",
        Handrail(id="H2", points_m=((2.6, 0.0, RAIL_Z), (3.5, 0.0, RAIL_Z)), normal=UP),
    ),
    "kick-sensitive solid just off": with_one("solids", kick_box(KICK_M + 2e-4)),
    "solid that may be kicked": with_one(
        "solids", kick_box(0.3).model_copy(update={"kick_sensitive": False})
    ),
    "slow-down zone over the hatch": with_one(
        "zones", zone(kind="slow-down", volume=Sphere(center_m=(0.5, 0, -2), radius_m=0.4))
    ),
    "zone for tethers over a socket": with_one("zones", zone(applies_to=("tether",))),
    "zone under a condition over a socket": with_one("zones", zone(when=("radar",))),
    "transmitter beside the hatch": with_one(
        "zones",
        zone(volume=Transmitter(center_m=(5, 0, 9), power_w=5, gain=1, frequency_mhz=400)),
    ),
    "condition that closes a rail": with_one("conditions", Condition(id="loose", closes=("H1",))),
    "slanting normal": with_one("handrails", rail(RAIL_Z, normal=(0.0, 1.0, -0.2))),
    "normal along the rail": with_one("handrails", rail(RAIL_Z, normal=(1.0, 0.0, 0.0))),
    "item in an item": with_one(
        "items", Item(id="tool", size_m=(0.1, 0.1, 0.1), mass_kg=1.0, stowed_at="bag")
    ),
}


@pytest.mark.parametrize("case", ALLOWED)
def test_allowed_cases_give_no_finding(case: str) -> None:
    assert inspected(ALLOWED[case]) == ()


def test_values_are_those_of_the_geometry() -> None:
    floating = inspected(FAULTS["rail off the module"][0])[0]
    assert floating.value == pytest.approx(0.5, abs=1e-12)
    assert floating.limit == pytest.approx(0.0635 + 0.15)
    inside = inspected(FAULTS["rail in the module"][0])[0]
    assert inside.severity == "blocks"
    assert inside.value == pytest.approx(-0.1, abs=1e-12)
    kick = inspected(FAULTS["kick-sensitive solid at 24 in"][0])[0]
    # SSP 30256:001 Rev F table 3.1.3-1 sheet 2 (page 3-5): 24 in = 0.6096 m.
    assert kick.value == pytest.approx(0.6096, abs=1e-9)
    assert kick.limit == pytest.approx(0.6096, abs=1e-12)
    zoned = inspected(FAULTS["zone over a worksite"][0])
    assert [f.worksite for f in zoned if f.code == "zone-over-worksite"] == ["W1"]


def test_a_weak_tether_point_blocks_only_where_routes_must_start_on_it() -> None:
    (of_hatch,) = inspected(FAULTS["low rating"][0])
    assert of_hatch.severity == "blocks"
    assert "every route from hatch A1 starts on it and is unsafe" in of_hatch.message
    (other,) = inspected(FAULTS["low rating away from a hatch"][0])
    assert other.severity == "warns"
    assert "no route transfers to it" in other.message


@pytest.mark.parametrize("trial", range(20))
def test_nearest_along_against_dense_samples(trial: int) -> None:
    random = np.random.default_rng(trial)
    line = Polyline.through([tuple(p) for p in random.uniform(-4, 4, (4, 3))])
    box = Box(center_m=(0.0, 0.0, 0.0), size_m=tuple(random.uniform(0.2, 2, 3)))

    def distance(points_m: np.ndarray) -> np.ndarray:
        return signed_distance(box, points_m)

    found_m = nearest_along(line, distance, within_m=1e-4)
    dense_m = distance(line.points_at(np.linspace(0, line.length_m, 20_001))).min()
    assert found_m <= dense_m + 1e-4
    assert found_m >= dense_m - line.length_m / 40_000


def test_outwardness_is_the_cosine_on_a_flat_face() -> None:
    from structures.inspection.surroundings import Surroundings

    box = Solid(id="b", volume=Box(center_m=(0.0, 0.0, 0.0), size_m=(4.0, 4.0, 2.0)))
    turns: list[float] = [0, 30, 60, 90, 120, 180]
    directions = np.array(
        [[math.sin(math.radians(t)), 0, math.cos(math.radians(t))] for t in turns]
    )
    found = Surroundings.of((box,)).outwardness(np.tile([0.0, 0.0, 1.1], (6, 1)), directions)
    assert found == pytest.approx([math.cos(math.radians(t)) for t in turns], abs=1e-9)
