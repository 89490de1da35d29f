"""The label placer: whatever the page, nothing overlaps, nothing is covered, nothing is lost."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.show.sheets.labels import Label, place_labels
from routing.show.sheets.page import Ink, Page
from tests.draws import draws

spot = st.tuples(st.floats(0, 200), st.floats(0, 120))


def label(text: str, *anchors: tuple[float, float], width: float = 20.0, **more: object) -> Label:
    return Label(kind="handrail", text=text, width_pt=width, height_pt=6.0, anchors=anchors, **more)


@settings(max_examples=draws(60))
@given(
    st.lists(st.tuples(spot, st.floats(4, 40)), min_size=1, max_size=60),
    st.lists(spot, max_size=20),
    st.lists(st.tuples(spot, spot), max_size=10),
)
def test_nothing_overlaps_and_nothing_is_lost(
    wanted: list[tuple[tuple[float, float], float]],
    marks: list[tuple[float, float]],
    lines: list[tuple[tuple[float, float], tuple[float, float]]],
) -> None:
    page = Page(200.0, 120.0)
    boxes = [(x - 2, y - 2, x + 2, y + 2) for x, y in marks]
    for box in boxes:
        page.take_box(box, Ink.MARK)
    for a, b in lines:
        page.take_lines(np.array([a]), np.array([b]), 1.6, Ink.LINE)
    labels = [label(str(i), at, width=width) for i, (at, width) in enumerate(wanted)]
    placed, left_out = place_labels(page, labels)
    kept = [int(one.label.text) for one in placed] + [int(one.text) for one in left_out]
    assert sorted(kept) == list(range(len(labels)))
    drawn = [shapely.box(*one.box) for one in placed]
    marked = shapely.union_all([shapely.box(*box) for box in boxes])
    ruled = shapely.union_all([shapely.LineString(line).buffer(0.8) for line in lines])
    for i, box in enumerate(drawn):
        assert shapely.box(0, 0, 200, 120).contains(box)
        assert box.intersection(marked).area == 0, "a label covers a mark"
        assert box.intersection(ruled).area == pytest.approx(0, abs=1e-9), "covers a line"
        for other in drawn[:i]:
            assert box.intersection(other).area == 0, "two labels overlap"
    for one in placed:
        if one.leader is not None:
            leader = shapely.LineString(one.leader)
            assert not leader.crosses(marked), "a leader runs through a mark"
            for other, box in zip(placed, drawn, strict=True):
                if other is not one:
                    assert leader.intersection(box).length == pytest.approx(0, abs=1e-9)


def test_the_same_labels_land_at_the_same_places() -> None:
    wanted = [label(str(i), (100 + i % 5, 60 + i % 3)) for i in range(40)]
    first = place_labels(Page(200, 120), wanted)
    second = place_labels(Page(200, 120), wanted)
    assert first == second


def test_room_beside_comes_before_a_leader_and_a_leader_before_leaving_out() -> None:
    page = Page(200, 120)
    placed, left_out = place_labels(page, [label("a", (100, 60))])
    assert placed[0].leader is None
    assert placed[0].box == (102.0, 57.0, 122.0, 63.0)
    page = Page(200, 120)
    # All of the neighbourhood is drawn on, with the anchor itself left free.
    for box in ((70, 48, 98, 72), (102, 48, 130, 72), (70, 64, 130, 72), (70, 48, 130, 56)):
        page.take_box(box, Ink.LINE)
    placed, left_out = place_labels(page, [label("a", (100, 60))])
    assert placed[0].leader is not None
    page.take_box((0, 0, 200, 120), Ink.LINE)
    placed, left_out = place_labels(page, [label("b", (100, 60))])
    assert (placed, [one.text for one in left_out]) == ((), ["b"])


def test_outlines_are_avoided_only_while_there_is_a_choice() -> None:
    page = Page(200, 120)
    page.take_box((101, 50, 125, 70), Ink.EDGE)
    (one,), _ = place_labels(page, [label("a", (100, 60))])
    assert one.box[2] <= 100, "it stands on the left, off the outline"
    page.take_box((0, 0, 200, 120), Ink.EDGE)
    (one,), _ = place_labels(page, [label("b", (50, 60))])
    assert one.leader is None


def test_the_more_important_label_keeps_its_place() -> None:
    first, second = label("first", (100, 60)), label("second", (100, 60))
    placed, _ = place_labels(Page(200, 120), [first, second])
    alone, _ = place_labels(Page(200, 120), [first])
    assert placed[0] == alone[0]


def test_a_label_that_is_wider_than_the_page_is_left_out() -> None:
    placed, left_out = place_labels(Page(30, 30), [label("wide", (15, 15), width=31.0)])
    assert not placed
    assert len(left_out) == 1


def test_a_box_at_the_very_edge_of_the_page_is_free() -> None:
    page = Page(40, 20)
    assert page.is_free((0, 0, 40, 20), Ink.ANY)
    assert not page.is_free((0, 0, 40.1, 20), Ink.ANY)
    page.take_box((-50, -50, 0.2, 0.2), Ink.MARK)  # a corner of it reaches in
    assert not page.is_free((0, 0, 5, 5), Ink.ANY)
    assert page.is_free((1, 1, 5, 5), Ink.ANY)
