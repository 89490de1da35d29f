"""One good document, one fault at a time: each is named with its place, value and remedy."""

import shutil
from pathlib import Path

import pytest

from structures.files import read_structure
from tests.structures.broken.equipment import EQUIPMENT_FAULTS
from tests.structures.broken.fault import Fault
from tests.structures.broken.references import REFERENCE_FAULTS
from tests.structures.broken.syntax import SYNTAX_FAULTS
from tests.structures.broken.tables import TABLE_FAULTS
from tests.structures.broken.values import VALUE_FAULTS
from tests.structures.broken_ground import GOOD, check, good_folder, mutate, problems_of

DOCUMENT_FAULTS = [*VALUE_FAULTS, *REFERENCE_FAULTS, *EQUIPMENT_FAULTS, *SYNTAX_FAULTS]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return good_folder(tmp_path)


def test_good_document_is_good(folder: Path) -> None:
    structure = read_structure(folder / "depot.toml")
    assert [rail.id for rail in structure.handrails] == ["rail-1", "rail-2", "rail-3"]
    assert structure.handrails[0].name == "Rail 1, zenith"
    assert structure.handrails[2].points_m[1] == pytest.approx((3.048, 0.127, -2.1336))
    assert structure.handrails[1].tether_hook is False


@pytest.mark.parametrize("fault", DOCUMENT_FAULTS, ids=[fault.name for fault in DOCUMENT_FAULTS])
def test_document_with_one_fault(folder: Path, fault: Fault) -> None:
    mutate(folder / "depot.toml", fault)
    check(problems_of(folder / "depot.toml"), fault)


@pytest.mark.parametrize("fault", TABLE_FAULTS, ids=[fault.name for fault in TABLE_FAULTS])
def test_table_with_one_fault(folder: Path, fault: Fault) -> None:
    mutate(folder / "rails.csv", fault)
    check(problems_of(folder / "depot.toml"), fault)


def test_a_fault_in_a_single_place_is_one_problem(folder: Path) -> None:
    for name in ("far", "negative", "same-id", "no-socket", "short-vector", "zero-normal"):
        shutil.copy(GOOD / "good.toml", folder / "depot.toml")
        fault = next(one for one in DOCUMENT_FAULTS if one.name == name)
        mutate(folder / "depot.toml", fault)
        assert len(problems_of(folder / "depot.toml")) == 1, name


def test_all_problems_come_in_one_go_in_the_order_of_lines(folder: Path) -> None:
    chosen = ["later-version", "nan", "unknown-shape", "no-socket", "wrong-choice", "mass"]
    for name in chosen:
        mutate(folder / "depot.toml", next(one for one in DOCUMENT_FAULTS if one.name == name))
    in_table = ["not-a-number", "csv-negative", "flat-point"]
    for name in in_table:
        mutate(folder / "rails.csv", next(one for one in TABLE_FAULTS if one.name == name))
    problems = problems_of(folder / "depot.toml")
    for name in chosen + in_table:
        check(problems, next(one for one in DOCUMENT_FAULTS + TABLE_FAULTS if one.name == name))
    assert len(problems) == len(chosen) + len(in_table)
    places = [problem.place.split()[0].split(":") for problem in problems]
    lines = [int(line) for file, line in places if file == "depot.toml"]
    assert lines == sorted(lines)
    assert [file for file, _ in places] == ["depot.toml"] * 6 + ["rails.csv"] * 3


def test_no_false_references_where_a_table_cannot_be_read(folder: Path) -> None:
    (folder / "rails.csv").unlink()
    said, problem = problems_of(folder / "depot.toml")
    assert "no such file" in problem.message
    assert problem.place == "rails.csv handrails"
    assert said.place == "depot.toml:7 handrails"
    assert said.message.startswith("references to handrails are not checked as long as")


def test_no_false_references_where_a_column_has_a_wrong_name(folder: Path) -> None:
    """Rows in a unit of their own that cannot be used are there all the same."""
    mutate(
        folder / "depot.toml",
        Fault("", '"rails.csv"', '{ csv = "rails.csv", length_unit = "ft" }', "", "", ""),
    )
    mutate(folder / "rails.csv", Fault("", "normal_y", "norm_y", "", "", ""))
    assert [problem.place for problem in problems_of(folder / "depot.toml")] == [
        "rails.csv:1 handrails",
        "rails.csv:1 handrails",
    ]


def test_the_same_fault_of_many_rows_is_told_once(folder: Path) -> None:
    path = folder / "rails.csv"
    header, *rows = path.read_text(encoding="utf-8").splitlines()
    short = [row.rpartition(",")[0] for row in rows] * 10
    path.write_text("\n".join([header, *short, ""]), encoding="utf-8")
    _, problem = problems_of(folder / "depot.toml")
    assert problem.place == "rails.csv:2 handrails"
    assert "this row has 14 cells, the header has 15 columns" in problem.message
    last = 1 + len(short)
    named = ", ".join(str(line) for line in range(3, 23))
    assert problem.message.endswith(f"(the same in lines {named} and {last - 22} more)")


def test_references_are_checked_beside_other_faults(folder: Path) -> None:
    """An element that is wrong in one field can still be referred to."""
    path = folder / "depot.toml"
    mutate(path, Fault("", "clock_zero = [1, 0, 0]", "clock_zero = 0", "", "", ""))
    mutate(path, Fault("", 'stowed_at = "hatch"', 'stowed_at = "shelf"', "", "", ""))
    assert [problem.place for problem in problems_of(path)] == [
        "depot.toml:45 sockets[0].clock_zero",
        "depot.toml:101 items[0].stowed_at",
    ]


def test_message_shows_control_and_direction_signs_escaped(folder: Path) -> None:
    path = folder / "depot.toml"
    mutate(path, Fault("", 'socket = "socket-1"', 'socket = "\\u001b[31m\\u202Ex"', "", "", ""))
    for problem in problems_of(path):
        assert "\x1b" not in str(problem)
        assert "\u202e" not in str(problem)
