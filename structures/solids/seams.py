"""Seams: lines that touch two solids and, between them, go through what is really closed.

Touching one solid is allowed, so a line in the common face of two boxes that
stand against each other touches both and goes through neither. No hand, light
or tether gets through there. Such lines are found here.
"""

import numpy as np

from structures.shapes import Shape
from structures.solids.axes import Flags, Floats, Indices, norms
from structures.solids.distance import signed_distance
from structures.solids.sight import crosses_any
from structures.solids.sweep import Sweep, sweep_touches
from structures.solids.tables import Shapes, ShapeTables

__all__ = ["SEAM_PROBE_M", "line_blocked", "through_seam", "touched", "touches"]

SEAM_PROBE_M = 1e-3
"""Round a place on a seam, everything this near is inside a solid [m].

Gaps up to about 20 um count as closed too: they come from rounding in files.
"""

_STEP_M = 2e-3
"""Places on a line that touches two solids are looked at this close together [m]."""

_WALL_M = 0.01
"""So far either way along a line plates between which it may run are looked for [m]."""

_PROBES = 64
_BIG_STEP = 27
_PIECE = 1 << 14


def _directions() -> Floats:
    """Return unit vectors spread evenly by the golden angle, none along an axis or a plane."""
    index = np.arange(_PROBES) + 0.5
    z = 1 - 2 * index / _PROBES
    angle = index * np.pi * (3 - np.sqrt(5)) + 0.123
    flat = np.sqrt(1 - z * z)
    return np.stack([flat * np.cos(angle), flat * np.sin(angle), z], axis=1)


def touched(shapes: Shapes, starts_m: Floats, ends_m: Floats) -> Flags:
    """Tell which shapes each segment comes nearer to than a millimetre, shape (shapes, n)."""
    still = np.tile([1.0, 0.0, 0.0], (len(starts_m), 1))
    lines = Sweep(starts_m, ends_m, still, still, 0.0)
    tables = ShapeTables.of(shapes)
    near = np.zeros((tables.count, len(starts_m)), dtype=np.bool_)
    near[sweep_touches(tables, lines, 0.0)] = True
    return near


def line_blocked(shapes: Shapes, starts_m: Floats, ends_m: Floats) -> Flags:
    """Tell which segments no hand, light or line gets along: through a shape or through a seam.

    Use this for what stands as one structure. Two solids side by side are
    closed between them, though a line in their common face only touches each.

    Parameters and result as in `structures.solids.sight.crosses_any`.
    """
    tables = ShapeTables.of(shapes)
    blocked = crosses_any(tables, starts_m, ends_m)
    rest = np.flatnonzero(~blocked)
    blocked[rest] = through_seam(tables, np.asarray(starts_m)[rest], np.asarray(ends_m)[rest])
    return blocked


def through_seam(shapes: Shapes, starts_m: Floats, ends_m: Floats) -> Flags:
    """Tell which segments run through a place that solids close in from all sides.

    Assumes that the segments cross none of the shapes by themselves.

    Parameters
    ----------
    shapes
        Solids that may stand against each other.
    starts_m, ends_m
        Ends of the segments, shape (n, 3) [m].

    Returns
    -------
    Flags
        Shape (n,).

    Examples
    --------
    >>> from structures.shapes import Box
    >>> left = Box(center_m=(-1.0, 0.0, 0.0), size_m=(2.0, 2.0, 2.0))
    >>> right = Box(center_m=(1.0, 0.0, 0.0), size_m=(2.0, 2.0, 2.0))
    >>> starts, ends = np.array([[0.0, -3.0, 0.0]]), np.array([[0.0, 3.0, 0.0]])
    >>> through_seam((left, right), starts, ends), through_seam((left,), starts, ends)
    (array([ True]), array([False]))
    """
    found = np.zeros(len(starts_m), dtype=np.bool_)
    tables = ShapeTables.of(shapes)
    if tables.count < 2 or not len(starts_m):
        return found
    ask = _beside_two(tables, starts_m, ends_m)
    if not len(ask):
        return found
    near = touched(tables, starts_m[ask], ends_m[ask])
    for at in np.flatnonzero(near.sum(axis=0) > 1).tolist():
        some = tuple(tables.shapes[i] for i in np.flatnonzero(near[:, at]).tolist())
        line = ask[at]
        found[line] = _closed_somewhere(some, starts_m[line], ends_m[line])
    return found


