"""Leapfrog: two short tethers, one hook always on.

Along one element (a handrail) the hook slides. A hand-over to another element
is possible only if both hooks span it: the next one must be within hook reach
of the hand (to put the new hook on, and to take the old one off), and the
short tether must be as long as the way. A person who gets to a place that
takes no hook (a socket, most handholds) stays on the hook left behind, one
hand-over back; so from there the next place must take one. Hatches take a hook
at their tether point.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from routing.graph.hooks import hook_places
from routing.graph.reach_graph import Floats, GripKind, ReachGraph
from routing.graph.ways import LENGTH_SLACK_M
from routing.paths.course import Anchoring, Course
from structures.elements import Hatch
from structures.frozen import frozen

__all__ = ["HookRule", "hook_flags", "hook_rule", "leapfrog_course"]


@frozen(kw_only=True, eq=False)
class HookRule:
    """Per move of a graph: whether leapfrog allows it, and what its transfer costs.

    ``takes_hook`` is per grip, shape (n,); the other arrays are per move,
    shape (m,).
    """

    takes_hook: NDArray[np.bool_]
    allowed: NDArray[np.bool_]
    transfers: NDArray[np.bool_]
    """Whether the move ends with a transfer."""
    transfer_s: Floats


def hook_flags(graph: ReachGraph) -> NDArray[np.bool_]:
    """Return for each grip whether a short tether's hook can be put on there, shape (n,).

    A hatch takes one when its tether point is open, within hook reach and in
    clear line.
    """
    flags = graph.grips.tether_hook.copy()
    for i in np.flatnonzero(graph.grips.kind == GripKind.HATCH).tolist():
        hatch = graph.structure.find(graph.grips.element_ids[i], (Hatch,))
        flags[i] = i in hook_places(graph, (hatch.tether_point,)).grip
    return flags


def hook_rule(graph: ReachGraph) -> HookRule:
    """Return which moves of a graph two short tethers allow, and their transfers."""
    moves, limits = graph.moves, graph.situation.limits
    takes_hook = hook_flags(graph)
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(moves.indptr))
    from_hook, to_hook = takes_hook[tail], takes_hook[moves.head]
    spanned = moves.gap_m <= limits.hook_reach_m + LENGTH_SLACK_M
    spanned &= moves.way_m <= limits.short_tether_m + LENGTH_SLACK_M
    on_one_rail = ~moves.changes_rail & from_hook & to_hook
    allowed = moves.line_clear & (on_one_rail | (spanned & (from_hook | to_hook)))
    transfers = moves.changes_rail & to_hook
    return HookRule(
        takes_hook=takes_hook,
        allowed=allowed,
        transfers=transfers,
        transfer_s=np.where(transfers, limits.transfer_s, 0.0),
    )


def leapfrog_course(graph: ReachGraph, course: Course, rule: HookRule) -> Course:
    """Return a course with its hooks: the one at its start, if there is one, and each transfer."""
    elements = graph.grips.element_ids
    hooks = [
        Anchoring(at=i, element_id=elements[course.grips[i]], seconds=float(rule.transfer_s[move]))
        for i, move in enumerate(course.moves, start=1)
        if rule.transfers[move]
    ]
    first = course.grips[0]
    if rule.takes_hook[first]:
        hooks.insert(0, Anchoring(at=0, element_id=elements[first], starts=True))
    return replace(course, anchorings=tuple(hooks))
