"""Zones: which count under which conditions, and transmitters that cannot be read."""

import pytest
from pydantic import ValidationError

from structures.elements import Condition, Handrail, Transmitter, Zone
from structures.errors import UnknownIdError
from structures.model import Structure
from structures.radio import power_density_limit_w_per_m2, transmitter_radius_m
from structures.shapes import Box, Sphere
from structures.zones import active_zones, closed_by, zone_shape

BOX = Box(center_m=(0.0, 0.0, 0.0), size_m=(1.0, 1.0, 1.0))
RADIO = Transmitter(center_m=(1.0, 2.0, 3.0), power_w=5.0, gain=1.0, frequency_mhz=400.0)


def rail(rail_id: str) -> Handrail:
    return Handrail(id=rail_id, points_m=((0.0, 0.0, 0.0), (1.0, 0.0, 0.0)), normal=(0.0, 0.0, 1.0))


STRUCTURE = Structure(
    name="test",
    revision="1",
    handrails=(rail("H1"), rail("H2"), rail("H3")),
    zones=(
        Zone(id="Z3", volume=BOX),
        Zone(id="Z1", volume=RADIO, when=("radio-on",)),
        Zone(id="Z2", volume=BOX, when=("arm-moves", "radio-on")),
    ),
    conditions=(
        Condition(id="radio-on"),
        Condition(id="arm-moves", closes=("H3", "H1")),
        Condition(id="H1-loose", closes=("H1",)),
    ),
)


@pytest.mark.parametrize(
    ("when", "expected"),
    [
        ((), ["Z3"]),
        (("radio-on",), ["Z1", "Z2", "Z3"]),
        (("arm-moves",), ["Z2", "Z3"]),
        (("H1-loose",), ["Z3"]),
        (("H1-loose", "radio-on", "arm-moves"), ["Z1", "Z2", "Z3"]),
        (("radio-on", "radio-on"), ["Z1", "Z2", "Z3"]),
    ],
)
def test_active_zones(when: tuple[str, ...], expected: list[str]) -> None:
    assert [zone.id for zone in active_zones(STRUCTURE, when)] == expected


@pytest.mark.parametrize(
    ("when", "expected"),
    [
        ((), ()),
        (("radio-on",), ()),
        (("arm-moves",), ("H1", "H3")),
        (("H1-loose", "arm-moves"), ("H1", "H3")),
    ],
)
def test_closed_by(when: tuple[str, ...], expected: tuple[str, ...]) -> None:
    assert closed_by(STRUCTURE, when) == expected


@pytest.mark.parametrize("which", [active_zones, closed_by])
@pytest.mark.parametrize("unknown", ["radio-onn", "H1", "Z1", ""])
def test_unknown_condition_is_an_error(which: object, unknown: str) -> None:
    """Also the id of something that is no condition."""
    assert callable(which)
    with pytest.raises(UnknownIdError, match="condition"):
        which(STRUCTURE, ("radio-on", unknown))


def test_zone_shape() -> None:
    assert zone_shape(STRUCTURE.zones[0]) == BOX
    ball = zone_shape(STRUCTURE.zones[1])
    assert isinstance(ball, Sphere)
    assert ball.center_m == (1.0, 2.0, 3.0)
    assert ball.radius_m == pytest.approx(0.3862742020231896)


@pytest.mark.parametrize("frequency_mhz", [29.999, 1e-3, 300_000.1, 1e12])
def test_frequency_out_of_range(frequency_mhz: float) -> None:
    with pytest.raises(ValueError, match="outside 30 MHz to 300000 MHz"):
        power_density_limit_w_per_m2(frequency_mhz)
    with pytest.raises(ValidationError, match="outside 30 MHz to 300000 MHz"):
        Transmitter(center_m=(0.0, 0.0, 0.0), power_w=1.0, gain=1.0, frequency_mhz=frequency_mhz)


def test_nan_is_out_of_range() -> None:
    with pytest.raises(ValueError, match="outside"):
        power_density_limit_w_per_m2(float("nan"))


@pytest.mark.parametrize(("power_w", "gain"), [(0.0, 1.0), (1.0, -1.0), (float("inf"), 1.0)])
def test_power_and_gain_must_be_above_zero(power_w: float, gain: float) -> None:
    with pytest.raises(ValueError, match="finite number above 0"):
        transmitter_radius_m(power_w, gain, 400.0)


def test_zone_beyond_all_coordinates() -> None:
    with pytest.raises(ValidationError, match="not in dB"):
        Transmitter(center_m=(0.0, 0.0, 0.0), power_w=1e9, gain=1e9, frequency_mhz=400.0)
