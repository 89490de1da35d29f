"""The key of a panel: letters for what has no room, each explained, none on another thing."""

from collections import Counter

import numpy as np
import pytest

from routing.show.maps.drawing import PanelResult
from routing.show.maps.maps import compose_map
from routing.show.maps.squares import squares_over
from routing.show.sheets.inputs import Region
from routing.show.sheets.page import Ink, Page
from routing.show.sheets.sheet import Panel
from routing.show.sheets.style import SHEETS_IN, MapStyle
from structures.elements import Handrail
from structures.model import Structure
from tests.routing.show.show_ground import covered, overlaps

SMALL = MapStyle(sheet_in=SHEETS_IN["A4"])


def ladder(rungs: int, *, apart_m: float = 0.12, decks: int = 1) -> Structure:
    """Make short handrails side by side, so close that few ids find room between them."""
    return Structure(
        name="Ladder",
        revision="A",
        handrails=tuple(
            Handrail(
                id=f"LADDER-{deck}-{number:03d}",
                points_m=tuple((apart_m * number, y, -0.01 * deck) for y in (0.0, 1.0)),
                normal=(0, 0, -1),
            )
            for deck in range(decks)
            for number in range(rungs)
        ),
    )  # fmt: skip


def key_of(panel: PanelResult) -> dict[str, list[str]]:
    """Return what each letter or square of a key stands for, read off by where the texts are."""
    letters = {
        (one.box[1], one.box[0]): one.label.text
        for one in panel.placed
        if one.label.kind in {"key letter", "key square"} and not one.label.anchors
    }
    found: dict[str, list[str]] = {}
    for one in panel.placed:
        if one.label.kind == "key":
            row = {x: text for (y, x), text in letters.items() if abs(y - one.box[1]) < 4}
            left = max(x for x in row if x < one.box[0])
            found.setdefault(row[left], []).append(one.label.text)
    return found


def on_the_drawing(panel: PanelResult) -> list[str]:
    return [
        one.label.text
        for one in panel.placed
        if one.label.kind == "key letter" and one.label.anchors
    ]


@pytest.mark.parametrize("rungs", [30, 90])
def test_every_rung_has_its_id_or_a_letter_that_the_key_explains(rungs: int) -> None:
    structure = ladder(rungs)
    (panel,) = compose_map(structure, views=("plan",), style=SMALL).panels
    key = key_of(panel)
    assert len(key) > 5
    assert sorted(key) == sorted(on_the_drawing(panel))
    named = [one.label.text for one in panel.placed if one.label.kind == "handrail"]
    lettered = [text for texts in key.values() for text in texts]
    lost = [one.text for one in panel.left_out]
    assert sorted([*named, *lettered, *lost]) == sorted(one.id for one in structure.handrails)
    assert lost == []
    assert overlaps(panel) == []
    assert covered(panel) == []
    assert panel.notes == ()


def test_a_letter_stands_on_its_own_handrail_or_has_a_leader_to_it() -> None:
    structure = ladder(90)
    (panel,) = compose_map(structure, views=("plan",), style=SMALL).panels
    at_m = {rail.id: rail.points_m[0][0] for rail in structure.handrails}
    key = key_of(panel)
    for one in panel.placed:
        if one.label.kind != "key letter" or not one.label.anchors:
            continue
        x_pt = one.leader[0][0] if one.leader else (one.box[0] + one.box[2]) / 2
        own_pt = [
            float(panel.panel.to_page_pt(np.array([[at_m[text], 0.0]]))[0][0])
            for text in key[one.label.text]
        ]
        assert min(abs(x_pt - own) for own in own_pt) < 9.0


def test_what_lies_on_the_same_spot_shares_a_letter() -> None:
    (panel,) = compose_map(ladder(100, apart_m=0.05, decks=4), views=("plan",), style=SMALL).panels
    shared = [texts for name, texts in key_of(panel).items() if name.islower() and texts[1:]]
    assert shared
    for texts in shared:
        assert len({text[-3:] for text in texts}) == 1, "the rungs of one place"
    assert overlaps(panel) == []


