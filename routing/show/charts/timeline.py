"""The timeline chart of an outing: people, inside and ground in lanes, on the clock.

A long outing goes over several strips, one below the other, so that short acts
still have room for their name. What a bar is shows in its shape and hatching
too, not in its colour alone.
"""

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from routing.outings.told.times_said import clock, total_said
from routing.show.charts.timeline_bars import clear_box, draw_bar, draw_key
from routing.show.charts.timeline_home import LEAST_HOME_PT, MOST_HOME_PT, HomePanel, draw_home_key
from routing.show.charts.timeline_inputs import Timeline, TimelineBar
from routing.show.sheets.axes import blank_sheet
from routing.show.sheets.labels import Label, PlacedLabel, place_labels
from routing.show.sheets.lettering import drawable, text_extent_pt, wrapped
from routing.show.sheets.page import Ink, Page
from routing.show.sheets.style import INK, MapStyle
from routing.show.sheets.title_block import caution_height_pt, caution_lines, draw_caution
from routing.show.sheets.writing import Writing, write
from structures.counting import counted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["TIMELINE_STYLE", "Strip", "TimelineSheet", "compose_timeline", "draw_timeline"]

TIMELINE_STYLE: Final = MapStyle()
"""A3 landscape."""

_LEFT_PT: Final = 74.0
_RIGHT_PT: Final = 22.0
_MARKS_PT: Final = 20.0
_AXIS_PT: Final = 19.0
_BAR_PT: Final = 19.0
_NAMES_PT: Final = 19.0
"""Room over the bars of a lane for names that do not fit into them."""
_KEY_PT: Final = 24.0
_WISHED_MIN: Final = 130.0
"""So many minutes to a strip where the sheet has room for all of them."""


@dataclass(frozen=True, slots=True)
class Strip:
    """A part of the clock with its place on the sheet [s, pt]."""

    start_s: float
    end_s: float
    top_pt: float
    points_per_s: float
    home_pt: float = 0.0
    """Height of the panel of times home under it."""

    def at_pt(self, time_s: float) -> float:
        """Return where a time is, from the left edge of the sheet [pt]."""
        return _LEFT_PT + (time_s - self.start_s) * self.points_per_s


@dataclass(frozen=True, slots=True)
class TimelineSheet:
    """A drawn timeline, and what became of the names."""

    figure: "Figure"
    strips: tuple[Strip, ...]
    boxes_pt: tuple[tuple[float, float, float, float], ...]
    """Boxes of all names, in and beside bars: left, bottom, right, top on the sheet."""
    left_out: tuple[str, ...]
    """Names that found no room."""


def draw_timeline(timeline: Timeline, style: MapStyle = TIMELINE_STYLE) -> "Figure":
    """Draw the timeline of an outing.

    Returns
    -------
    matplotlib.figure.Figure
        Neither shown nor saved.
    """
    return compose_timeline(timeline, style).figure


def compose_timeline(timeline: Timeline, style: MapStyle = TIMELINE_STYLE) -> TimelineSheet:
    """Draw a timeline and return it with the boxes of its names."""
    figure, sheet = blank_sheet(style)
    caution = caution_lines(style)
    draw_caution(sheet, caution, style)
    top_pt = _draw_head(sheet, timeline, style)
    bottom_pt = caution_height_pt(caution, style)
    draw_key(sheet, (_LEFT_PT, bottom_pt + 8.0), style)
    key_pt = bottom_pt + _KEY_PT
    if timeline.curves:
        draw_home_key(sheet, (_LEFT_PT, key_pt), [one.lane for one in timeline.curves], style)
        key_pt += 18.0
        key_pt = _draw_fetching(sheet, timeline, key_pt, style)
    strips = _strips(timeline, style, top_pt, key_pt)
    boxes: list[tuple[float, float, float, float]] = []
    left_out: list[str] = []
    for strip in strips:
        _draw_axis(sheet, timeline, strip, style)
        boxes += _draw_marks(sheet, timeline, strip, style, left_out)
        for number, (lane, name) in enumerate(timeline.lanes):
            floor_pt = strip.top_pt - _MARKS_PT - (number + 1) * (_BAR_PT + _NAMES_PT)
            _draw_lane_name(sheet, (lane, name), floor_pt, style)
            row = _Lane(sheet, strip, floor_pt, style)
            bars = [
                one
                for one in timeline.bars
                if one.lane == lane and one.start_s < strip.end_s and one.end_s > strip.start_s
            ]
            boxes += row.draw(bars, left_out)
        if timeline.curves:
            _draw_home(sheet, timeline, strip, style)
    if left_out:
        said = f"No room for {counted(len(left_out), 'name')}: see the run sheet"
        place = (style.sheet_pt[0] - _RIGHT_PT, style.sheet_pt[1] - 2.2 * style.title_pt)
        write(sheet, place, said, Writing(style.note_pt, align="right"))
    return TimelineSheet(figure, strips, tuple(boxes), tuple(left_out))


