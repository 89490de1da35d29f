"""The key of a panel: letters on the drawing for what has no room for its name there.

Where an id or a name finds no place beside what it names, a letter or two stand there
instead, and a list in the free part of the panel says what each one stands for. Small
letters: ids and grips are written in capitals and digits.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING, Final

import numpy as np

from routing.show.sheets.labels import Label, PlacedLabel, place_labels
from routing.show.sheets.page import Box, Ink, Page, Spot

if TYPE_CHECKING:
    from routing.show.maps.drawing import Drawing

__all__ = ["KEY", "KEY_LETTER", "KEY_TITLE", "place_with_key"]

KEY: Final = "key"
KEY_LETTER: Final = "key letter"
KEY_TITLE: Final = "key title"
"""Kinds of labels: a line of the key, a letter in it or on the drawing, the line over it."""

_TITLE: Final = "Letters on the drawing stand for:"
_ALPHABET: Final = "abcdefghknprstuvxyz"
"""No letter that looks like a digit or another one, and no wide one."""
_NAMES: Final = frozenset({"module", "zone"})
"""Kinds whose texts are long; they have a block of their own."""
_NEVER: Final = frozenset({"grip number"})
"""What stands in a row does not need a letter: its neighbours say what it is."""
_PADDING_PT: Final = 5.0
_BETWEEN_PT: Final = 2.5
_COLUMN_GAP_PT: Final = 7.0
_ROW: Final = 1.45
"""Height of a row, in text sizes."""
_FEWER: Final = 0.8
"""Where there is no room for a key, one with so many of its lines is tried."""
_MORE: Final = 1.25
_LONGEST: Final = 2
"""Letters in a row: 361 different ones are more than any panel has room for."""
_SAME_SPOT_PT: Final = 3.0
"""What lies nearer than this on the drawing may share a letter."""
_BLOCKS: Final = (False, True)
"""A block of the key for ids, and one for names."""
_ON_RAILS: Final = frozenset({"handrail", "closed"})
_ALONG: Final = frozenset({"handrail", "closed", "handrail in use"})
_ANCHORS_OF_A_RAIL: Final = 3
_SHARES: Final = (0.25, 0.75, -0.2, 1.2)
"""Of the way between the anchors at a quarter and at three quarters."""
_LEADER_PT: Final = 130.0


def place_with_key(
    drawing: "Drawing", labels: Sequence[Label]
) -> tuple[tuple[PlacedLabel, ...], tuple[Label, ...]]:
    """Place labels, the most important first, and letters for those that find no room.

    A trial without letters tells how long the key may get; room for it is taken before any
    label is placed. No letter covers a mark or another label; that of a handrail may stand on
    it. What lies on the same spot of the drawing as something with a letter may share it.

    Returns
    -------
    tuple
        Labels, letters and key as they are to be drawn, and what has no letter either.
    """
    trial = drawing.page.copy()
    placed, without = place_labels(trial, labels)
    wanted = [one for one in without if one.kind not in _NEVER]
    if not wanted:
        drawing.page = trial
        return placed, without
    return _Keyed(drawing, trial, wanted).placed(labels)


@dataclass(slots=True, eq=False)
class _Lettered:
    """A letter on the drawing, and what it stands for."""

    spot: PlacedLabel
    labels: list[Label]


class _Keyed:
    """A panel's labels while they are placed together with its key."""

    def __init__(self, drawing: "Drawing", trial: Page, wanted: Sequence[Label]) -> None:
        self.drawing = drawing
        expected = {names: [one for one in wanted if _is_name(one) == names] for names in _BLOCKS}
        most = sum(_lines(group) for group in expected.values())
        self.length = 1 if most <= len(_ALPHABET) else _LONGEST
        self.blocks: dict[bool, _Block] = {}
        for names, group in expected.items():
            block = _room_for(drawing, trial, group, self.length) if group else None
            if block is not None:
                trial.take_box(block.box, Ink.LABEL)
                drawing.page.take_box(block.box, Ink.LABEL)
                self.blocks[names] = block
        self.lines: dict[bool, list[Label]] = {names: [] for names in _BLOCKS}
        self.letters: list[_Lettered] = []

    def placed(self, labels: Sequence[Label]) -> tuple[tuple[PlacedLabel, ...], tuple[Label, ...]]:
        placed: list[PlacedLabel] = []
        left_out: list[Label] = []
        for label in labels:
            found, _ = place_labels(self.drawing.page, (label,))
            placed += found
            if not found and not self._has_letter(label):
                left_out.append(label)
        return (*placed, *self._written()), tuple(left_out)

    def _has_letter(self, label: Label) -> bool:
        """Give a label a letter, if there is room for both the letter and a line of the key."""
        names = _is_name(label)
        block = self.blocks.get(names)
        if label.kind in _NEVER or block is None or len(self.lines[names]) >= block.lines:
            return False
        if self.drawing.extent_pt(KEY, label.text)[0] > block.text_pt:
            return False
        letter = replace(
            label,
            kind=KEY_LETTER,
            anchors=_along(label) if label.kind in _ALONG else label.anchors,
            width_pt=_widest_letter_pt(self.drawing, self.length),
            height_pt=self.drawing.extent_pt(KEY_LETTER, _ALPHABET)[1],
            leader_pt=_LEADER_PT,
            over_line=label.kind in _ON_RAILS,
        )
        spots, _ = place_labels(self.drawing.page, (letter,))
        if spots and len(self.letters) < len(_ALPHABET) ** self.length:
            self.letters.append(_Lettered(spots[0], [label]))
        elif (same := self._on_the_spot(label)) is not None:
            same.labels.append(label)
        else:
            return False
        self.lines[names].append(label)
        return True

    def _on_the_spot(self, label: Label) -> _Lettered | None:
        """Return the letter of what lies where a label wants to be, if there is one."""
        mine = np.array(label.anchors)[:, None]
        alike = [one for one in self.letters if _is_name(one.labels[0]) == _is_name(label)]
        apart_pt = [
            float(np.hypot(*np.moveaxis(mine - np.array(one.labels[0].anchors), -1, 0)).min())
            for one in alike
        ]
        nearest = min(range(len(apart_pt)), key=apart_pt.__getitem__, default=None)
        if nearest is None or apart_pt[nearest] > _SAME_SPOT_PT:
            return None
        return alike[nearest]

    def _written(self) -> Iterator[PlacedLabel]:
        """Yield all letters, and the lines of the key in the order of their texts."""
        letter_of: dict[int, str] = {}
        in_order = sorted(
            self.letters,
            key=lambda one: (_is_name(one.labels[0]), one.labels[0].text, one.spot.box),
        )
        for number, one in enumerate(in_order):
            letter = _letter(number, self.length)
            yield _within(self.drawing, one.spot, letter)
            letter_of |= {id(label): letter for label in one.labels}
        for names, block in self.blocks.items():
            lines = sorted((one.text, letter_of[id(one)]) for one in self.lines[names])
            if lines:
                yield from _key(self.drawing, block, lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
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


def _along(label: Label) -> tuple[Spot, ...]:
    """Return more places along a straight handrail: the middle, a quarter from each end ..."""
    if len(label.anchors) != _ANCHORS_OF_A_RAIL:
        return label.anchors
    middle, first, last = (np.array(spot) for spot in label.anchors)
    if np.hypot(*(first + last - 2 * middle)) > 1.0:
        return label.anchors
    more = [first + share * (last - first) for share in _SHARES]
    return (*label.anchors, *((float(x), float(y)) for x, y in more))


def _is_name(label: Label) -> bool:
    return label.kind in _NAMES


def _lines(labels: Sequence[Label]) -> int:
    """Return how many lines a key is given for labels: letters need room too, so more than they."""
    return ceil(_MORE * len(labels)) + 1 if labels else 0


def _room_for(
    drawing: "Drawing", page: Page, labels: Sequence[Label], length: int
) -> _Block | None:
    """Return the flattest block that is free on a page, as long as it can be."""
    letter_pt = _widest_letter_pt(drawing, length)
    title_pt = drawing.extent_pt(KEY_TITLE, _TITLE)[0]
    text_pt = max(drawing.extent_pt(KEY, one.text)[0] for one in labels)
    step_pt = letter_pt + _BETWEEN_PT + text_pt + _COLUMN_GAP_PT
    rooms = page.rooms()
    lines = _lines(labels)
    while lines:
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
                return _Block(
                    box=(*spot, spot[0] + wide_pt, spot[1] + high_pt),
                    letter_pt=letter_pt,
                    text_pt=text_pt,
                    columns=columns,
                    lines=lines,
                )
        lines = int(lines * _FEWER)
    return None


def _key(
    drawing: "Drawing", block: _Block, lines: Sequence[tuple[str, str]]
) -> Iterator[PlacedLabel]:
    """Yield the title and the lines of a key: what it is, then its letter."""
    row_pt = _row_pt(drawing)
    left_pt, _, _, top_pt = block.box
    left_pt, top_pt = left_pt + _PADDING_PT, top_pt - _PADDING_PT
    yield _text(drawing, KEY_TITLE, _TITLE, (left_pt, top_pt - row_pt))
    rows = ceil(len(lines) / block.columns)
    for place, (text, letter) in enumerate(lines):
        column, row = divmod(place, rows)
        x, y = left_pt + column * block.step_pt, top_pt - (row + 2) * row_pt
        yield _text(drawing, KEY_LETTER, letter, (x, y))
        yield _text(drawing, KEY, text, (x + block.letter_pt + _BETWEEN_PT, y))


def _within(drawing: "Drawing", spot: PlacedLabel, letter: str) -> PlacedLabel:
    """Return a letter in the middle of the place that was found for it."""
    width_pt, height_pt, _ = drawing.extent_pt(KEY_LETTER, letter)
    left, bottom, right, top = spot.box
    x, y = (left + right - width_pt) / 2, (bottom + top - height_pt) / 2
    label = replace(spot.label, text=letter, width_pt=width_pt, height_pt=height_pt)
    return replace(spot, label=label, box=(x, y, x + width_pt, y + height_pt))


def _text(drawing: "Drawing", kind: str, text: str, corner_pt: tuple[float, float]) -> PlacedLabel:
    """Return a text of the key, all of a row on one baseline."""
    width_pt, height_pt, depth_pt = drawing.extent_pt(kind, text)
    x, y = corner_pt[0], corner_pt[1] + drawing.extent_pt(kind, "gp")[2] - depth_pt
    label = Label(kind=kind, text=text, width_pt=width_pt, height_pt=height_pt, anchors=())
    return PlacedLabel(label, (x, y, x + width_pt, y + height_pt))


def _letter(number: int, length: int) -> str:
    """Return a number as letters, all of one length.

    Examples
    --------
    >>> _letter(0, 1), _letter(20, 2)
    ('a', 'bb')
    """
    text = ""
    for _ in range(length):
        number, digit = divmod(number, len(_ALPHABET))
        text = _ALPHABET[digit] + text
    return text


def _widest_letter_pt(drawing: "Drawing", length: int) -> float:
    return max(drawing.extent_pt(KEY_LETTER, one * length)[0] for one in _ALPHABET)


def _row_pt(drawing: "Drawing") -> float:
    return _ROW * drawing.style.id_pt
