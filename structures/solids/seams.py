"""Seams: lines that go between two solids through what is closed, or too narrow for a line.

Touching one solid is allowed, so a line in the common face of two boxes that
stand against each other touches both and goes through neither. No hand, light
or tether gets through there, nor through a slit that is narrower than a tether
is thick. Such lines are found here.
"""

import numpy as np

from structures.shapes import Shape
from structures.solids.axes import Flags, Floats, Indices, norms
from structures.solids.distance import signed_distance
from structures.solids.sight import crosses_any
from structures.solids.sweep import Sweep, sweep_touches
from structures.solids.tables import Shapes, ShapeTables

__all__ = ["LINE_GAP_M", "SEAM_REACH_M", "line_blocked", "through_seam", "touched", "touches"]

LINE_GAP_M = 1.5e-3
"""Nothing gets through a gap between solids that is narrower than this [m].

The wire rope or webbing of a tether is no thinner (common practice, no source),
and drawings are not truer. Between this and 2 mm a gap may count as closed too.
"""

SEAM_REACH_M = 2e-3
"""A seam or too narrow a gap is where a line has two solids nearer to it than this [m]."""

_PROBE_M = 1e-3
"""Round a place on a seam, everything this near is inside a solid [m]."""

_ASIDE_M = 2e-3
"""So far to the sides of a line there must be room for a line of thickness `LINE_GAP_M` [m].

More than its half, so that it fits beside one solid, and where two meet at right angles.
"""

_STEP_M = 2e-3
"""Places on a line that touches two solids are looked at this close together [m]."""

_WALL_M = 0.01
"""So far either way along a line solids that it gets between are looked for [m]."""

_FINE_M = 5e-4
"""Places on lines beside it are looked at this close together [m]."""

_PROBES = 64
_QUICK_TURNS = 12
_CHUNK = 8
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
    """Tell which shapes each segment comes within `SEAM_REACH_M` of, shape (shapes, n)."""
    still = np.tile([1.0, 0.0, 0.0], (len(starts_m), 1))
    lines = Sweep(starts_m, ends_m, still, still, 0.0)
    tables = ShapeTables.of(shapes)
    near = np.zeros((tables.count, len(starts_m)), dtype=np.bool_)
    near[sweep_touches(tables, lines, SEAM_REACH_M)] = True
    return near


def line_blocked(
    shapes: Shapes, starts_m: Floats, ends_m: Floats, goes_on: Flags | None = None
) -> Flags:
    """Tell which segments no hand, light or line gets along: through a shape or through a seam.

    Use this for what stands as one structure. Two solids side by side are
    closed between them, though a line in their common face only touches each.
    So is a gap narrower than `LINE_GAP_M`.

    Parameters and result as in `through_seam`.
    """
    tables = ShapeTables.of(shapes)
    blocked = crosses_any(tables, starts_m, ends_m)
    rest = np.flatnonzero(~blocked)
    blocked[rest] = through_seam(
        tables,
        np.asarray(starts_m)[rest],
        np.asarray(ends_m)[rest],
        None if goes_on is None else goes_on[rest],
        surely=goes_on is not None,
    )
    return blocked


