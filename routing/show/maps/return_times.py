"""The return-time map: the time home from every grip, in bands, and where the limit is crossed."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.drawing import Drawing
from routing.show.maps.maps import MapContent, MapSheet, chosen_views, compose_views, points_to_hold
from routing.show.sheets.inputs import DrawingError, MapFacts
from routing.show.sheets.legend import Entry, legend_entries
from routing.show.sheets.style import DEFAULT_STYLE, INK, MapStyle
from structures.elements import Handhold, Handrail, Hatch, Socket
from structures.frames import Vector
from structures.frozen import frozen
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "ReturnTimes",
    "TimedGrip",
    "compose_return_times",
    "draw_return_times",
    "limit_crossings",
]

Floats = NDArray[np.float64]


@frozen(kw_only=True)
class TimedGrip:
    """A grip and the time home from it.

    Parameters
    ----------
    id
        Id of the grip.
    element
        Id of the handrail, handhold, hatch or socket it is on.
    along_m
        Distance along the handrail; 0 elsewhere [m].
    position_m
        Shape (3,) [m].
    reached
        Whether anybody gets there.
    seconds
        Time home; None where there is no way [s].
    """

    id: str
    element: str
    along_m: float
    position_m: Vector
    reached: bool
    seconds: float | None


@frozen(kw_only=True)
class ReturnTimes:
    """What is drawn: all grips, the limit [s], and the reach that makes grips neighbours [m]."""

    grips: tuple[TimedGrip, ...]
    limit_s: float
    reach_m: float


@frozen()
class _Band:
    """How the grips of one band of times are drawn, the later the larger and darker."""

    name: str
    symbol: str
    size_pt: float
    face: str
    edge: str


_IN_TIME: Final = (
    _Band("first", "o", 3.0, "#d6ecf7", "#5b6670"),
    _Band("second", "o", 3.7, "#86c3e3", "#35506a"),
    _Band("third", "o", 4.4, "#2f86b8", "#1d4a6b"),
    _Band("fourth", "o", 5.1, "#0b3d66", "#06233c"),
)
"""Each a quarter of the limit."""
_LATE: Final = _Band("late", "s", 5.6, "#d55e00", "#1a1a1a")
_NO_WAY: Final = _Band("no-way", "X", 5.6, "#ffffff", "#1a1a1a")
_NOBODY: Final = _Band("not-reached", "o", 2.6, "#ffffff", "#8c949b")

_NAMED: Final = frozenset({"hatch", "worksite", "module", "zone", "closed"})
"""Kinds of labels that stay: with a mark on every grip there is no room for more."""
_WORST: Final = 6
"""So many elements have their worst time written beside them."""
_TICK_PT: Final = 9.0
"""Half the length of the mark where the limit is crossed."""


def draw_return_times(
    structure: Structure,
    times: ReturnTimes,
    *,
    views: tuple[str, ...] = ("plan", "nadir"),
    facts: MapFacts,
    style: MapStyle = DEFAULT_STYLE,
) -> "Figure":
    """Draw the time home from every grip.

    Parameters
    ----------
    structure
        What the grips are on.
    times
        The times home of all of them.
    views
        Names of views; see `structures.views.VIEWS`.
    facts
        What the title block says.
    style
        Sizes.

    Raises
    ------
    DrawingError
        There are no grips, or a view is unknown or named twice.
    """
    return compose_return_times(structure, times, views=views, facts=facts, style=style).figure


def compose_return_times(
    structure: Structure,
    times: ReturnTimes,
    *,
    views: tuple[str, ...] = ("plan", "nadir"),
    facts: MapFacts,
    style: MapStyle = DEFAULT_STYLE,
) -> MapSheet:
    """Draw the map and return it with its label boxes; parameters as `draw_return_times`."""
    chosen = chosen_views(views)
    grips, limit_s = times.grips, times.limit_s
    if not grips:
        raise DrawingError("there are no grips, so there is no time home to draw")
    bands = [_band(grip, limit_s) for grip in grips]
    points = points_to_hold(structure, (), None)
    entries = (*_entries(bands, limit_s), *legend_entries(structure, (), facts, style))
    facts = replace(facts, subject=facts.subject or "time home")
    content = MapContent(structure=structure, points_m=points, entries=entries, facts=facts)

    def paint(drawing: Drawing) -> None:
        drawing.labels = [label for label in drawing.labels if label.kind in _NAMED]
        _draw_grips(drawing, grips, bands)
        _draw_crossings(drawing, limit_crossings(times))
        _name_worst(drawing, grips)

    return compose_views(chosen, content, style, paint)


def limit_crossings(times: ReturnTimes) -> tuple[tuple[Vector, TimedGrip], ...]:
    """Return where the limit is crossed: the place, and the grip beyond it.

    That is between neighbouring grips of a handrail, and at the nearest places
    of two elements within reach of each other, where one grip is home in time and
    the other is not. The place between them is found by their times' share of the
    limit; a grip without a way is beyond any limit, and the place is at the
    last grip with one.
    """
    limit_s = times.limit_s
    reached = sorted(
        (grip for grip in times.grips if grip.reached), key=lambda one: (one.element, one.along_m)
    )
    pairs = [
        (one, other) if _in_time(one, limit_s) else (other, one)
        for one, other in pairwise(reached)
        if one.element == other.element and _in_time(one, limit_s) != _in_time(other, limit_s)
    ]
    pairs += _between_elements(reached, limit_s, times.reach_m)
    return tuple((_share_between(near, far, limit_s), far) for near, far in pairs)


def _between_elements(
    reached: Sequence[TimedGrip], limit_s: float, reach_m: float
) -> list[tuple[TimedGrip, TimedGrip]]:
    """Return for two elements within reach the nearest grips on both sides of the limit."""
    from scipy.spatial import cKDTree

    near = [grip for grip in reached if _in_time(grip, limit_s)]
    far = [grip for grip in reached if not _in_time(grip, limit_s)]
    if not near or not far:
        return []
    tree = cKDTree(np.array([grip.position_m for grip in near]))
    nearest: dict[tuple[str, str], tuple[float, str, str, TimedGrip, TimedGrip]] = {}
    for other in far:
        for i in sorted(tree.query_ball_point(other.position_m, reach_m)):
            one = near[i]
            if one.element == other.element:
                continue
            gap_m = float(np.linalg.norm(np.subtract(one.position_m, other.position_m)))
            found = (gap_m, one.id, other.id, one, other)
            key = (one.element, other.element)
            nearest[key] = min(nearest.get(key, found), found, key=lambda pair: pair[:3])
    return [pair[3:] for _, pair in sorted(nearest.items())]


def _share_between(near: TimedGrip, far: TimedGrip, limit_s: float) -> Vector:
    share = 0.0
    if near.seconds is not None and far.seconds is not None:
        share = (limit_s - near.seconds) / (far.seconds - near.seconds)
    a, b = np.array(near.position_m), np.array(far.position_m)
    x, y, z = (a + share * (b - a)).tolist()
    return (x, y, z)


def _in_time(grip: TimedGrip, limit_s: float) -> bool:
    return grip.seconds is not None and grip.seconds <= limit_s


def _band(grip: TimedGrip, limit_s: float) -> _Band:
    if not grip.reached:
        return _NOBODY
    if grip.seconds is None:
        return _NO_WAY
    if grip.seconds > limit_s:
        return _LATE
    quarter = int(len(_IN_TIME) * grip.seconds / limit_s)
    return _IN_TIME[min(quarter, len(_IN_TIME) - 1)]


def _normals(structure: Structure, grips: Sequence[TimedGrip]) -> Floats:
    kinds = (Handrail, Handhold, Hatch, Socket)
    found = [structure.by_id[grip.element] for grip in grips]
    return np.array([one.normal if isinstance(one, kinds) else (0.0, 0.0, 0.0) for one in found])


def _draw_grips(drawing: Drawing, grips: Sequence[TimedGrip], bands: Sequence[_Band]) -> None:
    places = np.array([grip.position_m for grip in grips])
    near = drawing.projection.near(places, _normals(drawing.structure, grips))
    flat = drawing.projection.place(places)
    for order, band in enumerate((_NOBODY, *_IN_TIME, _LATE, _NO_WAY)):
        of_band = np.array([one is band for one in bands])
        for in_view in (False, True):
            here = flat[of_band & (near == in_view)]
            if not len(here):
                continue
            drawing.axes.plot(
                *here.T,
                linestyle="none",
                marker=band.symbol,
                markersize=band.size_pt if in_view else 0.6 * band.size_pt,
                markerfacecolor=band.face,
                markeredgecolor=band.edge,
                markeredgewidth=0.6 if in_view else 0.3,
                alpha=1.0 if in_view else 0.45,
                zorder=(3.7 if in_view else 1.7) + 0.01 * order,
                gid=f"{drawing.name}.home.{band.name}.{'near' if in_view else 'far'}",
                scalex=False,
                scaley=False,
            )
            if in_view:
                drawing.take_marks(here, band.size_pt)


def _draw_crossings(drawing: Drawing, crossings: Sequence[tuple[Vector, TimedGrip]]) -> None:
    """Draw a tick across the way where the limit is crossed, if that is in view."""
    if not crossings:
        return
    scale = drawing.panel.points_per_m
    beyond = [far for _, far in crossings]
    near = drawing.projection.near(
        np.array([far.position_m for far in beyond]), _normals(drawing.structure, beyond)
    )
    ticks = []
    for (place, far), in_view in zip(crossings, near, strict=True):
        if not in_view:
            continue
        at, to = drawing.projection.place(np.array([place, far.position_m]))
        along = to - at
        length = float(np.hypot(*along))
        if length == 0:
            continue
        across = np.array([-along[1], along[0]]) / length * _TICK_PT / scale
        ticks.append(np.vstack([at - across, at + across]))
    for tick in ticks:
        for width, colour in ((4.0, INK["paper"]), (2.0, INK["line"])):
            drawing.axes.plot(
                *tick.T, color=colour, linewidth=width, solid_capstyle="butt",
                zorder=4.5 if colour == INK["line"] else 4.4, scalex=False, scaley=False,
                gid=f"{drawing.name}.limit",
            )  # fmt: skip


def _name_worst(drawing: Drawing, grips: Sequence[TimedGrip]) -> None:
    """Write the longest times beside their grips, one an element."""
    timed = [(grip.seconds, grip) for grip in grips if grip.reached and grip.seconds is not None]
    timed.sort(key=lambda one: (-one[0], one[1].id))
    chosen: dict[str, tuple[float, TimedGrip]] = {}
    for seconds, grip in timed:
        chosen.setdefault(grip.element, (seconds, grip))
    for seconds, grip in list(chosen.values())[:_WORST]:
        flat = drawing.projection.place(np.array([grip.position_m]))
        drawing.add_label(
            "change", f"{grip.id} {seconds:.0f} s", flat, gaps_pt=(5.0, 9.0, 13.0), leader_pt=96.0
        )


def _entries(bands: Sequence[_Band], limit_s: float) -> list[Entry]:
    """Return the legend of the bands there are."""
    step = limit_s / len(_IN_TIME)
    texts = {
        band.name: f"home in {i * step:.0f} to {(i + 1) * step:.0f} s"
        for i, band in enumerate(_IN_TIME)
    }
    texts |= {
        _LATE.name: f"TOO LATE: more than {limit_s:.0f} s",
        _NO_WAY.name: "NO WAY home",
        _NOBODY.name: "nobody gets there",
    }
    there = {band.name for band in bands}
    entries = [
        Entry(_symbol(band), texts[band.name])
        for band in (*_IN_TIME, _LATE, _NO_WAY, _NOBODY)
        if band.name in there
    ]
    if there & {_LATE.name, _NO_WAY.name}:
        entries.append(Entry(_tick, f"limit of {limit_s:.0f} s crossed here"))
    return entries


def _symbol(band: _Band) -> Callable[["Axes", float, float], None]:
    def draw(axes: "Axes", x: float, y: float) -> None:
        axes.plot(
            [x], [y], linestyle="none", marker=band.symbol, markersize=band.size_pt + 1.0,
            markerfacecolor=band.face, markeredgecolor=band.edge, markeredgewidth=0.7,
            scalex=False, scaley=False,
        )  # fmt: skip

    return draw


def _tick(axes: "Axes", x: float, y: float) -> None:
    axes.plot([x - 12.0, x + 12.0], [y, y], color=INK["line"], linewidth=1.5, scalex=False,
              scaley=False)  # fmt: skip
    axes.plot([x, x], [y - 4.5, y + 4.5], color=INK["line"], linewidth=2.0, scalex=False,
              scaley=False)  # fmt: skip
