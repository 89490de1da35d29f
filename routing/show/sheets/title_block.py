"""The foot of a sheet: scale bar, legend, title block and the caution."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from routing.caution import CAUTION
from routing.limits import changed_limits, changed_texts
from routing.paths.answers.results import InputDigest
from routing.show.sheets.inputs import MapFacts
from routing.show.sheets.legend import Entry, draw_legend, legend_height_pt
from routing.show.sheets.lettering import drawable, wrapped
from routing.show.sheets.style import INK, MapStyle
from routing.show.sheets.writing import Writing, write
from structures.model import Structure
from structures.units import FOOT_M
from structures.versions import date_text, revision_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "Foot",
    "caution_height_pt",
    "caution_lines",
    "digests_text",
    "draw_caution",
    "draw_foot",
    "facts_lines",
    "foot_height_pt",
    "foot_of",
    "scale_bar_lengths_m",
]

_PADDING_PT: Final = 8.0
_NARROW_PT: Final = 620.0
"""On a sheet no wider than this the title block goes below the legend."""

_LINES: Final = 6
"""What a drawing is of, and what is told of it, may be so many times as long as a name."""

_BAR_PT: Final = 34.0
"""Height of the scale bars with their numbers and title."""


@dataclass(frozen=True, slots=True)
class Foot:
    """What stands at the foot of a sheet, already wrapped into lines."""

    entries: tuple[Entry, ...]
    title: tuple[str, ...]
    lines: tuple[str, ...]
    caution: tuple[str, ...]
    title_width_pt: float
    legend_width_pt: float
    beside: bool


def foot_of(
    structure: Structure, facts: MapFacts, entries: tuple[Entry, ...], style: MapStyle
) -> Foot:
    """Return the foot of a drawing of a structure."""
    width_pt = style.sheet_pt[0] - 4 * _PADDING_PT
    beside = style.sheet_pt[0] > _NARROW_PT
    title_pt = 0.36 * width_pt if beside else width_pt
    legend_pt = width_pt - title_pt - 3 * _PADDING_PT if beside else width_pt
    lines = [
        line
        for text in facts_lines(structure, facts, style)
        for line in wrapped(text, style.note_pt, title_pt)
    ]
    return Foot(
        entries,
        wrapped(drawable(structure.name, 2 * style.longest_text), style.title_pt, title_pt, "bold"),
        tuple(lines),
        caution_lines(style),
        title_pt,
        legend_pt,
        beside,
    )


def caution_lines(style: MapStyle) -> tuple[str, ...]:
    """Return the caution, wrapped to the width of a sheet."""
    return wrapped(CAUTION, style.note_pt + 1.0, style.sheet_pt[0] - 4 * _PADDING_PT, "bold")


def facts_lines(structure: Structure, facts: MapFacts, style: MapStyle) -> list[str]:
    """Return what a drawing says of its structure and situation, a text for each subject."""

    def shown(text: str) -> str:
        return drawable(text, style.longest_text) or "not given"

    origin = (
        _capital(revision_text(drawable(structure.revision, style.longest_text))),
        date_text(drawable(structure.date, style.longest_text)),
        digests_text(facts.inputs, style.longest_text),
    )
    said = [drawable(one, _LINES * style.longest_text) for one in (facts.subject, *facts.told)]
    lines = [*(one for one in said if one), " \u00b7 ".join(origin)]
    if facts.before:
        lines.append(f"Before: {digests_text(facts.before, style.longest_text)}")
    for word, ids in (("Conditions in force", facts.when), ("Closed", facts.closed)):
        if ids:
            lines.append(f"{word}: {', '.join(shown(one) for one in ids)}")
    changed = changed_limits(facts.limits)
    if changed:
        parts = changed_texts((name, *both) for name, both in changed.items())
        lines.append(f"Limits not at their default: {', '.join(parts)}")
    else:
        lines.append("All limits at their default")
    return lines


def digests_text(inputs: Iterable[InputDigest], longest: int) -> str:
    """Return every file that was read with the first digits of its digest.

    Handrails stand in a list's file more often than in the document itself, so that the
    document's digest alone would not tell two states of the same structure apart.

    Parameters
    ----------
    inputs
        The files, in the order in which texts name them.
    longest
        Most characters of a file's name.
    """
    named = [f"{drawable(one.name, longest)}\u00a0{one.sha256[:12]}" for one in inputs]
    return f"SHA-256 {', '.join(named) or 'not given'}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def foot_height_pt(foot: Foot, style: MapStyle) -> float:
    """Return the height of a foot, caution included [pt]."""
    left = _BAR_PT + legend_height_pt(foot.entries, style, foot.legend_width_pt)
    right = _title_height_pt(foot, style)
    body = max(left, right) if foot.beside else left + right + _PADDING_PT
    return body + 2 * _PADDING_PT + caution_height_pt(foot.caution, style)


def _title_height_pt(foot: Foot, style: MapStyle) -> float:
    return 1.3 * (len(foot.title) * style.title_pt + (len(foot.lines) + 1) * style.note_pt)


def caution_height_pt(caution: tuple[str, ...], style: MapStyle) -> float:
    """Return the height of the caution in its box [pt]."""
    return 1.3 * len(caution) * (style.note_pt + 1.0) + 2.2 * _PADDING_PT


def draw_foot(axes: "Axes", foot: Foot, style: MapStyle, scale: tuple[float, float]) -> None:
    """Draw the foot on the sheet's own axes, whose unit is the point.

    ``scale`` is the denominator of the scale and the points per metre.
    """
    width = style.sheet_pt[0]
    top = foot_height_pt(foot, style)
    left = 2 * _PADDING_PT
    _rule(axes, [(_PADDING_PT, top), (width - _PADDING_PT, top)])
    draw_caution(axes, foot.caution, style)
    _draw_scale_bars(axes, style, (left, top - _PADDING_PT), scale)
    corner = (left, top - _PADDING_PT - _BAR_PT)
    draw_legend(axes, foot.entries, style, corner, foot.legend_width_pt)
    title_left, title_top = left, top - _PADDING_PT
    if foot.beside:
        title_left = width - left - foot.title_width_pt
        x = title_left - _PADDING_PT
        _rule(axes, [(x, top), (x, caution_height_pt(foot.caution, style))])
    else:
        height = legend_height_pt(foot.entries, style, foot.legend_width_pt)
        title_top = corner[1] - height - _PADDING_PT
    _draw_title(axes, foot, style, (title_left, title_top), scale)


def _draw_title(
    axes: "Axes",
    foot: Foot,
    style: MapStyle,
    corner: tuple[float, float],
    scale: tuple[float, float],
) -> None:
    x, y = corner
    wide, high = style.sheet_in
    scale_text = f"Scale 1:{scale[0]:g} in all views on a sheet of {wide:g} x {high:g} in"
    for line in foot.title:
        y -= 1.3 * style.title_pt
        write(axes, (x, y), line, Writing(style.title_pt, weight="bold"))
    for line in (*foot.lines, scale_text if scale[0] else ""):
        y -= 1.3 * style.note_pt
        write(axes, (x, y), line, Writing(style.note_pt))


def draw_caution(axes: "Axes", caution: tuple[str, ...], style: MapStyle) -> None:
    """Draw the caution in a box along the bottom of a sheet."""
    from matplotlib.patches import Rectangle

    size = style.note_pt + 1.0
    height = caution_height_pt(caution, style)
    axes.add_patch(
        Rectangle(
            (_PADDING_PT, _PADDING_PT),
            style.sheet_pt[0] - 2 * _PADDING_PT,
            height - 1.6 * _PADDING_PT,
            facecolor=INK["paper"],
            edgecolor=INK["line"],
            linewidth=1.2,
        )
    )
    y = height - 1.0 * _PADDING_PT + 0.15 * size
    for line in caution:
        y -= 1.3 * size
        write(axes, (2 * _PADDING_PT, y), line, Writing(size, weight="bold", gid="caution"))


def scale_bar_lengths_m(points_per_m: float) -> tuple[float, float]:
    """Return the lengths of the bars in metres and in feet, both in metres.

    Examples
    --------
    At 1:200 (14.17 pt to the metre) the bars are 5 m and 20 ft long:

    >>> scale_bar_lengths_m(14.17)
    (5.0, 6.096)
    """
    return (
        _round_length(points_per_m),
        _round_length(points_per_m * FOOT_M) * FOOT_M,
    )


def _round_length(points_per_unit: float) -> float:
    """Return the longest of 1, 2, 5, 10 ... units that is no longer than 130 pt."""
    lengths = [step * 10.0**power for power in range(-3, 6) for step in (1.0, 2.0, 5.0)]
    return max([one for one in lengths if one * points_per_unit <= 130.0], default=lengths[0])


def _draw_scale_bars(
    axes: "Axes", style: MapStyle, corner: tuple[float, float], scale: tuple[float, float]
) -> None:
    """Draw one bar in metres and one in feet, each in two halves, side by side."""
    from matplotlib.patches import Rectangle

    lengths = scale_bar_lengths_m(scale[1])
    x, y = corner[0], corner[1] - 8.0
    for length_m, unit, per_m in zip(lengths, ("m", "ft"), (1.0, FOOT_M), strict=True):
        half = length_m * scale[1] / 2
        for i, face in enumerate((INK["line"], INK["paper"])):
            axes.add_patch(
                Rectangle(
                    (x + i * half, y),
                    half,
                    4.0,
                    facecolor=face,
                    edgecolor=INK["line"],
                    linewidth=0.8,
                    gid=f"scale-bar.{unit}",
                )
            )
        for share in (0.0, 0.5, 1.0):
            label = f"{share * length_m / per_m:g}" + (f" {unit}" if share == 1.0 else "")
            write(
                axes, (x + 2 * share * half, y - 8.5), label, Writing(style.note_pt, align="center")
            )
        x += 2 * half + 40.0


def _rule(axes: "Axes", corners: list[tuple[float, float]]) -> None:
    x, y = zip(*corners, strict=True)
    axes.plot(x, y, color=INK["line"], linewidth=0.8, scalex=False, scaley=False)
