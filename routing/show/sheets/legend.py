"""The legend: one entry for each thing that is on the map, with its own symbol."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from routing.show.maps.additions import Additions
from routing.show.maps.rails_points import point_elements
from routing.show.maps.routes import UNSAFE_PT, route_letter
from routing.show.maps.solids_zones import ZONE_LOOKS, look_of
from routing.show.sheets.hatching import hatch_lines
from routing.show.sheets.inputs import MapFacts, MapRoute
from routing.show.sheets.lettering import drawable, text_extent_pt
from routing.show.sheets.style import FONT, INK, MARKERS, ROUTE_LOOKS, MapStyle
from structures.counting import counted
from structures.model import Structure
from structures.zones import active_zones, closed_by

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Entry", "added_entries", "draw_legend", "legend_entries", "legend_height_pt"]

_SWATCH_PT: Final = 26.0
_LINE_PT: Final = 12.0
_GAP_PT: Final = 14.0


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the legend: how to draw its sample about (x, y), and its text."""

    draw: Callable[["Axes", float, float], None]
    text: str


def legend_entries(
    structure: Structure,
    routes: tuple[MapRoute, ...],
    facts: MapFacts,
    style: MapStyle,
    *,
    flat: bool = True,
) -> tuple[Entry, ...]:
    """Return what a map of this structure and these routes needs explained.

    ``flat`` says that it is a view from outside, with a far side, and not an unrolled skin.
    """
    entries = []
    if structure.handrails:
        entries.append(Entry(_line(INK["line"], 1.5, ()), "handrail in view"))
        if flat:
            entries.append(Entry(_line(INK["far"], 0.6, (2.4, 1.8)), "handrail behind, not named"))
    if {*facts.closed, *closed_by(structure, facts.when)}:
        entries.append(Entry(_closed, "closed, do not use"))
    kinds = {one.kind for one in point_elements(structure)}
    entries.extend(
        Entry(
            _marker(look.symbol, look.size_pt, INK["line"] if look.filled else INK["paper"], ""),
            look.text,
        )
        for kind, look in MARKERS.items()
        if kind in kinds
    )
    if any(one.socket is not None for one in structure.worksites):
        entries.append(Entry(_worksite_on_socket, "worksite on a socket"))
    active = frozenset(zone.id for zone in active_zones(structure, facts.when))
    looks = {look_of(zone, active) for zone in structure.zones}
    entries.extend(
        Entry(_zone(kind), ZONE_LOOKS[kind].text) for kind in ZONE_LOOKS if kind in looks
    )
    entries.extend(_route_entries(routes, style))
    if flat and routes:
        entries.append(Entry(_route_behind, "route and grips behind a solid"))
    if flat:
        entries.append(Entry(_end_on, "axis toward the viewer, away from the viewer"))
    return tuple(entries)


def added_entries(additions: Additions) -> tuple[Entry, ...]:
    """Return what lines and marks that were added need explained."""
    return (
        *(
            Entry(_line(one.colour, one.width_pt, one.dash), one.text)
            for one in additions.line_looks
        ),
        *(
            Entry(
                _marker(one.symbol, one.size_pt, INK["line" if one.filled else "paper"], ""),
                one.text,
            )
            for one in additions.mark_looks
        ),
    )


def _route_entries(routes: tuple[MapRoute, ...], style: MapStyle) -> list[Entry]:
    entries = [
        Entry(
            _route(index, unsafe=route.unsafe),
            "UNSAFE, do not use: " * route.unsafe
            + f"{route_letter(index)}: " * (len(routes) > 1)
            + f"{drawable(route.person, style.longest_text // 2)}: "
            f"{counted(len(route.grips_m), 'grip')}, {counted(len(route.transfers), 'transfer')}",
        )
        for index, route in enumerate(routes)
    ]
    if any(route.transfers for route in routes):
        symbol = _marker("h", 9.0, INK["paper"], ROUTE_LOOKS[0].colour)
        entries.append(Entry(symbol, "tether transfer at this grip"))
    if any(route.stays for route in routes):
        symbol = _marker("v", 7.5, INK["paper"], ROUTE_LOOKS[0].colour)
        entries.append(Entry(symbol, "stay: tether anchored here"))
    if any(route.lays_m for route in routes):
        entries.append(Entry(_line(INK["line"], 0.8, (0.8, 1.6)), "lay of the tether line"))
    if any(route.runs_out_m is not None for route in routes):
        entries.append(Entry(_runs_out, "tether line runs out: do not follow this route"))
    return entries


def _runs_out(axes: "Axes", x: float, y: float) -> None:
    axes.plot(
        [x], [y], linestyle="none", marker="x", markersize=8.0, markeredgewidth=2.6,
        markeredgecolor=INK["keep-out"], scalex=False, scaley=False,
    )  # fmt: skip


def _end_on(axes: "Axes", x: float, y: float) -> None:
    for offset, symbol, size in ((-5.0, ".", 3.0), (5.0, "x", 3.0)):
        _marker("o", 5.0, INK["paper"], "")(axes, x + offset, y)
        _marker(symbol, size, INK["line"], "")(axes, x + offset, y)


