"""What changed between two revisions: every edit made is named, and nothing else."""

import json
import math
import random
from pathlib import Path
from typing import Any

import pytest

from structures.comparison import (
    Comparison,
    Renaming,
    compare_structures,
    with_same_records,
)
from structures.elements import (
    Condition,
    Handhold,
    Handrail,
    Solid,
    Target,
    TetherPoint,
    Worksite,
    Zone,
)
from structures.files.reader import read_structure
from structures.model import Structure
from structures.shapes import Box, Cylinder, Sphere
from tests.cli.command_ground import EXAMPLES
from tests.structures.other_units import METRES, document_in

UP = (0.0, 0.0, -1.0)


def _one(**lists: object) -> Structure:
    return Structure.model_validate({"name": "s", "revision": "A"} | lists)


def _rail(*points: tuple[float, float, float], rail_id: str = "H1", **more: Any) -> Handrail:
    return Handrail(id=rail_id, points_m=points, normal=UP, **more)


def _moved_m(old: Handrail, new: Handrail) -> float:
    (change,) = compare_structures(_one(handrails=(old,)), _one(handrails=(new,))).changed
    return change.moved_m


def test_a_structure_is_the_same_as_itself_in_any_order() -> None:
    station = read_structure(EXAMPLES["station"])
    turned = station.model_copy(
        update={"handrails": station.handrails[::-1], "zones": station.zones[::-1]}
    )
    assert compare_structures(station, turned) == Comparison(
        head=(), added=(), removed=(), changed=(), renamed_guess=()
    )
    assert compare_structures(station, turned).same


@pytest.mark.parametrize("unit", sorted(METRES))
@pytest.mark.parametrize("example", sorted(EXAMPLES))
def test_a_document_written_in_another_unit_is_the_same(
    tmp_path: Path, example: str, unit: str
) -> None:
    """Lengths are rounded another way then, in their last digits."""
    old = read_structure(EXAMPLES[example])
    path = tmp_path / "other.json"
    path.write_text(json.dumps(document_in(old, unit)))
    new = read_structure(path)
    found = compare_structures(old, new)
    assert found.same, found.changed
    assert not found.head
    if unit == "ft":
        assert new.handrails != old.handrails
    kept = with_same_records(old, new)
    assert {one.id: one for _, one in kept.elements()} == old.by_id
    assert kept.find("hatch") is old.find("hatch")


@pytest.mark.parametrize(("by_m", "moved_m"), [(0.9e-9, None), (2e-9, 2e-9), (1e-6, 1e-6)])
def test_a_nanometre_is_rounding_and_more_is_a_move(by_m: float, moved_m: float | None) -> None:
    old = _one(handrails=(_rail((0.0, 0.0, 0.0), (2.0, 0.0, 0.0)),))
    new = _one(handrails=(_rail((0.0, 0.0, 0.0), (2.0, by_m, 0.0)),))
    found = [one.moved_m for one in compare_structures(old, new).changed]
    assert found == ([] if moved_m is None else [moved_m])
    kept = with_same_records(old, new)
    assert kept.handrails == (old.handrails if moved_m is None else new.handrails)


def test_records_that_differ_are_those_of_the_new_revision_in_its_order() -> None:
    first, second = _rail((0, 0, 0), (2, 0, 0)), _rail((0, 1, 0), (2, 1, 0), rail_id="H2")
    old = _one(handrails=(first, second))
    moved = _rail((0, 1, 0), (3, 1, 0), rail_id="H2")
    added = _rail((0, 3, 0), (3, 3, 0), rail_id="H3")
    new = _one(handrails=(added, moved, _rail((0, 0, 0), (2, 1e-12, 0))))
    assert new.find("H1") is new.handrails[2]
    kept = with_same_records(old, new)
    assert kept.handrails == (added, moved, first)
    assert kept.find("H1") is first


def test_an_element_is_guessed_to_be_renamed_in_another_unit_too() -> None:
    x = 14.2875
    old = _one(tether_points=(TetherPoint(id="T1", position_m=(x, 0.0, -0.0)),))
    new = _one(tether_points=(TetherPoint(id="T2", position_m=(x / 0.3048 * 0.3048, -0.0, 0.0)),))
    assert compare_structures(old, new).renamed_guess == (
        Renaming(kind="tether point", old="T1", new="T2"),
    )


