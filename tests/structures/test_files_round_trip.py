"""Writing and reading again gives an equal structure, whatever is in it."""

import json
import math
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from structures.bodies import Body
from structures.cables import Cable, CableTie, Connector
from structures.elements import (
    AttachPoint,
    Condition,
    Handhold,
    Handrail,
    Hatch,
    Item,
    Person,
    Socket,
    Solid,
    Target,
    TetherPoint,
    Transmitter,
    Worksite,
    Zone,
)
from structures.equipment import EquipmentTether
from structures.faces import Camera, Face
from structures.files import json_schema, read_structure, write_structure
from structures.files.toml_text import toml_text
from structures.model import Structure
from structures.restraints import Joint, Restraint
from structures.shapes import Box, Cone, Cylinder, Prism, Sphere
from tests.draws import draws

QUICK = settings(
    deadline=None,
    derandomize=True,
    max_examples=draws(60),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)

coordinate = st.floats(-9000, 9000, allow_nan=False)
length = st.floats(1e-3, 9000)


def made(
    record: Callable[..., Any], *given: st.SearchStrategy[Any], **fields: st.SearchStrategy[Any]
) -> st.SearchStrategy[Any]:
    """Records from what is drawn; `builds` would guess fields by their key in documents."""
    return st.tuples(st.tuples(*given), st.fixed_dictionaries(fields)).map(
        lambda drawn: record(*drawn[0], **drawn[1])
    )


point = st.tuples(coordinate, coordinate, coordinate)
direction = st.sampled_from(
    [(1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.1, 0.2, 0.3), (0.0, 0.0, 1e-5), (1 / 3, 0.0, -0.0)]
)
text = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
spoken = text | st.sampled_from(["=1+1", "'=x", '"""', "'''", "<b>&", "a,b;c", "\u202eabc", "\r\n"])


def identifiers(kind: str, least: int = 0) -> st.SearchStrategy[list[str]]:
    unseen = ["Cs", "Cc", "Cf", "Zs", "Zl", "Zp"]
    signs = st.characters(exclude_categories=unseen, exclude_characters="@")
    tail = st.text(signs, max_size=8)
    return st.lists(tail.map(lambda end: f"{kind}{end}"), min_size=least, max_size=3, unique=True)


def shifted(start: tuple[float, float, float], by: float) -> tuple[float, float, float]:
    return (start[0], start[1], start[2] + by)


shapes: st.SearchStrategy[Any] = st.one_of(
    made(Sphere, center_m=point, radius_m=length),
    made(
        lambda start, by, radius: Cylinder(
            start_m=start, end_m=shifted(start, by), radius_m=radius
        ),
        point,
        st.floats(0.5, 900),
        length,
    ),
    made(
        lambda start, by, radius: Cone(
            start_m=start, end_m=shifted(start, by), start_radius_m=radius, end_radius_m=0.0
        ),
        point,
        st.floats(0.5, 900),
        length,
    ),
    made(
        Box,
        center_m=point,
        size_m=st.tuples(length, length, length),
        x_axis=st.just((0.0, 1.0, 0.0)),
        y_axis=st.just((-1.0, 0.0, 0.0)),
    ),
    made(Box, center_m=point, size_m=st.tuples(length, length, length)),
    made(
        lambda origin, width, height: Prism(
            origin_m=origin,
            outline_m=((0.0, 0.0), (width, 0.0), (0.0, width / 3)),
            height_m=height,
        ),
        point,
        st.floats(0.1, 90),
        length,
    ),
)
transmitters = made(
    Transmitter,
    center_m=point,
    power_w=st.floats(0.1, 1e3),
    gain=st.floats(0.1, 1e3),
    frequency_mhz=st.floats(300, 14_000),
)


