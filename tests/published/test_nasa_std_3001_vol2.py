"""RF limits for people, and the distances that follow.

NASA-STD-3001 Volume 2 Revision B, 2019-09-09, Table 10 [V2 6102], page 73 of the PDF, power
density: 30-300 MHz: 2 W/m2; 300-15 000 MHz: f/150 W/m2; 15-300 GHz: 100 W/m2.
"""

import math

import pytest

from structures.radio import power_density_limit_w_per_m2, transmitter_radius_m


@pytest.mark.parametrize(
    ("frequency_mhz", "limit"),
    [
        (30.0, 2.0),
        (100.0, 2.0),
        (300.0, 2.0),
        (450.0, 3.0),
        (2250.0, 15.0),
        (15_000.0, 100.0),
        (100_000.0, 100.0),
        (300_000.0, 100.0),
    ],
)
def test_table_10(frequency_mhz: float, limit: float) -> None:
    assert power_density_limit_w_per_m2(frequency_mhz) == pytest.approx(limit, rel=1e-15)


@pytest.mark.parametrize("edge_mhz", [300.0, 15_000.0])
def test_table_10_has_no_step(edge_mhz: float) -> None:
    """The three lines of the table meet: 300/150 = 2 and 15 000/150 = 100."""
    below = power_density_limit_w_per_m2(math.nextafter(edge_mhz, 0.0))
    above = power_density_limit_w_per_m2(math.nextafter(edge_mhz, math.inf))
    assert below == pytest.approx(above, rel=1e-14)


@pytest.mark.parametrize(
    ("frequency_mhz", "power_w", "gain", "radius_m"),
    [
        # Computed from the table by r = sqrt(P G / (4 pi S)), outside this project.
        (400.0, 5.0, 1.0, 0.3862742020231896),
        (2250.0, 10.0, 1.0, 0.23032943298089031),
        (2250.0, 10.0, 10.0, 0.7283656203947194),
        (14_000.0, 10.0, 1000.0, 2.9199585040950926),
    ],
)
def test_radii(frequency_mhz: float, power_w: float, gain: float, radius_m: float) -> None:
    found_m = transmitter_radius_m(power_w, gain, frequency_mhz)
    assert found_m == pytest.approx(radius_m, rel=1e-14)
    # At the radius the density is the limit: the power spread over the sphere.
    density = power_w * gain / (4 * math.pi * found_m**2)
    assert density == pytest.approx(power_density_limit_w_per_m2(frequency_mhz), rel=1e-14)
