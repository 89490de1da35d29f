"""Numbers that no person has are refused when read; numbers that few have are told."""

from pathlib import Path

import pytest

from routing.limits import Limits
from structures.doubtful import (
    check_items,
    check_length_unit,
    check_people,
    check_spans,
)
from structures.elements import Handrail, Item, Person
from structures.errors import InvalidDocumentError
from structures.files.reader import read_record
from structures.findings import Finding, sorted_findings


def read(tmp_path: Path, line: str, unit: str = "ft") -> Limits:
    path = tmp_path / "limits.toml"
    path.write_text(f'schema_version = 1\nlength_unit = "{unit}"\n{line}\n')
    return read_record(path, Limits)


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("reach = 19", "limits.toml:3 reach: a reach of 19 ft (5.791 m) fits no person"),
        ("reach = 0.05", "a reach of 0.05 ft (0.01524 m) fits no person"),
        ("hook_reach = 7", "a reach to hook a tether of 7 ft (2.134 m) fits no person"),
        ("rate = 50", "a rate of 50 ft/s (15.24 m/s) fits no person"),
        ("corridor_radius = 7", "a corridor radius of 7 ft (2.134 m) fits no person"),
        ("corridor_radius = 0.1", "a corridor radius of 0.1 ft (0.03048 m) fits no person"),
    ],
)
def test_what_no_person_has_is_refused(tmp_path: Path, line: str, said: str) -> None:
    with pytest.raises(InvalidDocumentError) as caught:
        read(tmp_path, line)
    assert said in str(caught.value)
    assert "is the length unit (ft) right?" in str(caught.value)


@pytest.mark.parametrize("line", ["reach = 2", "reach = 0.05", "rate = 2", "corridor_radius = 2"])
def test_the_ends_are_allowed(tmp_path: Path, line: str) -> None:
    assert read(tmp_path, line, "m") != Limits()


def test_metres_are_said_once(tmp_path: Path) -> None:
    with pytest.raises(InvalidDocumentError, match=r"a reach of 2\.5 m fits no person: .*give 0"):
        read(tmp_path, "reach = 2.5", "m")


def test_python_may_ask_of_any_reach() -> None:
    assert Limits(reach_m=50.0).reach_m == 50.0, "studies raise the reach until a route is found"


def test_people_with_doubtful_values() -> None:
    people = [
        Person(id="b", reach_m=36 * 0.0254, rate_m_per_s=0.3048, corridor_radius_m=0.325),
        Person(id="a", reach_m=1.0, rate_m_per_s=0.4, corridor_radius_m=0.2),
    ]
    found = list(check_people(people))
    assert [(one.code, one.elements, one.limit) for one in found] == [
        ("reach-doubtful", ("a",), 36 * 0.0254),
        ("rate-doubtful", ("a",), 0.3048),
        ("corridor-radius-doubtful", ("a",), 0.325),
    ]
    assert "the reach of person a is 1 m, above 0.9144 m" in found[0].message
    assert "is 0.2 m, below 0.325 m" in found[2].message


def test_limits_that_a_person_replaces_are_not_doubted() -> None:
    limits = Limits(reach_m=1.5, hook_reach_m=1.5)
    codes = [one.code for one in check_spans(limits, "the limits")]
    assert codes == ["reach-doubtful", "hook-reach-doubtful"]
    person = Person(id="a", reach_m=0.6)
    codes = [one.code for one in check_spans(limits, "the limits", without=person)]
    assert codes == ["hook-reach-doubtful"]
    assert not list(check_spans(Limits(), "the limits")), "defaults are not doubtful"


def test_items_that_nobody_carries() -> None:
    items = [
        Item(id="huge", size_m=(1, 150, 1), mass_kg=1e9),
        Item(id="fine", size_m=(5, 1, 1), mass_kg=1000),
    ]
    found = [(one.code, one.elements, one.value) for one in check_items(items)]
    assert found == [("item-heavy", ("huge",), 1e9), ("item-long", ("huge",), 150)]


def rails(*lengths_m: float) -> list[Handrail]:
    return [
        Handrail(id=f"H{i}", points_m=((0, i, 0), (length_m, i, 0)), normal=(0, 0, 1))
        for i, length_m in enumerate(lengths_m)
    ]


@pytest.mark.parametrize(
    ("lengths_m", "said"),
    [
        ((0.1, 0.1, 0.1, 0.2), "3 of 4 handrails are shorter than one gloved grip (0.150 m)"),
        ((0.2, 0.1, 0.1, 0.2), "2 of 4 handrails are shorter"),
        ((0.2, 0.1), None),
        ((1, 0.1, 0.1, 0.2, 1), None),
        ((0.15, 0.15), None),
        ((0.1,), None),
        ((11, 11, 1), "2 of 3 handrails are longer than any handrail is (10.000 m)"),
        ((11, 1), None),
        ((), None),
    ],
)
def test_a_wrong_unit_is_told_of_all_rails_at_once(
    lengths_m: tuple[float, ...], said: str | None
) -> None:
    found = list(check_length_unit(rails(*lengths_m), glove_grip_m=0.15))
    assert len(found) == (said is not None)
    assert said is None or said in found[0].message


def test_a_wrong_unit_comes_before_what_follows_from_it() -> None:
    (unit,) = check_length_unit(rails(0.1, 0.1), glove_grip_m=0.15)
    worse = Finding(code="handrail-inside-solid", severity="blocks", message="m")
    assert sorted_findings([worse, unit]) == (unit, worse)
