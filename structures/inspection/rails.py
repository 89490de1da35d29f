"""Doubts about handrails: where they are, which way they face, how long they are."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from structures.elements import Handrail
from structures.findings import Finding
from structures.inspection.surroundings import Surroundings
from structures.polylines import Polyline
from structures.solids.sight import crosses
from structures.units import fine_text

__all__ = [
    "FLOATING_M",
    "RAIL_STEP_M",
    "STANDOFF_TOLERANCE_M",
    "MeasuredRail",
    "check_rail_inside",
    "check_rail_length",
    "check_rail_normal",
    "check_rail_standoff",
    "measure_rails",
]

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

RAIL_STEP_M = 0.1
"""Handrails are looked at no farther apart than this, and at every corner [m]."""

STANDOFF_TOLERANCE_M = 0.025
"""A corner may be this much nearer or farther than the standoff says [m].

About an inch: drawings give positions to the inch."""

FLOATING_M = 0.15
"""Farther than the standoff and this from any solid, a rail floats [m].

About one glove: nothing that carries the rail is in the model."""

_INWARD = -1e-3
"""Outwardness below which a direction leads towards the solid; above it is rounding."""


@dataclass(frozen=True, slots=True, eq=False)
class MeasuredRail:
    """A handrail and what is round it, at n places along it."""

    handrail: Handrail
    line: Polyline
    along_m: Floats
    distance_m: Floats
    """Signed distance to the nearest solid, shape (n,) [m]."""
    nearest: Indices
    """Which solid, as index into the surroundings, shape (n,); -1 without solids."""
    at_corner: NDArray[np.bool_]
    """Whether the place is one of the points the handrail was given by, shape (n,)."""


def measure_rails(
    handrails: Iterable[Handrail], surroundings: Surroundings
) -> tuple[MeasuredRail, ...]:
    """Return the handrails in id order, each measured against the solids."""
    rails = sorted(handrails, key=lambda rail: rail.id)
    lines = [Polyline.through(rail.points_m) for rail in rails]
    alongs = [line.samples_m(RAIL_STEP_M) for line in lines]
    if not rails:
        return ()
    points_m = [line.points_at(along) for line, along in zip(lines, alongs, strict=True)]
    distance_m, nearest = surroundings.nearest(np.concatenate(points_m))
    cuts = np.cumsum([len(along) for along in alongs])[:-1]
    return tuple(
        MeasuredRail(rail, line, along, distance, index, np.isin(along, line.along_m))
        for rail, line, along, distance, index in zip(
            rails,
            lines,
            alongs,
            np.split(distance_m, cuts),
            np.split(nearest, cuts),
            strict=True,
        )
    )


def check_rail_inside(
    measured: Iterable[MeasuredRail], surroundings: Surroundings
) -> Iterator[Finding]:
    """Find handrails that run through a solid anywhere along them."""
    for rail in measured:
        starts, ends = rail.line.segments()
        low, high = np.minimum(starts, ends), np.maximum(starts, ends)
        for i, (solid, (box_low, box_high)) in enumerate(
            zip(surroundings.solids, surroundings.boxes_m, strict=True)
        ):
            near = ((low <= box_high) & (high >= box_low)).all(axis=1)
            if not near.any() or not crosses(solid.volume, starts[near], ends[near]).any():
                continue
            mine = np.where(rail.nearest == i, rail.distance_m, np.inf)
            at = int(np.argmin(mine))
            value_m = min(float(mine[at]), 0.0)
            where = (
                f"{fine_text(-value_m, 'up')} deep"
                if value_m < 0
                else "between the places looked at"
            )
            yield Finding(
                code="handrail-inside-solid",
                severity="blocks",
                elements=(rail.handrail.id, solid.id),
                message=(
                    f"handrail {rail.handrail.id} runs through solid {solid.id}, {where}; "
                    "no hand fits there, so routes over it mean nothing; "
                    "check its points, their unit and frame, or the size of the solid"
                ),
                value=value_m,
                limit=0.0,
                unit="m",
            )


def check_rail_standoff(
    measured: Iterable[MeasuredRail], surroundings: Surroundings
) -> Iterator[Finding]:
    """Find handrails that float off the solids or stand at another height than stated."""
    for rail in measured:
        if (rail.nearest < 0).any():
            continue
        standoff_m = rail.handrail.standoff_m
        corners = np.flatnonzero(rail.at_corner)
        off_m = rail.distance_m[corners] - standoff_m
        if float(rail.distance_m.min()) > standoff_m + FLOATING_M:
            yield _floating(rail, surroundings)
            continue
        away = off_m > FLOATING_M
        if away.any():
            yield _end_off(rail, int(corners[np.argmax(off_m)]))
        inside = rail.distance_m[corners] < 0  # said by check_rail_inside
        wrong = np.where(away | inside, 0.0, np.abs(off_m))
        if float(wrong.max()) > STANDOFF_TOLERANCE_M:
            yield _other_standoff(rail, int(corners[np.argmax(wrong)]), surroundings)


def _floating(rail: MeasuredRail, surroundings: Surroundings) -> Finding:
    at = int(np.argmin(rail.distance_m))
    distance_m = float(rail.distance_m[at])
    solid = surroundings.name(int(rail.nearest[at]))
    return Finding(
        code="handrail-floating",
        severity="warns",
        elements=(rail.handrail.id, solid),
        message=(
            f"handrail {rail.handrail.id} floats: the nearest solid, {solid}, is "
            f"{fine_text(distance_m)} away, its standoff is {fine_text(rail.handrail.standoff_m)}; "
            "what carries it is not in the model, so clearances there are too good; "
            "check its points and frame, or add the solid it is mounted on"
        ),
        value=distance_m,
        limit=rail.handrail.standoff_m + FLOATING_M,
        unit="m",
    )


def _end_off(rail: MeasuredRail, at: int) -> Finding:
    distance_m = float(rail.distance_m[at])
    return Finding(
        code="handrail-partly-floating",
        severity="notes",
        elements=(rail.handrail.id,),
        message=(
            f"handrail {rail.handrail.id} leaves the solids: "
            f"{rail.along_m[at]:.3f} m along it "
            f"the nearest is {fine_text(distance_m)} away, its standoff is "
            f"{fine_text(rail.handrail.standoff_m)}; right for a rail that spans a gap, else "
            "clearances there are too good; check the point, or add the solid under it"
        ),
        value=distance_m,
        limit=rail.handrail.standoff_m + FLOATING_M,
        unit="m",
    )


def _other_standoff(rail: MeasuredRail, at: int, surroundings: Surroundings) -> Finding:
    distance_m = float(rail.distance_m[at])
    solid = surroundings.name(int(rail.nearest[at]))
    return Finding(
        code="handrail-standoff",
        severity="warns",
        elements=(rail.handrail.id, solid),
        message=(
            f"handrail {rail.handrail.id} is {fine_text(distance_m)} from solid {solid} at "
            f"{rail.along_m[at]:.3f} m along it, its standoff is "
            f"{fine_text(rail.handrail.standoff_m)} (within {STANDOFF_TOLERANCE_M} m is allowed); "
            "one of the two is wrong, and with it the room for a glove; "
            "correct the point or the standoff"
        ),
        value=distance_m,
        limit=rail.handrail.standoff_m,
        unit="m",
    )


def check_rail_normal(
    measured: Iterable[MeasuredRail], surroundings: Surroundings
) -> Iterator[Finding]:
    """Find handrails whose outward normal leads towards the solid they are on.

    Rails inside a solid are left to `check_rail_inside`, and rails that float
    have no solid to face away from.
    """
    for rail in measured:
        near = rail.distance_m <= rail.handrail.standoff_m + FLOATING_M
        near &= (rail.distance_m >= 0) & (rail.nearest >= 0)
        if not near.any():
            continue
        points_m = rail.line.points_at(rail.along_m[near])
        normals = np.repeat(np.asarray([rail.handrail.normal]), len(points_m), axis=0)
        outward = surroundings.outwardness(points_m, normals)
        at = int(np.argmin(outward))
        if outward[at] >= _INWARD:
            continue
        solid = surroundings.name(int(rail.nearest[near][at]))
        angle_deg = float(np.degrees(np.arccos(np.clip(outward[at], -1.0, 1.0))))
        yield Finding(
            code="normal-inward",
            severity="warns",
            elements=(rail.handrail.id, solid),
            message=(
                f"the normal of handrail {rail.handrail.id} leads towards solid {solid} at "
                f"{int((outward < _INWARD).sum())} of {len(outward)} places along it "
                f"({angle_deg:.0f} deg off the way out); the body would be put inside the "
                "structure and the rail be unusable; turn the normal round"
            ),
            value=angle_deg,
            limit=90.0,
            unit="deg",
        )


def check_rail_length(
    measured: Iterable[MeasuredRail], *, glove_grip_m: float
) -> Iterator[Finding]:
    """Find handrails shorter than one gloved hand needs [m]."""
    for rail in measured:
        length_m = rail.line.length_m
        # Rounding of inches must not make a rail of just this length too short.
        if length_m < glove_grip_m - 1e-9:
            yield Finding(
                code="handrail-short",
                severity="warns",
                elements=(rail.handrail.id,),
                message=(
                    f"handrail {rail.handrail.id} is {fine_text(length_m, 'down')} long, one "
                    "gloved hand "
                    f"needs {fine_text(glove_grip_m)}; it may not be held safely; "
                    "check its points and unit, or leave it out"
                ),
                value=length_m,
                limit=glove_grip_m,
                unit="m",
            )
