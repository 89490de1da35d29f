"""Line of sight: whether a straight segment goes through the inside of a shape."""

import numpy as np

from structures.shapes import Box, Cone, Cylinder, Prism, Shape, Sphere
from structures.solids.axes import Flags, Floats, local, norms, points_array, spine
from structures.solids.culling import near_pairs
from structures.solids.tables import Shapes, ShapeTables

__all__ = ["SIGHT_TOLERANCE_M", "crosses", "crosses_any"]

SIGHT_TOLERANCE_M = 1e-6
"""A segment must go deeper than this below the skin to count as crossing [m].

Lines along a face or over an edge are allowed; what they differ by in rounding
must not decide, and a micrometre of structure stops no hand and no light.
"""

_PIECE = 1 << 18
"""Segment-edge pairs worked on at a time, which bounds the memory taken."""


def crosses(shape: Shape, starts_m: Floats, ends_m: Floats) -> Flags:
    """Tell which segments go through the inside of a shape.

    Exact for all five shapes, by clipping the segment against the shape drawn
    in by `SIGHT_TOLERANCE_M`. Touching a face, an edge or a corner and running
    along a face do not count; starting, ending or lying inside does.

    Parameters
    ----------
    shape
        Any of the five shapes.
    starts_m, ends_m
        Ends of the segments, shape (n, 3) [m]. The two may coincide.

    Returns
    -------
    Flags
        Shape (n,).

    Raises
    ------
    ValueError
        The ends are not as many as the starts, or either is not finite and (n, 3).

    Examples
    --------
    >>> box = Box(center_m=(0.0, 0.0, 0.0), size_m=(2.0, 2.0, 2.0))
    >>> starts = np.array([[-3.0, 0.0, 0.0], [-3.0, 1.0, 0.0]])
    >>> crosses(box, starts, starts + np.array([6.0, 0.0, 0.0]))
    array([ True, False])
    """
    starts, ends = points_array(starts_m, "starts_m"), points_array(ends_m, "ends_m")
    if starts.shape != ends.shape:
        raise ValueError(f"{len(starts)} starts but {len(ends)} ends; give one end for each start")
    if isinstance(shape, Sphere):
        return _crosses_sphere(shape, starts, ends)
    if isinstance(shape, Box):
        return _crosses_box(shape, starts, ends)
    if isinstance(shape, Prism):
        return _crosses_prism(shape, starts, ends)
    return _crosses_round(shape, starts, ends)


def crosses_any(shapes: Shapes, starts_m: Floats, ends_m: Floats) -> Flags:
    """Tell which segments go through the inside of at least one shape.

    As `crosses` for each shape, but far pairs cost nothing. A line in the
    common face of two solids side by side crosses neither of them: see
    `structures.solids.seams.line_blocked` for what people and tethers do.

    Parameters
    ----------
    shapes
        Any number of shapes.
    starts_m, ends_m
        Ends of the segments, shape (n, 3) [m].

    Returns
    -------
    Flags
        Shape (n,).
    """
    starts, ends = points_array(starts_m, "starts_m"), points_array(ends_m, "ends_m")
    found = np.zeros(len(starts), dtype=np.bool_)
    tables = ShapeTables.of(shapes)
    if not tables.count or not len(starts):
        return found
    lines = (starts + ends) / 2, norms(ends - starts) / 2
    for shape, near, _ in near_pairs(tables, *lines, np.arange(len(starts)), 0.0):
        begins = np.flatnonzero(np.diff(shape, prepend=-1))
        for index, some in zip(shape[begins].tolist(), np.split(near, begins)[1:], strict=True):
            ask = some[~found[some]]
            found[ask] = crosses(tables.shapes[index], starts[ask], ends[ask])
    return found


def _crosses_sphere(shape: Sphere, starts: Floats, ends: Floats) -> Flags:
    from_center, along = starts - np.asarray(shape.center_m), ends - starts
    square = np.einsum("ij,ij->i", along, along)
    toward = -np.einsum("ij,ij->i", from_center, along)
    at = np.clip(_share(toward, square), 0.0, 1.0)
    nearest = from_center + at[:, None] * along
    deep: Flags = np.sqrt(np.einsum("ij,ij->i", nearest, nearest)) < (
        shape.radius_m - SIGHT_TOLERANCE_M
    )
    return deep


