"""Doubts about hardware: tether points by their rating, and what must not be kicked."""

import math
from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
from numpy.typing import NDArray

from structures.findings import Finding
from structures.inspection.stowage import stowage_places
from structures.model import Structure
from structures.polylines import Polyline
from structures.solids.distance import signed_distance
from structures.units import fine_text

__all__ = [
    "CLOCK_SQUARE_WITHIN_DEG",
    "check_clock_zero",
    "check_kick_hardware",
    "check_tether_rating",
    "kick_sensitive",
    "nearest_along",
]

Floats = NDArray[np.float64]

CLOCK_SQUARE_WITHIN_DEG = 1.0
"""So far from a right angle clock zero may be [deg]: directions are given to three decimals."""

_NEAREST_WITHIN_M = 1e-4
"""How far above the true smallest distance the one reported may be [m]."""


def check_tether_rating(structure: Structure, *, tether_point_rating_n: float) -> Iterator[Finding]:
    """Find tether points rated below what a safety tether needs, or not rated [N].

    One of a hatch blocks, because every way from there starts on it. Others are
    warned of: no route transfers to them, and one that must start on them is unsafe.
    """
    of_hatches = {hatch.tether_point: hatch.id for hatch in structure.hatches}
    for point in sorted(structure.tether_points, key=lambda point: point.id):
        if point.rating_n is not None and point.rating_n >= tether_point_rating_n:
            continue
        known = point.rating_n is not None
        hatch = of_hatches.get(point.id)
        follows = (
            "no route transfers to it, and a reel route that has nothing else to start on is unsafe"
            if hatch is None
            else f"every route from hatch {hatch} starts on it and is unsafe"
        )
        what = f"is rated {point.rating_n:g} N" if known else "has no rating"
        yield Finding(
            code="tether-point-rating-low" if known else "tether-point-rating-unknown",
            severity="warns" if hatch is None else "blocks",
            elements=(point.id,) if hatch is None else (point.id, hatch),
            message=(
                f"tether point {point.id} {what}, a safety tether needs "
                f"{tether_point_rating_n:g} N; it cannot be counted on to hold a person"
                f"{'' if known else ' (unknown is never enough)'}: {follows}; give the rating "
                "from its certification data, or leave the point out"
            ),
            value=point.rating_n,
            limit=tether_point_rating_n,
            unit="N",
        )


def check_clock_zero(structure: Structure) -> Iterator[Finding]:
    """Find sockets whose clock position zero is not at right angles to their normal.

    Clock positions are turned about the normal: where zero leans they are counted
    from its shadow, and where it is along the normal nobody knows where they are.
    """
    for socket in sorted(structure.sockets, key=lambda socket: socket.id):
        zero, normal = np.array(socket.clock_zero), np.array(socket.normal)
        cosine = float(zero @ normal / np.sqrt((zero @ zero) * (normal @ normal)))
        angle_deg = math.degrees(math.acos(min(max(cosine, -1.0), 1.0)))
        if abs(angle_deg - 90.0) <= CLOCK_SQUARE_WITHIN_DEG:
            continue
        nowhere = min(angle_deg, 180.0 - angle_deg) <= CLOCK_SQUARE_WITHIN_DEG
        yield Finding(
            code="socket-clock-nowhere" if nowhere else "socket-clock-leans",
            severity="blocks" if nowhere else "warns",
            elements=(socket.id,),
            message=(
                f"clock zero of socket {socket.id} is {angle_deg:.2f} deg from the normal, not 90; "
                f"{'no clock position is known' if nowhere else 'its shadow on the socket counts'}"
                "; give the direction of position zero in the plane of the socket"
            ),
            value=angle_deg,
            limit=90.0,
            unit="deg",
        )


