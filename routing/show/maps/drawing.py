"""One panel while it is being drawn: its axes, its page of free room, and labels that wait."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.key_blocks import KEY, KEY_LETTER, KEY_SQUARE, KEY_TITLE
from routing.show.maps.keys import place_with_key
from routing.show.maps.projection import Projection
from routing.show.maps.squares import SQUARE_NAME, draw_squares
from routing.show.sheets.inputs import LabelKind, MapFacts, MapRoute
from routing.show.sheets.labels import Label, PlacedLabel
from routing.show.sheets.lettering import drawable, text_extent_pt
from routing.show.sheets.page import Ink, Page
from routing.show.sheets.sheet import Panel
from routing.show.sheets.style import FONT, INK, MapStyle
from structures.counting import counted
from structures.model import Structure

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Drawing", "PanelResult", "finish", "texts_left_out"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Lettering:
    """How labels of one kind are written. ``size`` scales the style's id size."""

    size: float = 1.0
    colour: str = INK["line"]
    weight: str = "normal"


# In order of importance: what comes first is placed first.
_KINDS: Final[dict[str, _Lettering]] = {
    "line runs out": _Lettering(1.25, colour=INK["line"], weight="bold"),
    "change": _Lettering(1.15, weight="bold"),
    "transfer": _Lettering(1.15, weight="bold"),
    "stay": _Lettering(1.1, weight="bold"),
    "person": _Lettering(1.25, weight="bold"),
    "grip number": _Lettering(1.0, weight="bold"),
    "zone": _Lettering(1.1),
    "handrail in use": _Lettering(1.0),
    "worksite": _Lettering(1.1, weight="bold"),
    "hatch": _Lettering(1.1, weight="bold"),
    "module": _Lettering(1.35, colour=INK["name"]),
    "tether point": _Lettering(),
    "closed": _Lettering(),
    "socket": _Lettering(),
    "handhold": _Lettering(),
    "handrail": _Lettering(),
    KEY_LETTER: _Lettering(weight="bold"),
    KEY_SQUARE: _Lettering(),
    SQUARE_NAME: _Lettering(1.1, colour=INK["name"]),
    KEY: _Lettering(),
    KEY_TITLE: _Lettering(colour=INK["name"]),
}