def _crosses_box(shape: Box, starts: Floats, ends: Floats) -> Flags:
    first, last = local(starts, shape), local(ends, shape)
    half = np.asarray(shape.size_m) / 2
    enter, leave = np.zeros(len(first)), np.ones(len(first))
    for axis in range(3):
        into, out = _slab(first[:, axis], last[:, axis], (-half[axis], half[axis]))
        enter, leave = np.maximum(enter, into), np.minimum(leave, out)
    return _lasts(enter, leave, first, last)


def _crosses_round(shape: Cylinder | Cone, starts: Floats, ends: Floats) -> Flags:
    """Find how deep under the side the segment gets while it is between the end faces.

    Distance from the axis less the radius there is a convex function of the
    place on the segment, so its least value has a closed form: the axis is
    nearest at ``nearest``, and for a cone the place is shifted by its slope.
    """
    start_m, axis, length_m = spine(shape)
    first_m = shape.radius_m if isinstance(shape, Cylinder) else shape.start_radius_m
    last_m = shape.radius_m if isinstance(shape, Cylinder) else shape.end_radius_m
    slope = (last_m - first_m) / length_m
    first, last = starts - start_m, ends - start_m
    low, high = first @ axis, last @ axis
    enter, leave = _slab(low, high, (0.0, length_m))
    out = first - low[:, None] * axis
    outward = last - high[:, None] * axis - out
    square = np.einsum("ij,ij->i", outward, outward)
    nearest = _share(-np.einsum("ij,ij->i", out, outward), square)
    miss = out + nearest[:, None] * outward
    widening = slope * (high - low)
    steeper = square - widening * widening
    shift = widening * np.sqrt(
        _share(np.einsum("ij,ij->i", miss, miss), np.where(square > 0, square * steeper, 0.0))
    )
    # Where the radius changes faster than the distance, the deepest place is at an end.
    at = np.where(steeper > 0, nearest + shift, np.where(widening > 0, np.inf, -np.inf))
    passes = enter <= leave
    at = np.where(passes, np.clip(at, enter, np.maximum(enter, leave)), 0.0)
    here = out + at[:, None] * outward
    radius_m = first_m + slope * (low + at * (high - low))
    under = (radius_m - np.sqrt(np.einsum("ij,ij->i", here, here))) / np.hypot(1.0, slope)
    deep: Flags = passes & (under > SIGHT_TOLERANCE_M)
    return deep