def through_seam(
    shapes: Shapes,
    starts_m: Floats,
    ends_m: Floats,
    goes_on: Flags | None = None,
    *,
    surely: bool = False,
) -> Flags:
    """Tell which segments run through a place that solids close in from all sides.

    So do segments through a gap narrower than `LINE_GAP_M`.

    Assumes that the segments cross none of the shapes by themselves.

    Parameters
    ----------
    shapes
        Solids that may stand against each other.
    starts_m, ends_m
        Ends of the segments, shape (n, 3) [m].
    goes_on
        Whether the line bends on at the start and at the end of each segment, shape (n, 2);
        by default at none. What a line ends at does not close it in.
    surely
        Whether segments between two bends count as closed in wherever room beside them is
        not certain, which spares a search among many of them a slow look at each.

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
    some_at = np.flatnonzero(near.sum(axis=0) > 1)
    tight = ~_room_beside(tables, starts_m[ask[some_at]], ends_m[ask[some_at]])
    for at in some_at[tight].tolist():
        some = tuple(tables.shapes[i] for i in np.flatnonzero(near[:, at]).tolist())
        line = ask[at]
        on = (False, False) if goes_on is None else (bool(goes_on[line, 0]), bool(goes_on[line, 1]))
        if surely and all(on):
            found[line] = True
            continue
        found[line] = _closed_somewhere(some, starts_m[line], ends_m[line], on)
    return found


def _beside_two(tables: ShapeTables, starts_m: Floats, ends_m: Floats) -> Indices:
    """Return the lines that by their boxes may touch two shapes; all if that is too much to ask."""
    if len(starts_m) * tables.count > _PIECE * _PROBES:
        return np.arange(len(starts_m))
    low_m = np.minimum(starts_m, ends_m)[:, None] - SEAM_REACH_M
    high_m = np.maximum(starts_m, ends_m)[:, None] + SEAM_REACH_M
    near = ((low_m <= tables.high_m) & (high_m >= tables.low_m)).all(axis=2)
    return np.flatnonzero(near.sum(axis=1) > 1)


def _room_beside(tables: ShapeTables, starts_m: Floats, ends_m: Floats) -> Flags:
    """Tell beside which lines a whole parallel one certainly has room, shape (n,).

    They go through nothing narrow: most lines over flush faces are told so at once.
    """
    roomy = np.zeros(len(starts_m), dtype=np.bool_)
    line_m = ends_m - starts_m
    first = np.cross(line_m, np.eye(3)[np.abs(line_m).argmin(axis=1)])
    size = norms(first)[:, None]
    first = np.divide(first, size, out=np.zeros_like(first), where=size > 0)
    second = np.cross(line_m, first)
    size = norms(second)[:, None]
    second = np.divide(second, size, out=np.zeros_like(second), where=size > 0)
    for turn in range(_QUICK_TURNS):
        rest = np.flatnonzero(~roomy)
        if not len(rest):
            break
        angle = 2 * np.pi * turn / _QUICK_TURNS
        beside_m = _ASIDE_M * (np.cos(angle) * first[rest] + np.sin(angle) * second[rest])
        still = np.tile([1.0, 0.0, 0.0], (len(rest), 1))
        lines = Sweep(starts_m[rest] + beside_m, ends_m[rest] + beside_m, still, still, 0.0)
        free = np.ones(len(rest), dtype=np.bool_)
        free[sweep_touches(tables, lines, LINE_GAP_M / 2)[1]] = False
        roomy[rest[free]] = True
    return roomy


def _closed_somewhere(
    shapes: tuple[Shape, ...], start: Floats, end: Floats, goes_on: tuple[bool, bool]
) -> bool:
    length_m = float(norms((end - start)[None])[0])
    share = np.linspace(0.0, 1.0, int(length_m / _STEP_M) + 2)[:, None]
    places = start + share * (end - start)
    gaps_m = np.sort(np.stack([signed_distance(shape, places) for shape in shapes]), axis=0)
    on_seam = places[gaps_m[1] < _PROBE_M]
    step = _PIECE // _PROBES
    return any(
        _closed(shapes, on_seam[i : i + step]).any() for i in range(0, len(on_seam), step)
    ) or _narrow(shapes, places[gaps_m[1] < SEAM_REACH_M], start, end, goes_on)


def _closed(shapes: tuple[Shape, ...], places: Floats) -> Flags:
    """Tell round which places every probe is inside a solid, shape (k,)."""
    probes = (places[:, None] + _PROBE_M * _directions()).reshape(-1, 3)
    inside = np.zeros(len(probes), dtype=np.bool_)
    for shape in shapes:
        inside[signed_distance(shape, probes) < 0] = True
    closed: Flags = np.asarray(inside.reshape(-1, _PROBES).all(axis=1), dtype=np.bool_)
    return closed


def _narrow(
    shapes: tuple[Shape, ...],
    places: Floats,
    start: Floats,
    end: Floats,
    goes_on: tuple[bool, bool],
) -> bool:
    """Tell whether at some place of a line there is no room for one of thickness `LINE_GAP_M`.

    That is where every line `_ASIDE_M` beside it comes too near to a solid, and not all
    to the same. A line that ends on solids has them round its end, which is left out
    unless the line bends on there.
    """
    length_m = float(norms((end - start)[None])[0])
    if not len(places) or length_m == 0:
        return False
    ahead = (end - start) / length_m
    least_m = 0.0 if goes_on[0] else LINE_GAP_M
    most_m = length_m if goes_on[1] else length_m - LINE_GAP_M
    at_m = (places - start) @ ahead
    # A few places at a time, from the middle out: where a line runs in a gap, one tells.
    chunks = [at_m[i : i + _CHUNK] for i in range(0, len(at_m), _CHUNK)]
    chunks.sort(key=lambda some: abs(float(some[0] + some[-1]) - length_m))
    windows = (
        (np.maximum(some - _WALL_M, least_m), np.minimum(some + _WALL_M, most_m)) for some in chunks
    )
    return any(_shut(shapes, start, ahead, low_m, high_m) for low_m, high_m in windows)


def _shut(
    shapes: tuple[Shape, ...], start: Floats, ahead: Floats, low_m: Floats, high_m: Floats
) -> bool:
    """Tell whether on any stretch of a line there is no room beside it, stretches of shape (k,)."""
    first = np.cross(ahead, np.eye(3)[int(np.abs(ahead).argmin())])
    first = first / np.sqrt(first @ first)
    second = np.cross(ahead, first)
    span_m = max(float(high_m.max() - low_m.min()), 0.0)
    along_m = low_m.min() + np.linspace(0.0, span_m, int(span_m / _FINE_M) + 2)
    low, high = np.searchsorted(along_m, low_m), np.searchsorted(along_m, high_m, side="right")
    shut = np.ones(len(low), dtype=np.bool_)
    alone = np.ones((len(shapes), len(low)), dtype=np.bool_)
    for turn in range(_PROBES):
        # In big steps round the line: most places are found open by the first few.
        angle = 2 * np.pi * (turn * _BIG_STEP % _PROBES) / _PROBES + 0.123
        beside = start + _ASIDE_M * (np.cos(angle) * first + np.sin(angle) * second)
        beside = beside + along_m[:, None] * ahead
        near = np.zeros((len(shapes), len(along_m) + 1), dtype=np.int64)
        for i, shape in enumerate(shapes):
            near[i, 1:] = np.cumsum(signed_distance(shape, beside) < LINE_GAP_M / 2)
        met = near[:, high] > near[:, low]
        alone &= met
        shut &= met.any(axis=0)
        if not shut.any():
            return False
    return bool((shut & ~alone.any(axis=0)).any())


def touches(shapes: tuple[Shape, ...], way_m: Floats) -> Indices:
    """Return the indices of shapes that a line of points (k, 3) [m] has beside it."""
    return np.flatnonzero(touched(shapes, way_m[:-1], way_m[1:]).any(axis=1))
