"""Lengths said to people: never more left, never less missing than there is."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.units import Side, length_text

METRES = {"m": Decimal(1), "mm": Decimal("0.001"), "ft": Decimal("0.3048"), "in": Decimal("0.0254")}
TINY = Decimal("1e-6")


@pytest.mark.parametrize(
    ("value_m", "side", "said"),
    [
        (0.0, "near", "0 mm (0.0 in)"),
        (0.003, "down", "3 mm (0.1 in)"),
        (0.0049, "down", "4 mm (0.1 in)"),
        (0.0049, "up", "5 mm (0.2 in)"),
        (-0.0049, "down", "-5 mm (-0.2 in)"),
        (0.0999, "near", "100 mm (3.9 in)"),
        (0.1, "down", "0.10 m (0.3 ft)"),
        (0.6096, "near", "0.61 m (2.0 ft)"),
        (0.6096, "down", "0.60 m (2.0 ft)"),
        (25.908, "down", "25.90 m (85.0 ft)"),
    ],
)
def test_lengths_in_both_units(value_m: float, side: Side, said: str) -> None:
    assert length_text(value_m, side, feet=True) == said
    assert length_text(value_m, side) == said.partition(" (")[0]


@given(st.floats(-200.0, 200.0), st.sampled_from(["down", "up"]))
def test_what_is_said_is_on_the_safe_side(value_m: float, side: Side) -> None:
    said = re.findall(r"(-?[0-9.]+) (mm|m|ft|in)", length_text(value_m, side, feet=True))
    assert len(said) == 2
    for number, unit in said:
        away_m = Decimal(number) * METRES[unit] - Decimal(value_m)
        assert (away_m if side == "down" else -away_m) <= TINY
