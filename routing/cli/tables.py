"""Tables as text, no wider than they need to be and readable on a narrow terminal."""

import io
import shutil
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from routing.paths.answers.step_text import one_line

__all__ = ["Column", "print_table", "table_lines"]

_PIPED_WIDTH: Final = 220
"""So wide a table may get where no terminal sets the width: most rows then stay on one line."""
_LONGEST_WORD: Final = 16
"""Longer words may be broken to keep a table inside a terminal."""
_GAP: Final = 2
"""Spaces between columns."""


@dataclass(frozen=True, slots=True)
class Column:
    """The head of a column; numbers stand to the right.

    ``keep`` is the width to keep for as long as other columns can give way.
    """

    head: str
    number: bool = False
    keep: int = 0


def print_table(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> None:
    """Print rows under column heads, as wide as the terminal allows."""
    on_screen = sys.stdout.isatty()
    width = shutil.get_terminal_size().columns if on_screen else _PIPED_WIDTH
    sys.stdout.writelines(f"{line}\n" for line in table_lines(columns, rows, width))


def table_lines(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """Return a table as lines of at most this width, without spaces at their ends.

    Cells are text, whatever is in them: nothing in them is markup, and nothing
    steers the terminal. Below the width that the longest words need the table
    gets wider than asked for, so that no number is ever broken.

    Examples
    --------
    >>> for line in table_lines([Column("rail"), Column("m", number=True)], [["H1", "0.50"]], 80):
    ...     print(line)
    rail     m
    ----------
    H1    0.50
    """
    from rich.box import Box
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    rule = Box("    \n    \n -- \n    \n    \n    \n    \n    \n", ascii=True)
    table = Table(box=rule, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    cells = [[one_line(cell) for cell in row] for row in rows]
    widths = _widths(columns, cells, width)
    for column, wide in zip(columns, widths, strict=True):
        side: Literal["right", "left"] = "right" if column.number else "left"
        table.add_column(Text(column.head), justify=side, overflow="fold", width=wide)
    for row in cells:
        table.add_row(*map(Text, row))
    console = Console(
        file=io.StringIO(),
        width=sum(widths) + _GAP * len(widths),
        color_system=None,
        markup=False,
        highlight=False,
        emoji=False,
        legacy_windows=False,
    )
    with console.capture() as captured:
        console.print(table)
    return [line.rstrip() for line in captured.get().rstrip("\n").split("\n")]


def _widths(columns: Sequence[Column], cells: Sequence[Sequence[str]], width: int) -> list[int]:
    """Return the width of each column: as wide as its texts while all of them fit."""
    from rich.cells import cell_len

    texts = [[column.head, *(row[i] for row in cells)] for i, column in enumerate(columns)]
    natural = [max(map(cell_len, column)) for column in texts]
    words = [
        max((cell_len(word) for text in column for word in text.split()), default=1)
        for column in texts
    ]
    least = [
        longest if column.number else min(longest, _LONGEST_WORD)
        for column, longest in zip(columns, words, strict=True)
    ]
    room = width - _GAP * (len(columns) - 1)
    kept = [
        max(low, min(high, column.keep))
        for column, low, high in zip(columns, least, natural, strict=True)
    ]
    return _shrunk(natural, kept if sum(kept) <= room else least, room)


def _shrunk(widths: Sequence[int], least: Sequence[int], room: int) -> list[int]:
    """Take width from the column that has most to spare, the last of equals, until all fit."""
    found = list(widths)
    while sum(found) > room:
        spare, i = max((found[i] - least[i], i) for i in range(len(found)))
        if spare <= 0:
            break
        found[i] -= 1
    return found
