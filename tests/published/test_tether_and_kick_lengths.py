"""Lengths printed in inches and feet, in metres.

SSP 30256:001 Revision F, 1997-02-07, Table 3.1.3-1 sheet 2 (page 3-5): kick loads apply to
hardware within 24 in of a translation path or worksite. NASA station operations book
(NASA/SP-2017-634, number from memory), chapter 17, printed page 296: long safety tether
"26-m (85-ft)"; the foot value is exact, the metre value is rounded.
"""

import pytest

from routing.limits import DEFAULT_LIMITS
from structures.units import FOOT_M, INCH_M, METRES_PER_UNIT


def test_kick_distance_is_24_in() -> None:
    assert 24 * METRES_PER_UNIT["in"] == pytest.approx(0.6096, abs=1e-15)
    assert pytest.approx(0.6096, abs=1e-15) == DEFAULT_LIMITS.kick_distance_m


def test_long_safety_tether_is_85_ft() -> None:
    assert 85 * METRES_PER_UNIT["ft"] == pytest.approx(25.908, abs=1e-14)
    assert pytest.approx(25.908, abs=1e-14) == DEFAULT_LIMITS.reel_length_m
    assert round(DEFAULT_LIMITS.reel_length_m) == 26


def test_factors_are_exact() -> None:
    assert INCH_M == 0.0254
    assert FOOT_M == 0.3048
