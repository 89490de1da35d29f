"""Lengths said to people: never more left, never less missing than there is."""

import re
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from structures.units import Side, fine_text, length_text, number_text

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


@pytest.mark.parametrize(
    ("value_m", "side", "said"),
    [
        (0.00084, "down", "0 mm (0.0 in)"),
        (0.0002, "up", "1 mm (0.1 in)"),
        (0.6084, "up", "0.609 m (2.00 ft)"),
        (0.6096, "near", "0.610 m (2.00 ft)"),
        (-0.25, "down", "-0.250 m (-0.83 ft)"),
        (float("inf"), "down", "inf m (inf ft)"),
    ],
)
def test_fine_lengths(value_m: float, side: Side, said: str) -> None:
    assert fine_text(value_m, side) == said


@pytest.mark.parametrize("fine", [False, True])
@given(value_m=st.floats(-200.0, 200.0), side=st.sampled_from(["down", "up"]))
def test_what_is_said_is_on_the_safe_side(value_m: float, side: Side, *, fine: bool) -> None:
    text = fine_text(value_m, side) if fine else length_text(value_m, side, feet=True)
    said = re.findall(r"(-?[0-9.]+) (mm|m|ft|in)", text)
    assert len(said) == 2
    for number, unit in said:
        away_m = Decimal(number) * METRES[unit] - Decimal(value_m)
        assert (away_m if side == "down" else -away_m) <= TINY


@given(value=st.floats(-1e5, 1e5), side=st.sampled_from(["down", "up"]), decimals=st.integers(0, 3))
def test_numbers_of_columns_are_on_the_safe_side(value: float, side: Side, decimals: int) -> None:
    said = Decimal(number_text(value, side, decimals))
    step = Decimal(1).scaleb(-decimals)
    away = said - Decimal(value) if side == "down" else Decimal(value) - said
    # A millionth of the last place is forgiven.
    assert -step <= away <= step * Decimal("1.1e-6")
