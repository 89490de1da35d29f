"""Drawings inside a page: matplotlib's SVG made lean, without styles, scripts or ids of its own."""

import re
from html import escape
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from routing.show.pack.markup import Html
from routing.show.sheets.saving import svg_text

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["Looks", "inline_svg"]

_SVG: Final = "{http://www.w3.org/2000/svg}"
_HREF: Final = "{http://www.w3.org/1999/xlink}href"
_NUMBER: Final = re.compile(r"-?\d+\.\d+")
_KEPT: Final = frozenset(
    {
        "svg",
        "g",
        "defs",
        "path",
        "use",
        "text",
        "tspan",
        "clipPath",
        "rect",
        "title",
        "circle",
        "pattern",
    }
)
"""Elements that a drawing may have; anything else is a fault and stops the work."""
_ATTRIBUTES: Final = frozenset(
    {
        "d",
        "x",
        "y",
        "width",
        "height",
        "viewBox",
        "transform",
        "class",
        "id",
        "clip-path",
        "href",
        "fill",
        "patternUnits",
    }
)


class Looks:
    """Classes for the style attributes of all drawings of a page.

    The page's security policy allows no style attributes, so each one becomes a class, and
    equal ones share it.
    """

    def __init__(self) -> None:
        self._names: dict[str, str] = {}

    def name(self, style: str) -> str:
        """Return the class for a style."""
        style = re.sub(r"\s*([:;])\s*", r"\1", style.strip().rstrip(";"))
        return self._names.setdefault(style, f"k{len(self._names)}")

    def css(self) -> str:
        """Return the rules of all classes so far."""
        return "\n".join(f".drawing .{name}{{{style}}}" for style, name in self._names.items())


def inline_svg(figure: "Figure", key: str, looks: Looks, label: str, over: Html) -> Html:
    """Return a figure as an element of a page.

    Parameters
    ----------
    figure
        What is drawn.
    key
        Put before the ids of the drawing, so that they are unique in the page.
    looks
        Takes its styles.
    label
        What the drawing is, for people who do not see it.
    over
        SVG to be laid over it.
    """
    # Our own figure, just written by matplotlib: nothing to be attacked by while parsing.
    root = ET.fromstring(svg_text(figure))  # noqa: S314 (our own, just written)
    wanted = {name for element in root.iter() for name in _references(element)} - {""}
    _clean(root, key, wanted, looks)
    for attribute in ("width", "height"):
        root.attrib.pop(attribute, None)
    text = ET.tostring(root, encoding="unicode")
    opened, rest = text.split(">", 1)
    body = rest.removesuffix("</svg>")
    return Html(
        f'{opened} class="drawing" role="img" aria-label="{escape(label)}">{body}{over}</svg>'
    )


_TARGET: Final = re.compile(r"url\(#([^)]+)\)")


def _references(element: ET.Element) -> list[str]:
    """Return the ids that an element names."""
    named = [element.get("clip-path", ""), element.get("style", "")]
    found = [one for text in named for one in _TARGET.findall(text)]
    return [*found, element.get(_HREF, "")[1:]]


def _clean(element: ET.Element, key: str, wanted: set[str], looks: Looks) -> None:
    """Strip an element and all in it of what a page does not need."""
    element.tag = element.tag.removeprefix(_SVG)
    if element.tag not in _KEPT:
        raise ValueError(f"a drawing has an element {element.tag!r} that pages do not take")
    _clean_attributes(element, key, wanted, looks)
    for child in list(element):
        if child.tag.removeprefix(_SVG) in {"metadata", "style"}:
            element.remove(child)
            continue
        _clean(child, key, wanted, looks)
        child.tail = None
        if child.tag == "defs" and not len(child):
            element.remove(child)
    if element.tag not in {"text", "tspan", "title"}:
        element.text = None
    _flatten(element)


def _clean_attributes(element: ET.Element, key: str, wanted: set[str], looks: Looks) -> None:
    """Make ids unique in the page, styles classes, and coordinates short."""
    found = dict(element.attrib)
    element.attrib.clear()
    href = found.pop(_HREF, "")
    if href:
        found["href"] = f"#{key}-{href[1:]}"
    name = found.pop("id", "")
    if name in wanted:
        found["id"] = f"{key}-{name}"
    for attribute in ("clip-path", "style"):
        if attribute in found:
            found[attribute] = _TARGET.sub(rf"url(#{key}-\1)", found[attribute])
    if "style" in found:
        found["class"] = looks.name(found.pop("style"))
    for attribute in sorted(_ATTRIBUTES & found.keys()):
        exact = attribute in {"id", "href", "class", "clip-path"}
        element.set(attribute, found[attribute] if exact else _shorter(found[attribute]))


def _flatten(element: ET.Element) -> None:
    """Take out groups that say nothing of what is in them."""
    children: list[ET.Element] = []
    for child in list(element):
        children += list(child) if child.tag == "g" and not child.attrib else [child]
        element.remove(child)
    element.extend(children)


def _shorter(value: str) -> str:
    """Return coordinates to a tenth of a point: finer than a line is wide."""
    short = _NUMBER.sub(lambda match: f"{float(match[0]):.1f}".removesuffix(".0"), value)
    return " ".join(short.split())
