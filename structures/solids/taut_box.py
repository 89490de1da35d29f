"""The shortest way round one box, by unfolding its faces into a plane."""

from dataclasses import dataclass
from functools import cache
from itertools import pairwise, product
from typing import TypeAlias

import numpy as np

from structures.shapes import Box
from structures.solids.axes import Floats, Indices, local, norms, square
from structures.solids.sight import crosses

__all__ = ["way_round_box"]

_MOST_EDGES = 5
"""A shortest line over a box touches at most five faces, so it bends at no more than five edges,
one of them where it comes out of free space onto a face that it then crosses."""

_CORNER_SLACK = 1e-9
"""Share of an edge by which an unfolded line may miss it and still be taken for its end."""

_CORNERS = np.array(list(product((-1.0, 1.0), repeat=3)))
"""Corners of the box from -1 to 1, shape (8, 3)."""

_EDGES = tuple(
    (i, j) for i in range(8) for j in range(i) if int((_CORNERS[i] != _CORNERS[j]).sum()) == 1
)
_FACES = tuple(
    frozenset(np.flatnonzero(_CORNERS[:, axis] == side).tolist())
    for axis in range(3)
    for side in (-1.0, 1.0)
)

_Crossing: TypeAlias = tuple[tuple[int, ...], tuple[int, ...]]
"""Edges crossed in order, and the faces between them."""


@dataclass(frozen=True, slots=True, eq=False)
class _Sequences:
    """All ways to cross the same number k of edges; s of them."""

    edges: Indices
    """Edges in the order they are crossed, shape (s, k)."""
    faces: Indices
    """Faces between them, shape (s, k - 1)."""


def way_round_box(shape: Box, start_m: Floats, end_m: Floats) -> Floats | None:
    """Return the bends of the shortest line from start to end outside a box.

    Between its ends the line is straight but where it bends over an edge, and
    it lies straight again when the faces that it crosses are folded open. So
    every order of edges gives one straight line; the shortest that really
    crosses those edges is the answer. Lines over corners are never shorter:
    a corner can be passed on one side with less line.

    Parameters
    ----------
    shape
        The box.
    start_m, end_m
        Points outside or on the box, shape (3,) [m].

    Returns
    -------
    Floats or None
        Points from start to end, shape (k + 2, 3) [m]; None if rounding left
        no line at all.
    """
    own = local(np.stack([start_m, end_m]), shape)
    half = np.asarray(shape.size_m) / 2
    best: tuple[float, Floats] | None = None
    for sequences in _all_sequences():
        bends = _bends(sequences, half, own)
        if not len(bends):
            continue
        ends = np.broadcast_to(own[:, None, :], (2, len(bends), 3))
        ways = np.concatenate([ends[0][:, None], bends, ends[1][:, None]], axis=1)
        lengths = np.sqrt((np.diff(ways, axis=1) ** 2).sum(axis=2)).sum(axis=1)
        for i in np.argsort(lengths, kind="stable").tolist():
            if best is not None and lengths[i] >= best[0]:
                break
            if _is_clear(half, ways[i]):
                best = float(lengths[i]), ways[i]
                break
    if best is None:
        return None
    axes = square(shape.x_axis, shape.y_axis)
    way: Floats = np.asarray(shape.center_m) + best[1] @ axes
    way[0], way[-1] = start_m, end_m
    return way


def _is_clear(half: Floats, way: Floats) -> bool:
    """Tell whether the first and last piece are outside; the others lie in faces."""
    x, y, z = (2 * half).tolist()
    box = Box(center_m=(0.0, 0.0, 0.0), size_m=(x, y, z))
    return not crosses(box, way[[0, -2]], way[[1, -1]]).any()


@cache
def _all_sequences() -> tuple[_Sequences, ...]:
    """Return every order in which up to `_MOST_EDGES` edges can be crossed, by their number."""
    grown: list[_Crossing] = [((edge,), ()) for edge in range(len(_EDGES))]
    found = [_packed(grown)]
    for _ in range(_MOST_EDGES - 1):
        grown = [longer for edges, faces in grown for longer in _continued(edges, faces)]
        found.append(_packed(grown))
    return tuple(found)


