"""Doubt about the unit of a whole structure: most handrails are far from everything else.

A structure whose rails and solids are all in the same wrong unit looks right to every check of
one against the other; only what hands can reach does not grow with it.
"""

from collections.abc import Iterator
from typing import Final

import numpy as np

from routing.graph.reach_graph import GripKind, Indices, ReachGraph
from structures.findings import Finding
from structures.units import fine_text

__all__ = ["check_scattered_rails"]

_FEWEST: Final = 4
"""So many handrails must be alone before it is one doubt about all; own planning assumption."""
_FAR: Final = 1.5
"""A gap over this many times the reach is far over it: more than a near miss."""


def check_scattered_rails(graph: ReachGraph) -> Iterator[Finding]:
    """Find that more than half of the handrails are far out of reach of everything else."""
    grips, reach_m = graph.grips, graph.situation.ability.reach_m
    rails = [
        own
        for own in map(np.array, grips.of_element.values())
        if grips.kind[own[0]] == GripKind.HANDRAIL
    ]
    alone = [own for own in rails if not _leads_on(graph, own)]
    if len(alone) < _FEWEST or 2 * len(alone) <= len(rails):
        return
    gaps_m = np.array([_gap_m(graph, own) for own in alone])
    far_m = gaps_m[gaps_m > _FAR * reach_m]
    if len(far_m) < _FEWEST or 2 * len(far_m) <= len(rails):
        return
    median_m = float(np.median(far_m))
    yield Finding(
        code="gaps-doubtful",
        severity="warns",
        message=(
            f"the length unit may be wrong: {len(far_m)} of {len(rails)} handrails are far out of "
            f"reach of everything else, half of them by a gap of {fine_text(median_m)} or more, "
            f"with a reach of {fine_text(reach_m)}; check length_unit at the head of the document "
            "and of the CSV files it names: feet read as metres make every gap 3.28 times as wide, "
            "inches read as feet 12 times"
        ),
        value=median_m,
        limit=reach_m,
        unit="m",
    )


def _leads_on(graph: ReachGraph, own: Indices) -> bool:
    """Tell whether a move leads from one of an element's grips to another element."""
    moves = graph.moves
    heads = moves.head[moves.indptr[own[0]] : moves.indptr[own[-1] + 1]]
    return bool(((heads < own[0]) | (heads > own[-1])).any())


def _gap_m(graph: ReachGraph, own: Indices) -> float:
    """Return the least distance from an element's grips to any other grip [m]."""
    places = graph.grips.position_m
    others = np.delete(places, own, axis=0)
    if not len(others):
        return np.inf
    return min(float(np.linalg.norm(others - places[i], axis=1).min()) for i in own)