def named_at(panel: PanelResult, axis: int) -> dict[str, float]:
    """Return where the names of columns (0) or rows (1) stand along the edges [pt]."""
    return {
        one.label.text: (one.box[axis] + one.box[axis + 2]) / 2
        for one in panel.placed
        if one.label.kind == "square name" and one.label.text.isdigit() == (axis == 0)
    }


def test_what_has_no_room_for_a_letter_is_in_the_key_with_its_square() -> None:
    structure = ladder(150, apart_m=0.2013, decks=5)
    (panel,) = compose_map(structure, views=("plan",), style=SMALL).panels
    key = key_of(panel)
    squares = {name: texts for name, texts in key.items() if not name.islower()}
    assert sum(map(len, squares.values())) > 100
    middle_m = {rail.id: np.mean(rail.points_m, axis=0)[:2] for rail in structure.handrails}
    columns, rows = named_at(panel, 0), named_at(panel, 1)
    # Names stand in the middle of whole squares: the nearest column and row are a place's own.
    for name, texts in squares.items():
        for text in texts:
            x, y = middle_m[text]
            # What is on a side belongs to the square on its right.
            ((right_pt, up_pt),) = panel.panel.to_page_pt(np.array([[x + 1e-6, -y]]))
            column = min(columns, key=lambda one: abs(columns[one] - right_pt))
            row = min(rows, key=lambda one: abs(rows[one] - up_pt))
            assert name == f"{row}{column}", text
    everything = [one.label.text for one in panel.placed if one.label.kind == "handrail"]
    everything += [text for texts in key.values() for text in texts]
    everything += [one.text for one in panel.left_out]
    assert sorted(everything) == sorted(one.id for one in structure.handrails)
    assert panel.left_out, "a sheet that is full is full"
    assert panel.notes == (f"{len(panel.left_out)} ids not shown: no room",)
    assert overlaps(panel) == []
    assert covered(panel) == []


@pytest.mark.parametrize(("width_m", "height_m"), [(0.3, 0.2), (40.0, 8.0), (3.0, 900.0)])
def test_squares_have_a_letter_a_row_and_hold_what_they_name(
    width_m: float, height_m: float
) -> None:
    per_m = 700.0 / max(width_m, height_m)
    panel = Panel(0.0, 0.0, width_m * per_m, height_m * per_m, (-0.37 * width_m, -5.0), per_m)
    squares = squares_over(panel)
    columns, rows = squares.counts
    across, up = squares.lines_m()
    assert (len(across), len(up)) == (columns - 1, rows - 1)
    assert rows <= 24
    assert squares.step_m * per_m >= 30.0
    assert squares.name_at((0.0, panel.height_pt)) == "A1"
    x_pt, y_pt = panel.width_pt, 0.0
    assert squares.name_at((x_pt, y_pt)) == f"{'ABCDEFGHJKLMNPQRSTUVWXYZ'[rows - 1]}{columns}"
    if across:
        beside_pt = (across[0] - panel.low_m[0]) * per_m + 0.01
        assert squares.name_at((beside_pt, panel.height_pt)) == "A2"


def test_the_key_is_the_same_each_time() -> None:
    panels = [compose_map(ladder(60), views=("plan",), style=SMALL).panels[0] for _ in range(2)]
    assert panels[0].placed == panels[1].placed


def test_without_need_there_is_no_key() -> None:
    region = Region(low_m=(-1.0, -1.0, -1.0), high_m=(2.0, 2.0, 1.0))
    (panel,) = compose_map(ladder(3, apart_m=0.5), views=("plan",), region=region).panels
    assert Counter(one.label.kind for one in panel.placed) == {"handrail": 3}


def test_room_is_found_where_it_is_free_and_nowhere_else() -> None:
    page = Page(100.0, 60.0)
    assert page.rooms().find(100.0, 60.0) == (0.0, 0.0)
    assert page.rooms().find(100.5, 10.0) is None
    page.take_box((0.0, 0.0, 100.0, 20.0), Ink.EDGE)
    assert page.rooms().find(100.0, 40.0) == (0.0, 20.0)
    assert page.rooms().find(10.0, 41.0) is None
    page.take_box((30.0, 20.0, 31.0, 60.0), Ink.MARK)
    assert page.rooms().find(30.0, 40.0) == (0.0, 20.0)
    assert page.rooms().find(31.0, 40.0) == (31.0, 20.0)