def _columns(entries: tuple[Entry, ...], style: MapStyle, width_pt: float) -> tuple[int, float]:
    """Return how many columns fit and how wide each is [pt]."""
    widest = max((text_extent_pt(one.text, style.note_pt)[0] for one in entries), default=0.0)
    column_pt = _SWATCH_PT + 6.0 + widest + _GAP_PT
    return max(1, int(width_pt // column_pt)), column_pt


def legend_height_pt(entries: tuple[Entry, ...], style: MapStyle, width_pt: float) -> float:
    """Return the height that the legend takes in a width [pt]."""
    columns, _ = _columns(entries, style, width_pt)
    return _LINE_PT * -(-len(entries) // columns)


def draw_legend(
    axes: "Axes",
    entries: tuple[Entry, ...],
    style: MapStyle,
    corner_pt: tuple[float, float],
    width_pt: float,
) -> None:
    """Draw the legend below and right of a corner of the sheet [pt], column by column."""
    from matplotlib.font_manager import FontProperties

    columns, column_pt = _columns(entries, style, width_pt)
    rows = -(-len(entries) // columns)
    font = FontProperties(family=FONT, size=style.note_pt)
    for i, entry in enumerate(entries):
        x = corner_pt[0] + column_pt * (i // rows)
        y = corner_pt[1] - _LINE_PT * (i % rows + 0.5)
        entry.draw(axes, x + _SWATCH_PT / 2, y)
        axes.text(
            x + _SWATCH_PT + 6.0,
            y,
            entry.text,
            fontproperties=font,
            color=INK["line"],
            va="center_baseline",
            parse_math=False,
            usetex=False,
            gid="legend.text",
        )


def _line(
    colour: str, width: float, dash: tuple[float, ...]
) -> Callable[["Axes", float, float], None]:
    def draw(axes: "Axes", x: float, y: float) -> None:
        axes.plot(
            [x - _SWATCH_PT / 2, x + _SWATCH_PT / 2], [y, y], color=colour, linewidth=width,
            linestyle=(0.0, dash or None), dash_capstyle="butt", scalex=False, scaley=False,
        )  # fmt: skip

    return draw


def _marker(
    symbol: str, size: float, face: str, edge: str
) -> Callable[["Axes", float, float], None]:
    def draw(axes: "Axes", x: float, y: float) -> None:
        axes.plot(
            [x], [y], linestyle="none", marker=symbol, markersize=size, markerfacecolor=face,
            markeredgecolor=edge or INK["line"], markeredgewidth=1.5 if edge else 0.8,
            scalex=False, scaley=False,
        )  # fmt: skip

    return draw


def _worksite_on_socket(axes: "Axes", x: float, y: float) -> None:
    """Draw the socket over the star, as on the map: what shows is a hollow star."""
    for look in (MARKERS["worksite"], MARKERS["socket"]):
        _marker(look.symbol, look.size_pt, INK["line" if look.filled else "paper"], "")(axes, x, y)


def _closed(axes: "Axes", x: float, y: float) -> None:
    _line(INK["line"], 1.0, (1.0, 1.6))(axes, x, y)
    _marker("x", 6.5, INK["paper"], INK["keep-out"])(axes, x, y)


def _route(index: int, *, unsafe: bool) -> Callable[["Axes", float, float], None]:
    look = ROUTE_LOOKS[index]

    def draw(axes: "Axes", x: float, y: float) -> None:
        _line(look.colour, 2.2, look.dash)(axes, x, y)
        if unsafe:
            _line(INK["paper"], 0.9, ())(axes, x, y)
            _marker("x", UNSAFE_PT, INK["paper"], INK["line"])(axes, x, y)
        face = look.colour if look.filled else INK["paper"]
        edge = look.colour if look.filled else INK["line"]
        for offset in (-7.0, 7.0):
            _marker(look.marker, 4.6, face, edge)(axes, x + offset, y)

    return draw


def _route_behind(axes: "Axes", x: float, y: float) -> None:
    colour = ROUTE_LOOKS[0].colour
    _line(colour, 1.1, ())(axes, x, y)
    _marker("o", 4.6, INK["paper"], colour)(axes, x, y)


def _zone(kind: str) -> Callable[["Axes", float, float], None]:
    look = ZONE_LOOKS[kind]

    def draw(axes: "Axes", x: float, y: float) -> None:
        import shapely
        from matplotlib.collections import LineCollection

        w, h = _SWATCH_PT / 2, _LINE_PT / 2 - 1.5
        patch = shapely.box(x - w, y - h, x + w, y + h)
        lines = hatch_lines(patch, angle_deg=look.angle_deg, spacing_m=look.spacing_pt)
        frame = np.array([(x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)])
        for part, width, dash in (
            (list(lines), 0.45, look.hatch),
            ([np.vstack([frame, frame[:1]])], 1.0, look.edge),
        ):
            axes.add_collection(
                LineCollection(
                    part, colors=look.colour, linewidths=width, linestyles=[(0.0, dash or None)]
                ),
                autolim=False,
            )

    return draw