def check_kick_hardware(structure: Structure, *, kick_distance_m: float) -> Iterator[Finding]:
    """Find kick-sensitive hardware too near to where people pass or work.

    Handrails, handholds and worksites count as such places. An item counts
    where it is stowed, as a ball of half its diagonal.

    References
    ----------
    SSP 30256:001 Rev F (1997-02-07) table 3.1.3-1 sheet 2 (page 3-5): the kick
    load applies to hardware within 24 in (0.6096 m) of a translation path or
    worksite.
    """
    lines = _passed_places(structure)
    for hardware_id, word, distance in kick_sensitive(structure):
        for place_id, line in lines:
            # Measured in full only where the place could be near enough.
            middle = line.points_at(np.array([line.length_m / 2]))
            if float(distance(middle)[0]) - line.length_m / 2 > kick_distance_m:
                continue
            gap_m = nearest_along(line, distance, within_m=_NEAREST_WITHIN_M)
            if gap_m - _NEAREST_WITHIN_M > kick_distance_m:
                continue
            yield Finding(
                code="kick-sensitive-near",
                severity="warns",
                elements=(hardware_id, place_id),
                message=(
                    f"{word} {hardware_id} must not be kicked and is "
                    f"{fine_text(max(gap_m, 0.0), 'down')} from "
                    f"{place_id}; hardware within {kick_distance_m:.4g} m of where people pass or "
                    "work must bear a kick of 556 N (SSP 30256:001 Rev F table 3.1.3-1); cover "
                    f"it, show that it bears that, or keep people off {place_id}"
                ),
                value=max(gap_m, 0.0),
                limit=kick_distance_m,
                unit="m",
            )


def _passed_places(structure: Structure) -> list[tuple[str, Polyline]]:
    lines = [(rail.id, Polyline.through(rail.points_m)) for rail in structure.handrails]
    lines += [(hold.id, Polyline.through([hold.position_m])) for hold in structure.handholds]
    sockets = {socket.id: socket.position_m for socket in structure.sockets}
    for worksite in structure.worksites:
        place_m = worksite.place_m if worksite.socket is None else sockets.get(worksite.socket)
        if place_m is not None:
            lines.append((worksite.id, Polyline.through([place_m])))
    return sorted(lines, key=lambda pair: pair[0])


def kick_sensitive(
    structure: Structure,
) -> Iterator[tuple[str, str, Callable[[Floats], Floats]]]:
    """Yield id, kind and distance from points (n, 3) [m] of all that must not be kicked."""
    for solid in sorted(structure.solids, key=lambda solid: solid.id):
        if solid.kick_sensitive:
            yield solid.id, "solid", partial(signed_distance, solid.volume)
    places = stowage_places(structure)
    for item in sorted(structure.items, key=lambda item: item.id):
        line = places.get(item.id)
        if item.kick_sensitive and line is not None:
            x, y, z = item.size_m
            half_m = float(np.sqrt(x * x + y * y + z * z)) / 2
            yield item.id, "item", _to_ball(line, half_m)


def _to_ball(line: Polyline, radius_m: float) -> Callable[[Floats], Floats]:
    return lambda points_m: line.gap_to_m(points_m) - radius_m


def nearest_along(
    line: Polyline, distance: Callable[[Floats], Floats], *, within_m: float
) -> float:
    """Return the smallest distance anywhere along a line [m].

    Parameters
    ----------
    line
        The line that is looked along.
    distance
        Distance from points (n, 3) to something, shape (n,) [m]; it must not
        change faster than the point moves.
    within_m
        The result is at most this much above the true smallest distance.
    """
    edges = line.samples_m(0.5)
    middles, halves = (edges[1:] + edges[:-1]) / 2, (edges[1:] - edges[:-1]) / 2
    best = float(distance(line.points_at(edges)).min())
    while len(middles):
        found = distance(line.points_at(middles))
        best = min(best, float(found.min()))
        # A piece holds nothing nearer than its middle less half its length.
        open_ = found - halves < best - within_m
        quarters = halves[open_] / 2
        middles = np.concatenate([middles[open_] - quarters, middles[open_] + quarters])
        halves = np.concatenate([quarters, quarters])
    return best
