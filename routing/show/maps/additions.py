"""What is drawn on a map besides structure and routes: tether chains, cables, bags.

Every look differs in shape or dash as well as in colour, so that grey prints read.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from routing.show.maps.drawing import Drawing
from routing.show.sheets.inputs import DrawingError, Region
from routing.show.sheets.page import Ink
from routing.show.sheets.style import INK, Marker
from structures.fields import FARTHEST_M
from structures.frames import Vector
from structures.model import Structure
from structures.solids.sight import crosses_any
from structures.views import VIEWS

__all__ = [
    "LINE_LOOKS",
    "MARK_LOOKS",
    "NOTHING_ADDED",
    "Additions",
    "LineLook",
    "MapLine",
    "MapMark",
    "clear_views",
    "draw_additions",
    "region_of",
]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class LineLook:
    """How a line is drawn, and its legend text."""

    colour: str
    width_pt: float
    dash: tuple[float, ...]
    text: str


LINE_LOOKS: Final[dict[str, LineLook]] = {
    "held": LineLook("#0072b2", 1.6, (4.0, 2.0), "tether chain while the payload is held"),
    "seated": LineLook("#009e73", 2.0, (), "tether chain once the payload is seated"),
    "sight": LineLook("#0072b2", 0.8, (1.6, 1.6), "towards the middle of the face"),
    "face": LineLook("#009e73", 2.4, (), "face to be seen"),
    "cable": LineLook("#0072b2", 2.4, (), "cable run; corners are drawn sharp"),
    "other cable": LineLook("#e69f00", 1.8, (6.0, 2.4), "other way for the cable"),
    "short cable": LineLook("#cc79a7", 1.8, (1.6, 1.6), "way that the cable is too short for"),
}

MARK_LOOKS: Final[dict[str, Marker]] = {
    "tie": Marker("P", 6.0, filled=True, text="tied to the handrail here"),
    "held": Marker("o", 6.0, filled=False, text="attach point of the payload, held"),
    "seated": Marker("o", 6.0, filled=True, text="attach point of the payload, seated"),
    "vantage": Marker("v", 8.0, filled=True, text="camera: one of the fewest that see it"),
    "unseen": Marker("X", 4.5, filled=False, text="part of the face seen from nowhere"),
    "connector": Marker("H", 6.5, filled=True, text="connector"),
    "cable tie": Marker("d", 5.5, filled=True, text="cable tied here"),
    "spare": Marker("d", 7.0, filled=False, text="cable tied here, spare cable stowed"),
    "bag": Marker("p", 7.0, filled=True, text="bag tied here"),
    "other bag": Marker("p", 6.0, filled=False, text="other place for the bag"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MapLine:
    """A line of a look, with corners (k, 3) [m]; solids in front do not hide it."""

    look: str
    points_m: tuple[Vector, ...]
    label: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapMark:
    """A mark of a look at a place (3,) [m]."""

    look: str
    position_m: Vector
    label: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Additions:
    """Lines and marks, drawn in order over everything else.

    Raises
    ------
    DrawingError
        A look is unknown, or a line has fewer than two points.
    """

    lines: tuple[MapLine, ...] = ()
    marks: tuple[MapMark, ...] = ()

    def __post_init__(self) -> None:
        for one in self.lines:
            if one.look not in LINE_LOOKS or len(one.points_m) < 2:
                raise DrawingError(
                    f"a line of look {one.look!r} with {len(one.points_m)} points cannot be "
                    f"drawn; give two or more, and one of {', '.join(LINE_LOOKS)}"
                )
        for mark in self.marks:
            if mark.look not in MARK_LOOKS:
                raise DrawingError(
                    f"there is no mark {mark.look!r}; give one of {', '.join(MARK_LOOKS)}"
                )

    @property
    def line_looks(self) -> tuple[LineLook, ...]:
        """The looks of lines there are, in the order of the legend."""
        used = {one.look for one in self.lines}
        return tuple(look for name, look in LINE_LOOKS.items() if name in used)

    @property
    def mark_looks(self) -> tuple[Marker, ...]:
        """The looks of marks there are, in the order of the legend."""
        used = {one.look for one in self.marks}
        return tuple(look for name, look in MARK_LOOKS.items() if name in used)


NOTHING_ADDED: Final = Additions()


def draw_additions(drawing: Drawing, additions: Additions) -> None:
    """Draw what is added on one panel, and ask for its labels."""
    from matplotlib.collections import LineCollection

    for number, line in enumerate(additions.lines, start=1):
        points = np.array(line.points_m)
        if not drawing.projection.holds(points):
            continue
        look = LINE_LOOKS[line.look]
        pieces = [piece for piece in drawing.projection.pieces(points) if len(piece) > 1]
        for colour, extra, dash, zorder in (
            (INK["paper"], 1.4, (), 5.0),
            (look.colour, 0.0, look.dash, 5.1),
        ):
            drawn = LineCollection(
                pieces,
                colors=colour,
                linewidths=look.width_pt + extra,
                linestyles=[(0.0, dash or None)],
                capstyle="butt",
                zorder=zorder,
            )
            drawn.set_gid(f"{drawing.name}.added-{number}.{'casing' if extra else 'line'}")
            drawing.axes.add_collection(drawn, autolim=False)
        drawing.take_paths(pieces, look.width_pt, Ink.PATH)
        if line.label:
            middle = np.vstack([_middle(piece) for piece in pieces])
            drawing.add_label("stay", line.label, middle, gaps_pt=(3.0, 8.0))
    for mark in additions.marks:
        _draw_mark(drawing, mark)


def _draw_mark(drawing: Drawing, mark: MapMark) -> None:
    look = MARK_LOOKS[mark.look]
    at = np.array([mark.position_m])
    if not drawing.projection.holds(at):
        return
    flat = drawing.projection.place(at)
    drawing.axes.plot(
        *flat.T,
        linestyle="none",
        marker=look.symbol,
        markersize=look.size_pt,
        markerfacecolor=INK["line"] if look.filled else INK["paper"],
        markeredgecolor=INK["line"] if not look.filled else INK["paper"],
        markeredgewidth=1.0 if not look.filled else 0.6,
        zorder=5.4,
        gid=f"{drawing.name}.mark.{mark.look.replace(' ', '-')}",
        scalex=False,
        scaley=False,
    )
    drawing.take_marks(flat, look.size_pt)
    if mark.label:
        drawing.add_label("transfer", mark.label, flat, gaps_pt=(look.size_pt / 2 + 1.5, 9.0))


def _middle(piece: Floats) -> Floats:
    """Return the point half-way along a line, shape (2,)."""
    steps = np.hypot(*np.diff(piece, axis=0).T)
    half = steps.sum() / 2
    gone = np.concatenate([[0.0], np.cumsum(steps)])
    middle: Floats = np.array([np.interp(half, gone, piece[:, axis]) for axis in (0, 1)])
    return middle


def region_of(additions: Additions, *, margin_m: float) -> Region:
    """Return the box that holds all lines and marks, and a margin [m].

    Raises
    ------
    DrawingError
        There are neither lines nor marks.
    """
    points = [point for line in additions.lines for point in line.points_m]
    points += [mark.position_m for mark in additions.marks]
    if not points:
        raise DrawingError("nothing is added, so there is no region about it; give a line or mark")
    low, high = np.min(points, axis=0) - margin_m, np.max(points, axis=0) + margin_m
    return Region(
        low_m=(float(low[0]), float(low[1]), float(low[2])),
        high_m=(float(high[0]), float(high[1]), float(high[2])),
    )


def clear_views(structure: Structure, additions: Additions) -> tuple[str, str, str]:
    """Return three views at right angles, each from the side with fewer solids before the marks."""
    shapes = tuple(solid.volume for solid in structure.solids)
    marks = np.array([mark.position_m for mark in additions.marks]).reshape(-1, 3)

    def hidden(view: str) -> int:
        ends = marks + FARTHEST_M * np.array(VIEWS[view].toward)
        return int(crosses_any(shapes, marks, ends).sum())

    first, second, third = (
        min(pair, key=hidden)
        for pair in (("plan", "nadir"), ("starboard", "port"), ("forward", "aft"))
    )
    return first, second, third
