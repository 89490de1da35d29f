"""The body corridor along a course: its tightest place, and the slow-down zones it touches."""

import numpy as np

from routing.graph.moves import ends_of
from routing.graph.reach_graph import Floats, Indices, ReachGraph
from routing.graph.ways import Legs, lay_legs
from routing.paths.course import Course
from structures.solids.sweep import places_clearance, sweep_clearance, sweep_touches
from structures.solids.tables import Shapes

__all__ = ["all_clearances", "clearances", "place_clearances", "slow_zones", "tightest_place"]


def _legs(graph: ReachGraph, course: Course) -> Legs:
    grips = np.array(course.grips, dtype=np.int64)
    return _legs_of(graph, grips[:-1], np.array(course.moves, dtype=np.int64))


def _legs_of(graph: ReachGraph, tails: Indices, moves: Indices) -> Legs:
    """Lay the ways of moves again, each the way round it was laid when the graph was built."""
    heads = graph.moves.head[moves]
    ends = ends_of(graph.grips, np.minimum(tails, heads), np.maximum(tails, heads))
    radius_m = graph.situation.ability.corridor_radius_m
    return lay_legs(ends, graph.moves.way_kind[moves].astype(np.int64), radius_m)


def tightest_place(graph: ReachGraph, course: Course, shapes: Shapes) -> tuple[int, float, int]:
    """Find where the body ball has least room along a course.

    Returns
    -------
    move : int
        Index of the hand-over in the course; 0 if the course has none.
    clearance_m : float
        Guaranteed lower bound of the room from skin to skin [m].
    nearest : int
        Index of the shape it is measured to.
    """
    radius_m = graph.situation.ability.corridor_radius_m
    if course.moves:
        legs = _legs(graph, course)
        clearance_m, nearest = sweep_clearance(shapes, legs.sweep, radius_m)
        owner = legs.owner
    else:
        bodies_m = graph.grips.body_m[np.array(course.grips)]
        clearance_m, nearest = places_clearance(shapes, bodies_m, radius_m)
        owner = np.zeros(1, dtype=np.int64)
    least = int(np.lexsort((owner, clearance_m))[0])
    return int(owner[least]), float(clearance_m[least]), int(nearest[least])


def clearances(graph: ReachGraph, course: Course) -> tuple[float, ...]:
    """Return for each hand-over the room of the body corridor, a guaranteed lower bound [m].

    It is infinite where there is no solid and no keep-out zone at all.
    """
    moves = len(course.moves)
    shapes = graph.surroundings.body.tables
    least_m = np.full(moves, np.inf)
    if moves and shapes.count:
        legs = _legs(graph, course)
        radius_m = graph.situation.ability.corridor_radius_m
        clearance_m, _ = sweep_clearance(shapes, legs.sweep, radius_m)
        np.minimum.at(least_m, legs.owner, clearance_m)
    return tuple(least_m.tolist())


def all_clearances(graph: ReachGraph) -> Floats:
    """Return the room of the body corridor on every move of a graph, shape (m,) [m].

    As `clearances`, but of all moves at once, so that a move's room does not
    depend on which others are asked about. A move and the one back have the same.
    """
    tails = np.repeat(np.arange(len(graph.grips), dtype=np.int64), np.diff(graph.moves.indptr))
    heads = graph.moves.head
    shapes = graph.surroundings.body.tables
    least_m = np.full(len(heads), np.inf)
    if not len(heads) or not shapes.count:
        return least_m
    pairs = np.minimum(tails, heads) * len(graph.grips) + np.maximum(tails, heads)
    _, chosen, back = np.unique(pairs, return_index=True, return_inverse=True)
    legs = _legs_of(graph, tails[chosen], chosen)
    clearance_m, _ = sweep_clearance(shapes, legs.sweep, graph.situation.ability.corridor_radius_m)
    pair_m = np.full(len(chosen), np.inf)
    np.minimum.at(pair_m, legs.owner, clearance_m)
    return pair_m[back.reshape(-1)]


def place_clearances(graph: ReachGraph) -> Floats:
    """Return the room of the body ball at every grip, for who makes no move, shape (n,) [m].

    It is infinite where there is no solid and no keep-out zone at all.
    """
    shapes = graph.surroundings.body.tables
    if not len(graph.grips) or not shapes.count:
        return np.full(len(graph.grips), np.inf)
    radius_m = graph.situation.ability.corridor_radius_m
    room_m, _ = places_clearance(shapes, graph.grips.body_m, radius_m)
    return room_m


def slow_zones(graph: ReachGraph, course: Course) -> tuple[tuple[str, ...], ...]:
    """Return for each hand-over the ids of the slow-down zones it is in, in id order."""
    moves = len(course.moves)
    found: list[list[str]] = [[] for _ in range(moves)]
    if any(graph.moves.exposure_s[move] > 0 for move in course.moves):
        slow = graph.surroundings.slow
        legs = _legs(graph, course)
        radius_m = graph.situation.ability.corridor_radius_m
        zones, touching = sweep_touches(slow.tables, legs.sweep, radius_m)
        for zone, move in zip(zones.tolist(), legs.owner[touching].tolist(), strict=True):
            if slow.ids[zone] not in found[move]:
                found[move].append(slow.ids[zone])
    return tuple(tuple(ids) for ids in found)