def test_lists_of_ids_and_words_are_the_same_in_any_order() -> None:
    ball = Sphere(center_m=(0.0, 0.0, 0.0), radius_m=1.0)
    rails = (_rail((0, 0, 0), (2, 0, 0)), _rail((0, 1, 0), (2, 1, 0), rail_id="H2"))
    lists: list[dict[str, Any]] = [
        {
            "zones": (Zone(id="Z", volume=ball, applies_to=words, when=ids),),
            "conditions": (Condition(id="C", closes=rail_ids),),
        }
        for words, ids, rail_ids in (
            (("body", "tether"), ("a", "b"), ("H1", "H2")),
            (("tether", "body"), ("b", "a"), ("H2", "H1")),
        )
    ]
    old, new = (_one(handrails=rails, **one) for one in lists)
    assert compare_structures(old, new).same
    fewer = _one(handrails=rails, zones=old.zones, conditions=(Condition(id="C", closes=("H1",)),))
    (change,) = compare_structures(old, fewer).changed
    assert [(one.field, one.new) for one in change.fields] == [("closes", ["H1"])]


def test_ids_that_were_swapped_or_moved_on_are_guessed() -> None:
    """What is closed or planned by its id would be another one from then on."""
    at = [((float(i), 0.0, 0.0), (float(i), 2.0, 0.0)) for i in range(3)]
    old = _one(handrails=(_rail(*at[0]), _rail(*at[1], rail_id="H2"), _rail(*at[2], rail_id="H3")))
    swapped = _one(
        handrails=(_rail(*at[1]), _rail(*at[0], rail_id="H2"), _rail(*at[2], rail_id="H3"))
    )
    found = compare_structures(old, swapped)
    assert [(one.old, one.new) for one in found.renamed_guess] == [("H1", "H2"), ("H2", "H1")]
    assert {one.id for one in found.changed} == {"H1", "H2"}
    # One in front: all others moved on by a number.
    more = [_rail((9.0, 0.0, 0.0), (9.0, 2.0, 0.0))]
    more += [_rail(*points, rail_id=f"H{i}") for i, points in enumerate(at, 2)]
    guessed = compare_structures(old, _one(handrails=more)).renamed_guess
    assert [(one.old, one.new) for one in guessed] == [("H1", "H2"), ("H2", "H3"), ("H3", "H4")]
    renamed = _one(handrails=(_rail(*at[0], name="new words"), *old.handrails[1:]))
    assert compare_structures(old, renamed).renamed_guess == ()


def test_a_rail_moves_by_its_farthest_point() -> None:
    old = _rail((0.0, 0.0, 0.0), (2.0, 0.0, 0.0))
    assert _moved_m(old, _rail((0.0, 0.0, 0.0), (2.0, 0.3, 0.4))) == pytest.approx(0.5)
    assert _moved_m(old, _rail((1.0, 0.0, 0.0), (3.0, 0.0, 0.0))) == 1.0


