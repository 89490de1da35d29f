"""The limits people move under: every default with where it comes from.

Values marked *from memory* were not seen in a published text when they were
written down. They are placeholders that a planner must replace by the
programme's own numbers before an answer means anything.
"""

from collections.abc import Iterable
from typing import Annotated, Any, Final

from pydantic import AfterValidator, Field, Strict

from structures.fields import (
    BodyRadius,
    HandReach,
    HookReach,
    Length,
    Number,
    PositiveLength,
    Record,
    TranslationRate,
    file_key,
)
from structures.units import FOOT_M, INCH_M, POUND_FORCE_N, unit_of

__all__ = ["DEFAULT_LIMITS", "Limits", "changed_limits", "changed_texts", "limit_source"]

_OWN = "own planning assumption, no source; replace it by programme data"


def _limit(default: float, source: str) -> Any:
    return Field(default, json_schema_extra={"source": source})


Factor = Annotated[Number, Field(ge=0.001, le=1)]
"""What is left of something: not so little that what divides by it overflows."""
Angle = Annotated[Number, Field(gt=0, le=180)]
Allowance = Annotated[Number, Field(ge=0, le=86_400)]
"""Seconds that are added up: no more than a day each, so that no sum overflows."""


def _not_too_fine(spacing_m: float) -> float:
    if spacing_m < _FINEST_SPACING_M:
        raise ValueError(
            f"a grip every {spacing_m:g} m is more than any memory holds; give at least "
            f"{_FINEST_SPACING_M:g} m (finer steps than 0.25 m change no answer)"
        )
    return spacing_m


_FINEST_SPACING_M: Final = 0.01