def _continued(edges: tuple[int, ...], faces: tuple[int, ...]) -> list[_Crossing]:
    """Cross one more edge, through a face that was not crossed before."""
    last = set(_EDGES[edges[-1]])
    longer = []
    for face, corners in enumerate(_FACES):
        if face in faces or not last <= corners:
            continue
        for edge, ends in enumerate(_EDGES):
            if edge not in edges and set(ends) <= corners:
                longer.append(((*edges, edge), (*faces, face)))
    return longer


def _packed(sequences: list[_Crossing]) -> _Sequences:
    return _Sequences(
        edges=np.array([edges for edges, _ in sequences], dtype=np.int64),
        faces=np.array([faces for _, faces in sequences], dtype=np.int64),
    )


def _bends(sequences: _Sequences, half: Floats, own: Floats) -> Floats:
    """Return the bends of all lines that cross the edges they should, shape (v, k, 3) [m]."""
    corners = _CORNERS * half
    ends = np.array(_EDGES)
    tail, head = corners[ends[sequences.edges, 0]], corners[ends[sequences.edges, 1]]
    centers = np.stack([corners[sorted(face)].mean(axis=0) for face in _FACES])
    flat_tail, flat_head, flat_start, flat_end = _unfolded(
        (tail, head), centers[sequences.faces], own
    )
    line = flat_end - flat_start
    edge = flat_head - flat_tail
    across = edge[..., 0] * line[:, None, 1] - edge[..., 1] * line[:, None, 0]
    away = flat_start[:, None] - flat_tail
    share = np.divide(
        away[..., 0] * line[:, None, 1] - away[..., 1] * line[:, None, 0],
        across,
        out=np.full(across.shape, np.inf),
        where=across != 0,
    )
    hits = ((share >= -_CORNER_SLACK) & (share <= 1 + _CORNER_SLACK)).all(axis=1)
    share = np.clip(share[hits], 0.0, 1.0)[..., None]
    bends: Floats = tail[hits] + share * (head[hits] - tail[hits])
    return bends


def _unfolded(
    edges: tuple[Floats, Floats], centers: Floats, own: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """Lay edges and both ends of the line in one plane, each face beyond the edge before it."""
    tail, head = edges
    count, steps = tail.shape[:2]
    flat_tail, flat_head = np.zeros((count, steps, 2)), np.zeros((count, steps, 2))
    flat_head[:, 0, 0] = norms(head[:, 0] - tail[:, 0])
    beyond = np.tile([0.0, 1.0], (count, 1))
    hinge = _Hinge(tail[:, 0], head[:, 0], flat_tail[:, 0], flat_head[:, 0], beyond)
    start = _Hinge(tail[:, 0], head[:, 0], flat_tail[:, 0], flat_head[:, 0], -beyond).lay(own[0])
    for before, step in pairwise(range(steps)):
        flat_tail[:, step] = hinge.lay(tail[:, step])
        flat_head[:, step] = hinge.lay(head[:, step])
        center = hinge.lay(centers[:, before])
        along = flat_head[:, step] - flat_tail[:, step]
        normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / norms(along)[:, None]
        side = np.sign(np.einsum("ij,ij->i", normal, flat_tail[:, step] - center))
        hinge = _Hinge(
            tail[:, step],
            head[:, step],
            flat_tail[:, step],
            flat_head[:, step],
            side[:, None] * normal,
        )
    return flat_tail, flat_head, start, hinge.lay(own[1])


@dataclass(frozen=True, slots=True, eq=False)
class _Hinge:
    """An edge in space and in the plane, and the side of it where the next face is laid."""

    tail: Floats
    head: Floats
    flat_tail: Floats
    flat_head: Floats
    beyond: Floats

    def lay(self, points: Floats) -> Floats:
        """Turn points round the edge into the plane, shape (s, 2): distances to it are kept."""
        edge = self.head - self.tail
        length = norms(edge)[:, None]
        out = points - self.tail
        along = np.einsum("ij,ij->i", out, edge / length)[:, None]
        off = norms(out - along * edge / length)[:, None]
        flat: Floats = (
            self.flat_tail + along * (self.flat_head - self.flat_tail) / length + off * self.beyond
        )
        return flat
