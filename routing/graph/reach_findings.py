"""Findings about a reach graph: what hands cannot get to, and why."""

from collections import defaultdict
from collections.abc import Iterator

import numpy as np

from routing.graph.hooks import hook_places
from routing.graph.near_misses import check_blocked_crossings, check_near_misses
from routing.graph.parts import NOWHERE, Parts, find_parts
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.scattered import check_scattered_rails
from routing.graph.sites import site_grips, worksite_away_m, worksite_out_of_reach_m
from routing.graph.surroundings import survey
from structures.counting import counted
from structures.doubtful import check_spans
from structures.elements import Condition
from structures.findings import Finding
from structures.solids.sweep import SWEEP_TOLERANCE_M, places_clearance
from structures.units import fine_text, length_text

__all__ = [
    "check_body_places",
    "check_closed",
    "check_hatches",
    "check_islands",
    "check_sites",
    "check_tether_hooks",
    "check_worksite_places",
    "inspect_reach",
]

_LISTED = 8
"""At most this many ids are named in a message; all are in the finding's elements."""

_OFF_RAIL_M = 0.1
"""From so far off its handrail a worksite is pointed out: a hand's breadth [m]."""

_WORDS = {
    GripKind.HANDRAIL: "handrail",
    GripKind.HANDHOLD: "handhold",
    GripKind.HATCH: "hatch",
    GripKind.SOCKET: "socket",
}


def inspect_reach(graph: ReachGraph) -> tuple[Finding, ...]:
    """Find what is doubtful about where hands can go in a situation.

    Islands come biggest first, near misses by the distance that is missing,
    everything else in id order.
    """
    parts = find_parts(graph)
    return (
        *check_spans(graph.situation.limits, "the limits"),
        *check_scattered_rails(graph),
        *check_hatches(graph, parts),
        *check_islands(graph, parts),
        *check_sites(graph, parts),
        *check_worksite_places(graph),
        *check_tether_hooks(graph, parts),
        *check_body_places(graph),
        *check_closed(graph),
        *check_near_misses(graph, parts),
        *check_blocked_crossings(graph, parts),
    )


def check_hatches(graph: ReachGraph, parts: Parts) -> Iterator[Finding]:
    """Find that there is no hatch, or that a hatch leads nowhere."""
    if not graph.structure.hatches:
        yield Finding(
            code="no-hatch",
            severity="warns",
            message=(
                "the structure has no hatch; what can be reached is told from the largest part "
                "of the reach graph instead; add the airlock hatch"
            ),
        )
        return
    elements = np.array(graph.grips.element_ids, dtype=object)
    for hatch in sorted(graph.structure.hatches, key=lambda hatch: hatch.id):
        own = np.flatnonzero(elements == hatch.id)
        labels = {int(parts.label[i]) for i in own} - {NOWHERE}
        if any((parts.label == label).sum() > 1 for label in labels):
            continue
        yield Finding(
            code="hatch-cut-off",
            severity="blocks",
            elements=(hatch.id,),
            message=(
                f"no move leads from hatch {hatch.id} to any grip; no outing can begin there; "
                "add a handrail within reach, or see what stands in the way"
            ),
        )


def check_islands(graph: ReachGraph, parts: Parts) -> Iterator[Finding]:
    """Find the parts of the reach graph without a hatch, biggest first."""
    for label in parts.labels():
        if label in parts.home:
            continue
        own = np.flatnonzero(parts.label == label).tolist()
        ids = tuple(sorted({graph.grips.element_ids[i] for i in own}))
        where = "the hatch" if parts.has_hatch else "the largest part"
        yield Finding(
            code="island",
            severity="warns",
            elements=ids,
            message=(
                f"{_listed(ids)}: {counted(len(own), 'grip')} on "
                f"{counted(len(ids), 'element')} that no way leads to from {where}; "
                f"no route uses them{_nearest(graph, parts, own)}; add a handrail between"
            ),
            value=len(own),
            unit="grips",
        )


def _nearest(graph: ReachGraph, parts: Parts, own: list[int]) -> str:
    """Say how far an island is from where a hatch leads; nothing if that is nowhere."""
    from scipy.spatial import cKDTree

    grips, reach_m = graph.grips, graph.situation.ability.reach_m
    home = np.flatnonzero(parts.reached & (grips.kind != GripKind.SOCKET))
    if not len(home):
        return ""
    found = cKDTree(grips.position_m[home]).query(grips.position_m[own])
    gaps_m, nearest = np.asarray(found[0]), np.asarray(found[1])
    at = int(np.argmin(gaps_m))
    gap_m = float(gaps_m[at])
    what = (
        f"over the reach of {fine_text(reach_m)}"
        if gap_m > reach_m
        else "within reach, but turn, body corridor or the way round an edge allow no move"
    )
    return (
        f"; of their grips {grips.ids[own[at]]} is nearest to one that can be reached, "
        f"{grips.ids[int(home[nearest[at]])]}: {fine_text(gap_m, 'up')}, {what}"
    )


def check_sites(graph: ReachGraph, parts: Parts) -> Iterator[Finding]:
    """Find sockets and worksites that no way leads to."""
    reached = parts.reached
    sites = [("socket", s.id, s.id) for s in graph.structure.sockets]
    sites += [("worksite", w.id, str(w.socket or w.handrail)) for w in graph.structure.worksites]
    for word, site_id, element_id in sorted(sites, key=lambda site: site[1]):
        places = site_grips(graph, site_id)
        if reached[places.grips].any() or places.too_far:
            continue
        closed = element_id in graph.situation.closed
        if closed:
            why = f"{element_id} is closed"
        elif len(places.grips) and (parts.label[places.grips] != NOWHERE).any():
            why = "it is on an island of the reach graph"
        elif len(places.unusable):
            why = "the body has no clear place there"
        else:
            why = f"no grip is within the reach of {fine_text(graph.situation.ability.reach_m)}"
        yield Finding(
            code=f"{word}-unreached",
            severity="notes" if closed else "warns",
            elements=(site_id,) if site_id == element_id else (site_id, element_id),
            worksite=site_id if word == "worksite" else None,
            message=(
                f"no way leads to {word} {site_id}: {why}; no route there can be found; "
                "add a handrail within reach, or mend what the other findings about it say"
            ),
        )


