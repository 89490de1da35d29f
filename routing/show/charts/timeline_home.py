"""Time home under a strip of the timeline: both people, alone and in tow, against the limit."""

import math
from typing import TYPE_CHECKING, Final

from routing.outings.told.times_said import minutes_text
from routing.show.charts.timeline_bars import clear_box
from routing.show.charts.timeline_inputs import TimelineCurve
from routing.show.sheets.lettering import text_extent_pt
from routing.show.sheets.style import INK, MapStyle
from routing.show.sheets.writing import Writing, write

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from matplotlib.axes import Axes

__all__ = ["LEAST_HOME_PT", "MOST_HOME_PT", "HomePanel", "draw_home_key"]

LEAST_HOME_PT: Final = 34.0
MOST_HOME_PT: Final = 64.0

_LOOKS: Final = (("#1a1a1a", 1.1), ("#d55e00", 1.9), ("#0072b2", 1.1), ("#8c949b", 1.9))
"""Colour and width by person; widths and darkness tell them apart in grey."""
_TOW_DASH: Final[tuple[float, ...]] = (2.2, 1.4)
_BREAK_BELOW: Final = 0.6
"""Where no time comes to this part of the limit, the axis is broken below it."""


class HomePanel:
    """A panel for times home on the sheet.

    Parameters
    ----------
    box_pt
        Left, bottom, right, top.
    at_pt
        Where a time of the outing is, from the left edge of the sheet.
    span_s
        From when until when the panel goes.
    """

    def __init__(
        self,
        sheet: "Axes",
        box_pt: tuple[float, float, float, float],
        at_pt: "Callable[[float], float]",
        span_s: tuple[float, float],
    ) -> None:
        self.sheet = sheet
        self.left, self.bottom, self.right, self.top = box_pt
        self.at_pt = at_pt
        self.span_s = span_s

    def draw(self, curves: "Sequence[TimelineCurve]", style: MapStyle) -> None:
        """Draw axis, limit, and every curve with its worst point.

        Where all times are far below the limit, its line stands on top out of scale, and a
        break in the axis says so.
        """
        self._scale(curves, style)
        write(self.sheet, (16.0, self.bottom), "time home", Writing(style.note_pt))
        for number, curve in enumerate(curves):
            colour, width = _LOOKS[number % len(_LOOKS)]
            self._curve(curve, (colour, width), tow=True)
            self._curve(curve, (colour, width), tow=False)
            self._no_way(curve, number, colour)
        boxes: list[tuple[float, float]] = []
        for number, curve in enumerate(curves):
            for tow in (False, True):
                self._worst(curve, _LOOKS[number % len(_LOOKS)][0], style, boxes, tow=tow)

    def _scale(self, curves: "Sequence[TimelineCurve]", style: MapStyle) -> None:
        longest_s = max((curve.longest_s for curve in curves), default=0.0)
        limit_s = min((curve.limit_s for curve in curves), default=0.0)
        room_pt = self.top - self.bottom - 7.0
        broken = longest_s < _BREAK_BELOW * limit_s
        highest_s = max(60.0, 1.35 * longest_s if broken else max(longest_s, limit_s))
        self.per_s = room_pt / highest_s
        self._line((self.left, self.right), (self.bottom, self.bottom), INK["outline"], 0.5)
        limit_pt = self.bottom + room_pt if broken else self._y(limit_s)
        self._line(
            (self.left, self.right), (limit_pt, limit_pt), INK["line"], 1.0, (4.0, 2.0), "limit"
        )
        self._tick(limit_pt, f"{limit_s / 60:g} min", style)
        steps_s = (120, 300, 600, 1200, 3600, 7200)
        step_s = next((one for one in steps_s if longest_s <= 2.5 * one), steps_s[-1])
        for seconds in range(step_s, int(longest_s) + 1, step_s):
            y = self._y(float(seconds))
            if abs(limit_pt - y) > style.note_pt:
                self._line((self.left, self.right), (y, y), "#d5d9dc", 0.4)
                self._tick(y, f"{seconds / 60:g}", style)
        if broken:
            for lift in (-4.0, -2.2):
                y = limit_pt + lift
                self._line((self.left - 3.0, self.left + 3.0), (y - 1.2, y + 1.2), INK["line"], 0.8)

    def _tick(self, y: float, text: str, style: MapStyle) -> None:
        place = (self.left - 5.0, y - 0.35 * style.note_pt)
        write(self.sheet, place, text, Writing(style.note_pt, align="right"))

    def _y(self, seconds: float) -> float:
        return self.bottom + seconds * self.per_s

    def _line(
        self,
        x: "Sequence[float]",
        y: "Sequence[float]",
        colour: str,
        width: float,
        dash: tuple[float, ...] = (),
        name: str = "axis",
    ) -> None:
        self.sheet.plot(
            x, y, color=colour, linewidth=width, linestyle=(0.0, dash) if dash else "-",
            scalex=False, scaley=False, gid=f"timeline.home-{name}", zorder=2.0,
            solid_capstyle="butt",
        )  # fmt: skip

    def _pieces(self, curve: TimelineCurve) -> list[tuple[float, float, int]]:
        """Return (from, to, point) of all that is in the panel [s]."""
        ends_s = [*(one[0] for one in curve.points[1:]), curve.until_s]
        first_s, last_s = self.span_s
        return [
            (max(point[0], first_s), min(end_s, last_s), i)
            for i, (point, end_s) in enumerate(zip(curve.points, ends_s, strict=True))
            if min(end_s, last_s) > max(point[0], first_s)
        ]

    def _curve(self, curve: TimelineCurve, look: tuple[str, float], *, tow: bool) -> None:
        x: list[float] = []
        y: list[float] = []
        for start_s, end_s, i in self._pieces(curve):
            seconds = curve.points[i][2 if tow else 1]
            height = math.nan if seconds is None else self._y(seconds)
            x += [self.at_pt(start_s), self.at_pt(end_s)]
            y += [height, height]
        if x:
            name = f"{'tow' if tow else 'alone'}-{curve.lane}"
            self._line(x, y, look[0], look[1], _TOW_DASH if tow else (), name)

    def _no_way(self, curve: TimelineCurve, number: int, colour: str) -> None:
        """Mark with a bar over the panel where no way is known: alone full, in tow hatched."""
        from matplotlib.patches import Rectangle

        for which, tow in ((1, False), (2, True)):
            unknown = [
                (start_s, end_s)
                for start_s, end_s, i in self._pieces(curve)
                if curve.points[i][which] is None
            ]
            for start_s, end_s in _joined(unknown):
                left, right = self.at_pt(start_s), self.at_pt(end_s)
                self.sheet.add_patch(
                    Rectangle(
                        (left, self.top - 3.0 * (number + 1)), right - left, 2.2,
                        facecolor="none" if tow else colour, edgecolor=colour,
                        linewidth=0.4 if tow else 1.2,
                        hatch="/////" if tow else None,
                        gid=f"timeline.home-no-way-{'tow' if tow else 'alone'}-{curve.lane}",
                    )
                )  # fmt: skip

    def _worst(
        self,
        curve: TimelineCurve,
        colour: str,
        style: MapStyle,
        taken: list[tuple[float, float]],
        *,
        tow: bool,
    ) -> None:
        which = 2 if tow else 1
        known = [(point[which], -point[0]) for point in curve.points if point[which] is not None]
        if not known:
            return
        seconds, minus_s = max((s or 0.0, at) for s, at in known)
        at_s = -minus_s
        if not self.span_s[0] <= at_s < self.span_s[1]:
            return
        x, y = self.at_pt(at_s), self._y(seconds)
        self.sheet.plot(
            x, y, marker="v", markersize=4.5, linestyle="none", color=colour,
            markerfacecolor=INK["paper"] if tow else colour, scalex=False, scaley=False, zorder=3.0,
            gid=f"timeline.home-worst-{'tow' if tow else 'alone'}-{curve.lane}",
        )  # fmt: skip
        text = f"{curve.lane}{' in tow' if tow else ''} {minutes_text(seconds)}"
        width = text_extent_pt(text, style.note_pt)[0]
        left = x + 4.0 if x + 4.0 + width < self.right else x - 4.0 - width
        low = y + 2.0
        if any(abs(low - other) < style.note_pt and abs(left - at) < width for at, other in taken):
            left = x - 4.0 - width
        if any(abs(low - other) < style.note_pt and abs(left - at) < width for at, other in taken):
            low = y - 1.0 - style.note_pt
        taken.append((left, low))
        box = (left - 0.5, low - 1.0, left + width + 0.5, low + style.note_pt)
        clear_box(self.sheet, box, layer=2.5)
        write(
            self.sheet, (left, low), text,
            Writing(style.note_pt, gid="timeline.home-worst-text", layer=4.0),
        )  # fmt: skip


