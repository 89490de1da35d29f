"""How near people may come to a radio transmitter, by the published limits."""

import math

__all__ = ["HIGHEST_MHZ", "LOWEST_MHZ", "power_density_limit_w_per_m2", "transmitter_radius_m"]

LOWEST_MHZ = 30.0
HIGHEST_MHZ = 300_000.0


def power_density_limit_w_per_m2(frequency_mhz: float) -> float:
    """Return the largest power density that people may be in.

    Parameters
    ----------
    frequency_mhz
        From 30 to 300 000 [MHz].

    Returns
    -------
    float
        Limit [W/m2], averaged over the standard's own averaging time.

    Raises
    ------
    ValueError
        The frequency is outside the range in which the standard limits power
        density. Below it, field strengths are limited and a far-field distance
        means nothing, so no radius is made up.

    Notes
    -----
    30-300 MHz: 2; 300-15 000 MHz: f/150; 15-300 GHz: 100.

    References
    ----------
    NASA-STD-3001 Volume 2 Rev B (2019-09-09), Table 10 [V2 6102], page 73.

    Examples
    --------
    >>> power_density_limit_w_per_m2(2250.0)
    15.0
    """
    if not LOWEST_MHZ <= frequency_mhz <= HIGHEST_MHZ:
        raise ValueError(
            f"{frequency_mhz:g} MHz is outside {LOWEST_MHZ:g} MHz to {HIGHEST_MHZ:g} MHz, where "
            "NASA-STD-3001 Volume 2 Rev B Table 10 limits power density; check that the frequency "
            "is in MHz, or give the zone as a sphere with a radius from the transmitter's analysis"
        )
    if frequency_mhz <= 300.0:
        return 2.0
    if frequency_mhz <= 15_000.0:
        return frequency_mhz / 150.0
    return 100.0


def transmitter_radius_m(power_w: float, gain: float, frequency_mhz: float) -> float:
    """Return how far to keep away from a transmitter in all directions.

    Assumes that it sends its full power all the time with its full gain in
    every direction, which is the safe side, and that the far-field formula
    holds. Close to a large antenna it does not; give such a zone by its shape.

    Parameters
    ----------
    power_w
        Power into the antenna, above 0 [W].
    gain
        Antenna gain as a plain ratio, above 0.
    frequency_mhz
        From 30 to 300 000 [MHz].

    Returns
    -------
    float
        Radius at which the power density falls to the limit [m].

    Raises
    ------
    ValueError
        The frequency is outside the standard's range, or power or gain is not
        a finite number above 0.

    Notes
    -----
    r = sqrt(P G / (4 pi S)), S from `power_density_limit_w_per_m2`.

    References
    ----------
    NASA-STD-3001 Volume 2 Rev B (2019-09-09), Table 10 [V2 6102], page 73.

    Examples
    --------
    >>> transmitter_radius_m(10.0, 10.0, 2250.0)
    0.7283656203947194
    """
    for value, word in ((power_w, "power"), (gain, "gain")):
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{word} {value:g}; give a finite number above 0")
    limit = power_density_limit_w_per_m2(frequency_mhz)
    return math.sqrt(power_w * gain / (4.0 * math.pi * limit))