def _draw_head(sheet: "Axes", timeline: Timeline, style: MapStyle) -> float:
    """Write what the chart is of; return where the strips may begin, from below [pt]."""
    width, y = style.sheet_pt
    y -= 2.2 * style.title_pt
    title = drawable(timeline.title, 3 * style.longest_text)
    for line in wrapped(title, style.title_pt, width - 32.0, "bold"):
        write(sheet, (16.0, y), line, Writing(style.title_pt, weight="bold"))
        y -= 1.3 * style.title_pt
    y += 1.3 * style.title_pt
    total = total_said(timeline.end_s, timeline.ways_missing)
    total = f"{total} in all, planned length {clock(timeline.planned_s)}"
    for text, weight in (
        (timeline.warning, "bold"),
        (total, "normal"),
        *((one, "normal") for one in timeline.facts),
    ):
        for line in wrapped(drawable(text, 400), style.note_pt, width - 32.0, weight):
            y -= 1.35 * style.note_pt
            write(sheet, (16.0, y), line, Writing(style.note_pt, weight=weight))
    return y - 8.0


def _draw_fetching(sheet: "Axes", timeline: Timeline, bottom_pt: float, style: MapStyle) -> float:
    """Write how partners are fetched home; return where it ends, from below [pt]."""
    room_pt = style.sheet_pt[0] - _LEFT_PT - _RIGHT_PT
    lines = [
        line
        for text in timeline.fetching
        for line in wrapped(drawable(text, 400), style.note_pt, room_pt)
    ]
    for line in reversed(lines):
        place = (_LEFT_PT, bottom_pt + 1.0)
        write(sheet, place, line, Writing(style.note_pt, gid="timeline.fetching"))
        bottom_pt += 1.35 * style.note_pt
    return bottom_pt + (4.0 if lines else 0.0)


def _strips(
    timeline: Timeline, style: MapStyle, top_pt: float, bottom_pt: float
) -> tuple[Strip, ...]:
    """Return the strips: as many as are wished for, or as the sheet has room for."""
    each_pt = _MARKS_PT + len(timeline.lanes) * (_BAR_PT + _NAMES_PT) + _AXIS_PT
    each_pt += LEAST_HOME_PT if timeline.curves else 0.0
    room = max(1, int((top_pt - bottom_pt) / each_pt))
    end_min = timeline.end_s / 60.0
    count = min(room, max(1, math.ceil(end_min / _WISHED_MIN)))
    each_s = 600.0 * max(1, math.ceil(end_min / count / 10.0))
    spare_pt = max(0.0, (top_pt - bottom_pt - count * each_pt) / max(1, count))
    home_pt = 0.0
    if timeline.curves:
        more_pt = min(MOST_HOME_PT - LEAST_HOME_PT, 0.7 * spare_pt)
        home_pt, each_pt, spare_pt = LEAST_HOME_PT + more_pt, each_pt + more_pt, spare_pt - more_pt
    gap_pt = min(24.0, spare_pt)
    points_per_s = (style.sheet_pt[0] - _LEFT_PT - _RIGHT_PT) / each_s
    return tuple(
        Strip(i * each_s, (i + 1) * each_s, top_pt - i * (each_pt + gap_pt), points_per_s, home_pt)
        for i in range(count)
    )


def _draw_home(sheet: "Axes", timeline: Timeline, strip: Strip, style: MapStyle) -> None:
    """Draw the times home under the lanes and the clock of a strip."""
    lanes_pt = len(timeline.lanes) * (_BAR_PT + _NAMES_PT)
    top = strip.top_pt - _MARKS_PT - lanes_pt - _AXIS_PT
    box = (_LEFT_PT, top - strip.home_pt + 4.0, strip.at_pt(strip.end_s), top)
    panel = HomePanel(sheet, box, strip.at_pt, (strip.start_s, strip.end_s))
    panel.draw(timeline.curves, style)


