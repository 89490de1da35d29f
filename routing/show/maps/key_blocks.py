"""Blocks of a panel's key: lists of what is where, in columns, in the free parts of the panel."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING, Final

from routing.show.sheets.labels import Label, PlacedLabel
from routing.show.sheets.page import Box, Page

if TYPE_CHECKING:
    from routing.show.maps.drawing import Drawing

__all__ = [
    "ALPHABET",
    "KEY",
    "KEY_LETTER",
    "KEY_SQUARE",
    "KEY_TITLE",
    "Block",
    "block_labels",
    "letter_pt",
    "room_for",
]

KEY: Final = "key"
KEY_LETTER: Final = "key letter"
KEY_SQUARE: Final = "key square"
KEY_TITLE: Final = "key title"
"""Kinds of labels: a line of the key, a letter in it or on the drawing, a square, the title."""
_TITLE: Final = "Letters on the drawing stand for:"
_TITLE_SQUARES: Final = "At the letter on the drawing, or in the square (row, column):"
ALPHABET: Final = "abcdefghknprstuvxyz"
"""No letter that looks like a digit or another one, and no wide one."""
_PADDING_PT: Final = 5.0
_BETWEEN_PT: Final = 2.5
_COLUMN_GAP_PT: Final = 7.0
_ROW: Final = 1.45
"""Height of a row, in text sizes."""
_FEWER: Final = 0.8
"""Where there is no room for a key, one with so many of its lines is tried."""
_FEWEST: Final = 4
"""A block of fewer lines than that is made only where no more are wanted."""
_WIDEST_SQUARE: Final = "W88"


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Room for a list of lines in columns, texts as wide as ``text_pt`` at most [pt]."""

    box: Box
    letter_pt: float
    text_pt: float
    columns: int
    lines: int

    @property
    def step_pt(self) -> float:
        """From column to column [pt]."""
        return self.letter_pt + _BETWEEN_PT + self.text_pt + _COLUMN_GAP_PT


def room_for(
    drawing: "Drawing", page: Page, wanted: tuple[Sequence[Label], int], length: int
) -> Block | None:
    """Return the flattest block that is free on a page, as long as it can be.

    ``wanted`` are labels that may stand in it, and how many lines it has at most.
    """
    labels, lines = wanted
    wide_letter_pt = max(
        letter_pt(drawing, length), drawing.extent_pt(KEY_SQUARE, _WIDEST_SQUARE)[0]
    )
    title_pt = drawing.extent_pt(KEY_TITLE, _TITLE_SQUARES)[0]
    text_pt = max(drawing.extent_pt(KEY, one.text)[0] for one in labels)
    step_pt = wide_letter_pt + _BETWEEN_PT + text_pt + _COLUMN_GAP_PT
    rooms = page.rooms()
    while lines >= min(wanted[1], _FEWEST):
        before = 0
        for rows in range(1, lines + 1):
            columns = ceil(lines / rows)
            if columns == before:
                continue  # as wide as before, only longer
            before = columns
            wide_pt = max(columns * step_pt - _COLUMN_GAP_PT, title_pt) + 2 * _PADDING_PT
            high_pt = (rows + 1) * _row_pt(drawing) + 2 * _PADDING_PT
            spot = rooms.find(wide_pt, high_pt)
            if spot is not None:
                return Block(
                    box=(*spot, spot[0] + wide_pt, spot[1] + high_pt),
                    letter_pt=wide_letter_pt,
                    text_pt=text_pt,
                    columns=columns,
                    lines=lines,
                )
        lines = int(lines * _FEWER)
    return None


def block_labels(
    drawing: "Drawing", block: Block, lines: Sequence[tuple[str, str]]
) -> Iterator[PlacedLabel]:
    """Yield the title and the lines of a key: what it is, then its letter."""
    row_pt = _row_pt(drawing)
    left_pt, _, _, top_pt = block.box
    left_pt, top_pt = left_pt + _PADDING_PT, top_pt - _PADDING_PT
    squares = any(not place.islower() for _, place in lines)
    title = _TITLE_SQUARES if squares else _TITLE
    yield _text(drawing, KEY_TITLE, title, (left_pt, top_pt - row_pt))
    rows = ceil(len(lines) / block.columns)
    for number, (text, place) in enumerate(lines):
        column, row = divmod(number, rows)
        x, y = left_pt + column * block.step_pt, top_pt - (row + 2) * row_pt
        yield _text(drawing, KEY_LETTER if place.islower() else KEY_SQUARE, place, (x, y))
        yield _text(drawing, KEY, text, (x + block.letter_pt + _BETWEEN_PT, y))


def _text(drawing: "Drawing", kind: str, text: str, corner_pt: tuple[float, float]) -> PlacedLabel:
    """Return a text of the key, all of a row on one baseline."""
    width_pt, height_pt, depth_pt = drawing.extent_pt(kind, text)
    x, y = corner_pt[0], corner_pt[1] + drawing.extent_pt(kind, "gp")[2] - depth_pt
    label = Label(kind=kind, text=text, width_pt=width_pt, height_pt=height_pt, anchors=())
    return PlacedLabel(label, (x, y, x + width_pt, y + height_pt))


def letter_pt(drawing: "Drawing", length: int) -> float:
    """Return the width of the widest letter, or row of so many of it [pt]."""
    return max(drawing.extent_pt(KEY_LETTER, one * length)[0] for one in ALPHABET)


def _row_pt(drawing: "Drawing") -> float:
    return _ROW * drawing.style.id_pt
