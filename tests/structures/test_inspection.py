"""Every finding about structures: a consistent base, and one fault at a time."""

import math

import numpy as np
import pytest

from structures.cables import CableTie, Connector
from structures.elements import (
    AttachPoint,
    Condition,
    Element,
    Handhold,
    Handrail,
    Hatch,
    Item,
    Socket,
    Solid,
    Target,
    TetherPoint,
    Transmitter,
    Worksite,
    Zone,
)
from structures.findings import Finding
from structures.inspection import inspect_structure
from structures.inspection.hardware import nearest_along
from structures.model import ELEMENT_LISTS, Structure
from structures.polylines import Polyline
from structures.references import check_references
from structures.shapes import Box, Cylinder, Sphere
from structures.solids.distance import signed_distance
from structures.units import INCH_M

UP = (0.0, 0.0, -1.0)
GLOVE_M = 6 * INCH_M
RATING_N = 2553.0
KICK_M = 24 * INCH_M
RAIL_Z = -2.0635


def base() -> Structure:
    """Build a module with a little of everything, about which there is nothing to say."""
    module = Cylinder(start_m=(0.0, 0.0, 0.0), end_m=(10.0, 0.0, 0.0), radius_m=2.0)
    return Structure(
        name="base",
        revision="A",
        solids=(
            Solid(id="module", volume=module),
            Solid(
                id="sensor",
                volume=Box(center_m=(5.0, 0.0, -6.0), size_m=(1.0, 1.0, 1.0)),
                kick_sensitive=True,
            ),
        ),
        handrails=(
            Handrail(id="H1", points_m=((1.0, 0.0, RAIL_Z), (3.0, 0.0, RAIL_Z)), normal=UP),
            Handrail(id="H2", points_m=((3.5, 0.0, RAIL_Z), (5.5, 0.0, RAIL_Z)), normal=UP),
        ),
        handholds=(Handhold(id="G1", position_m=(6.0, 0.0, -2.06), normal=UP),),
        sockets=(
            Socket(id="S1", position_m=(7.0, 0.0, -2.0), normal=UP, clock_zero=(1.0, 0.0, 0.0)),
        ),
        tether_points=(TetherPoint(id="T1", position_m=(0.5, 0.5, -2.1), rating_n=RATING_N),),
        hatches=(Hatch(id="A1", position_m=(0.5, 0.0, -2.0), normal=UP, tether_point="T1"),),
        worksites=(
            Worksite(
                id="W1",
                socket="S1",
                targets=(Target(id="bolt", position_m=(8.0, 0.0, -2.0), facing=UP),),
                attach=(AttachPoint(id="a", held_m=(8.0, 0.0, -3.0), seated_m=(8.0, 0.0, -2.2)),),
            ),
        ),
        zones=(
            Zone(id="Z1", volume=Sphere(center_m=(5.0, 0.0, 6.0), radius_m=1.0)),
            Zone(id="Z2", volume=Sphere(center_m=(7.0, 0.0, -2.0), radius_m=1.0), when=("radar",)),
        ),
        conditions=(Condition(id="radar"),),
        items=(Item(id="bag", size_m=(0.3, 0.3, 0.3), mass_kg=5.0, stowed_at="H1"),),
    )


def inspected(structure: Structure) -> tuple[Finding, ...]:
    assert check_references(structure) == ()
    return inspect_structure(
        structure,
        glove_grip_m=GLOVE_M,
        tether_point_rating_n=RATING_N,
        kick_distance_m=KICK_M,
    )


def with_one(list_name: str, element: Element) -> Structure:
    """Put an element in place of the one with its id, or add it."""
    elements = [e for e in getattr(base(), list_name) if e.id != element.id]
    return base().model_copy(update={list_name: (*elements, element)})


def rail(z: float, *, normal: tuple[float, float, float] = UP, **more: float) -> Handrail:
    return Handrail(id="H1", points_m=((1.0, 0.0, z), (3.0, 0.0, z)), normal=normal, **more)


def kick_box(gap_m: float) -> Solid:
    """Build a box a distance above H2 and the handhold beside it."""
    center_m = (4.5, 0.0, RAIL_Z - gap_m - 0.5)
    return Solid(
        id="sensor", volume=Box(center_m=center_m, size_m=(1.0, 1.0, 1.0)), kick_sensitive=True
    )


def target(facing: tuple[float, float, float], z: float = -2.0) -> Worksite:
    spot = Target(id="bolt", position_m=(8.0, 0.0, z), facing=facing)
    return Worksite(id="W1", socket="S1", targets=(spot,))


def zone(**fields: object) -> Zone:
    return Zone.model_validate(
        {"id": "Z1", "volume": Sphere(center_m=(7.0, 0.0, -2.0), radius_m=0.4)} | fields
    )