def _lines(sheet: "Axes", x: tuple[float, float], y: tuple[float, float], **look: object) -> None:
    options = {"color": INK["outline"], "linewidth": 0.5, **look}
    sheet.plot(x, y, scalex=False, scaley=False, **options)  # type: ignore[arg-type] # looks of a line


def _draw_axis(sheet: "Axes", timeline: Timeline, strip: Strip, style: MapStyle) -> None:
    """Draw the scale of a strip: a line every 10 minutes, the time every 30, lanes apart."""
    lane_pt = _BAR_PT + _NAMES_PT
    top = strip.top_pt - _MARKS_PT
    bottom = top - len(timeline.lanes) * lane_pt
    right = strip.at_pt(strip.end_s)
    for minute in range(int(strip.start_s // 60), int(strip.end_s // 60) + 1, 10):
        x = strip.at_pt(60.0 * minute)
        whole = minute % 30 == 0
        _lines(
            sheet, (x, x), (bottom - (4.0 if whole else 2.0), top), color="#d5d9dc", zorder=0.5,
            linewidth=0.8 if whole else 0.4,
        )  # fmt: skip
        if whole:
            write(
                sheet, (x, bottom - 4.0 - style.note_pt), clock(60.0 * minute),
                Writing(style.note_pt, align="center"),
            )  # fmt: skip
    write(sheet, (16.0, bottom - 4.0 - style.note_pt), "PET h:min", Writing(style.note_pt))
    for number in range(len(timeline.lanes) + 1):
        y = top - number * lane_pt
        _lines(sheet, (16.0, right), (y, y))
    if strip.start_s < timeline.planned_s <= strip.end_s:
        x = strip.at_pt(timeline.planned_s)
        _lines(
            sheet, (x, x), (bottom, top + 2.0), color=INK["line"], linewidth=1.4,
            linestyle=(0.0, (4.0, 2.0)), gid="timeline.planned",
        )  # fmt: skip
        write(
            sheet, (x + 2.0, bottom - 4.0 - 2.2 * style.note_pt), "planned length",
            Writing(style.note_pt, align="right"),
        )  # fmt: skip


def _draw_lane_name(sheet: "Axes", lane: tuple[str, str], floor_pt: float, style: MapStyle) -> None:
    for text, lift, weight in zip(lane, (15.0, 5.0), ("bold", "normal"), strict=True):
        shown = drawable(text, 40)
        while shown and text_extent_pt(shown, style.note_pt, weight)[0] > _LEFT_PT - 22.0:
            shown = drawable(text, len(shown) - 1) if len(shown) > 3 else ""
        write(sheet, (16.0, floor_pt + lift), shown, Writing(style.note_pt, weight=weight))


def _draw_marks(
    sheet: "Axes", timeline: Timeline, strip: Strip, style: MapStyle, left_out: list[str]
) -> list[tuple[float, float, float, float]]:
    """Draw the gates of a strip over it, with their names."""
    width = strip.at_pt(strip.end_s) + _RIGHT_PT
    low = strip.top_pt - _MARKS_PT
    page = Page(width, _MARKS_PT)
    bottom = low - len(timeline.lanes) * (_BAR_PT + _NAMES_PT)
    wishes = []
    for mark in sorted(timeline.marks, key=lambda one: (one.at_s, one.text)):
        last = strip.end_s >= timeline.end_s and mark.at_s == strip.end_s
        if not (strip.start_s <= mark.at_s < strip.end_s or last):
            continue
        x = strip.at_pt(mark.at_s)
        _lines(
            sheet, (x, x), (bottom, low), color=INK["line"], linewidth=0.7,
            linestyle=(0.0, (1.5, 1.5)), gid="timeline.gate",
        )  # fmt: skip
        sheet.plot(
            x, low + 4.0, marker="D", markersize=5.0, linestyle="none", scalex=False, scaley=False,
            color=INK["line"], markerfacecolor=INK["line"] if mark.critical else INK["paper"],
        )  # fmt: skip
        page.take_box((x - 3.5, 0.0, x + 3.5, 8.0), Ink.MARK)
        wishes.append(_wish(mark.text, (x, 4.0), style, gaps=(5.0,), leader_pt=0.0))
    placed, missed = place_labels(page, wishes)
    left_out += [one.text for one in missed]
    return [_write_label(sheet, one, low, style) for one in placed]


def _wish(
    text: str,
    anchor: tuple[float, float],
    style: MapStyle,
    *,
    gaps: tuple[float, ...],
    leader_pt: float,
) -> Label:
    shown = drawable(text, style.longest_text // 2)
    width, height, _ = text_extent_pt(shown, style.id_pt)
    return Label(
        kind="act", text=shown, width_pt=width, height_pt=height, anchors=(anchor,),
        gaps_pt=gaps, leader_pt=leader_pt,
    )  # fmt: skip


def _write_label(
    sheet: "Axes", placed: PlacedLabel, floor_pt: float, style: MapStyle
) -> tuple[float, float, float, float]:
    left, bottom, right, top = placed.box
    depth = text_extent_pt(placed.label.text, style.id_pt)[2]
    place = (left + 0.6, floor_pt + bottom + depth)
    write(sheet, place, placed.label.text, Writing(style.id_pt, gid="timeline.name"))
    if placed.leader is not None:
        (x0, y0), (x1, y1) = placed.leader
        _lines(sheet, (x0, x1), (floor_pt + y0, floor_pt + y1), color=INK["leader"])
    return (left, floor_pt + bottom, right, floor_pt + top)


class _Lane:
    """One person's row in a strip: bars below, and room for names over them."""

    def __init__(self, sheet: "Axes", strip: Strip, floor_pt: float, style: MapStyle) -> None:
        self.sheet = sheet
        self.strip = strip
        self.floor_pt = floor_pt
        self.style = style
        self.page = Page(strip.at_pt(strip.end_s) + _RIGHT_PT, _BAR_PT + _NAMES_PT)
        # Nothing to the left of the lane: its name is there.
        self.page.take_box((0.0, 0.0, _LEFT_PT - 1.0, _BAR_PT + _NAMES_PT), Ink.MARK)

    def draw(
        self, bars: list[TimelineBar], left_out: list[str]
    ) -> list[tuple[float, float, float, float]]:
        """Draw bars in the order of time, then the names; return the boxes of the names."""
        boxes, wishes = [], []
        for bar in sorted(bars, key=lambda one: (one.start_s, one.end_s, one.text)):
            left = self.strip.at_pt(max(bar.start_s, self.strip.start_s))
            right = self.strip.at_pt(min(bar.end_s, self.strip.end_s))
            draw_bar(self.sheet, (left, self.floor_pt, right, self.floor_pt + _BAR_PT), bar)
            self.page.take_box((left, 0.0, right, _BAR_PT), Ink.MARK)
            if bar.kind == "wait" or not bar.text:
                continue
            inside = self._inside(bar, left, right)
            if inside:
                boxes += inside
            elif bar.kind != "way":  # the name of its act stands beside the act itself
                wishes.append(
                    _wish(bar.text, ((left + right) / 2, _BAR_PT), self.style, gaps=(1.5,),
                          leader_pt=22.0)
                )  # fmt: skip
        placed, missed = place_labels(self.page, wishes)
        left_out += [one.text for one in missed]
        boxes += [_write_label(self.sheet, one, self.floor_pt, self.style) for one in placed]
        return boxes

    def _inside(
        self, bar: TimelineBar, left: float, right: float
    ) -> list[tuple[float, float, float, float]]:
        """Write name and site into a bar as far as they fit; return their boxes."""
        if bar.kind == "way":
            return []
        texts = [bar.text, bar.site] if bar.site else [bar.text]
        texts = [drawable(text, self.style.longest_text // 2) for text in texts]
        sizes = [text_extent_pt(text, self.style.id_pt) for text in texts]
        if sizes[0][0] > right - left - 2.0:
            return []
        if len(texts) > 1 and sizes[1][0] > right - left - 2.0:
            texts, sizes = texts[:1], sizes[:1]
        top = self.floor_pt + _BAR_PT / 2 + sum(size[1] for size in sizes) / 2
        boxes = []
        for text, (width, height, depth) in zip(texts, sizes, strict=True):
            x = (left + right - width) / 2
            if bar.kind == "hold still":  # no letters over hatching
                clear_box(self.sheet, (x, top - height, x + width, top))
            place = (x + 0.6, top - height + depth)
            write(self.sheet, place, text, Writing(self.style.id_pt, gid="timeline.name"))
            boxes.append((x, top - height, x + width, top))
            top -= height
        return boxes