def _beside_two(tables: ShapeTables, starts_m: Floats, ends_m: Floats) -> Indices:
    """Return the lines that by their boxes may touch two shapes; all if that is too much to ask."""
    if len(starts_m) * tables.count > _PIECE * _PROBES:
        return np.arange(len(starts_m))
    low_m = np.minimum(starts_m, ends_m)[:, None] - SEAM_PROBE_M
    high_m = np.maximum(starts_m, ends_m)[:, None] + SEAM_PROBE_M
    near = ((low_m <= tables.high_m) & (high_m >= tables.low_m)).all(axis=2)
    return np.flatnonzero(near.sum(axis=1) > 1)


def _closed_somewhere(shapes: tuple[Shape, ...], start: Floats, end: Floats) -> bool:
    length_m = float(norms((end - start)[None])[0])
    share = np.linspace(0.0, 1.0, int(length_m / _STEP_M) + 2)[:, None]
    places = start + share * (end - start)
    gaps_m = np.sort(np.stack([signed_distance(shape, places) for shape in shapes]), axis=0)
    candidates = places[gaps_m[1] < SEAM_PROBE_M]
    step = _PIECE // _PROBES
    return any(
        _closed(shapes, candidates[i : i + step]).any() for i in range(0, len(candidates), step)
    ) or _walled(shapes, candidates, start, end)


def _closed(shapes: tuple[Shape, ...], places: Floats) -> Flags:
    """Tell round which places every probe is inside a solid, shape (k,)."""
    probes = (places[:, None] + SEAM_PROBE_M * _directions()).reshape(-1, 3)
    inside = np.zeros(len(probes), dtype=np.bool_)
    for shape in shapes:
        inside[signed_distance(shape, probes) < 0] = True
    closed: Flags = np.asarray(inside.reshape(-1, _PROBES).all(axis=1), dtype=np.bool_)
    return closed


def _walled(shapes: tuple[Shape, ...], places: Floats, start: Floats, end: Floats) -> bool:
    """Tell whether at some place of a line every line a millimetre beside it is blocked.

    So seams of plates are found that are too thin to hold a ball of that size.
    """
    length_m = float(norms((end - start)[None])[0])
    if not len(places) or length_m == 0:
        return False
    ahead = (end - start) / length_m
    first = np.cross(ahead, np.eye(3)[int(np.abs(ahead).argmin())])
    first = first / np.sqrt(first @ first)
    second = np.cross(ahead, first)
    at_m = (places - start) @ ahead
    for turn in range(_PROBES):
        # In big steps round the line: most places are found open by the first few.
        angle = 2 * np.pi * (turn * _BIG_STEP % _PROBES) / _PROBES + 0.123
        beside = start + SEAM_PROBE_M * (np.cos(angle) * first + np.sin(angle) * second)
        begin_m = np.maximum(at_m - _WALL_M, 0.0)[:, None]
        stop_m = np.minimum(at_m + _WALL_M, length_m)[:, None]
        blocked = crosses_any(shapes, beside + begin_m * ahead, beside + stop_m * ahead)
        at_m = at_m[blocked]
        if not len(at_m):
            return False
    return True


def touches(shapes: tuple[Shape, ...], way_m: Floats) -> Indices:
    """Return the indices of shapes that a line of points (k, 3) [m] comes within 1 mm of."""
    return np.flatnonzero(touched(shapes, way_m[:-1], way_m[1:]).any(axis=1))
