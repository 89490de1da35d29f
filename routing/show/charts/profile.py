"""The profile of a route: line out, gaps, clearance and time against distance, with the limits."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from routing.show.sheets.axes import blank_sheet
from routing.show.sheets.inputs import MapFacts, RouteProfile
from routing.show.sheets.lettering import drawable
from routing.show.sheets.style import FONT, INK, ROUTE_LOOKS, MapStyle
from routing.show.sheets.title_block import (
    caution_height_pt,
    caution_lines,
    draw_caution,
    facts_lines,
)
from routing.show.sheets.writing import Writing, write
from structures.model import Structure
from structures.units import FOOT_M, fine_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = ["PROFILE_STYLE", "draw_profile"]

Floats = NDArray[np.float64]

PROFILE_STYLE: Final = MapStyle(sheet_in=(11.69, 8.27))
"""A4 landscape."""

_NO_FACTS = MapFacts()


@dataclass(frozen=True, slots=True)
class _Strip:
    """One of the charts: its axis text, the line (x, y), its limit (x, y), which side is wrong.

    Without a limit, ``limit_text`` is all that is said of it.
    """

    name: str
    title: str
    line: tuple[Floats, Floats]
    limit: tuple[Floats, Floats] | None
    limit_text: str
    over_is_wrong: bool


def draw_profile(
    structure: Structure,
    profile: RouteProfile,
    *,
    facts: MapFacts = _NO_FACTS,
    style: MapStyle = PROFILE_STYLE,
) -> "Figure":
    """Draw line out, hand gap, clearance and time along a route, one below the other.

    Transfers run through all charts. What is beyond its limit is crossed and said in words.

    Parameters
    ----------
    structure
        What the title says.
    profile
        The values.
    facts
        What the title says about where they are from.
    style
        Sizes.

    Returns
    -------
    matplotlib.figure.Figure
        Neither shown nor saved.
    """
    figure, sheet = blank_sheet(style)
    caution = caution_lines(style)
    draw_caution(sheet, caution, style)
    top_pt = _draw_head(sheet, structure, profile, facts, style)
    strips = _strips(profile)
    width, height = style.sheet_pt
    bottom_pt = caution_height_pt(caution, style) + 30.0
    each_pt = (top_pt - 40.0 - bottom_pt) / len(strips)
    for i, strip in enumerate(strips):
        low = bottom_pt + (len(strips) - 1 - i) * each_pt
        axes = figure.add_axes(
            (56.0 / width, low / height, (width - 84.0) / width, (each_pt - 22.0) / height)
        )
        axes.set_gid(f"profile.{strip.name}")
        _draw_strip(axes, strip, style)
        _draw_transfers(axes, profile, style, named=i == 0)
        _dress(axes, profile.distance_m, style, lowest=i == len(strips) - 1, highest=i == 0)
    return figure


def _draw_head(
    sheet: "Axes", structure: Structure, profile: RouteProfile, facts: MapFacts, style: MapStyle
) -> float:
    """Write what the profile is of; return where the charts may begin, from below [pt]."""
    y = style.sheet_pt[1] - 2.2 * style.title_pt
    who = drawable(profile.person, style.longest_text)
    title = f"{drawable(structure.name, style.longest_text)}: along the route"
    write(
        sheet, (16.0, y), f"{title} of {who}" if who else title,
        Writing(style.title_pt, weight="bold"),
    )  # fmt: skip
    for line in facts_lines(structure, facts, style):
        y -= 1.35 * style.note_pt
        write(sheet, (16.0, y), line, Writing(style.note_pt))
    return y


def _strips(profile: RouteProfile) -> list[_Strip]:
    at = np.array(profile.distance_m)
    ends = at[[0, -1]]
    strips = []
    if profile.payout_m:
        strips.append(
            _Strip(
                "payout",
                "line out [m]",
                (at, np.array(profile.payout_m)),
                (at, np.array(profile.payout_limit_m)),
                "tether length less reserve",
                over_is_wrong=True,
            )
        )
    strips.append(
        _Strip(
            "gap",
            "hand gap [m]",
            _steps(at, profile.gap_m),
            (ends, np.full(2, profile.reach_m)),
            "reach",
            over_is_wrong=True,
        )
    )
    strips.append(
        _Strip(
            "clearance",
            "clearance [m]",
            _steps(at, profile.clearance_m),
            (ends, np.zeros(2)),
            "body corridor touches",
            over_is_wrong=False,
        )
    )
    if profile.elapsed_s:
        strips.append(
            _Strip(
                "time",
                "time [s]",
                (np.array(profile.elapsed_m), np.array(profile.elapsed_s)),
                None,
                _time_text(profile),
                over_is_wrong=True,
            )
        )
    return strips


def _time_text(profile: RouteProfile) -> str:
    """Say how long it takes, as the route does, and how much of that goes into transfers."""
    standing_s = sum(
        later_s - sooner_s
        for (sooner_m, later_m), (sooner_s, later_s) in zip(
            pairwise(profile.elapsed_m), pairwise(profile.elapsed_s), strict=True
        )
        if sooner_m == later_m
    )
    told = f"{profile.elapsed_s[-1]:.0f} s in all"
    return f"{told}, {standing_s:.0f} s of it at transfers" if profile.transfers else told


def _steps(at: Floats, values: Sequence[float]) -> tuple[Floats, Floats]:
    """Return the corners of a line that is level over each move; nothing where infinite."""
    level = np.repeat(np.array(values), 2)
    moved = np.repeat(np.diff(at) > 0, 2)  # a grip that stands twice is no move
    return np.repeat(at, 2)[1:-1][moved], np.where(np.isfinite(level), level, np.nan)[moved]


def _draw_strip(axes: "Axes", strip: _Strip, style: MapStyle) -> None:
    from matplotlib.font_manager import FontProperties

    x, y = strip.line
    axes.plot(x, y, color=ROUTE_LOOKS[0].colour, linewidth=1.5, gid=f"profile.{strip.name}.line")
    said, wrong = (strip.limit_text, False)
    if strip.limit is not None:
        said, wrong = _draw_limit(axes, strip, strip.limit)
    axes.set_title(
        said, loc="left", pad=3.0, color=INK["line"], parse_math=False, usetex=False,
        fontproperties=FontProperties(
            family=FONT, size=style.note_pt, weight="bold" if wrong else "normal"
        ),
    )  # fmt: skip
    axes.set_ylabel(
        strip.title, color=INK["line"], parse_math=False, usetex=False,
        fontproperties=FontProperties(family=FONT, size=style.note_pt + 1.0),
    )  # fmt: skip
    limits = () if strip.limit is None else strip.limit[1]
    finite = np.concatenate([y[np.isfinite(y)], limits, [0.0]])
    span = max(float(np.ptp(finite)), 0.1)
    axes.set_ylim(float(finite.min()) - 0.05 * span, float(finite.max()) + 0.12 * span)


def _draw_limit(axes: "Axes", strip: _Strip, bounds: tuple[Floats, Floats]) -> tuple[str, bool]:
    """Draw the limit and cross out what is beyond it; return what is said, and if anything is."""
    x, y = strip.line
    axes.plot(
        *bounds, color=INK["keep-out"], linewidth=1.2, linestyle=(0.0, (6.0, 2.5)),
        gid=f"profile.{strip.name}.limit",
    )  # fmt: skip
    limit = np.interp(x, *bounds) if strip.name != "payout" else bounds[1]
    left = limit - y if strip.over_is_wrong else y - limit
    wrong = left < 0
    if wrong.any():
        axes.plot(
            x[wrong], y[wrong], linestyle="none", marker="x", markersize=6, markeredgewidth=1.6,
            color=INK["line"], gid=f"profile.{strip.name}.wrong",
        )  # fmt: skip
    known = np.isfinite(left)
    said = "no solid or zone near"
    if known.any():
        worst = int(np.flatnonzero(known)[np.argmin(left[known])])
        # Written to the millimetre, and never better than it is.
        shown = fine_text(float(y[worst]), "up" if strip.over_is_wrong else "down")
        said = (
            f"worst {shown} at {fine_text(float(x[worst]))}, "
            f"limit {fine_text(float(limit[worst]))} ({strip.limit_text})"
        )
    if wrong.any():
        said = f"BEYOND THE LIMIT: {said}"
    return said, bool(wrong.any())


def _draw_transfers(axes: "Axes", profile: RouteProfile, style: MapStyle, *, named: bool) -> None:
    """Draw a line at each transfer; on the uppermost chart also its number and label."""
    from matplotlib.font_manager import FontProperties

    for number, transfer in enumerate(profile.transfers, start=1):
        axes.axvline(
            transfer.distance_m, color=INK["line"], linewidth=0.9, linestyle=(0.0, (1.5, 1.5)),
            gid=f"profile.transfer-{number}",
        )  # fmt: skip
        if named:
            axes.annotate(
                f"T{number} {drawable(transfer.label, style.longest_text // 2)}",
                (transfer.distance_m, 1.0), xycoords=axes.get_xaxis_transform(),
                xytext=(3.0, -3.0 - 1.3 * style.note_pt * (number % 2)),
                textcoords="offset points", va="top", color=INK["line"],
                fontproperties=FontProperties(family=FONT, size=style.note_pt, weight="bold"),
                parse_math=False, usetex=False, gid="profile.transfer.text",
                bbox={"facecolor": INK["paper"], "edgecolor": "none", "pad": 1.0},
            )  # fmt: skip


def _dress(
    axes: "Axes", distance_m: Sequence[float], style: MapStyle, *, lowest: bool, highest: bool
) -> None:
    """Draw scales: metres below, feet above."""
    from matplotlib.font_manager import FontProperties

    ending_m = max(distance_m[-1], 0.1)
    axes.set_xlim(min(0.0, distance_m[0]), 1.02 * ending_m)
    axes.grid(visible=True, color="#d5d9dc", linewidth=0.4)
    axes.set_axisbelow(True)
    font = FontProperties(family=FONT, size=style.note_pt)
    scales = [axes.xaxis, axes.yaxis]
    axes.tick_params(labelbottom=lowest, width=0.6, length=3.0, color=INK["outline"])
    if lowest:
        axes.set_xlabel(
            "distance along the hands' way [m]", fontproperties=font, parse_math=False,
            usetex=False, labelpad=2.0,
        )  # fmt: skip
    if highest:
        feet = axes.secondary_xaxis(
            "top", functions=(lambda x: np.asarray(x) / FOOT_M, lambda x: np.asarray(x) * FOOT_M)
        )
        feet.set_xlabel("[ft]", fontproperties=font, parse_math=False, usetex=False, labelpad=1.0)
        feet.tick_params(width=0.6, length=3.0, color=INK["outline"])
        scales.append(feet.xaxis)
        axes.title.set_position((0.0, 1.0))
    for scale in scales:
        for text in scale.get_ticklabels():
            text.set_fontproperties(font)
    for spine in axes.spines.values():
        spine.set(linewidth=0.6, edgecolor=INK["outline"])
