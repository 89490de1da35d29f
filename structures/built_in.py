"""Built-in foot restraint and bodies, for structures that list none of their own.

Every number says where it comes from. *From memory* was not seen in a
published text by whoever wrote it down; *own planning assumption* has no
source at all. Replace both by the programme's own data before an answer means
anything.
"""

from functools import cache
from typing import Final

from structures.bodies import Body
from structures.faces import Camera
from structures.restraints import Joint, Restraint
from structures.units import INCH_M, POUND_FORCE_N

__all__ = [
    "BUILT_IN_BODIES",
    "BUILT_IN_SOURCES",
    "built_in_bodies",
    "built_in_camera",
    "built_in_restraints",
]

BUILT_IN_BODIES: Final = ("larger", "middle", "smaller")
"""Ids of the built-in bodies; people may name them where a structure lists no bodies."""

_OWN: Final = "own planning assumption, no source"

BUILT_IN_SOURCES: Final[dict[str, str]] = {
    "clock_positions": "12 at 30 deg (SSP 30256:001 worksite-interface figures), from memory",
    "joints": "order clock, pitch, roll, yaw (station EVA task data), from memory; "
    "steps of 15 and 30 deg and the ranges: from memory, low confidence",
    "plate_offset_m": _OWN,
    "boots_length_m": _OWN,
    "boots_width_m": _OWN,
    "boots_height_m": _OWN,
    "rating_n": "274 lbf at the socket (SSP 30256:001 Rev F table 3.1.3-1 sheet 2, page 3-5)",
    "rating_nm": "4200 in-lbf at the socket (SSP 30256:001 Rev F table 3.1.3-1 sheet 2, page 3-5)",
    "height_m": "suited height 67.5 in (5th percentile female), 75.5 in (95th percentile male) "
    "(NASA-STD-3000 Vol I Rev B Fig 14.3.2), from memory; middle: their mean",
    "hip_height_m": "0.45 of the suited height; " + _OWN,
    "shoulder_height_m": "0.80 of the suited height; " + _OWN,
    "shoulder_out_m": _OWN,
    "eye_height_m": "0.92 of the suited height; " + _OWN,
    "eye_forward_m": _OWN,
    "view_angle_deg": _OWN,
    "one_hand_nearest_m": _OWN,
    "one_hand_farthest_m": "thumb-tip reach 25.7 in (5th percentile female), 34.7 in (95th "
    "percentile male) (NASA-STD-3000 Vol I Rev B Fig 3.3.1.3-1), from memory, less 0.1 m because "
    "it is measured from the back, which is an own assumption; middle: their mean",
    "one_hand_angle_deg": _OWN,
    "two_hand_forward_m": "0.6 of the one-hand reach; " + _OWN,
    "two_hand_height_m": "0.95 of the shoulder height; " + _OWN,
    "two_hand_radius_m": "two-handed envelope 20 in diameter in front of the chest (JSC 28918), "
    "from memory, low confidence",
    "leg_radius_m": _OWN,
    "corridor_radius_m": "half of 27 in, largest depth with backpack (NASA-STD-3000 Vol I Rev B "
    "Fig 14.3.2), from memory, low confidence",
    "trunk_forward_m": _OWN,
}
"""Where each number comes from, by field."""

_FROM_MEMORY: Final = "Built in; mostly from memory or assumed, see the sources."


@cache
def built_in_restraints() -> tuple[Restraint, ...]:
    """Return the built-in foot restraint: clock, pitch, roll, yaw, and a plate 0.3 m out."""
    return (
        Restraint(
            id="standard",
            name="Foot restraint with pitch, roll and yaw",
            source=_FROM_MEMORY,
            clock_positions=12,
            joints=(
                Joint(
                    id="pitch",
                    axis=(0.0, 1.0, 0.0),
                    lowest_deg=-90.0,
                    highest_deg=90.0,
                    step_deg=15.0,
                    offset_m=(0.0, 0.0, 0.15),
                ),
                Joint(
                    id="roll",
                    axis=(1.0, 0.0, 0.0),
                    lowest_deg=-30.0,
                    highest_deg=30.0,
                    step_deg=15.0,
                ),
                Joint(
                    id="yaw",
                    axis=(0.0, 0.0, 1.0),
                    lowest_deg=-180.0,
                    highest_deg=150.0,
                    step_deg=30.0,
                    offset_m=(0.0, 0.0, 0.25),
                ),
            ),
            plate_offset_m=(0.0, 0.0, 0.10),
            boots_length_m=0.36,
            boots_width_m=0.30,
            boots_height_m=0.05,
            rating_n=274 * POUND_FORCE_N,
            rating_nm=4200 * INCH_M * POUND_FORCE_N,
        ),
    )


@cache
def built_in_bodies() -> tuple[Body, ...]:
    """Return three bodies from smaller to larger people."""
    small_m, large_m = (67.5 * INCH_M, 75.5 * INCH_M)
    near_m, far_m = (25.7 * INCH_M - 0.1, 34.7 * INCH_M - 0.1)
    return (
        _body("smaller", small_m, near_m),
        _body("middle", (small_m + large_m) / 2, (near_m + far_m) / 2),
        _body("larger", large_m, far_m),
    )


@cache
def built_in_camera() -> Camera:
    """Return the built-in hand-held camera; all its numbers are own planning assumptions."""
    return Camera(
        id="hand-camera",
        name="Hand-held camera",
        source="Built in; " + _OWN,
        nearest_m=0.5,
        farthest_m=5.0,
        incidence_deg=60.0,
        held_out_m=0.3,
    )


def _body(name: str, height_m: float, reach_m: float) -> Body:
    return Body(
        id=name,
        name=f"{name.capitalize()} person",
        source=_FROM_MEMORY,
        height_m=height_m,
        hip_height_m=0.45 * height_m,
        shoulder_height_m=0.80 * height_m,
        shoulder_out_m=0.19,
        eye_height_m=0.92 * height_m,
        eye_forward_m=0.10,
        view_angle_deg=60.0,
        one_hand_nearest_m=0.20,
        one_hand_farthest_m=reach_m,
        one_hand_angle_deg=75.0,
        two_hand_forward_m=0.6 * reach_m,
        two_hand_height_m=0.95 * 0.80 * height_m,
        two_hand_radius_m=20 * INCH_M / 2,
        leg_radius_m=0.20,
        corridor_radius_m=27 * INCH_M / 2,
        trunk_forward_m=-0.12,
    )
