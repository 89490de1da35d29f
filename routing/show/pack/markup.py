"""Building HTML: every text is escaped here, once, and nowhere else.

Texts come from files and may hold markup, quotes, direction marks or a
thousand letters. They are shown as text, on one line, each isolated from the
direction of what stands around it.
"""

from collections.abc import Iterable
from html import escape
from typing import Final, TypeAlias

from routing.paths.answers.step_text import one_line

__all__ = ["Child", "Html", "joined", "said", "tag"]

_VOID: Final = frozenset({"input", "meta", "br"})


class Html(str):
    """Text that is HTML already."""

    __slots__ = ()


Child: TypeAlias = "str | Html | None"
"""A plain text is escaped; None is left out."""


def said(text: object) -> Html:
    """Return a text from a file as HTML: escaped, on one line, its direction isolated.

    Examples
    --------
    >>> said('<b>"7"</b>')
    '<bdi>&lt;b&gt;&quot;7&quot;&lt;/b&gt;</bdi>'
    """
    return Html(f"<bdi>{escape(one_line(str(text)))}</bdi>")


def joined(children: Iterable[Child], between: str = "") -> Html:
    """Return children one after the other, plain texts escaped."""
    return Html(between.join(_html(child) for child in children if child is not None))


def tag(name: str, /, *children: Child, **attributes: object) -> Html:
    """Return an element.

    Parameters
    ----------
    name
        Of the element.
    children
        What is in it.
    attributes
        ``data_way="w1"`` becomes ``data-way="w1"``, a trailing underscore is dropped. False and
        None leave an attribute out, True gives it no value.

    Examples
    --------
    >>> tag("a", "1 < 2", href="#x", class_="near")
    '<a href="#x" class="near">1 &lt; 2</a>'
    """
    parts = [name]
    for key, value in attributes.items():
        if value is None or value is False:
            continue
        attribute = key.rstrip("_").replace("_", "-")
        parts.append(attribute if value is True else f'{attribute}="{escape(str(value))}"')
    opened = f"<{' '.join(parts)}>"
    return Html(opened if name in _VOID else f"{opened}{joined(children)}</{name}>")


def _html(child: Child) -> str:
    if isinstance(child, Html) or not child:
        return child or ""
    before, after = (" " * edge.isspace() for edge in (child[0], child[-1]))
    return f"{before}{escape(one_line(child))}{after}" if child.strip() else " "