def test_a_rail_written_from_its_other_end_is_changed_but_not_moved() -> None:
    old, new = _rail((0.0, 0.0, 0.0), (2.0, 0.0, 0.0)), _rail((2.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    assert _moved_m(old, new) == 0.0


def test_a_corner_more_is_measured_from_the_other_line() -> None:
    straight = _rail((0.0, 0.0, 0.0), (2.0, 0.0, 0.0))
    bent = _rail((0.0, 0.0, 0.0), (1.0, 0.7, 0.0), (2.0, 0.0, 0.0))
    assert _moved_m(straight, bent) == pytest.approx(0.7)
    assert _moved_m(bent, straight) == pytest.approx(0.7)
    split = _rail((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.0, 0.0, 0.0))
    assert _moved_m(straight, split) == 0.0


def test_turns_and_other_fields_are_named() -> None:
    old = _rail((0.0, 0.0, 0.0), (2.0, 0.0, 0.0))
    new = old.model_copy(update={"normal": (0.0, 2.0, 0.0), "tether_hook": False})
    (change,) = compare_structures(_one(handrails=(old,)), _one(handrails=(new,))).changed
    assert change.turned_deg == pytest.approx(90.0)
    assert change.moved_m == 0.0
    assert [(one.field, one.old, one.new) for one in change.fields] == [
        ("normal", [0.0, 0.0, -1.0], [0.0, 2.0, 0.0]),
        ("tether_hook", True, False),
    ]


def test_a_grown_volume_and_one_of_another_shape() -> None:
    def solid(volume: object) -> Structure:
        return _one(solids=(Solid.model_validate({"id": "core", "volume": volume}),))

    tube = Cylinder(start_m=(0.0, 0.0, 0.0), end_m=(4.0, 0.0, 0.0), radius_m=1.0)
    (grown,) = compare_structures(
        solid(tube), solid(tube.model_copy(update={"radius_m": 1.5}))
    ).changed
    assert (grown.moved_m, [one.field for one in grown.fields]) == (0.0, ["volume.radius_m"])
    box = Box(center_m=(2.0, 3.0, 0.0), size_m=(1.0, 1.0, 1.0))
    (other,) = compare_structures(solid(tube), solid(box)).changed
    assert other.moved_m == pytest.approx(3.0)
    assert "volume.shape" in [one.field for one in other.fields]
    ball = Sphere(center_m=(2.0, 0.0, 0.0), radius_m=1.0)
    (same_middle,) = compare_structures(solid(tube), solid(ball)).changed
    assert same_middle.moved_m == pytest.approx(0.0)


def test_targets_are_matched_by_id_not_by_place() -> None:
    def site(*targets: Target) -> Structure:
        return _one(worksites=(Worksite(id="W1", socket="S1", targets=targets),))

    a = Target(id="a", position_m=(0.0, 0.0, 0.0), facing=UP)
    b = Target(id="b", position_m=(1.0, 0.0, 0.0), facing=UP)
    assert compare_structures(site(a, b), site(b, a)).same
    moved = b.model_copy(update={"position_m": (1.0, 0.0, 2.0)})
    (change,) = compare_structures(site(a, b), site(a, moved)).changed
    assert [one.field for one in change.fields] == ["targets[b].position_m"]
    assert change.moved_m == 2.0


def test_a_kind_is_part_of_what_an_id_names() -> None:
    rail = _one(handrails=(_rail((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), rail_id="X"),))
    hold = _one(handholds=(Handhold(id="X", position_m=(0.0, 0.0, 0.0), normal=UP),))
    found = compare_structures(rail, hold)
    assert [(one.kind, one.id) for one in found.removed] == [("handrail", "X")]
    assert [(one.kind, one.id) for one in found.added] == [("handhold", "X")]
    assert found.renamed_guess == ()


class TestRenaming:
    POINT = TetherPoint(id="T1", position_m=(0.0, 0.0, 0.0), rating_n=3000.0)

    def _guess(self, old: list[TetherPoint], new: list[TetherPoint]) -> tuple[Renaming, ...]:
        return compare_structures(
            _one(tether_points=tuple(old)), _one(tether_points=tuple(new))
        ).renamed_guess

    def test_the_same_under_a_new_id_is_guessed_and_still_listed(self) -> None:
        new = self.POINT.model_copy(update={"id": "T9", "name": "another name"})
        found = compare_structures(_one(tether_points=(self.POINT,)), _one(tether_points=(new,)))
        assert found.renamed_guess == (Renaming(kind="tether point", old="T1", new="T9"),)
        assert [one.id for one in found.removed] == ["T1"]
        assert [one.id for one in found.added] == ["T9"]

    def test_two_that_could_be_it_are_no_guess(self) -> None:
        twins = [self.POINT.model_copy(update={"id": one}) for one in ("T8", "T9")]
        assert self._guess([self.POINT], twins) == ()
        assert self._guess(twins, [self.POINT]) == ()

    def test_a_moved_one_is_no_guess(self) -> None:
        moved = self.POINT.model_copy(update={"id": "T9", "position_m": (0.0, 0.0, 1e-6)})
        assert self._guess([self.POINT], [moved]) == ()

    def test_one_that_stayed_is_not_renamed(self) -> None:
        twin = self.POINT.model_copy(update={"id": "T9"})
        assert self._guess([self.POINT], [self.POINT, twin]) == ()


@pytest.mark.parametrize("seed", range(20))
def test_exactly_the_edits_made_are_found(seed: int) -> None:
    """Edit the station at random and keep a log of our own."""
    chance = random.Random(seed)
    station = read_structure(EXAMPLES["station"])
    rails = {rail.id: rail for rail in station.handrails}
    chosen = chance.sample(sorted(rails), 12)
    gone, moved, hookless = set(chosen[:4]), chosen[4:9], set(chosen[9:])
    log = {}
    for rail_id in moved:
        step = tuple(chance.uniform(-1, 1) for _ in range(3))
        log[rail_id] = math.hypot(*step)
        rails[rail_id] = rails[rail_id].model_copy(
            update={
                "points_m": tuple(
                    tuple(a + b for a, b in zip(p, step, strict=True))
                    for p in rails[rail_id].points_m
                )
            }
        )
    for rail_id in hookless:
        old = rails[rail_id]
        rails[rail_id] = old.model_copy(update={"tether_hook": not old.tether_hook})
    kept = [rails[one] for one in rails if one not in gone]
    chance.shuffle(kept)
    found = compare_structures(station, station.model_copy(update={"handrails": tuple(kept)}))
    assert {one.id for one in found.removed} == gone
    assert found.added == ()
    assert {one.id: one.moved_m for one in found.changed if one.moved_m} == pytest.approx(log)
    assert {one.id for one in found.changed if not one.moved_m} == hookless
    distances = [one.moved_m for one in found.changed]
    assert distances == sorted(distances, reverse=True)