@dataclass(slots=True)
class Drawing:
    """What the drawing functions of one panel share.

    Everything drawn goes to ``axes`` in sheet coordinates [m] and is entered on ``page``;
    ``labels`` are placed once all of it is there.
    """

    name: str
    axes: "Axes"
    panel: Panel
    projection: Projection
    structure: Structure
    routes: tuple[MapRoute, ...]
    facts: MapFacts
    style: MapStyle
    page: Page = field(init=False)
    labels: list[Label] = field(default_factory=list)
    mark_boxes: list[tuple[float, float, float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page = Page(self.panel.width_pt, self.panel.height_pt)

    def take_marks(self, flat_m: Floats, size_pt: float) -> None:
        """Enter square marks of a size at sheet coordinates (n, 2) [m]."""
        half = size_pt / 2
        for x, y in self.panel.to_page_pt(flat_m):
            box = (float(x - half), float(y - half), float(x + half), float(y + half))
            self.mark_boxes.append(box)
            self.page.take_box(box, Ink.MARK)

    def take_paths(self, paths_m: Iterable[Floats], width_pt: float, ink: int) -> None:
        """Enter lines with corners (k, 2) in sheet coordinates [m]."""
        parts = [self.panel.to_page_pt(path) for path in paths_m if len(path) > 1]
        if parts:
            starts = np.vstack([part[:-1] for part in parts])
            ends = np.vstack([part[1:] for part in parts])
            self.page.take_lines(starts, ends, width_pt, ink)

    def add_label(
        self,
        kind: str,
        text: str,
        anchors_m: Floats,
        *,
        gaps_pt: tuple[float, ...] = (2.0,),
        inside: bool = False,
        leader_pt: float = 46.0,
    ) -> None:
        """Ask for a label at one of some sheet coordinates (n, 2); outside the panel: none."""
        anchors_m = anchors_m[self.panel.shows(anchors_m)]
        shown = drawable(text, self.style.longest_text)
        if not len(anchors_m) or not shown:
            return
        width, height, _ = self.extent_pt(kind, shown)
        spots = tuple((float(x), float(y)) for x, y in self.panel.to_page_pt(anchors_m))
        self.labels.append(
            Label(
                kind=kind,
                text=shown,
                width_pt=width,
                height_pt=height,
                anchors=spots,
                gaps_pt=gaps_pt,
                inside=inside,
                leader_pt=leader_pt,
            )
        )

    def extent_pt(self, kind: str, text: str) -> tuple[float, float, float]:
        """Return width, height and depth of a label's text [pt]."""
        look = _KINDS[kind]
        return text_extent_pt(text, self.size_of(kind), look.weight)

    def size_of(self, kind: str) -> float:
        """Text size of a kind of label [pt]."""
        return _KINDS[kind].size * self.style.id_pt


@dataclass(frozen=True, slots=True)
class PanelResult:
    """What became of a panel's labels.

    Boxes are on the panel's page [pt]; ``notes`` say what was left out.
    """

    name: str
    panel: Panel
    placed: tuple[PlacedLabel, ...]
    left_out: tuple[Label, ...]
    mark_boxes: tuple[tuple[float, float, float, float], ...]
    notes: tuple[str, ...]


def finish(drawing: Drawing) -> PanelResult:
    """Place and draw the labels of a panel."""
    importance = list(_KINDS)
    waiting = sorted(drawing.labels, key=lambda label: importance.index(label.kind))
    placed = place_with_key(drawing, waiting)
    if placed.squares is not None:
        draw_squares(drawing, placed.squares)
    _draw_grounds(drawing, placed.labels)
    _draw_leaders(drawing, placed.labels)
    _draw_texts(drawing, placed.labels)
    return PanelResult(
        drawing.name,
        drawing.panel,
        placed.labels,
        placed.left_out,
        tuple(drawing.mark_boxes),
        _notes(placed.left_out),
    )


_MISSED: Final[dict[str, LabelKind]] = {
    "grip number": "grip number",
    "module": "module name",
    "zone": "zone name",
}


def texts_left_out(left_out: Sequence[Label]) -> dict[LabelKind, tuple[str, ...]]:
    """Return the labels that found no room: sorted texts by what they are, as the header counts."""
    texts: dict[LabelKind, list[str]] = {}
    for label in left_out:
        texts.setdefault(_MISSED.get(label.kind, "id"), []).append(label.text)
    return {what: tuple(sorted(texts[what])) for what in sorted(texts)}


def _notes(left_out: Sequence[Label]) -> tuple[str, ...]:
    """Say in words how many labels of which kind found no room."""
    parts = [counted(len(texts), what) for what, texts in texts_left_out(left_out).items()]
    return (f"{', '.join(parts)} not shown: no room",) if parts else ()


def _draw_grounds(drawing: Drawing, placed: Sequence[PlacedLabel]) -> None:
    """Lighten what is under labels: hatching and outlines, never a mark.

    Of a handrail only what is right under a letter of the key is hidden.
    """
    from matplotlib.collections import PolyCollection

    for name, on_line, alpha, zorder in (
        ("label-grounds", False, 0.7, 2.9),
        ("letter-grounds", True, 1.0, 3.3),
    ):
        corners = [
            [drawing.panel.to_flat_m((x, y)) for x, y in ((a, b), (c, b), (c, d), (a, d))]
            for a, b, c, d in (one.box for one in placed if one.on_line == on_line)
        ]
        if corners:
            grounds = PolyCollection(
                corners, facecolors=INK["paper"], edgecolors="none", alpha=alpha, zorder=zorder
            )
            grounds.set_gid(f"{drawing.name}.{name}")
            drawing.axes.add_collection(grounds, autolim=False)


def _draw_leaders(drawing: Drawing, placed: Sequence[PlacedLabel]) -> None:
    from matplotlib.collections import LineCollection

    lines = [
        [drawing.panel.to_flat_m(spot) for spot in one.leader]
        for one in placed
        if one.leader is not None
    ]
    if lines:
        leaders = LineCollection(lines, colors=INK["leader"], linewidths=0.4, zorder=6)
        leaders.set_gid(f"{drawing.name}.leaders")
        drawing.axes.add_collection(leaders, autolim=False)


def _draw_texts(drawing: Drawing, placed: Sequence[PlacedLabel]) -> None:
    from matplotlib.font_manager import FontProperties

    fonts = {
        kind: FontProperties(family=FONT, size=drawing.size_of(kind), weight=look.weight)
        for kind, look in _KINDS.items()
    }
    for one in placed:
        kind = one.label.kind
        width, _, depth = drawing.extent_pt(kind, one.label.text)
        middle = (one.box[0] + width / 2, one.box[1] + depth)
        x, y = drawing.panel.to_flat_m(middle)
        drawing.axes.text(
            x,
            y,
            one.label.text,
            fontproperties=fonts[kind],
            color=_KINDS[kind].colour,
            ha="center",
            va="baseline",
            parse_math=False,
            usetex=False,
            clip_on=False,
            zorder=7,
            gid=f"{drawing.name}.label.{kind.replace(' ', '-')}",
        )