class Limits(Record):
    """All limits of a computation.

    Notes
    -----
    In memory in SI units, with angles in degrees at this boundary.
    """

    # Reach and body
    reach_m: HandReach = _limit(
        24 * INCH_M, "handhold gap 24 in, station era (SSP 50005), from memory, unconfirmed"
    )
    """Largest gap from hand to hand on the way [m]."""
    max_turn_deg: Angle = _limit(100.0, _OWN)
    """Largest turn between the outward normals of two grips that follow each other [deg]."""
    corridor_radius_m: BodyRadius = _limit(
        43 * INCH_M / 2,
        "EVA translation corridor 43 in diameter (NASA-STD-3000 Vol I Rev B 8.8), from memory",
    )
    """Radius of the ball that holds the suited body and must stay clear [m]."""
    max_lean_deg: Annotated[Number, Field(ge=0, le=90)] = _limit(45.0, _OWN)
    """How far people lean away from the outward normal of a grip to keep clear [deg]."""
    grip_spacing_m: Annotated[PositiveLength, AfterValidator(_not_too_fine)] = _limit(
        0.25, "measured: finer steps change no answer"
    )
    """A handrail has a grip so often; finer steps change no answer [m]."""
    glove_grip_m: PositiveLength = _limit(
        6 * INCH_M, "grip length one gloved hand 6 in (NASA-STD-3000 11.8), from memory"
    )
    """Length of rail that one gloved hand takes [m]."""

    # Rates and times
    rate_m_per_s: TranslationRate = _limit(
        0.5 * FOOT_M, "hand-over-hand 0.5 ft/s, lower end (NASA-STD-3000 14.5), from memory"
    )
    """Translation rate without load [m/s]."""
    load_rate_factor: Factor = _limit(0.5, "about half the rate with a mass, from memory")
    """What is left of the rate with a load."""
    load_reach_factor: Factor = _limit(0.9, _OWN)
    """What is left of the reach with a load."""
    gap_s: Allowance = _limit(2.0, _OWN)
    """Allowance for changing from one element to another [s]."""
    turn_s_per_rad: Allowance = _limit(4.0, _OWN)
    """Allowance for turning [s/rad]."""
    face_change_s: Allowance = _limit(5.0, _OWN)
    """Allowance for each turn that counts as a change of face [s]."""
    face_change_deg: Angle = _limit(45.0, _OWN)
    """From this turn on, a move is a change of face [deg]."""
    transfer_s: Allowance = _limit(60.0, _OWN)
    """Time to transfer a safety tether [s]."""

    # Safety tethers
    hook_reach_m: HookReach = _limit(24 * INCH_M, _OWN)
    """From a grip to what a tether is hooked on there, at most [m]."""
    reel_length_m: PositiveLength = _limit(
        85 * FOOT_M, "long safety tether 85 ft (NASA/SP-2017-634, printed p296)"
    )
    """Length of a safety tether on its reel [m]."""
    short_tether_m: PositiveLength = _limit(4 * FOOT_M, "2 to 4 ft, JSC-20466, from memory")
    """Length of a short tether [m]."""
    reserve_m: Length = _limit(2 * FOOT_M, _OWN)
    """Line that must be left on the reel everywhere [m]."""
    line_apart_m: PositiveLength = _limit(12 * INCH_M, _OWN)
    """Lines of two people that are nearer than this cross [m]."""
    tether_point_rating_n: Annotated[Number, Field(gt=0)] = _limit(
        2553.0, "crew safety-tether attach point 574 lbf, older value, from memory"
    )
    """Load that an anchor of a safety tether must be rated for [N]."""

    # Way home
    time_home_limit_s: Annotated[Number, Field(gt=0)] = _limit(
        1800.0, "return to the airlock within 30 min, set by secondary oxygen, from memory"
    )
    """Longest time back to the airlock from anywhere [s]."""

    # Two people outside
    people_apart_m: Length = _limit(
        0.65,
        "width of one suited person, two side by side on one path (Stromgren et al. 2020, NTRS "
        "20200002973, appendix table, PDF p29); that it holds on one handrail is an own planning "
        "assumption",
    )
    """Two people outside stay farther apart than this [m]."""

    # A partner in tow, on the way home
    tow_rate_factor: Factor = _limit(
        0.5, "a partner slows as a mass does, about half the rate; own planning assumption"
    )
    """What is left of the rate with a partner in tow."""
    tow_reach_factor: Factor = _limit(0.9, _OWN)
    """What is left of the reach with a partner in tow."""
    tow_envelope_m: Length = _limit(
        0.325,
        "half of the 0.65 m that each of two suited people takes side by side (Stromgren et al. "
        "2020, NTRS 20200002973, appendix table, PDF p29); that half of it is added is an own "
        "planning assumption",
    )
    """What a partner in tow adds to the corridor radius [m]."""

    # Equipment tethers
    chain_rating_n: Annotated[Number, Field(gt=0)] = _limit(
        333.6, "tool-tether attach point 75 lbf (SSP 30256:001 Rev F table 3.1.3-1)"
    )
    """Load that each equipment tether of a chain must be rated for [N]."""
    max_chain: Annotated[int, Strict(), Field(ge=1, le=6)] = Field(
        3, json_schema_extra={"source": _OWN}
    )
    """Most equipment tethers in series in one chain."""
    opposed_pull_deg: Angle = _limit(90.0, _OWN)
    """Pulls of two sides of a payload must be at least this far apart [deg]."""

    # Foot restraints
    work_facing_deg: Angle = _limit(60.0, _OWN)
    """Largest angle between a target's facing and the line to eye or shoulder [deg]."""
    restraint_load_n: Annotated[Number, Field(gt=0)] = _limit(
        274 * POUND_FORCE_N,
        "foot-restraint structure 274 lbf (SSP 30256:001 Rev F table 3.1.3-1 sheet 2, page 3-5)",
    )
    """Load that a foot restraint must be rated for [N]."""
    restraint_moment_nm: Annotated[Number, Field(gt=0)] = _limit(
        4200 * INCH_M * POUND_FORCE_N,
        "foot-restraint structure 4200 in-lbf (SSP 30256:001 Rev F table 3.1.3-1 sheet 2, page "
        "3-5)",
    )
    """Moment that a foot restraint must be rated for [N m]."""

    # Cables
    cable_spacing_m: PositiveLength = _limit(1.2, _OWN)
    """Longest way of a cable between two ties, unless the cable says [m]."""
    cable_slack_factor: Annotated[Number, Field(ge=1, le=2)] = _limit(1.05, _OWN)
    """Cable needed, as a multiple of the way it is laid along."""
    cable_play_m: PositiveLength = _limit(0.05, _OWN)
    """How far the bend of a cable at a tie may be off the corner [m]."""
    cable_loose_m: Length = _limit(0.1, _OWN)
    """Spare cable that needs no stowing [m]."""
    cable_rail_clear_m: Length = _limit(
        6 * INCH_M, "one gloved hand, 6 in (NASA-STD-3000 11.8), from memory; as a clearance own"
    )
    """A cable stays farther than this from where hands go [m]."""

    # Bags
    bag_hook_m: PositiveLength = _limit(0.1, _OWN)
    """From what a bag is hooked on to the near side of the bag [m]."""
    bag_work_clear_m: Length = _limit(0.1, _OWN)
    """A bag stays farther than this from where people work [m]."""
    bag_rail_clear_m: Length = _limit(
        6 * INCH_M, "one gloved hand, 6 in (NASA-STD-3000 11.8), from memory; as a clearance own"
    )
    """A bag stays farther than this from where hands go [m]."""

    # Hazards near by
    kick_distance_m: PositiveLength = _limit(
        24 * INCH_M, "SSP 30256:001 Rev F table 3.1.3-1 sheet 2 (page 3-5)"
    )
    """Hardware within this of a way or a worksite must bear a kick [m]."""


# Defaults are never validated; `Limits()` would only build the validator of sixty fields, which
# an answer with default limits has no other use for.
DEFAULT_LIMITS: Final = Limits.model_construct()


def limit_source(name: str) -> str:
    """Return where the default of a limit comes from.

    Raises
    ------
    KeyError
        There is no such limit.
    TypeError
        The limit was declared without a source.
    """
    extra = Limits.model_fields[name].json_schema_extra
    if not isinstance(extra, dict):
        raise TypeError(f"limit {name} has no source")
    return str(extra["source"])


def changed_texts(changed: Iterable[tuple[str, float, float]]) -> tuple[str, ...]:
    """Say limits that are not at their default, by the keys that documents have.

    Parameters
    ----------
    changed
        Name in memory, value and default of each, in SI units.

    Examples
    --------
    >>> changed_texts([("reach_m", 0.6604, 0.6096), ("max_chain", 2, 3)])
    ('reach 0.6604 m (default 0.6096 m)', 'max_chain 2 (default 3)')
    """
    told = ((file_key(name), f" {unit_of(name)}".rstrip(), *both) for name, *both in changed)
    return tuple(f"{key} {new:g}{unit} (default {old:g}{unit})" for key, unit, new, old in told)


def changed_limits(limits: Limits) -> dict[str, tuple[float, float]]:
    """Return the limits that differ from their default, as {name: (value, default)}."""
    return {
        name: (getattr(limits, name), getattr(DEFAULT_LIMITS, name))
        for name in Limits.model_fields
        if getattr(limits, name) != getattr(DEFAULT_LIMITS, name)
    }
