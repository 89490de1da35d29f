"""The header of a panel: its name, what was left out, and which way the station axes run."""

from typing import TYPE_CHECKING, Final

from routing.show.sheets.lettering import wrapped
from routing.show.sheets.sheet import HEADER_PT, Panel
from routing.show.sheets.style import INK, MapStyle
from routing.show.sheets.writing import Writing, write
from structures.frames import DIRECTIONS, Vector
from structures.views import View

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["axis_headings", "draw_face_header", "draw_header", "draw_view_header"]

_ARROW_PT: Final = 15.0
_FRAME_PT: Final = 112.0
"""Room that the frame arrows take at the right end of a header."""


def axis_headings(view: View) -> tuple[tuple[str, tuple[float, float]], ...]:
    """Return for each station axis its text and where it runs on the sheet.

    The axis that points at the viewer or away from the viewer runs (0, 0).

    Examples
    --------
    >>> from structures.views import VIEWS
    >>> axis_headings(VIEWS["aft"])
    (('+X forward', (0.0, 0.0)), ('+Y starboard', (1.0, 0.0)), ('+Z nadir', (0.0, -1.0)))
    """
    return tuple(
        (
            f"+{letter} {name}",
            (_dot(DIRECTIONS[name], view.right) + 0.0, _dot(DIRECTIONS[name], view.up) + 0.0),
        )
        for letter, name in zip("XYZ", ("forward", "starboard", "nadir"), strict=True)
    )


def _dot(a: Vector, b: Vector) -> float:
    return sum(p * q for p, q in zip(a, b, strict=True))


def draw_header(
    axes: "Axes", panel: Panel, title: str, notes: tuple[str, ...], style: MapStyle
) -> None:
    """Draw a panel's border, its title and its notes on the sheet's own axes."""
    from matplotlib.patches import Rectangle

    axes.add_patch(
        Rectangle(
            (panel.left_pt, panel.bottom_pt),
            panel.width_pt,
            panel.height_pt + HEADER_PT,
            facecolor="none",
            edgecolor=INK["outline"],
            linewidth=0.6,
        )
    )
    x, y = panel.left_pt + 6.0, panel.bottom_pt + panel.height_pt + HEADER_PT
    write(
        axes, (x, y - 12.0), title, Writing(style.name_pt + 1.0, weight="bold", gid="panel.title")
    )
    room_pt = panel.width_pt - _FRAME_PT - 6.0
    lines = [line for note in notes for line in wrapped(note, style.id_pt, room_pt)]
    for i, line in enumerate(lines):
        write(axes, (x, y - 20.5 - 7.0 * i), line, Writing(style.id_pt, gid="panel.note"))


def draw_view_header(
    axes: "Axes", panel: Panel, view: View, notes: tuple[str, ...], style: MapStyle
) -> None:
    """Draw the header of a view, with the frame arrows at its right end."""
    draw_header(axes, panel, _title(view), notes, style)
    _draw_frame(axes, panel, view, style)


def draw_face_header(
    axes: "Axes", panel: Panel, face: tuple[str, View], notes: tuple[str, ...], style: MapStyle
) -> None:
    """Draw the header of a face, given by its title and view, with the frame arrows."""
    title, view = face
    draw_header(axes, panel, title, notes, style)
    _draw_frame(axes, panel, view, style)


def _draw_frame(axes: "Axes", panel: Panel, view: View, style: MapStyle) -> None:
    """Draw which way the station axes run, at the right end of a header."""
    headings = axis_headings(view)
    width, top = panel.left_pt + panel.width_pt, panel.bottom_pt + panel.height_pt + HEADER_PT
    runs_left = any(run[0] < 0 for _, run in headings)
    runs_down = any(run[1] < 0 for _, run in headings)
    x = width - 54.0
    y = top - (9.0 if runs_down else 25.0)
    for text, run in headings:
        if run == (0.0, 0.0):
            toward = text.endswith(view.seen_from)
            _draw_end_on(axes, (x, y), toward=toward)
            side = 5.0 if runs_left else -5.0
            writing = Writing(style.id_pt, align="left" if runs_left else "right", gid="frame")
            write(axes, (x + side, y - 0.35 * style.id_pt), text, writing)
        else:
            _draw_arrow(axes, (x, y), run, text, style)


def _title(view: View) -> str:
    if view.name in {"plan", "zenith", "nadir"}:
        return f"{view.name.upper()}, seen from {view.seen_from}"
    return f"{view.name.upper()} ELEVATION"


def _draw_arrow(
    axes: "Axes", start: tuple[float, float], run: tuple[float, float], text: str, style: MapStyle
) -> None:
    (x, y), (dx, dy) = start, run
    tip = (x + _ARROW_PT * dx, y + _ARROW_PT * dy)
    axes.annotate(
        "", tip, start,
        arrowprops={"arrowstyle": "-|>,head_width=0.14,head_length=0.3", "linewidth": 0.9,
                    "color": INK["line"], "shrinkA": 0, "shrinkB": 0},
    )  # fmt: skip
    size = style.id_pt
    place = (tip[0] + 2.0 * dx, tip[1] - 0.35 * size)
    if not dx:
        place = (tip[0] - 4.0, tip[1] - (0.0 if dy < 0 else 4.0))
    align = "left" if dx > 0 else "right"
    write(axes, place, text, Writing(size, align=align, gid="frame"))


def _draw_end_on(axes: "Axes", place: tuple[float, float], *, toward: bool) -> None:
    """Draw an axis seen end-on: a dot for one toward the viewer, a cross for one away."""
    for marker, size in (("o", 5.0), ("." if toward else "x", 3.0)):
        axes.plot(
            [place[0]], [place[1]], linestyle="none", marker=marker, markersize=size,
            markerfacecolor=INK["paper"] if marker == "o" else INK["line"],
            markeredgecolor=INK["line"], markeredgewidth=0.8, scalex=False, scaley=False,
        )  # fmt: skip