def test_nothing_to_say_about_the_base() -> None:
    assert inspected(base()) == ()


FAULTS: dict[str, tuple[Structure, str, tuple[str, ...]]] = {
    "rail off the module": (with_one("handrails", rail(-2.5)), "handrail-floating", ("H1",)),
    "rail in the module": (with_one("handrails", rail(-1.9)), "handrail-inside-solid", ("H1",)),
    "rail through the module between looks": (
        # Over the rim, both ends outside: only the middle is in, by a few millimetres.
        with_one(
            "handrails",
            Handrail(id="H1", points_m=((-0.04, 0, -1.95), (0.02, 0, -2.02)), normal=(-1, 0, -1)),
        ),
        "handrail-inside-solid",
        ("H1", "module"),
    ),
    "standoff too large": (
        with_one("handrails", rail(RAIL_Z, standoff_m=0.1)),
        "handrail-standoff",
        ("H1", "module"),
    ),
    "standoff too small": (
        with_one("handrails", rail(-2.1)),
        "handrail-standoff",
        ("H1", "module"),
    ),
    "rail beyond the end": (
        with_one(
            "handrails",
            Handrail(id="H1", points_m=((-1.0, 0.0, RAIL_Z), (3.0, 0.0, RAIL_Z)), normal=UP),
        ),
        "handrail-partly-floating",
        ("H1",),
    ),
    "normal inward": (
        with_one("handrails", rail(RAIL_Z, normal=(0.0, 0.0, 1.0))),
        "normal-inward",
        ("H1", "module"),
    ),
    "short rail": (
        with_one(
            "handrails",
            Handrail(id="H1", points_m=((1.0, 0.0, RAIL_Z), (1.15, 0.0, RAIL_Z)), normal=UP),
        ),
        "handrail-short",
        ("H1",),
    ),
    "the same rail twice": (
        with_one(
            "handrails",
            Handrail(id="H3", points_m=((3.0, 0.0, RAIL_Z), (1.0, 0.0, RAIL_Z)), normal=UP),
        ),
        "handrail-duplicate",
        ("H3", "H1"),
    ),
    "most of a rail on another": (
        with_one(
            "handrails",
            Handrail(id="H3", points_m=((2.4, 0.0, RAIL_Z), (3.4, 0.0, RAIL_Z)), normal=UP),
        ),
        "handrail-duplicate",
        ("H3", "H1"),
    ),
    "handhold inside": (
        with_one("handholds", Handhold(id="G1", position_m=(6.0, 0.0, -1.9), normal=UP)),
        "handhold-inside-solid",
        ("G1", "module"),
    ),
    "tether point inside": (
        with_one("tether_points", TetherPoint(id="T1", position_m=(0.5, 0, -1.5), rating_n=9e3)),
        "tether-point-inside-solid",
        ("T1", "module"),
    ),
    "cable tie inside": (
        with_one("cable_ties", CableTie(id="K1", position_m=(7.0, 0, -1.5))),
        "cable-tie-inside-solid",
        ("K1", "module"),
    ),
    "connector inside": (
        with_one("connectors", Connector(id="C1", position_m=(7.0, 0, -1.5), normal=UP)),
        "connector-inside-solid",
        ("C1", "module"),
    ),
    "connector facing in": (
        with_one("connectors", Connector(id="C1", position_m=(7.0, 0, -2.0), normal=(0, 0, 1))),
        "normal-inward",
        ("C1", "module"),
    ),
    "socket facing in": (
        with_one(
            "sockets",
            Socket(id="S1", position_m=(7.0, 0, -2.0), normal=(0, 0, 1), clock_zero=(1, 0, 0)),
        ),
        "normal-inward",
        ("S1", "module"),
    ),
    "clock zero a degree off": (
        with_one(
            "sockets",
            Socket(id="S1", position_m=(7.0, 0, -2.0), normal=UP, clock_zero=(1.0, 0.0, 0.0176)),
        ),
        "socket-clock-leans",
        ("S1",),
    ),
    "clock zero along the normal": (
        with_one(
            "sockets",
            Socket(id="S1", position_m=(7.0, 0, -2.0), normal=UP, clock_zero=(0, 0, 2)),
        ),
        "socket-clock-nowhere",
        ("S1",),
    ),
    "no rating": (
        with_one("tether_points", TetherPoint(id="T1", position_m=(0.5, 0.5, -2.1))),
        "tether-point-rating-unknown",
        ("T1", "A1"),
    ),
    "low rating": (
        with_one(
            "tether_points", TetherPoint(id="T1", position_m=(0.5, 0.5, -2.1), rating_n=2552.9)
        ),
        "tether-point-rating-low",
        ("T1", "A1"),
    ),
    "low rating away from a hatch": (
        with_one(
            "tether_points", TetherPoint(id="T2", position_m=(0.6, 0.5, -2.1), rating_n=1800.0)
        ),
        "tether-point-rating-low",
        ("T2",),
    ),
    "kick-sensitive solid at 24 in": (
        with_one("solids", kick_box(KICK_M)),
        "kick-sensitive-near",
        ("sensor", "H2"),
    ),
    "kick-sensitive item on a rail": (
        with_one(
            "items",
            Item(
                id="bag",
                size_m=(0.3, 0.3, 0.3),
                mass_kg=5.0,
                stowed_at="T1",
                kick_sensitive=True,
            ),
        ),
        "kick-sensitive-near",
        ("bag", "H1"),
    ),
    "zone over the hatch": (
        with_one("zones", zone(volume=Sphere(center_m=(0.5, 0.0, -2.0), radius_m=0.1))),
        "zone-over-hatch",
        ("Z1", "A1"),
    ),
    "zone over a socket": (with_one("zones", zone()), "zone-over-socket", ("Z1", "S1")),
    "zone over a worksite": (with_one("zones", zone()), "zone-over-worksite", ("Z1", "W1")),
    "unused condition": (
        with_one("conditions", Condition(id="night")),
        "condition-unused",
        ("night",),
    ),
    "item nowhere": (
        with_one("items", Item(id="bag", size_m=(0.3, 0.3, 0.3), mass_kg=5.0)),
        "item-stowed-nowhere",
        ("bag",),
    ),
    "item in an item that is nowhere": (
        base().model_copy(
            update={
                "items": (
                    Item(id="a", size_m=(0.1, 0.1, 0.1), mass_kg=1.0, stowed_at="b"),
                    Item(id="b", size_m=(0.1, 0.1, 0.1), mass_kg=1.0),
                )
            }
        ),
        "item-stowed-nowhere",
        ("a",),
    ),
    "target facing in": (
        with_one("worksites", target((0.0, 0.0, 1.0))),
        "target-facing-solid",
        ("W1", "module"),
    ),
    "target inside": (
        with_one("worksites", target(UP, z=-1.5)),
        "target-inside-solid",
        ("W1", "module"),
    ),
    "attach point inside": (
        with_one(
            "worksites",
            Worksite(
                id="W1",
                socket="S1",
                attach=(AttachPoint(id="a", held_m=(8, 0, -3), seated_m=(8, 0, -1.5)),),
            ),
        ),
        "attach-inside-solid",
        ("W1", "module"),
    ),
    "no solids": (base().model_copy(update={"solids": ()}), "no-solids", ()),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_found(fault: str) -> None:
    structure, code, elements = FAULTS[fault]
    found = [f for f in inspected(structure) if f.code == code]
    assert [f.elements[: len(elements)] for f in found][:1] == [elements]
    for finding in found:
        assert finding.message.count(";") >= 2
        assert all(element in finding.message for element in finding.elements)


CONNECTED = {
    "zone over a socket": {"zone-over-socket", "zone-over-worksite"},
    "zone over a worksite": {"zone-over-socket", "zone-over-worksite"},
    "rail through the module between looks": None,
    "tether point inside": {"tether-point-inside-solid"},
    # The sensor is nearer than the standoff says a rail should have around it.
    "kick-sensitive solid at 24 in": {"kick-sensitive-near"},
}


@pytest.mark.parametrize("fault", FAULTS)
def test_one_fault_gives_no_other_finding(fault: str) -> None:
    structure, code, _ = FAULTS[fault]
    expected = CONNECTED.get(fault, {code})
    if expected is not None:
        assert {f.code for f in inspected(structure)} == expected


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


def merged(elements: tuple[Element, ...], faulty: tuple[Element, ...]) -> tuple[Element, ...]:
    """Put the faulty ones among the elements in place of those with their ids."""
    changed = [e for e in faulty if e not in base().by_id.values()]
    return tuple({e.id: e for e in (*elements, *changed)}.values())


def test_order_of_elements_does_not_matter() -> None:
    structure = base()
    for faulty, _, _ in FAULTS.values():
        structure = structure.model_copy(
            update={
                name: merged(getattr(structure, name), getattr(faulty, name))
                for name in ELEMENT_LISTS
            }
        )
    shuffled = structure
    random = np.random.default_rng(1)
    for name in ELEMENT_LISTS:
        elements = getattr(structure, name)
        order = random.permutation(len(elements)).tolist()
        shuffled = shuffled.model_copy(update={name: tuple(elements[i] for i in order)})
    assert len(inspected(structure)) > 10
    assert inspected(shuffled) == inspected(structure)


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
