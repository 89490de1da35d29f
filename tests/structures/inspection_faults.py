"""One fault at a time in a structure without any, and the finding it must give."""

from structures.cables import CableTie, Connector
from structures.elements import (
    AttachPoint,
    Condition,
    Handhold,
    Handrail,
    Item,
    Socket,
    TetherPoint,
    Worksite,
)
from structures.model import Structure
from structures.shapes import Sphere
from tests.structures.inspection_ground import (
    KICK_M,
    RAIL_Z,
    UP,
    base,
    kick_box,
    rail,
    target,
    with_one,
    zone,
)

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
