"""Before and after on one sheet: same scale and extent, every change marked, labels apart."""

from itertools import combinations

import pytest

from routing.paths.answers.results import InputDigest
from routing.show.maps.before_after import Revision, compose_before_after, marks_of
from routing.show.maps.maps import MapSheet
from routing.show.sheets.inputs import DrawingError, MapFacts
from structures.comparison import compare_structures
from structures.elements import Handrail, Solid, TetherPoint
from structures.files.reader import read_structure
from structures.model import Structure
from structures.shapes import Cylinder
from tests.cli.command_ground import EXAMPLES


def _revisions() -> tuple[Structure, Structure]:
    old = read_structure(EXAMPLES["station"])
    rails = sorted(old.handrails, key=lambda one: one.id)

    def shifted(rail: Handrail) -> Handrail:
        points = tuple((x + 1.5, y, z) for x, y, z in rail.points_m)
        return rail.model_copy(update={"points_m": points})

    new_rail = shifted(rails[9]).model_copy(update={"id": "H9990"})
    points = tuple(
        one.model_copy(update={"rating_n": 1.0}) if i == 3 else one
        for i, one in enumerate(old.tether_points)
    )
    volume = old.solids[0].volume
    assert isinstance(volume, Cylinder)
    wider = Solid(
        id=old.solids[0].id, volume=volume.model_copy(update={"radius_m": volume.radius_m + 0.01})
    )
    new = old.model_copy(
        update={
            "revision": "D",
            "handrails": (*rails[:5], shifted(rails[5]), *rails[7:], new_rail),
            "tether_points": points,
            "solids": (wider, *old.solids[1:]),
        }
    )
    return old, new


@pytest.fixture(scope="module")
def sheet() -> MapSheet:
    old, new = _revisions()
    return compose_before_after(
        Revision(structure=old, facts=MapFacts(inputs=(InputDigest(name="a", sha256="cd" * 32),))),
        Revision(structure=new, facts=MapFacts(inputs=(InputDigest(name="b", sha256="ab" * 32),))),
        compare_structures(old, new),
    )


def test_marks_say_what_how_and_how_far() -> None:
    old, new = _revisions()
    found = compare_structures(old, new)
    before, after = (Revision(structure=one, facts=MapFacts()) for one in (old, new))
    rails = sorted(rail.id for rail in old.handrails)
    on_old = {mark.id: mark for mark in marks_of(before, found, None)}
    on_new = {mark.id: mark for mark in marks_of(after, found, before)}
    assert on_old[rails[6]].label == f"\u2212 {rails[6]}"
    assert rails[6] not in on_new
    assert on_new["H9990"].label == "+ H9990"
    assert "H9990" not in on_old
    assert on_new[rails[5]].label == f"\u2192 {rails[5]} 1.50 m"
    assert on_new[rails[5]].was_m == on_old[rails[5]].line_m
    assert on_old[rails[5]].was_m == ()
    point = old.tether_points[3]
    assert isinstance(point, TetherPoint)
    assert on_new[point.id].label == f"~ {point.id}"
    assert on_new[old.solids[0].id].look == "changed"


def test_both_sides_have_one_scale_and_one_extent(sheet: MapSheet) -> None:
    before, after = (result.panel for result in sheet.panels)
    assert before.points_per_m == after.points_per_m
    assert before.extent_m == pytest.approx(after.extent_m)
    assert [result.name for result in sheet.panels] == ["plan.before", "plan.after"]


def test_every_mark_is_named_and_no_label_covers_another(sheet: MapSheet) -> None:
    for result in sheet.panels:
        texts = [one.label.text for one in result.placed if one.label.kind == "change"]
        assert not [one for one in result.left_out if one.kind == "change"]
        assert len(texts) == 4
        for mark in texts:
            # Its own id stands with its sign and nowhere else.
            plain = mark.split()[1]
            assert plain not in [one.label.text for one in result.placed]
        for one, other in combinations([placed.box for placed in result.placed], 2):
            apart = (
                one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
            )
            assert apart


def test_the_files_of_both_revisions_are_named(sheet: MapSheet) -> None:
    shown = [text.get_text() for axes in sheet.figure.axes for text in axes.texts]
    assert any(text.endswith("SHA-256 b\u00a0abababababab") for text in shown)
    assert "Before: SHA-256 a\u00a0cdcdcdcdcdcd" in shown


def test_marks_are_drawn_where_they_belong(sheet: MapSheet) -> None:
    gids = {
        str(artist.get_gid())
        for axes in sheet.figure.axes
        for artist in axes.get_children()
        if artist.get_gid()
    }
    assert {"plan.before.mark.removed.band", "plan.after.mark.added.band"} <= gids
    assert {"plan.before.mark.moved.band", "plan.after.mark.moved.band"} <= gids
    assert {"plan.after.was", "plan.after.shift"} <= gids
    assert not {"plan.after.mark.removed.band", "plan.before.mark.added.band"} & gids


def test_around_shows_only_what_changed() -> None:
    old = read_structure(EXAMPLES["station"])
    new = old.model_copy(update={"handrails": old.handrails[1:]})
    sides = [Revision(structure=one, facts=MapFacts()) for one in (old, new)]
    found = compose_before_after(*sides, compare_structures(old, new), around=True)
    whole = compose_before_after(*sides, compare_structures(old, new))
    assert found.scale < whole.scale
    with pytest.raises(DrawingError, match="each once"):
        compose_before_after(*sides, compare_structures(old, new), views=("plan", "plan"))
