"""Moves: which hand-overs are possible between grips, worked out in bounded parts.

A move exists when its straight gap is within reach, the turn between the
outward normals within the limit, and a way is clear for hands and body
(`routing.graph.ways`). It is worked out once for both directions.
"""

from collections.abc import Iterator
from dataclasses import fields, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from routing.graph.costs import Prices, price_moves, turn_between
from routing.graph.pairs import pairs_within
from routing.graph.reach_graph import Flags, Floats, Grips, Indices, Moves
from routing.graph.situation import Situation
from routing.graph.surroundings import Named, Surroundings
from routing.graph.ways import LENGTH_SLACK_M, Ends, Legs, Ways, find_ways, lay_legs, norms
from structures.frozen import frozen
from structures.solids.axes import rows_at
from structures.solids.sweep import Sweep, sweep_clears, sweep_touches

if TYPE_CHECKING:
    from routing.graph.known_room import KnownWays

__all__ = ["ANGLE_SLACK_RAD", "ends_of", "find_moves", "line_clears", "slow_factors"]

ANGLE_SLACK_RAD = 1e-9
"""Turns this much over the limit still count as at the limit [rad]: rounding only."""

_BLOCK = 1 << 13
"""Candidate pairs worked on at a time, which bounds the memory."""

_CORNER_M = 10.0
"""Candidates are worked on by cubes of about this edge [m]."""


@frozen(eq=False)
class _Found:
    """Moves of one block, each way round only once (first < second)."""

    first: Indices
    second: Indices
    gap_m: Floats
    way_m: Floats
    turn_rad: Floats
    changes_rail: Flags
    line_clear: Flags
    way_kind: NDArray[np.int8]
    slow_factor: Floats


def find_moves(
    grips: Grips,
    element: Indices,
    situation: Situation,
    surroundings: Surroundings,
    known: "KnownWays | None" = None,
) -> Moves:
    """Find all moves between usable grips.

    Parameters
    ----------
    grips
        With bodies fitted.
    element
        Which element each grip is on, as a number, shape (n,).
    situation, surroundings
        What decides.
    known
        What is known of the ways from graphs of other bodies.
    """
    first, second = _candidates(grips, situation.ability.reach_m + LENGTH_SLACK_M)
    blocks = [
        _work_out(grips, element, pairs, situation, surroundings, known)
        for pairs in _in_blocks(first, second)
    ]
    del first, second
    found = blocks[0] if len(blocks) == 1 else _joined(blocks)
    del blocks
    prices = price_moves(
        found.way_m, found.turn_rad, found.changes_rail, found.slow_factor, situation
    )
    return _both_ways(len(grips), found, prices)


def _candidates(grips: Grips, reach_m: float) -> tuple[Indices, Indices]:
    """Return pairs of usable grips within reach, neighbours near one another in the list.

    Then a block of them lies in one corner of the structure and needs few shapes.
    """
    usable = np.flatnonzero(grips.usable)
    first, second = pairs_within(grips.position_m[usable], reach_m)
    first, second = usable[first], usable[second]
    if len(first) > _BLOCK:
        x, y, z = np.floor(grips.position_m / _CORNER_M).astype(np.int32).T
        rank = np.empty(len(grips), dtype=np.int64)
        rank[np.lexsort((z, y, x))] = np.arange(len(grips))
        order = np.argsort(rank[first], kind="stable")
        first, second = first[order], second[order]
    return first, second


def _joined(blocks: list[_Found]) -> _Found:
    """Return the moves of all blocks as one."""
    return _Found(
        *(np.concatenate([getattr(block, f.name) for block in blocks]) for f in fields(_Found))
    )


def _in_blocks(first: Indices, second: Indices) -> Iterator[tuple[Indices, Indices]]:
    """Yield pairs in blocks, at least one."""
    for b in range(0, max(len(first), 1), _BLOCK):
        yield first[b : b + _BLOCK], second[b : b + _BLOCK]


