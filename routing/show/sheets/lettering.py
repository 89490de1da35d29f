"""Text on drawings: made safe to draw, measured, cut and wrapped.

Names come from documents and may hold anything. A drawing shows them as text:
no markup, no mathematics, no line breaks, no characters that turn the order of
others round, and none that the font cannot draw.
"""

import re
import unicodedata
from functools import cache
from typing import Final

from routing.show.sheets.style import FONT

__all__ = ["ELLIPSIS", "drawable", "text_extent_pt", "wrapped"]

ELLIPSIS: Final = "\u2026"
_WEIGHTS: Final = ("normal", "bold")
"""Drawings use no slanted face: it has far fewer scripts than these two."""

_WORDS: Final = re.compile("[\\S\u00a0]+")
"""Lines are broken between these."""

_PADDING_PT: Final = 0.6
"""Round every measured text: rasterising moves edges by up to half a pixel."""


@cache
def _in_font(character: str) -> bool:
    from matplotlib.font_manager import FontProperties, findfont, get_font

    faces = [findfont(FontProperties(family=FONT, weight=weight)) for weight in _WEIGHTS]
    return all(get_font(face).get_char_index(ord(character)) for face in faces)


def drawable(text: str, longest: int) -> str:
    r"""Return a text as it can be drawn on one line.

    Parameters
    ----------
    text
        Any text.
    longest
        Most characters to return; at least 2.

    Returns
    -------
    str
        White space is one blank. What is too long is cut in its middle: ids differ at their
        ends, and what is said of them stands there. Control, formatting and other characters
        without a shape of their own, and what the font lacks, are written as their escape: two
        ids that differ look different.

    Examples
    --------
    >>> drawable("two\nlines, \u202eturned", 40)
    'two lines, \\u202eturned'
    >>> drawable("handrail-0017 closed", 16)
    'handrail-…closed'
    """
    if len(text) > 8 * longest:
        text = f"{text[: 4 * longest]}{ELLIPSIS}{text[-4 * longest :]}"
    shown = "".join(_shown(character) for character in " ".join(text.split()))
    if len(shown) <= longest:
        return shown
    tail = (longest - 1) * 9 // 20
    return f"{shown[: longest - 1 - tail].rstrip()}{ELLIPSIS}{shown[len(shown) - tail :].lstrip()}"


def _shown(character: str) -> str:
    if " " <= character <= "~":
        return character
    # Control, format, surrogate, private and unassigned characters, and line separators.
    shapeless = unicodedata.category(character) in {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
    if shapeless or not _in_font(character):
        return character.encode("unicode_escape").decode("ascii")
    return character


@cache
def text_extent_pt(text: str, size_pt: float, weight: str = "normal") -> tuple[float, float, float]:
    """Return width, height and depth below the baseline of a line of text, with padding [pt]."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family=FONT, size=size_pt, weight=weight)
    width, height, depth = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return (width + 2 * _PADDING_PT, height + 2 * _PADDING_PT, depth + _PADDING_PT)


def wrapped(text: str, size_pt: float, width_pt: float, weight: str = "normal") -> tuple[str, ...]:
    """Return a text broken into lines no wider than a width.

    A single long word may be wider; what no-break spaces hold together is one word.
    """
    lines: list[str] = []
    for word in _WORDS.findall(text):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_extent_pt(longer, size_pt, weight)[0] <= width_pt:
            lines[-1] = longer
        else:
            lines.append(word)
    return tuple(lines)
