"""Hostile names are shown as text, and measured boxes hold what is really drawn."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties

from routing.show.sheets.lettering import ELLIPSIS, drawable, text_extent_pt, wrapped
from routing.show.sheets.style import FONT

HOSTILE = {
    "markup": "<b>&amp;\"'</b>",
    "mathematics": r"$\frac{1}{0}$ and $x$",
    "one dollar": "$",
    "line breaks": "one\ntwo\r\nthree\u2028four\x0bfive",
    "turned round": "abc \u202edcba\u202c \u2066x\u2069",
    "right to left": "\u05e9\u05dc\u05d5\u05dd \u0633\u0644\u0627\u0645",
    "control": "bell\x07 null\x00 escape\x1b[31m",
    "surrogate": "\ud800 alone",
    "not a character": "\uffff\ufdd0",
    "marks": "Z\u0351\u036b\u0343\u036a\u0302algo" + "\u0351" * 30,
    "other script": "\u4e2d\u6587 \U0001f680",
    "formula": '=HYPERLINK("x")',
    "percent": "100 % \\n \\textbf{x}",
}


@pytest.mark.parametrize("name", sorted(HOSTILE))
def test_hostile_names_become_one_plain_line(name: str) -> None:
    shown = drawable(HOSTILE[name], 200)
    assert "\n" not in shown
    assert not [c for c in shown if unicodedata.category(c) in {"Cc", "Cf", "Cs", "Cn", "Zl"}]
    shown.encode("utf-8")


def test_what_can_be_drawn_is_left_as_it_is() -> None:
    for text in (HOSTILE["markup"], HOSTILE["mathematics"], HOSTILE["percent"], "Größe 5 µm"):
        assert drawable(text, 200) == text


def test_what_cannot_be_drawn_is_said() -> None:
    assert drawable("a\u202eb", 20) == "a\\u202eb"
    assert drawable("null\x00", 20) == "null\\x00"
    assert drawable("\u4e2d!", 20) == r"\u4e2d!", "two ids never look alike"


@given(st.text(max_size=300), st.integers(2, 60))
def test_never_longer_than_asked(text: str, longest: int) -> None:
    shown = drawable(text, longest)
    assert len(shown) <= longest
    assert shown == drawable(shown, longest) or ELLIPSIS in shown or "\\" in shown


def test_long_names_are_cut_in_the_middle_and_keep_their_ends() -> None:
    assert drawable("x" * 1_000_000, 12) == "x" * 7 + ELLIPSIS + "x" * 4
    long = "handrail-on-the-far-side-of-the-very-long-truss-00"
    shown = [drawable(f"{long}{number} cuts off 3", 40) for number in (17, 18)]
    assert [one[-13:] for one in shown] == ["17 cuts off 3", "18 cuts off 3"]
    assert drawable(" " * 1_000 + "y", 12) == f"{ELLIPSIS} y", "what is left out is marked"
    assert drawable("x" * 12, 12) == "x" * 12


@pytest.mark.parametrize("weight", ["normal", "bold"])
@pytest.mark.parametrize(
    "text", ["H0001-2", "Åjgq|(", "T1 TP07 reel 2", "WWWWWWWW", "1", *sorted(HOSTILE.values())]
)
def test_measured_boxes_hold_what_is_drawn(text: str, weight: str) -> None:
    shown = drawable(text, 48)
    figure = Figure(figsize=(8, 1), dpi=288)
    canvas = FigureCanvasAgg(figure)
    font = FontProperties(family=FONT, size=5.5, weight=weight)
    drawn = figure.text(0.1, 0.5, shown, fontproperties=font, parse_math=False)
    extent = drawn.get_window_extent(canvas.get_renderer())
    width, _, _ = text_extent_pt(shown, 5.5, weight)
    assert extent.width * 72 / 288 <= width + 1e-6


def test_wrapping_keeps_all_words_within_the_width() -> None:
    text = "planning aid, not certified for flight " * 6
    lines = wrapped(text, 7.0, 150.0, "bold")
    assert " ".join(lines).split() == text.split()
    assert all(text_extent_pt(line, 7.0, "bold")[0] <= 150.0 for line in lines)
    assert wrapped("", 7.0, 150.0) == ()
    assert wrapped("held\u00a0together but\nnot here ", 7.0, 1.0) == (
        "held\u00a0together", "but", "not", "here",
    )  # fmt: skip
