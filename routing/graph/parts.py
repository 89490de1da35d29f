"""Parts of the reach graph: which grips can be reached from one another, and from a hatch."""

from dataclasses import dataclass

import numpy as np

from routing.graph.reach_graph import Flags, GripKind, Indices, ReachGraph

__all__ = ["NOWHERE", "Parts", "find_parts", "reached_elements"]

NOWHERE = -1
"""Label of a grip that is in no part: unusable, or a socket that no grip reaches."""


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """The parts of a reach graph of n grips."""

    label: Indices
    """Per grip the lowest grip of its part, or `NOWHERE`, shape (n,)."""
    home: Indices
    """Labels of the parts with a hatch, ascending; of the largest part if there is no hatch."""
    has_hatch: bool

    @property
    def reached(self) -> Flags:
        """Whether each grip can be reached from a hatch, shape (n,)."""
        return np.isin(self.label, self.home)

    def labels(self) -> list[int]:
        """Return the labels of all parts, those with most grips first, then ascending."""
        found, counts = np.unique(self.label[self.label != NOWHERE], return_counts=True)
        return [int(found[i]) for i in np.lexsort((found, -counts))]


def find_parts(graph: ReachGraph) -> Parts:
    """Find the parts of a reach graph.

    A socket joins nothing, since nobody passes through it: it belongs to the
    part with a hatch if that reaches it, else to the lowest part that does.
    """
    grips, moves = graph.grips, graph.moves
    tail = np.repeat(np.arange(len(grips)), np.diff(moves.indptr))
    head = moves.head
    socket = grips.kind == GripKind.SOCKET
    inner = ~(socket[tail] | socket[head])
    label = _joined(len(grips), tail[inner], head[inner])
    label[socket | ~grips.usable] = NOWHERE
    hatch = (grips.kind == GripKind.HATCH) & grips.usable
    home = np.unique(label[hatch])
    has_hatch = bool((grips.kind == GripKind.HATCH).any())
    if not has_hatch:
        home = np.array(Parts(label, home, has_hatch).labels()[:1], dtype=np.int64)
    # Where the way into a socket comes from: home before any other, then the lowest.
    into = socket[head] & ~socket[tail] & (label[tail] != NOWHERE)
    rank = np.where(np.isin(label[tail], home), 0, 1)[into]
    order = np.lexsort((label[tail][into], rank, head[into]))
    sockets, first = np.unique(head[into][order], return_index=True)
    label[sockets] = label[tail[into][order][first]]
    return Parts(label, home, has_hatch)


def _joined(count: int, tail: Indices, head: Indices) -> Indices:
    """Return per node the lowest node it is joined to, by hooking roots and pointer jumping."""
    label = np.arange(count)
    while True:
        low = np.minimum(label[tail], label[head])
        before = label.copy()
        np.minimum.at(label, before[tail], low)
        np.minimum.at(label, before[head], low)
        while True:
            jumped = label[label]
            if np.array_equal(jumped, label):
                break
            label = jumped
        if np.array_equal(before, label):
            return label


def reached_elements(graph: ReachGraph) -> frozenset[str]:
    """Return the ids of handrails and other elements with a grip that a hatch reaches."""
    reached = np.flatnonzero(find_parts(graph).reached)
    return frozenset(graph.grips.element_ids[i] for i in reached.tolist())