def check_worksite_places(graph: ReachGraph) -> Iterator[Finding]:
    """Find worksites whose place is out of reach of the handrail they are on, or well off it."""
    for worksite in sorted(graph.structure.worksites, key=lambda worksite: worksite.id):
        away_m = worksite_away_m(graph, worksite.id)
        if away_m < _OFF_RAIL_M:
            continue
        far = worksite_out_of_reach_m(graph, worksite) is not None
        yield Finding(
            code="worksite-far-from-rail" if far else "worksite-off-rail",
            severity="warns" if far else "notes",
            elements=(worksite.id, str(worksite.handrail)),
            worksite=worksite.id,
            message=(
                f"{site_grips(graph, worksite.id).too_far}; no route there is given"
                if far
                else f"the place of worksite {worksite.id} is {length_text(away_m, 'up')} off its "
                f"handrail {worksite.handrail}, within reach; ways end at the nearest grip of "
                "that handrail; check the place, and the handrail it names"
            ),
            value=away_m,
            limit=graph.situation.free_reach_m if far else _OFF_RAIL_M,
            unit="m",
        )


def check_tether_hooks(graph: ReachGraph, parts: Parts) -> Iterator[Finding]:
    """Find tether points on which nobody can put a hook."""
    ids = tuple(sorted({p.id for p in graph.structure.tether_points} - {*graph.situation.closed}))
    if not ids:
        return
    places = hook_places(graph, ids)
    served = {ids[i] for i in places.point[parts.reached[places.grip]].tolist()}
    limit_m = graph.situation.limits.hook_reach_m
    for point_id in ids:
        if point_id not in served:
            yield Finding(
                code="tether-point-unreached",
                severity="warns",
                elements=(point_id,),
                message=(
                    f"no grip that can be reached is within {fine_text(limit_m)} of tether point "
                    f"{point_id} with a clear line; no tether can be anchored there; check its "
                    "position, or add a handrail near by"
                ),
                limit=limit_m,
                unit="m",
            )


def check_body_places(graph: ReachGraph) -> Iterator[Finding]:
    """Find grips where the body has no clear place, by element, and against what."""
    grips = graph.grips
    tight = np.flatnonzero(~grips.usable)
    if not len(tight):
        return
    around = survey(graph.structure, graph.situation).body
    radius_m = graph.situation.ability.corridor_radius_m
    room_m, nearest = places_clearance(around.shapes, grips.body_m[tight], radius_m)
    of_element: dict[str, list[int]] = defaultdict(list)
    for k, i in enumerate(tight.tolist()):
        of_element[grips.element_ids[i]].append(k)
    totals: dict[str, int] = defaultdict(int)
    for element_id in grips.element_ids:
        totals[element_id] += 1
    for element_id, own in sorted(of_element.items()):
        whole = len(own) == totals[element_id]
        # All grips tight: the best one says what is missing; else the worst one where it is.
        at = max(own, key=lambda k: room_m[k]) if whole else min(own, key=lambda k: room_m[k])
        kind = int(grips.kind[tight[at]])
        against = around.ids[int(nearest[at])] if nearest[at] >= 0 else "nothing named"
        cure = (
            f"; if it is flush with {against}, move it off that face along its normal by as much"
            if nearest[at] >= 0 and grips.kind[tight[at]] != GripKind.HANDRAIL
            else ""
        )
        yield Finding(
            code="no-body-place" if whole else "few-body-places",
            severity=("blocks" if kind == GripKind.HATCH else "warns") if whole else "notes",
            elements=(element_id, against) if nearest[at] >= 0 else (element_id,),
            message=(
                f"at {len(own)} of {totals[element_id]} grips of {_WORDS[kind]} {element_id} the "
                f"body has no clear place; at {grips.ids[tight[at]]} it is "
                f"{fine_text(max(SWEEP_TOLERANCE_M - float(room_m[at]), 0.0), 'up')} too "
                "near to "
                f"{against}; routes cannot use these grips; check the normal, the zones and "
                f"solids there, or the corridor radius{cure}"
            ),
            value=_centre_m(room_m[at], radius_m),
            limit=radius_m + SWEEP_TOLERANCE_M,
            unit="m",
        )


def _centre_m(room_m: float, radius_m: float) -> float:
    return float(room_m) + radius_m


def check_closed(graph: ReachGraph) -> Iterator[Finding]:
    """List what is closed, and by what."""
    conditions = [
        graph.structure.find(condition, (Condition,)) for condition in graph.situation.when
    ]
    for element_id in graph.situation.closed:
        by = [c.id for c in conditions if element_id in c.closes]
        why = f"condition {', '.join(by)}" if by else "the call"
        yield Finding(
            code="closed",
            severity="notes",
            elements=(element_id,),
            message=f"{element_id} is closed by {why}; nothing uses it; open it if that is wrong",
        )


def _listed(ids: tuple[str, ...]) -> str:
    rest = len(ids) - _LISTED
    return ", ".join(ids[:_LISTED]) + (f" and {rest} more" if rest > 0 else "")