@st.composite
def structures(draw: st.DrawFn) -> Structure:
    """Draw a structure with elements of every kind that refer to each other."""
    rails = draw(identifiers("rail", 1))
    sockets = draw(identifiers("socket", 1))
    stays = draw(identifiers("tp", 1))
    conditions = draw(identifiers("when", 1))
    bodies = draw(identifiers("body"))
    pick = st.sampled_from

    def handrail(name: str) -> Handrail:
        start = draw(point)
        ends = draw(st.lists(st.floats(1, 400), min_size=1, max_size=3, unique=True))
        # Neighbours are at least so far apart that they stay apart at 9,000 m.
        heights = [10.0 * i + end / 1000 for i, end in enumerate(ends, 1)]
        return Handrail(
            id=name,
            name=draw(spoken),
            notes=draw(spoken),
            points_m=(start, *(shifted(start, by) for by in heights)),
            normal=draw(direction),
            standoff_m=draw(st.floats(0, 1) | st.just(0.0635)),
            tether_hook=draw(st.booleans()),
        )

    def worksite(i: int, name: str) -> Worksite:
        at: dict[str, Any] = (
            {"socket": draw(pick(sockets))}
            if i % 2
            else {"handrail": draw(pick(rails)), "place_m": draw(point)}
        )
        targets = tuple(
            Target(id=one, position_m=draw(point), facing=(0, 0, 1), hands=draw(pick([1, 2])))
            for one in draw(identifiers("t"))
        )
        attach = tuple(
            AttachPoint(id=one, held_m=draw(point), seated_m=draw(point))
            for one in draw(identifiers("a"))
        )
        tie = tuple(draw(st.lists(pick(rails), max_size=2)))
        free = "handrail" in at and draw(st.booleans())
        return Worksite(
            id=name,
            targets=targets,
            without_restraint=free,
            attach=attach,
            tie_handrails=tie,
            **at,
        )

    def zone(name: str) -> Zone:
        return Zone(
            id=name,
            kind=draw(pick(["keep-out", "slow-down"])),
            volume=draw(shapes | transmitters),
            applies_to=draw(pick([("body",), ("tether", "item"), ("body", "tether", "item")])),
            when=tuple(draw(st.lists(pick(conditions), max_size=2))),
            slow_factor=draw(st.floats(1, 50)),
        )

    def restraint(name: str) -> Restraint:
        joints = tuple(
            Joint(
                id=one,
                axis=draw(direction),
                lowest_deg=-by,
                highest_deg=by,
                step_deg=by,
                offset_m=draw(point),
            )
            for one, by in zip(draw(identifiers("j")), (15.0, 1 / 3, 90.0), strict=False)
        )
        return Restraint(
            id=name,
            clock_positions=draw(st.integers(1, 72)),
            joints=joints,
            plate_offset_m=draw(point),
            boots_length_m=draw(length),
            boots_width_m=draw(length),
            rating_n=draw(st.none() | st.floats(1, 1e4)),
            rating_nm=draw(st.none() | st.floats(1, 1e4)),
        )

    def body(name: str) -> Body:
        size = draw(st.floats(0.5, 3))
        return Body(
            id=name,
            height_m=size,
            hip_height_m=size * 0.4,
            shoulder_height_m=size * 0.8,
            shoulder_out_m=draw(length),
            eye_height_m=size * 0.9,
            view_angle_deg=draw(st.floats(1, 180)),
            one_hand_nearest_m=0.0,
            one_hand_farthest_m=draw(length),
            one_hand_angle_deg=draw(st.floats(1, 180)),
            two_hand_forward_m=draw(length),
            two_hand_height_m=draw(length),
            two_hand_radius_m=draw(length),
            leg_radius_m=size * 0.1,
            corridor_radius_m=size * 0.2,
            trunk_forward_m=draw(coordinate),
        )

    return Structure(
        name=draw(spoken),
        revision=draw(spoken),
        description=draw(spoken),
        solids=[
            Solid(id=name, volume=draw(shapes), kick_sensitive=draw(st.booleans()))
            for name in draw(identifiers("solid"))
        ],
        handrails=[handrail(name) for name in rails],
        handholds=[
            Handhold(id=name, position_m=draw(point), normal=draw(direction))
            for name in draw(identifiers("hold"))
        ],
        sockets=[
            Socket(id=name, position_m=draw(point), normal=(0, 0, 1), clock_zero=(1, 0, 0))
            for name in sockets
        ],
        tether_points=[
            TetherPoint(
                id=name,
                position_m=draw(point),
                rating_n=draw(st.none() | st.floats(1, 1e4)),
                staged_m=tuple(draw(st.lists(length, max_size=2))),
            )
            for name in stays
        ],
        hatches=[Hatch(id="hatch", position_m=(0, 0, 0), normal=(0, 0, 1), tether_point=stays[0])],
        worksites=[worksite(i, name) for i, name in enumerate(draw(identifiers("work")))],
        zones=[zone(name) for name in draw(identifiers("zone"))],
        conditions=[Condition(id=name, closes=tuple(rails[:1])) for name in conditions],
        items=[
            Item(id=name, size_m=draw(point.map(lambda p: tuple(abs(x) + 1 for x in p))), mass_kg=1)
            for name in draw(identifiers("item"))
        ],
        equipment_tethers=[
            EquipmentTether(
                id=name,
                cinched_m=draw(st.floats(0.1, 1)),
                extended_m=draw(st.floats(1, 9)),
                hooks=draw(pick([("large", "small"), ("small", "small")])),
                rating_n=draw(st.none() | st.floats(1, 1e4)),
                count=draw(st.none() | st.integers(0, 9)),
            )
            for name in draw(identifiers("eq"))
        ],
        people=[
            Person(id=name, reach_m=draw(st.floats(0.05, 2)), body=draw(pick([None, *bodies[:1]])))
            for name in draw(identifiers("EV"))
        ],
        restraints=[restraint(name) for name in draw(identifiers("plate"))],
        bodies=[body(name) for name in bodies],
        faces=[
            Face(
                id=name,
                center_m=draw(point),
                normal=(0, 0, 1),
                across=(1 / 3, 0.1, 0),
                **draw(
                    st.one_of(
                        st.builds(lambda *sides: {"size_m": sides}, length, length),
                        st.builds(lambda x: {"outline_m": ((0, 0), (x, 0), (0, x))}, length),
                    )
                ),
            )
            for name in draw(identifiers("face"))
        ],
        cameras=[
            Camera(
                id=name,
                nearest_m=0.0,
                farthest_m=draw(length),
                incidence_deg=draw(st.floats(1, 89)),
                held_out_m=draw(length),
            )
            for name in draw(identifiers("cam"))
        ],
        connectors=[
            Connector(id=name, position_m=draw(point), normal=draw(direction))
            for name in draw(identifiers("plug"))
        ],
        cable_ties=[
            CableTie(id=name, position_m=draw(point), stow_m=draw(st.floats(0, 9)))
            for name in draw(identifiers("tie"))
        ],
        cables=[
            Cable(
                id=name,
                length_m=draw(length),
                bend_radius_m=draw(length),
                service_loop_m=draw(st.floats(0, 1)),
                spacing_m=draw(st.none() | length),
            )
            for name in draw(identifiers("cable"))
        ],
    )


