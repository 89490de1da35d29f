"""How drawings look: a paper drawing in few inks, every code also a shape, dash or hatch.

The colours are the colour-blind safe set of Okabe and Ito (Color Universal Design,
2008), chosen with unlike lightness so that a grey print still reads.
"""

from dataclasses import dataclass
from typing import Final

__all__ = [
    "DEFAULT_STYLE",
    "FONT",
    "INK",
    "MARKERS",
    "ROUTE_LOOKS",
    "SHEETS_IN",
    "MapStyle",
    "Marker",
    "RouteLook",
]

FONT: Final = "DejaVu Sans"
"""Comes with matplotlib, so that a drawing is the same on every machine."""

INK: Final[dict[str, str]] = {
    "line": "#1a1a1a",
    "outline": "#5b6670",
    "solid": "#eef0f1",
    "name": "#5b6670",
    "far": "#8c949b",
    "leader": "#7a7a7a",
    "keep-out": "#d55e00",
    "slow-down": "#9a5b86",
    "idle zone": "#8c949b",
    "square": "#c9d2d8",
    "paper": "#ffffff",
}
"""Colours by what they are for."""


@dataclass(frozen=True, slots=True)
class RouteLook:
    """How one person's route is drawn: colour, dash, grip marker and whether it is filled."""

    colour: str
    dash: tuple[float, ...]
    """On and off lengths [pt]; empty means a full line."""
    marker: str
    filled: bool


ROUTE_LOOKS: Final[tuple[RouteLook, ...]] = (
    RouteLook("#0072b2", (), "o", filled=True),
    RouteLook("#e69f00", (5.0, 2.4), "s", filled=False),
    RouteLook("#009e73", (9.0, 2.0, 1.5, 2.0), "D", filled=True),
    RouteLook("#cc79a7", (1.6, 1.6), "p", filled=False),
)
"""One a route, in order: full or broken, round or square, filled or open."""


@dataclass(frozen=True, slots=True)
class Marker:
    """A point symbol: matplotlib marker, size [pt], whether filled, and its legend text."""

    symbol: str
    size_pt: float
    filled: bool
    text: str


MARKERS: Final[dict[str, Marker]] = {
    "hatch": Marker("D", 7.5, filled=True, text="hatch"),
    "worksite": Marker("*", 7.5, filled=True, text="worksite"),
    "socket": Marker("s", 4.2, filled=False, text="socket"),
    "tether point": Marker("^", 4.6, filled=False, text="tether point"),
    "staged tether": Marker("^", 4.6, filled=True, text="tether point with staged tether"),
    "handhold": Marker("x", 3.6, filled=True, text="handhold"),
}
"""By kind of element; no two kinds share a symbol and a filling."""


SHEETS_IN: Final[dict[str, tuple[float, float]]] = {
    "A0": (46.81, 33.11),
    "A1": (33.11, 23.39),
    "A2": (23.39, 16.54),
    "A3": (16.54, 11.69),
    "A4": (11.69, 8.27),
    "A3-upright": (11.69, 16.54),
    "A4-upright": (8.27, 11.69),
    "Letter": (11.0, 8.5),
    "Letter-upright": (8.5, 11.0),
    "Tabloid": (17.0, 11.0),
}
"""Widths and heights of paper [in], landscape unless it says upright.

ISO 216, 2007 for A0 to A4; the two sheets in whole inches are common practice, no source.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class MapStyle:
    """Sizes of a drawing; the sheet is in inches, everything else in points (1/72 in).

    Parameters
    ----------
    sheet_in
        Width and height of the sheet; the default is A3 landscape.
    id_pt, name_pt, note_pt, title_pt
        Text sizes: element ids and grip numbers, module and zone names, notes and legend,
        titles.
    number_step_pt
        Grips are numbered no closer than this along the route.
    longest_text
        A text longer than this many characters is cut and ends in an ellipsis.
    """

    sheet_in: tuple[float, float] = (16.54, 11.69)
    id_pt: float = 5.5
    name_pt: float = 7.5
    note_pt: float = 6.5
    title_pt: float = 10.0
    number_step_pt: float = 15.0
    longest_text: int = 48

    @property
    def sheet_pt(self) -> tuple[float, float]:
        """Width and height of the sheet [pt]."""
        return (72.0 * self.sheet_in[0], 72.0 * self.sheet_in[1])


DEFAULT_STYLE: Final = MapStyle()
