"""Pieces that several sections of the pack are made of: sections, tables, times."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from routing.outings.told.times_said import clock
from routing.show.pack.markup import Child, Html, joined, said, tag

__all__ = [
    "Section",
    "Table",
    "length",
    "margin",
    "moment",
    "names",
    "no_margin",
    "section",
    "table",
]

_COLUMNS_ON_A_PHONE: Final = 5
"""So many fit side by side on a narrow screen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section of the pack: its anchor, its title and what is in it."""

    anchor: str
    title: str
    body: Html
    detail: bool = False
    """Whether it is left out on paper unless all is printed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table: caption, heads, rows of cells, and which columns hold numbers.

    ``wordy`` says that a cell may hold whole sentences.
    """

    caption: str
    heads: Sequence[str]
    rows: Sequence[Sequence[Child]]
    numbers: frozenset[int] = frozenset()
    row_classes: Sequence[str] = ()
    empty: str = "None."
    wordy: bool = False


def section(one: Section, number: int) -> Html:
    """Return a section with its numbered heading."""
    heading = f"{one.anchor}-title"
    return tag(
        "section",
        tag("h2", f"{number}. {one.title}", id=heading),
        one.body,
        id=one.anchor,
        class_="detail" if one.detail else None,
        aria_labelledby=heading,
    )


def table(one: Table) -> Html:
    """Return a table; on a narrow screen each row of one with many columns is a card.

    There every cell is shown with its head before it; roles say that it is a table all the
    same. The filter of the page hides rows.
    """
    if not one.rows:
        return tag("p", one.empty)
    many = one.wordy or len(one.heads) > _COLUMNS_ON_A_PHONE
    heads = (
        tag(
            "th", head, scope="col", role="columnheader" if many else None,
            class_="number" if i in one.numbers else None,
        )
        for i, head in enumerate(one.heads)
    )  # fmt: skip
    classes = one.row_classes or [""] * len(one.rows)
    rows = (
        tag(
            "tr", *_cells(one, row, many=many), class_=name or None, data_find=True,
            role="row" if many else None,
        )
        for row, name in zip(one.rows, classes, strict=True)
    )  # fmt: skip
    group = "rowgroup" if many else None
    return tag(
        "div",
        tag(
            "table",
            tag("caption", one.caption),
            tag("thead", tag("tr", *heads, role="row" if many else None), role=group),
            tag("tbody", joined(rows, "\n"), role=group),
            class_="cards" if many else None,
            role="table" if many else None,
        ),
        class_="wide",
        tabindex="0",
        role="region",
        aria_label=one.caption,
    )


def _cells(one: Table, row: Sequence[Child], *, many: bool) -> Iterable[Html]:
    for i, (cell, head) in enumerate(zip(row, one.heads, strict=True)):
        name = "number" if i in one.numbers else None
        if i == 0:
            yield tag("th", cell, scope="row", class_=name, role="rowheader" if many else None)
        elif many:
            yield tag("td", cell, class_=name, role="cell", data_head=head)
        else:
            yield tag("td", cell, class_=name)


def moment(seconds: float | None) -> str:
    """Return a time of the outing in hours and minutes, or nothing."""
    return "" if seconds is None else clock(seconds)


def length(value_m: float | None) -> str:
    """Return a length to the millimetre, rounded down: never better than it is [m]."""
    from structures.units import millimetres_down

    return "" if value_m is None else f"{millimetres_down(value_m):.3f}"


def margin(left_m: float | None) -> Html:
    """Return what a limit leaves over, rounded down [m]; none left, or less, never looks well."""
    text = length(left_m)
    if left_m is None or float(text) > 0:
        return joined([text])
    where = "at the limit" if float(text) == 0 else "BEYOND the limit"
    return joined([f"{text} ", tag("strong", where, class_="edge")])


def no_margin(left_m: float | None) -> bool:
    """Tell whether a margin is none as it is shown."""
    return left_m is not None and float(length(left_m)) <= 0


def names(texts: Iterable[object]) -> Html:
    """Return texts from files, each isolated, with commas between."""
    return joined((said(text) for text in texts), ", ")
