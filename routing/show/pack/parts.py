"""Pieces that several sections of the pack are made of: sections, tables, times."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from routing.outings.results import clock
from routing.show.pack.markup import Child, Html, joined, said, tag

__all__ = ["Section", "Table", "length", "moment", "names", "section", "table"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A section of the pack: its anchor, its title and what is in it."""

    anchor: str
    title: str
    body: Html


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table: caption, heads, rows of cells, and which columns hold numbers."""

    caption: str
    heads: Sequence[str]
    rows: Sequence[Sequence[Child]]
    numbers: frozenset[int] = frozenset()
    row_classes: Sequence[str] = ()
    empty: str = "None."


def section(one: Section, number: int) -> Html:
    """Return a section with its numbered heading."""
    heading = f"{one.anchor}-title"
    return tag(
        "section",
        tag("h2", f"{number}. {one.title}", id=heading),
        one.body,
        id=one.anchor,
        aria_labelledby=heading,
    )


def table(one: Table) -> Html:
    """Return a table that scrolls sideways on its own where the page is too narrow for it.

    The filter of the page hides rows.
    """
    if not one.rows:
        return tag("p", one.empty)
    heads = (
        tag("th", head, scope="col", class_="number" if i in one.numbers else None)
        for i, head in enumerate(one.heads)
    )
    classes = one.row_classes or [""] * len(one.rows)
    rows = (
        tag("tr", *_cells(row, one.numbers), class_=name or None, data_find=True)
        for row, name in zip(one.rows, classes, strict=True)
    )
    return tag(
        "div",
        tag(
            "table",
            tag("caption", one.caption),
            tag("thead", tag("tr", *heads)),
            tag("tbody", joined(rows, "\n")),
        ),
        class_="wide",
        tabindex="0",
        role="region",
        aria_label=one.caption,
    )


def _cells(row: Sequence[Child], numbers: frozenset[int]) -> Iterable[Html]:
    for i, cell in enumerate(row):
        name = "number" if i in numbers else None
        if i == 0:
            yield tag("th", cell, scope="row", class_=name)
        else:
            yield tag("td", cell, class_=name)


def moment(seconds: float | None) -> str:
    """Return a time of the outing in hours and minutes, or nothing."""
    return "" if seconds is None else clock(seconds)


def length(value_m: float | None) -> str:
    """Return a length to the millimetre, rounded down: never better than it is [m]."""
    from structures.units import millimetres_down

    return "" if value_m is None else f"{millimetres_down(value_m):.3f}"


def names(texts: Iterable[object]) -> Html:
    """Return texts from files, each isolated, with commas between."""
    return joined((said(text) for text in texts), ", ")
