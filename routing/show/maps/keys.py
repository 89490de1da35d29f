"""The key of a panel: letters on the drawing for what has no room for its name there.

Where an id or a name finds no place beside what it names, a letter or two stand there
instead, and a list in the free part of the panel says what each one stands for. Small
letters: ids and grips are written in capitals and digits. For what has no room for
letters either, the list says in which square of the panel it is.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import TYPE_CHECKING, Final

import numpy as np

from routing.show.maps.key_blocks import (
    ALPHABET,
    KEY,
    KEY_LETTER,
    Block,
    block_labels,
    letter_pt,
    room_for,
)
from routing.show.maps.squares import Squares, names_at_the_edges, squares_over
from routing.show.sheets.labels import Label, PlacedLabel, place_labels
from routing.show.sheets.page import Ink, Page, Spot

if TYPE_CHECKING:
    from routing.show.maps.drawing import Drawing

__all__ = ["Placed", "place_with_key"]


_NAMES: Final = frozenset({"module", "zone"})
"""Kinds whose texts are long; they have a block of their own."""
_NEVER: Final = frozenset({"grip number"})
"""What stands in a row does not need a letter: its neighbours say what it is."""
_MORE: Final = 1.25
_MOST_BLOCKS: Final = 4
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """What became of the labels of a panel.

    Parameters
    ----------
    labels
        Labels, letters and key as they are to be drawn.
    left_out
        What is not in the key either.
    squares
        The squares that the key names, if it does.
    """

    labels: tuple[PlacedLabel, ...]
    left_out: tuple[Label, ...]
    squares: Squares | None = None


def place_with_key(drawing: "Drawing", labels: Sequence[Label]) -> Placed:
    """Place labels, the most important first, and letters for those that find no room.

    A trial without letters tells which these are, and how long the key may get; room for it is
    taken before any label is placed. No letter covers a mark or another label; that of a handrail
    may stand on it. What lies on the same spot of the drawing as something with a letter may
    share it. What finds no room for a letter is in the key with its square.
    """
    trial = drawing.page.copy()
    placed, without = place_labels(trial, labels)
    wanted = [one for one in without if one.kind not in _NEVER]
    if not wanted:
        drawing.page = trial
        return Placed(labels=placed, left_out=without)
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
        self.wanted = {id(one) for one in wanted}
        self.squares = squares_over(drawing.panel)
        self.edges = names_at_the_edges(drawing, self.squares)
        for _, box in self.edges:
            trial.take_box(box, Ink.LABEL)
            drawing.page.take_box(box, Ink.LABEL)
        expected = {names: [one for one in wanted if _is_name(one) == names] for names in _BLOCKS}
        most = sum(_lines(group) for group in expected.values())
        self.length = 1 if most <= len(ALPHABET) else _LONGEST
        self.blocks: dict[bool, list[Block]] = {names: [] for names in _BLOCKS}
        for names, group in expected.items():
            lines = _lines(group)
            while lines > 0 and len(self.blocks[names]) < _MOST_BLOCKS:
                block = room_for(drawing, trial, (group, lines), self.length)
                if block is None:
                    break
                trial.take_box(block.box, Ink.LABEL)
                drawing.page.take_box(block.box, Ink.LABEL)
                self.blocks[names].append(block)
                lines -= block.lines
        self.lines: dict[bool, list[Label]] = {names: [] for names in _BLOCKS}
        self.letters: list[_Lettered] = []
        self.square_of: dict[int, str] = {}

    def placed(self, labels: Sequence[Label]) -> Placed:
        placed: list[PlacedLabel] = []
        left_out: list[Label] = []
        for label in labels:
            # What found no room in the trial finds none beside the key.
            if id(label) not in self.wanted:
                found, _ = place_labels(self.drawing.page, (label,))
                placed += found
                if found:
                    continue
            if not self._is_in_key(label):
                left_out.append(label)
        placed += self._written()
        if not self.square_of:
            return Placed(labels=tuple(placed), left_out=tuple(left_out))
        placed += (PlacedLabel(*edge) for edge in self.edges)
        return Placed(labels=tuple(placed), left_out=tuple(left_out), squares=self.squares)

    def _is_in_key(self, label: Label) -> bool:
        """Give a label a line of the key, with a letter if there is room for it, or a square."""
        names = _is_name(label)
        blocks = self.blocks[names]
        if label.kind in _NEVER or len(self.lines[names]) >= sum(one.lines for one in blocks):
            return False
        if self.drawing.extent_pt(KEY, label.text)[0] > blocks[0].text_pt:
            return False
        letter = replace(
            label,
            kind=KEY_LETTER,
            anchors=_along(label) if label.kind in _ALONG else label.anchors,
            width_pt=letter_pt(self.drawing, self.length),
            height_pt=self.drawing.extent_pt(KEY_LETTER, ALPHABET)[1],
            leader_pt=_LEADER_PT,
            over_line=label.kind in _ON_RAILS,
        )
        left = len(self.letters) < len(ALPHABET) ** self.length
        spots = place_labels(self.drawing.page, (letter,))[0] if left else ()
        if spots:
            self.letters.append(_Lettered(spots[0], [label]))
        elif (same := self._on_the_spot(label)) is not None:
            same.labels.append(label)
        else:
            self.square_of[id(label)] = self.squares.name_at(label.anchors[0])
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
        for names, blocks in self.blocks.items():
            lines = sorted(
                (one.text, letter_of.get(id(one)) or self.square_of[id(one)])
                for one in self.lines[names]
            )
            for block in sorted(blocks, key=lambda one: (-one.box[3], one.box[0])):
                if lines:
                    yield from block_labels(self.drawing, block, lines[: block.lines])
                lines = lines[block.lines :]


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


def _within(drawing: "Drawing", spot: PlacedLabel, letter: str) -> PlacedLabel:
    """Return a letter in the middle of the place that was found for it."""
    width_pt, height_pt, _ = drawing.extent_pt(KEY_LETTER, letter)
    left, bottom, right, top = spot.box
    x, y = (left + right - width_pt) / 2, (bottom + top - height_pt) / 2
    label = replace(spot.label, text=letter, width_pt=width_pt, height_pt=height_pt)
    return replace(spot, label=label, box=(x, y, x + width_pt, y + height_pt))


def _letter(number: int, length: int) -> str:
    """Return a number as letters, all of one length.

    Examples
    --------
    >>> _letter(0, 1), _letter(20, 2)
    ('a', 'bb')
    """
    text = ""
    for _ in range(length):
        number, digit = divmod(number, len(ALPHABET))
        text = ALPHABET[digit] + text
    return text