def _crosses_prism(shape: Prism, starts: Floats, ends: Floats) -> Flags:
    corners = np.asarray(shape.outline_m, dtype=np.float64)
    first, last = local(starts, shape), local(ends, shape)
    enter, leave = _slab(first[:, 2], last[:, 2], (0.0, shape.height_m))
    # Only segments that pass the box round the outline are worth the closer look.
    for axis in range(2):
        bounds = (float(corners[:, axis].min()), float(corners[:, axis].max()))
        into, out = _slab(first[:, axis], last[:, axis], bounds)
        enter, leave = np.maximum(enter, into), np.minimum(leave, out)
    found = _lasts(enter, leave, first, last)
    ask = np.flatnonzero(found)
    step = max(1, _PIECE // len(corners) ** 2)
    for i in range(0, len(ask), step):
        some = ask[i : i + step]
        span = np.stack([enter[some], leave[some]])
        found[some] = _runs_inside(corners, first[some, :2], last[some, :2], span)
    return found


def _runs_inside(corners: Floats, first: Floats, last: Floats, span: Floats) -> Flags:
    """Tell which segments have a stretch inside a polygon, clear of its edges.

    Each edge covers one stretch of the segment: where it is within the
    tolerance. A place between all covered stretches is well inside or well
    outside, so one point decides it.
    """
    covered = [_covered(corners[i - 1], corners[i], first, last) for i in range(len(corners))]
    begin = np.stack([cover[0] for cover in covered], axis=1)
    end = np.stack([cover[1] for cover in covered], axis=1)
    order = np.argsort(begin, axis=1, kind="stable")
    begin = np.take_along_axis(begin, order, axis=1)
    end = np.maximum.accumulate(np.take_along_axis(end, order, axis=1), axis=1)
    gap_start = np.maximum(
        np.concatenate([np.full((len(end), 1), -np.inf), end], axis=1), span[0][:, None]
    )
    gap_stop = np.minimum(
        np.concatenate([begin, np.full((len(end), 1), np.inf)], axis=1), span[1][:, None]
    )
    still = ((first == last).all(axis=1))[:, None]
    free = np.where(still, gap_start <= gap_stop, gap_start < gap_stop)
    at = np.where(free, (gap_start + gap_stop) / 2, 0.0)
    x = first[:, 0, None] + at * (last[:, 0] - first[:, 0])[:, None]
    y = first[:, 1, None] + at * (last[:, 1] - first[:, 1])[:, None]
    inside = np.zeros(x.shape, dtype=np.bool_)
    for i in range(len(corners)):
        (ax, ay), (bx, by) = corners[i - 1], corners[i]
        if ay != by:
            inside ^= ((ay > y) != (by > y)) & (x - ax < (bx - ax) * (y - ay) / (by - ay))
    result: Flags = (inside & free).any(axis=1)
    return result


def _covered(a: Floats, b: Floats, first: Floats, last: Floats) -> tuple[Floats, Floats]:
    """Return from where to where segments are within the tolerance of an edge; inf, -inf if never.

    The places near an edge fill a stadium: two discs and a strip between them.
    The stadium is convex, so the hull of the three stretches is the stretch.
    """
    begin, end = np.full(len(first), np.inf), np.full(len(first), -np.inf)
    along = last - first
    square = np.einsum("ij,ij->i", along, along)
    for corner in (a, b):
        out = first - corner
        nearest = _share(-np.einsum("ij,ij->i", out, along), square)
        miss = out + nearest[:, None] * along
        room = SIGHT_TOLERANCE_M**2 - np.einsum("ij,ij->i", miss, miss)
        half = np.where(square > 0, np.sqrt(_share(np.maximum(room, 0.0), square)), np.inf)
        begin = np.where(room >= 0, np.minimum(begin, nearest - half), begin)
        end = np.where(room >= 0, np.maximum(end, nearest + half), end)
    edge = (b - a) / np.sqrt((b - a) @ (b - a))
    side = np.array([-edge[1], edge[0]])
    across = _slab((first - a) @ side, (last - a) @ side, (0.0, 0.0), -SIGHT_TOLERANCE_M)
    beside = _slab((first - a) @ edge, (last - a) @ edge, (0.0, float((b - a) @ edge)), 0.0)
    into, out_at = np.maximum(across[0], beside[0]), np.minimum(across[1], beside[1])
    hit = into <= out_at
    return np.where(hit, np.minimum(begin, into), begin), np.where(
        hit, np.maximum(end, out_at), end
    )


def _slab(
    first: Floats, last: Floats, bounds: tuple[float, float], inset_m: float = SIGHT_TOLERANCE_M
) -> tuple[Floats, Floats]:
    """Return from where to where segments are between two planes, as shares of their length.

    The planes are drawn in by ``inset_m``. A segment that is never between them
    gets a stretch that ends before it begins.
    """
    low, high = bounds[0] + inset_m, bounds[1] - inset_m
    along = last - first
    level = along == 0
    step = np.where(level, 1.0, along)
    with np.errstate(over="ignore"):
        one, other = (low - first) / step, (high - first) / step
    between = (first >= low) & (first <= high)
    enter = np.where(level, np.where(between, -np.inf, np.inf), np.minimum(one, other))
    leave = np.where(level, np.where(between, np.inf, -np.inf), np.maximum(one, other))
    if low > high:
        return np.full(len(first), np.inf), np.full(len(first), -np.inf)
    return np.maximum(enter, 0.0), np.minimum(leave, 1.0)


def _lasts(enter: Floats, leave: Floats, first: Floats, last: Floats) -> Flags:
    """Tell which stretches have a length, or are whole points that do not move."""
    still = (first == last).all(axis=1)
    result: Flags = np.where(still, enter <= leave, enter < leave)
    return result


def _share(part: Floats, whole: Floats) -> Floats:
    """Divide where the divisor is above zero; elsewhere 0."""
    quotient: Floats = np.divide(part, whole, out=np.zeros_like(part), where=whole > 0)
    return quotient
