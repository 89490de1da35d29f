"""Doubts about zones: what they swallow always."""

from collections.abc import Iterator

import numpy as np

from structures.findings import Finding
from structures.frames import Vector
from structures.model import Structure
from structures.solids.distance import signed_distance
from structures.units import fine_text
from structures.zones import zone_shape

__all__ = ["check_zone_swallows"]


def check_zone_swallows(structure: Structure) -> Iterator[Finding]:
    """Find hatches, sockets and worksites in a keep-out zone that always counts for the body."""
    for zone in sorted(structure.zones, key=lambda zone: zone.id):
        if zone.when or zone.kind != "keep-out" or "body" not in zone.applies_to:
            continue
        shape = zone_shape(zone)
        for word, place_id, position_m in _sites(structure):
            depth_m = float(signed_distance(shape, np.array([position_m]))[0])
            if depth_m > 0:
                continue
            yield Finding(
                code=f"zone-over-{word}",
                severity="blocks" if word == "hatch" else "warns",
                elements=(zone.id, place_id),
                worksite=place_id if word == "worksite" else None,
                message=(
                    f"keep-out zone {zone.id} always counts and holds {word} {place_id}, "
                    f"{fine_text(-depth_m, 'up')} inside; nobody can ever get there; check its "
                    "size and "
                    "place, say under which conditions it counts, or what it applies to"
                ),
                value=depth_m,
                limit=0.0,
                unit="m",
            )


def _sites(structure: Structure) -> Iterator[tuple[str, str, Vector]]:
    """Yield (word, id, position) in id order."""
    sockets = {socket.id: socket.position_m for socket in structure.sockets}
    found = [("hatch", hatch.id, hatch.position_m) for hatch in structure.hatches]
    found += [("socket", socket.id, socket.position_m) for socket in structure.sockets]
    for worksite in structure.worksites:
        place_m = worksite.place_m if worksite.socket is None else sockets.get(worksite.socket)
        if place_m is not None:
            found.append(("worksite", worksite.id, place_m))
    yield from sorted(found, key=lambda one: one[1])
