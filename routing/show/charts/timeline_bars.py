"""How the bars of a timeline look: shape, hatching and outline tell them apart in grey too."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from routing.show.charts.timeline_inputs import BAR_KINDS, BarKind, TimelineBar
from routing.show.sheets.lettering import text_extent_pt
from routing.show.sheets.style import INK, ROUTE_LOOKS, MapStyle
from routing.show.sheets.writing import Writing, write

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["clear_box", "draw_bar", "draw_key"]


@dataclass(frozen=True, slots=True)
class _Look:
    """Fill, outline, hatching, and the share of the lane's height that a bar takes."""

    face: str
    edge: str
    dash: tuple[float, ...] = ()
    hatch: str = ""
    share: float = 1.0


_LOOKS: Final[dict[BarKind, _Look]] = {
    "block": _Look("#d0d5d9", INK["outline"]),
    "act": _Look(INK["paper"], INK["line"]),
    "hold still": _Look(INK["paper"], INK["line"], hatch="...."),
    "way": _Look(ROUTE_LOOKS[0].colour, ROUTE_LOOKS[0].colour, share=0.4),
    "wait": _Look("none", INK["leader"], dash=(1.5, 1.5), share=0.4),
}
_CRITICAL_PT: Final = 2.6


def draw_bar(sheet: "Axes", box: tuple[float, float, float, float], bar: TimelineBar) -> None:
    """Draw a bar into a box of the sheet: left, bottom, right, top [pt].

    A critical one stands on a heavy line, so that what the end waits for is one line through
    the lanes.
    """
    from matplotlib.patches import Rectangle

    left, bottom, right, top = box
    look = _LOOKS[bar.kind]
    height = (top - bottom) * look.share
    sheet.add_patch(
        Rectangle(
            (left, (bottom + top - height) / 2),
            right - left,
            height,
            facecolor=look.face,
            edgecolor=look.edge,
            linewidth=0.7,
            linestyle=(0.0, look.dash) if look.dash else "-",
            hatch=look.hatch or None,
            gid=f"timeline.{bar.kind.replace(' ', '-')}",
        )
    )
    if bar.critical:
        sheet.add_patch(
            Rectangle(
                (left, bottom),
                right - left,
                _CRITICAL_PT,
                facecolor=INK["line"],
                edgecolor="none",
                gid="timeline.critical",
            )
        )


def clear_box(sheet: "Axes", box: tuple[float, float, float, float], layer: float = 1.0) -> None:
    """Cover a box of the sheet with paper, so that what is written there can be read [pt]."""
    from matplotlib.patches import Rectangle

    left, bottom, right, top = box
    sheet.add_patch(
        Rectangle(
            (left, bottom),
            right - left,
            top - bottom,
            facecolor=INK["paper"],
            edgecolor="none",
            zorder=layer,
        )
    )


_WORDS: Final[dict[BarKind, str]] = {
    "block": "block of the clock",
    "act": "act",
    "hold still": "hold still",
    "way": "on the way",
    "wait": "waits",
}


def draw_key(sheet: "Axes", corner: tuple[float, float], style: MapStyle) -> None:
    """Draw what the bars and marks mean, in one line."""
    x, y = corner
    bars = [(_WORDS[kind], TimelineBar(lane="", start_s=0, end_s=0, kind=kind)) for kind in
            BAR_KINDS]  # fmt: skip
    critical = TimelineBar(lane="", start_s=0, end_s=0, kind="act", critical=True)
    bars.append(("critical: a delay delays the end", critical))
    for text, bar in bars:
        draw_bar(sheet, (x, y - 2.0, x + 24.0, y + 9.0), bar)
        write(sheet, (x + 28.0, y + 1.0), text, Writing(style.note_pt))
        x += 28.0 + text_extent_pt(text, style.note_pt)[0] + 18.0
    for text, face in (("gate opens", INK["paper"]), ("critical gate", INK["line"])):
        sheet.plot(
            x + 4.0, y + 3.5, marker="D", markersize=5.0, linestyle="none", color=INK["line"],
            markerfacecolor=face, scalex=False, scaley=False,
        )  # fmt: skip
        write(sheet, (x + 12.0, y + 1.0), text, Writing(style.note_pt))
        x += 12.0 + text_extent_pt(text, style.note_pt)[0] + 18.0
