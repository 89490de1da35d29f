"""A structure that nothing is to be said about, and what is put into it."""

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
    Worksite,
    Zone,
)
from structures.findings import Finding
from structures.inspection import inspect_structure
from structures.model import Structure
from structures.references import check_references
from structures.shapes import Box, Cylinder, Sphere
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
