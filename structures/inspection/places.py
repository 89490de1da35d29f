"""Doubts about single places: handholds, sockets, hatches, plugs, ties, targets, attach points."""

from collections.abc import Iterator
from typing import TypeAlias

import numpy as np

from structures.cables import Connector
from structures.elements import Handhold, Hatch, Socket, Worksite
from structures.findings import Finding
from structures.inspection.surroundings import Surroundings
from structures.model import Structure
from structures.units import fine_text

__all__ = [
    "INSIDE_M",
    "NEAR_SOLID_M",
    "check_attach_inside",
    "check_place_inside",
    "check_place_normal",
    "check_target_facing",
]

INSIDE_M = 1e-3
"""Deeper than this is inside; less is a place on the skin, rounded to a millimetre [m]."""

NEAR_SOLID_M = 0.5
"""A place farther from all solids than this has no face to be on [m]."""

_INWARD = -1e-3


_Facing: TypeAlias = Handhold | Socket | Hatch | Connector


def _places(structure: Structure) -> list[tuple[str, _Facing]]:
    found: list[tuple[str, _Facing]] = [
        *(("handhold", element) for element in structure.handholds),
        *(("socket", element) for element in structure.sockets),
        *(("hatch", element) for element in structure.hatches),
        *(("connector", element) for element in structure.connectors),
    ]
    return sorted(found, key=lambda pair: pair[1].id)


def _worksites(structure: Structure) -> list[Worksite]:
    return sorted(structure.worksites, key=lambda worksite: worksite.id)


def check_place_inside(structure: Structure, surroundings: Surroundings) -> Iterator[Finding]:
    """Find handholds, sockets, hatches, tether points, connectors and cable ties inside solids."""
    named = [(word, place.id, place.position_m) for word, place in _places(structure)]
    named += [("tether point", point.id, point.position_m) for point in structure.tether_points]
    named += [("cable tie", tie.id, tie.position_m) for tie in structure.cable_ties]
    if not named:
        return
    named.sort(key=lambda one: one[1])
    distance_m, nearest = surroundings.nearest(np.array([one[2] for one in named]))
    for (word, place_id, _), depth_m, index in zip(named, distance_m, nearest, strict=True):
        if depth_m < -INSIDE_M:
            solid = surroundings.name(int(index))
            yield Finding(
                code=f"{word.replace(' ', '-')}-inside-solid",
                severity="blocks",
                elements=(place_id, solid),
                message=(
                    f"{word} {place_id} is {fine_text(-depth_m, 'up')} inside solid {solid}; "
                    "no hand or "
                    "hook gets there, so answers that use it mean nothing; check its position, "
                    "the unit and the frame, or the size of the solid"
                ),
                value=float(depth_m),
                limit=-INSIDE_M,
                unit="m",
            )


def check_place_normal(structure: Structure, surroundings: Surroundings) -> Iterator[Finding]:
    """Find handholds, sockets, hatches and connectors whose normal leads towards a solid."""
    places = _places(structure)
    if not places:
        return
    points_m = np.array([place.position_m for _, place in places])
    outward = surroundings.outwardness(points_m, np.array([place.normal for _, place in places]))
    distance_m, nearest = surroundings.nearest(points_m)
    for i, (word, place) in enumerate(places):
        if outward[i] < _INWARD and -INSIDE_M <= distance_m[i] <= NEAR_SOLID_M:
            solid = surroundings.name(int(nearest[i]))
            angle_deg = float(np.degrees(np.arccos(np.clip(outward[i], -1.0, 1.0))))
            yield Finding(
                code="normal-inward",
                severity="warns",
                elements=(place.id, solid),
                message=(
                    f"the normal of {word} {place.id} leads towards solid {solid} "
                    f"({angle_deg:.0f} deg off the way out); the body would be put inside the "
                    "structure and the place be unusable; turn the normal round"
                ),
                value=angle_deg,
                limit=90.0,
                unit="deg",
            )


def check_target_facing(structure: Structure, surroundings: Surroundings) -> Iterator[Finding]:
    """Find worksite targets inside a solid, or facing into the one they are on."""
    for worksite in _worksites(structure):
        if not worksite.targets:
            continue
        targets = sorted(worksite.targets, key=lambda target: target.id)
        points_m = np.array([target.position_m for target in targets])
        outward = surroundings.outwardness(points_m, np.array([t.facing for t in targets]))
        distance_m, nearest = surroundings.nearest(points_m)
        for i, target in enumerate(targets):
            inside = distance_m[i] < -INSIDE_M
            inward = outward[i] < _INWARD and distance_m[i] <= NEAR_SOLID_M
            if not (inside or inward):
                continue
            solid = surroundings.name(int(nearest[i]))
            what = (
                f"is {fine_text(-float(distance_m[i]), 'up')} inside solid {solid}"
                if inside
                else f"faces into solid {solid}"
            )
            yield Finding(
                code="target-inside-solid" if inside else "target-facing-solid",
                severity="warns",
                elements=(worksite.id, solid),
                worksite=worksite.id,
                message=(
                    f"target {target.id} of worksite {worksite.id} {what}; no hand can work on "
                    "it from outside; check its position, or turn its facing outward"
                ),
                value=float(distance_m[i]) if inside else float(outward[i]),
                limit=-INSIDE_M if inside else 0.0,
                unit="m" if inside else "1",
            )


def check_attach_inside(structure: Structure, surroundings: Surroundings) -> Iterator[Finding]:
    """Find payload attach points inside a solid, held or seated."""
    for worksite in _worksites(structure):
        for attach in sorted(worksite.attach, key=lambda attach: attach.id):
            points_m = np.array([attach.held_m, attach.seated_m])
            distance_m, nearest = surroundings.nearest(points_m)
            for word, depth_m, index in zip(("held", "seated"), distance_m, nearest, strict=True):
                if depth_m < -INSIDE_M:
                    solid = surroundings.name(int(index))
                    yield Finding(
                        code="attach-inside-solid",
                        severity="warns",
                        elements=(worksite.id, solid),
                        worksite=worksite.id,
                        message=(
                            f"attach point {attach.id} of worksite {worksite.id} is "
                            f"{fine_text(-depth_m, 'up')} inside solid {solid} in the {word} "
                            "position; no "
                            "tether line gets there, so no chain can be found; check the "
                            "position, or leave the payload itself out of the solids"
                        ),
                        value=float(depth_m),
                        limit=-INSIDE_M,
                        unit="m",
                    )