def draw_home_key(
    sheet: "Axes", corner: tuple[float, float], lanes: "Sequence[str]", style: MapStyle
) -> None:
    """Draw what the lines of time home mean, in one line."""
    x, y = corner
    write(sheet, (x, y + 1.0), "Time home:", Writing(style.note_pt))
    x += text_extent_pt("Time home:", style.note_pt)[0] + 12.0
    none: tuple[float, ...] = ()
    shown = [(f"{lane} alone", number, none) for number, lane in enumerate(lanes)]
    shown += [(f"{lane} with the partner in tow", i, _TOW_DASH) for i, lane in enumerate(lanes)]
    for text, number, dash in shown:
        colour, width = _LOOKS[number % len(_LOOKS)]
        sheet.plot(
            (x, x + 22.0), (y + 3.5, y + 3.5), color=colour, linewidth=width,
            linestyle=(0.0, dash) if dash else "-", scalex=False, scaley=False,
        )  # fmt: skip
        write(sheet, (x + 26.0, y + 1.0), text, Writing(style.note_pt))
        x += 26.0 + text_extent_pt(text, style.note_pt)[0] + 16.0
    said = "limit dashed (// not to scale); \u25bd worst; bar above: no way (hatched: in tow)"
    write(sheet, (x, y + 1.0), said, Writing(style.note_pt))


def _joined(spans: "Iterable[tuple[float, float]]") -> list[tuple[float, float]]:
    """Return spans in order, those that follow one another as one: a bar, not a row of them."""
    found: list[tuple[float, float]] = []
    for start_s, end_s in spans:
        if found and start_s <= found[-1][1]:
            found[-1] = (found[-1][0], end_s)
        else:
            found.append((start_s, end_s))
    return found