def _work_out(
    grips: Grips,
    element: Indices,
    pairs: tuple[Indices, Indices],
    situation: Situation,
    surroundings: Surroundings,
    known: "KnownWays | None",
) -> _Found:
    """Apply the conditions to one block of candidate pairs, cheapest condition first."""
    first, second = pairs
    turn_rad = turn_between(rows_at(grips.normal, first), rows_at(grips.normal, second))
    turned = turn_rad <= np.deg2rad(situation.limits.max_turn_deg) + ANGLE_SLACK_RAD
    first, second, turn_rad = first[turned], second[turned], turn_rad[turned]
    ends = ends_of(grips, first, second)
    if known is not None:
        ends = replace(ends, pair=known.pairs(first, second))
    radius_m = situation.ability.corridor_radius_m
    reach_m = situation.ability.reach_m
    near = surroundings.body.around(ends.start_m, 2 * (reach_m + radius_m)).tables
    ways = find_ways(ends, near, radius_m, reach_m, known)
    there = np.flatnonzero(ways.kind >= 0)
    first, second, ends, ways = first[there], second[there], ends.take(there), ways.take(there)
    legs = lay_legs(ends, ways.kind, radius_m)
    return _Found(
        first=first,
        second=second,
        gap_m=norms(ends.end_m - ends.start_m),
        way_m=ways.length_m,
        turn_rad=turn_rad[there],
        changes_rail=element[first] != element[second],
        line_clear=line_clears(legs, ways, surroundings.line),
        way_kind=ways.kind.astype(np.int8),
        slow_factor=slow_factors(legs, ways, surroundings, radius_m),
    )


def ends_of(grips: Grips, first: Indices, second: Indices) -> Ends:
    """Return both ends of p candidate moves, by the numbers of their grips, each (p,)."""
    return Ends(
        rows_at(grips.position_m, first),
        rows_at(grips.position_m, second),
        rows_at(grips.normal, first),
        rows_at(grips.normal, second),
        rows_at(grips.lean, first),
        rows_at(grips.lean, second),
    )


def line_clears(legs: Legs, ways: Ways, zones: Named) -> Flags:
    """Tell along which ways a tether line keeps out of zones, not touching them either."""
    legs = legs.near(zones.tables, 0.0)
    sweep = legs.sweep
    line = Sweep(sweep.start_m, sweep.end_m, sweep.start_lean, sweep.start_lean, 0.0)
    return ~legs.any_of(~sweep_clears(zones.tables, line, 0.0), len(ways.kind))


def slow_factors(legs: Legs, ways: Ways, surroundings: Surroundings, radius_m: float) -> Floats:
    """Return the largest factor of the slow-down zones each way is in, 0 in none, shape (p,).

    A way is in a zone as soon as the body ball may touch it anywhere.
    """
    factor = np.zeros(len(ways.kind))
    legs = legs.near(surroundings.slow.tables, radius_m)
    zone, leg = sweep_touches(surroundings.slow.tables, legs.sweep, radius_m)
    np.maximum.at(factor, legs.owner[leg], np.array(surroundings.slow_factors)[zone])
    return factor


def _both_ways(grips: int, found: _Found, prices: Prices) -> Moves:
    """Store every move in both directions, by tail, heads ascending."""
    tail = np.concatenate([found.first, found.second])
    head = np.concatenate([found.second, found.first])
    keys = tail * grips + head
    order = np.argsort(keys)
    half = np.where(order < len(found.first), order, order - len(found.first))
    counts = np.bincount(tail, minlength=grips)
    return Moves(
        indptr=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        head=head[order],
        seconds=prices.seconds[half],
        travel_s=prices.travel_s[half],
        gap_s=prices.gap_s[half],
        turn_s=prices.turn_s[half],
        face_s=prices.face_s[half],
        slow_s=prices.slow_s[half],
        exposure_s=prices.exposure_s[half],
        gap_m=found.gap_m[half],
        way_m=found.way_m[half],
        turn_rad=found.turn_rad[half],
        changes_rail=found.changes_rail[half],
        line_clear=found.line_clear[half],
        way_kind=found.way_kind[half],
    )
