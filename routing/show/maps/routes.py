"""Routes on a panel: the way, its direction, grips used in order, transfers, stays and lays."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.aside import APART_PT, set_aside
from routing.show.maps.drawing import Drawing
from routing.show.sheets.inputs import MapRoute, MapTransfer
from routing.show.sheets.page import Ink
from routing.show.sheets.style import INK, ROUTE_LOOKS, RouteLook
from structures.elements import Handrail, TetherPoint
from structures.frames import Vector

__all__ = ["RUNS_OUT_PT", "UNSAFE_PT", "draw_route", "numbered_grips", "route_letter"]

Floats = NDArray[np.float64]

_STEPS: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500)
_GRIP_PT: Final = 2.2
_NUMBERED_PT: Final = 4.6
_ARROW_PT: Final = 6.0
_ARROW_EVERY_PT: Final = 42.0
_SYMBOL_PT: Final = 9.0
_IN_HAND_PT: Final = 6.0
UNSAFE_PT: Final = 7.0
"""Size of the crosses on a route that must not be used [pt]."""
RUNS_OUT_PT: Final = 11.0
"""Size of the cross where a line runs out [pt]."""


def numbered_grips(page_pt: Floats, step_pt: float) -> tuple[int, ...]:
    """Return which grips get a number: every 1st, 2nd, 5th, 10th ..., and the last.

    Parameters
    ----------
    page_pt
        Grips in order on the page (k, 2) [pt].
    step_pt
        Numbers come no closer than this, on the average along the route [pt].
    """
    count = len(page_pt)
    if count < 2:
        return tuple(range(count))
    mean_pt = float(np.hypot(*np.diff(page_pt, axis=0).T).sum()) / (count - 1)
    step = next((one for one in _STEPS if one * mean_pt >= step_pt), _STEPS[-1])
    # 1, 5, 10, 15 reads better than 1, 6, 11: count from the first grip as number 1.
    regular = [i for i in range(count) if i == 0 or (i + 1) % step == 0]
    return tuple(dict.fromkeys([*regular, count - 1]))


def route_letter(index: int) -> str:
    """Return the letter that goes before grip numbers when there are several routes."""
    return "ABCD"[index]


def draw_route(drawing: Drawing, index: int) -> None:
    """Draw one route of the drawing and ask for its labels."""
    route, look = drawing.routes[index], ROUTE_LOOKS[index]
    grips = np.array(route.grips_m)
    shown = np.array([drawing.projection.holds(grip[None]) for grip in grips])
    if not shown.any():
        return
    gid = f"{drawing.name}.route-{index + 1}"
    flat = drawing.projection.place(grips)
    normals = np.array(route.normals) if route.normals else np.zeros_like(grips)
    near = drawing.projection.near(grips, normals)
    _draw_lays(drawing, route, f"{gid}.lays")
    paths = _draw_way(drawing, index, shown, near, gid)
    if route.unsafe:
        _cross_out(drawing, paths, gid)
    _draw_arrows(drawing, paths, look, f"{gid}.arrows")
    numbered = _draw_grips(drawing, flat, shown, near, look, gid)
    letter = route_letter(index) if len(drawing.routes) > 1 else ""
    for i in numbered:
        drawing.add_label(
            "grip number", f"{letter}{i + 1}", flat[[i]], gaps_pt=(_NUMBERED_PT / 2 + 1.0, 7.5)
        )
    for number, transfer in enumerate(route.transfers, start=1):
        _draw_transfer(drawing, (f"{letter}T{number}", transfer), look, f"{gid}.transfer-{number}")
    _draw_stays(drawing, route, look, gid)
    if route.runs_out_m is not None:
        _draw_runs_out(drawing, (letter, route.runs_out_m), f"{gid}.runs-out")
    if shown[0]:
        name = f"{letter}: {route.person}" if letter else route.person
        name = f"{name}, UNSAFE" if route.unsafe else name
        drawing.add_label("person", name, flat[:1], gaps_pt=(5.0,))


def _draw_way(
    drawing: Drawing,
    index: int,
    shown: NDArray[np.bool_],
    near: NDArray[np.bool_],
    gid: str,
) -> list[Floats]:
    """Draw the line from grip to grip, thin where both ends are on the far side."""
    from matplotlib.collections import LineCollection

    grips, look = np.array(drawing.routes[index].grips_m), ROUTE_LOOKS[index]
    both = shown[:-1] & shown[1:]
    paths: dict[bool, list[Floats]] = {True: [], False: []}
    for in_view in (True, False):
        wanted = both & ((near[:-1] | near[1:]) == in_view)
        for run in _runs(wanted):
            paths[in_view].extend(drawing.projection.pieces(grips[run[0] : run[1] + 1]))
    paths = {in_view: _beside_others(drawing, index, of_side) for in_view, of_side in paths.items()}
    for in_view, of_side in paths.items():
        width = 2.2 if in_view else 1.1
        for colour, extra, dash, zorder in (
            (INK["paper"], 1.6, (), 4.0),
            (look.colour, 0.0, look.dash, 4.2),
        ):
            if of_side:
                lines = LineCollection(
                    of_side,
                    colors=colour,
                    linewidths=width + extra,
                    linestyles=[(0.0, dash or None)],
                    capstyle="butt",
                    zorder=zorder,
                )
                side = "near" if in_view else "far"
                lines.set_gid(f"{gid}.{'casing' if extra else 'way'}.{side}")
                drawing.axes.add_collection(lines, autolim=False)
    drawing.take_paths([*paths[True], *paths[False]], 2.2, Ink.PATH)
    return [*paths[True], *paths[False]]


def _beside_others(drawing: Drawing, index: int, paths: list[Floats]) -> list[Floats]:
    """Return the paths of one route, moved aside where another route goes the same way."""
    count = len(drawing.routes)
    others = [
        drawing.panel.to_page_pt(piece)
        for number, route in enumerate(drawing.routes)
        if number != index and len(route.grips_m) > 1
        for piece in _pieces(drawing, np.array(route.grips_m))
    ]
    shift_pt = ((count - 1) / 2 - index) * APART_PT
    aside = [set_aside(drawing.panel.to_page_pt(path), others, shift_pt) for path in paths]
    return [np.array([drawing.panel.to_flat_m(tuple(place)) for place in path]) for path in aside]


def _pieces(drawing: Drawing, grips: Floats) -> list[Floats]:
    """Return what is shown of the way over some grips."""
    shown = np.array([drawing.projection.holds(grip[None]) for grip in grips])
    return [
        piece
        for first, last in _runs(shown[:-1] & shown[1:])
        for piece in drawing.projection.pieces(grips[first : last + 1])
    ]


def _runs(wanted: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return (first, last) grip of each unbroken run of wanted hand-overs."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], wanted, [False]]).astype(np.int8)))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _cross_out(drawing: Drawing, paths: list[Floats], gid: str) -> None:
    """Make the way hollow and put crosses on it: it must not be taken for one to go."""
    from matplotlib.collections import LineCollection

    if not paths:
        return
    hollow = LineCollection(paths, colors=INK["paper"], linewidths=0.9, zorder=4.3)
    hollow.set_gid(f"{gid}.hollow")
    drawing.axes.add_collection(hollow, autolim=False)
    marks = [
        drawing.panel.to_flat_m(tuple(place))
        for path in paths
        for place, _ in _along(drawing.panel.to_page_pt(path), _ARROW_EVERY_PT, first_pt=3.0)
    ]
    flat = np.array(marks)
    for width, colour, zorder in ((3.2, INK["paper"], 4.9), (1.6, INK["line"], 4.95)):
        drawing.axes.plot(
            *flat.T,
            linestyle="none",
            marker="x",
            markersize=UNSAFE_PT,
            markeredgecolor=colour,
            markeredgewidth=width,
            zorder=zorder,
            gid=f"{gid}.unsafe",
            scalex=False,
            scaley=False,
        )
    drawing.take_marks(flat, UNSAFE_PT)


def _along(page: Floats, every_pt: float, *, first_pt: float) -> list[tuple[Floats, Floats]]:
    """Return places along a path on the page, each with the direction there [pt]."""
    steps = np.diff(page, axis=0)
    lengths = np.hypot(*steps.T)
    ends = np.cumsum(lengths)
    found = []
    for at in np.arange(first_pt, ends[-1], every_pt):
        i = int(np.searchsorted(ends, at))
        ahead = steps[i] / lengths[i]
        found.append((page[i] + ahead * (at - ends[i] + lengths[i]), ahead))
    return found


def _draw_arrows(drawing: Drawing, paths: list[Floats], look: RouteLook, gid: str) -> None:
    """Draw arrow heads along the way, in the direction of going."""
    from matplotlib.collections import PolyCollection

    heads = []
    for path in paths:
        page = drawing.panel.to_page_pt(path)
        for tip, ahead in _along(page, _ARROW_EVERY_PT, first_pt=_ARROW_EVERY_PT / 2):
            side = np.array([-ahead[1], ahead[0]]) * 0.42 * _ARROW_PT
            back = tip - ahead * _ARROW_PT
            heads.append(
                [drawing.panel.to_flat_m(tuple(p)) for p in (tip, back + side, back - side)]
            )
            drawing.take_marks(
                np.array([drawing.panel.to_flat_m(tuple((tip + back) / 2))]), _ARROW_PT
            )
    if heads:
        arrows = PolyCollection(
            heads,
            facecolors=look.colour,
            edgecolors=INK["paper"],
            linewidths=0.5,
            zorder=4.6,
        )
        arrows.set_gid(gid)
        drawing.axes.add_collection(arrows, autolim=False)


def _draw_grips(
    drawing: Drawing,
    flat: Floats,
    shown: NDArray[np.bool_],
    near: NDArray[np.bool_],
    look: RouteLook,
    gid: str,
) -> list[int]:
    """Draw all grips small and the numbered ones large, open on the far side; return those."""
    page = drawing.panel.to_page_pt(flat)
    numbered = [i for i in numbered_grips(page, drawing.style.number_step_pt) if shown[i]]
    small = np.flatnonzero(shown)
    _dots(drawing, flat[small], (_GRIP_PT, look.marker, look.colour, look.colour), f"{gid}.grips")
    for in_view in (True, False):
        chosen = [i for i in numbered if near[i] == in_view]
        face = look.colour if look.filled and in_view else INK["paper"]
        edge = look.colour if look.filled else INK["line"]
        if chosen:
            side = "near" if in_view else "far"
            _dots(
                drawing,
                flat[chosen],
                (_NUMBERED_PT, look.marker, face, edge),
                f"{gid}.numbered.{side}",
            )
    return numbered


def _dots(drawing: Drawing, flat: Floats, looks: tuple[float, str, str, str], gid: str) -> None:
    size, marker, face, edge = looks
    drawing.axes.plot(
        *flat.T,
        linestyle="none",
        marker=marker,
        markersize=size,
        markerfacecolor=face,
        markeredgecolor=edge,
        markeredgewidth=1.0,
        zorder=4.8,
        gid=gid,
        scalex=False,
        scaley=False,
    )
    drawing.take_marks(flat, size + 1.0)


def _draw_transfer(
    drawing: Drawing, named: tuple[str, MapTransfer], look: RouteLook, gid: str
) -> None:
    """Draw a transfer: a hexagon at the grip, and a line to the tether point that is hooked.

    A hook that is put on the handrail in hand, as leapfrog does at every handrail, is drawn
    small and without the id, which stands beside the handrail already.
    """
    name, transfer = named
    place = np.array([transfer.position_m])
    if not drawing.projection.holds(place):
        return
    flat = drawing.projection.place(place)
    hooked = drawing.structure.by_id.get(transfer.tether_point)
    if isinstance(hooked, TetherPoint) and drawing.projection.holds(np.array([hooked.position_m])):
        line = np.vstack([flat, drawing.projection.place(np.array([hooked.position_m]))])
        drawing.take_paths([line], 0.9, Ink.PATH)
        drawing.axes.plot(
            *line.T,
            color=INK["line"],
            linewidth=0.9,
            linestyle=(0.0, (1.5, 1.0)),
            zorder=5.0,
            gid=f"{gid}.hook",
            scalex=False,
            scaley=False,
        )
    in_hand = isinstance(hooked, Handrail)
    size = _IN_HAND_PT if in_hand else _SYMBOL_PT
    _symbol(drawing, flat, ("h", size, look.colour), gid)
    on = "" if in_hand else transfer.tether_point
    text = " ".join(part for part in (name, on, transfer.label) if part)
    drawing.add_label("transfer", text, flat, gaps_pt=(size / 2 + 1.5,))


def _draw_stays(drawing: Drawing, route: MapRoute, look: RouteLook, gid: str) -> None:
    """Draw a ring round each tether point where a tether is anchored."""
    for number, stay in enumerate(route.stays, start=1):
        element = drawing.structure.find(stay, (TetherPoint,))
        place = np.array([element.position_m])
        if drawing.projection.holds(place):
            flat = drawing.projection.place(place)
            _symbol(drawing, flat, ("v", _SYMBOL_PT - 1.5, look.colour), f"{gid}.stay-{number}")
            drawing.add_label("stay", stay, flat, gaps_pt=(_SYMBOL_PT / 2 + 1.5,))


def _draw_runs_out(drawing: Drawing, named: tuple[str, Vector], gid: str) -> None:
    """Draw a cross where the line runs out."""
    letter, at_m = named
    place = np.array([at_m])
    if not drawing.projection.holds(place):
        return
    flat = drawing.projection.place(place)
    for width, colour in ((5.0, INK["paper"]), (2.6, INK["keep-out"])):
        drawing.axes.plot(
            *flat.T,
            linestyle="none",
            marker="x",
            markersize=RUNS_OUT_PT,
            markeredgecolor=colour,
            markeredgewidth=width,
            zorder=5.4,
            gid=gid,
            scalex=False,
            scaley=False,
        )
    drawing.take_marks(flat, RUNS_OUT_PT + 2.0)
    text = f"{letter}: line runs out" if letter else "line runs out"
    drawing.add_label("line runs out", text, flat, gaps_pt=(RUNS_OUT_PT / 2 + 2.0,))


def _symbol(drawing: Drawing, flat: Floats, looks: tuple[str, float, str], gid: str) -> None:
    marker, size, colour = looks
    drawing.axes.plot(
        *flat.T,
        linestyle="none",
        marker=marker,
        markersize=size,
        markerfacecolor=INK["paper"],
        markeredgecolor=colour,
        markeredgewidth=1.5,
        zorder=5.2,
        gid=gid,
        scalex=False,
        scaley=False,
    )
    drawing.take_marks(flat, size + 2.0)


def _draw_lays(drawing: Drawing, route: MapRoute, gid: str) -> None:
    """Draw where tether lines lie: a fine dotted line on top of the way."""
    from matplotlib.collections import LineCollection

    paths = [
        piece
        for lay_m in route.lays_m
        if len(lay_m) > 1 and drawing.projection.holds(np.array(lay_m))
        for piece in drawing.projection.pieces(np.array(lay_m))
    ]
    if paths:
        lines = LineCollection(
            paths, colors=INK["line"], linewidths=0.8, linestyles=[(0.0, (0.8, 1.6))], zorder=4.4
        )
        lines.set_gid(gid)
        drawing.axes.add_collection(lines, autolim=False)
        drawing.take_paths(paths, 0.8, Ink.PATH)