@pytest.mark.parametrize("suffix", [".toml", ".json"])
@QUICK
@given(structure=structures())
def test_written_structure_reads_back_equal(
    tmp_path: Path, suffix: str, structure: Structure
) -> None:
    path = tmp_path / f"depot{suffix}"
    write_structure(structure, path)
    assert read_structure(path) == structure
    raw: Any = path.read_bytes()
    document = tomllib.loads(raw.decode()) if suffix == ".toml" else json.loads(raw)
    SCHEMA.validate(document)
    write_structure(read_structure(path), path)
    assert path.read_bytes() == raw, "the same structure gives the same bytes"


SCHEMA = jsonschema.Draft202012Validator(json_schema())

values: st.SearchStrategy[Any] = st.recursive(
    st.booleans()
    | st.integers(-(2**63), 2**63 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | text,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(text, inner, max_size=4),
    max_leaves=12,
)


@settings(QUICK, max_examples=draws(300))
@given(st.dictionaries(text, values, max_size=5))
def test_toml_text_is_what_tomllib_reads(document: dict[str, Any]) -> None:
    """The standard library's reader is the judge; it gives back every value and its type."""
    found = tomllib.loads(toml_text(document))
    assert found == document
    assert json.dumps(found, sort_keys=True) == json.dumps(document, sort_keys=True)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, None, object(), b"x"])
def test_toml_text_refuses_what_has_no_place(value: object) -> None:
    with pytest.raises(ValueError, match=r"finite number|no form in TOML"):
        toml_text({"a": [value]})
