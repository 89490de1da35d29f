"""Near misses: gaps just over reach that would join parts or save much time."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from routing.graph.costs import turn_between
from routing.graph.moves import ANGLE_SLACK_RAD
from routing.graph.pairs import pairs_within
from routing.graph.parts import NOWHERE, Parts
from routing.graph.reach_graph import Flags, Floats, GripKind, Indices, ReachGraph
from routing.graph.surroundings import survey
from routing.graph.ways import LENGTH_SLACK_M, Ends, find_ways, norms
from structures.findings import Finding
from structures.polylines import Polyline, segment_gaps
from structures.solids.sweep import Sweep, sweep_clearance
from structures.units import fine_text, number_text

__all__ = ["OVER_REACH", "SAVES_S", "check_blocked_crossings", "check_near_misses"]

OVER_REACH = 0.5
"""A gap up to this part over the reach is a near miss."""

SAVES_S = 60.0
"""Between grips of one part: closing the gap must save at least this much [s]."""

_SOURCES = 64
"""Searches run at a time, which bounds the memory."""


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """Grips of pairs of elements, each element within one part, p of them.

    For every two elements: the nearest grips, and the ones nearest to the
    first and the last grip that is near, since a gap may cost little at one end
    of two rails and much at the other.
    """

    first: Indices
    second: Indices
    gap_m: Floats
    nearest: Flags

    def take(self, some: Indices | Flags) -> "_Pairs":
        return _Pairs(self.first[some], self.second[some], self.gap_m[some], self.nearest[some])


def check_near_misses(graph: ReachGraph, parts: Parts) -> Iterator[Finding]:
    """Find pairs of elements that only lack reach, by the distance that is missing.

    Either the two are in different parts of the reach graph, or the way from
    one to the other takes at least `SAVES_S` longer than the gap would. Turn and
    body corridor are held to the same limits as those of moves, and the way
    that is measured is the hands' way, round an edge where need be.
    """
    reach_m = graph.situation.ability.reach_m
    far_m = reach_m * (1 + OVER_REACH)
    pairs = _without_moves(graph, _element_pairs(graph, parts, far_m))
    way_m = _ways_m(graph, parts, pairs, far_m)
    missing = (way_m > reach_m + LENGTH_SLACK_M) & np.isfinite(way_m)
    pairs, way_m = pairs.take(missing), way_m[missing]
    apart = parts.label[pairs.first] != parts.label[pairs.second]
    saved_s = np.full(len(way_m), np.inf)
    saved_s[~apart] = _saved_s(graph, pairs.take(~apart), way_m[~apart])
    wanted = np.flatnonzero(apart | (saved_s >= SAVES_S))
    ids = graph.grips.element_ids
    named = sorted(
        (float(way_m[k]), *sorted((ids[pairs.first[k]], ids[pairs.second[k]])), bool(apart[k]))
        for k in wanted.tolist()
    )
    said: set[tuple[str, str]] = set()
    for way, one, other, joins in named:
        if (one, other) in said:
            continue
        said.add((one, other))
        gain = (
            "no other way joins them"
            if joins
            else f"the way round takes at least {SAVES_S:g} s longer"
        )
        yield Finding(
            code="near-miss",
            severity="notes",
            elements=(one, other),
            message=(
                f"the hands' way between {one} and {other} is {fine_text(way, 'up')}, "
                f"{fine_text(way - reach_m, 'up')} "
                f"over the reach of {fine_text(reach_m)}, and {gain}; turn and body corridor are "
                "within limits there; a rail or a spanner in this gap would open the way"
            ),
            value=way,
            limit=reach_m,
            unit="m",
        )


def _element_pairs(graph: ReachGraph, parts: Parts, far_m: float) -> _Pairs:
    """Return the nearest grips of every two elements (each within one part) that may be near."""
    grips = graph.grips
    usable = np.flatnonzero(grips.usable)
    first, second = pairs_within(
        grips.position_m[usable], far_m + graph.situation.limits.grip_spacing_m
    )
    first, second = usable[first], usable[second]
    element = _ranks(grips.element_ids)
    sockets = grips.kind == GripKind.SOCKET
    some = (element[first] != element[second]) & ~(sockets[first] & sockets[second])
    first, second = first[some], second[some]
    gap_m = norms(grips.position_m[first] - grips.position_m[second])
    node = _nodes(element, parts.label)
    key = node[first] * len(node) + node[second]
    nearest = _first_of_each(key, (second, first, gap_m))
    ends = (_first_of_each(key, (second, gap_m, end)) for end in (first, -first))
    taken = np.unique(np.concatenate([nearest, *ends]))
    return _Pairs(first[taken], second[taken], gap_m[taken], np.isin(taken, nearest))


def _first_of_each(key: Indices, by: tuple[Indices | Floats, ...]) -> Indices:
    """Return for each key where its lowest entry is, by the last array given first."""
    order = np.lexsort((*by, key))
    _, start = np.unique(key[order], return_index=True)
    found: Indices = order[start]
    return found


def _ranks(names: tuple[str, ...]) -> Indices:
    rank = {name: i for i, name in enumerate(sorted(set(names)))}
    return np.array([rank[name] for name in names], dtype=np.int64)


def _nodes(element: Indices, label: Indices) -> Indices:
    """Give all grips of one element and one part one number."""
    nodes: Indices = np.unique(element * (len(label) + 1) + label + 1, return_inverse=True)[1]
    return nodes


def _without_moves(graph: ReachGraph, pairs: _Pairs) -> _Pairs:
    """Leave out pairs of elements that a move joins already."""
    element = _ranks(graph.grips.element_ids)
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
    count = len(element)
    joined = np.unique(element[tail] * count + element[graph.moves.head])
    return pairs.take(~np.isin(element[pairs.first] * count + element[pairs.second], joined))


def _ways_m(graph: ReachGraph, parts: Parts, pairs: _Pairs, far_m: float) -> Floats:
    """Return the shortest hands' way of each pair that turn and corridor allow, infinite if none.

    Tried between the two nearest places of the elements, which need not be
    grips, and between the nearest grips.
    """
    grips, situation = graph.grips, graph.situation
    turn_rad = turn_between(grips.normal[pairs.first], grips.normal[pairs.second])
    turned = turn_rad <= np.deg2rad(situation.limits.max_turn_deg) + ANGLE_SLACK_RAD
    shapes = survey(graph.structure, situation).body.shapes
    found = np.full(len(turned), np.inf)
    between_grips = np.flatnonzero(turned)
    between_places = np.flatnonzero(turned & pairs.nearest)
    for some, ends in (
        (between_grips, _grip_ends(graph, pairs.take(between_grips))),
        (between_places, _nearest_ends(graph, parts, pairs.take(between_places))),
    ):
        ways = find_ways(ends, shapes, situation.ability.corridor_radius_m, far_m)
        clear = some[ways.kind >= 0]
        found[clear] = np.minimum(found[clear], ways.length_m[ways.kind >= 0])
    return found


def _grip_ends(graph: ReachGraph, pairs: _Pairs) -> Ends:
    grips, a, b = graph.grips, pairs.first, pairs.second
    return Ends(
        grips.position_m[a],
        grips.position_m[b],
        grips.normal[a],
        grips.normal[b],
        grips.lean[a],
        grips.lean[b],
    )


def _nearest_ends(graph: ReachGraph, parts: Parts, pairs: _Pairs) -> Ends:
    """Return the nearest places of the two elements, with the leans of the grips next to them.

    Where the grip next to such a place belongs to another part, the place says
    nothing about this pair, and the nearest grips stand instead.
    """
    grips = graph.grips
    ends = _grip_ends(graph, pairs)
    start_m, end_m = ends.start_m.copy(), ends.end_m.copy()
    start_lean, end_lean = ends.start_lean.copy(), ends.end_lean.copy()
    of_element: dict[str, list[int]] = {}
    for i, element_id in enumerate(grips.element_ids):
        of_element.setdefault(element_id, []).append(i)
    lines = {rail.id: Polyline.through(rail.points_m) for rail in graph.structure.handrails}
    for k, (a, b) in enumerate(zip(pairs.first.tolist(), pairs.second.tolist(), strict=True)):
        names = grips.element_ids[a], grips.element_ids[b]
        one, other = (
            lines.get(name) or Polyline.through([tuple(grips.position_m[i])])
            for name, i in zip(names, (a, b), strict=True)
        )
        p, q = _nearest_points(one, other)
        i, j = (
            _next_grip(grips.position_m, of_element[name], point)
            for name, point in zip(names, (p, q), strict=True)
        )
        same = parts.label[i] == parts.label[a] and parts.label[j] == parts.label[b]
        if same and grips.usable[i] and grips.usable[j]:
            start_m[k], end_m[k] = p, q
            start_lean[k], end_lean[k] = grips.lean[i], grips.lean[j]
    return Ends(start_m, end_m, ends.start_normal, ends.end_normal, start_lean, end_lean)


def _nearest_points(one: Polyline, other: Polyline) -> tuple[Floats, Floats]:
    a, b = one.segments()
    c, d = other.segments()
    gap_m, s, t = segment_gaps(a[:, None], b[:, None], c[None], d[None])
    i, j = np.unravel_index(int(gap_m.argmin()), gap_m.shape)
    return a[i] + s[i, j] * (b[i] - a[i]), c[j] + t[i, j] * (d[j] - c[j])


def _next_grip(position_m: Floats, own: list[int], point_m: Floats) -> int:
    return own[int(norms(position_m[own] - point_m).argmin())]


def _saved_s(graph: ReachGraph, pairs: _Pairs, way_m: Floats) -> Floats:
    """Return `SAVES_S` for pairs where closing the gap saves at least that, else 0."""
    # Only here: scipy is worth its start-up for an inspection, not for a route.
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import dijkstra

    moves, situation = graph.moves, graph.situation
    saved = np.zeros(len(way_m))
    if not len(way_m):
        return saved
    # A move of no seconds would read as no move at all in a sparse matrix.
    passable = np.maximum(moves.seconds, 1e-9)
    socket = graph.grips.kind == GripKind.SOCKET
    # Nobody passes through a socket: none is left again, and none is searched from.
    passable[np.repeat(socket, np.diff(moves.indptr))] = np.inf
    start = np.where(socket[pairs.first], pairs.second, pairs.first)
    goal = np.where(socket[pairs.first], pairs.first, pairs.second)
    shape = (len(graph.grips), len(graph.grips))
    matrix = csr_array((passable, moves.head, moves.indptr), shape=shape)
    direct_s = way_m / situation.ability.rate_m_per_s + situation.limits.gap_s
    limit_s = float(direct_s.max()) + SAVES_S
    sources = np.unique(start)
    for begin in range(0, len(sources), _SOURCES):
        some = sources[begin : begin + _SOURCES]
        reached_s = dijkstra(matrix, indices=some, limit=limit_s)
        own = np.flatnonzero(np.isin(start, some))
        round_s = reached_s[np.searchsorted(some, start[own]), goal[own]]
        saved[own] = np.where(round_s - direct_s[own] >= SAVES_S, SAVES_S, 0.0)
    return saved


def check_blocked_crossings(graph: ReachGraph, parts: Parts) -> Iterator[Finding]:
    """Find what stops the nearest crossing within reach, for each part without a hatch.

    A socket that no grip reaches counts as a part.
    """
    grips, situation = graph.grips, graph.situation
    reach_m = situation.ability.reach_m
    pairs = _element_pairs(graph, parts, reach_m)
    label = np.where(parts.label == NOWHERE, len(grips) + np.arange(len(grips)), parts.label)
    near = (pairs.gap_m <= reach_m) & (label[pairs.first] != label[pairs.second])
    pairs = pairs.take(near & pairs.nearest)
    order = np.lexsort((pairs.second, pairs.first, pairs.gap_m))
    said: set[int] = set()
    for k in order.tolist():
        a, b = int(pairs.first[k]), int(pairs.second[k])
        cut_off = {int(label[a]), int(label[b])} - set(parts.home.tolist()) - said
        if not cut_off:
            continue
        said |= cut_off
        turn_deg = float(np.degrees(turn_between(grips.normal[[a]], grips.normal[[b]])[0]))
        limit_deg = situation.limits.max_turn_deg
        if turn_deg > limit_deg + np.degrees(ANGLE_SLACK_RAD):
            turn = number_text(turn_deg, "up", 1)
            why = f"the turn of {turn} deg is over the limit of {limit_deg:g} deg"
        else:
            why = _what_blocks(graph, _grip_ends(graph, pairs.take(np.array([k]))))
        yield Finding(
            code="crossing-blocked",
            severity="notes",
            elements=(grips.element_ids[a], grips.element_ids[b]),
            message=(
                f"{grips.ids[a]} and {grips.ids[b]} are "
                f"{fine_text(float(pairs.gap_m[k]), 'up')} apart, within "
                f"reach, but {why}; the parts they are in stay apart; add a rail that leads "
                "round, or check the normals and what stands there"
            ),
            value=float(pairs.gap_m[k]),
            limit=reach_m,
            unit="m",
        )


def _what_blocks(graph: ReachGraph, ends: Ends) -> str:
    """Say past what the hands' way between two grips is too long, or that none is clear."""
    ability = graph.situation.ability
    radius_m, reach_m = ability.corridor_radius_m, ability.reach_m
    around = survey(graph.structure, graph.situation).body
    sweep = Sweep(ends.start_m, ends.end_m, ends.start_lean, ends.end_lean, radius_m)
    _, nearest = sweep_clearance(around.shapes, sweep, radius_m)
    against = f" past {around.ids[int(nearest[0])]}" if nearest[0] >= 0 else ""
    # As far as near misses are looked for, so that the two never contradict each other.
    ways = find_ways(ends, around.shapes, radius_m, reach_m * (1 + OVER_REACH))
    way_m = float(ways.length_m[0])
    if not np.isfinite(way_m) or way_m <= reach_m + LENGTH_SLACK_M:
        return f"the body has no clear way{against}"
    return (
        f"the way that is clear for the body{against} is {fine_text(way_m, 'up')} for the hands, "
        f"{fine_text(way_m - reach_m, 'up')} over the reach"
    )
