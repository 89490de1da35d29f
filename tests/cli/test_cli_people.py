"""`gripway people`: who gets to which worksite, the least spare reach first."""

import csv
import json
from pathlib import Path

import pytest

from routing.cli.people_answer import PeopleRow
from routing.cli.people_text import worst_first
from routing.studies.pairs.trips import Way
from structures.files.reader import read_structure
from structures.files.writer import document_of
from tests.cli.command_ground import (
    EXAMPLES,
    assert_answer,
    assert_refused,
    hostile_structure,
    run,
    schema,
)

SMALL = EXAMPLES["small"]


def test_everybody_with_and_without_a_load() -> None:
    found = run("people", SMALL, "--people", "--carry", "bag", "--json")
    assert_answer(found)
    schema("people").validate(found.answer)
    rows = found.answer["worksites"]
    assert len(rows) == 2 * 2 * 2 * 3
    for row in rows:
        assert row["spare_m"] == pytest.approx(row["own_reach_m"] - row["falls_off_m"])
        assert row["exact"] is True
        assert row["falls_off_m"] - row["not_below_m"] == pytest.approx(1e-6, rel=1e-3)
        assert (row["way"] != "no way") == (row["spare_m"] >= 0)


def test_too_small_is_said_with_how_much_is_missing() -> None:
    asked = ("people", SMALL, "--reach", "17in", "--reach", "20in", "--protocol", "leapfrog")
    found = run(*asked, "--json")
    assert_answer(found, 1)
    lost = [row for row in found.answer["worksites"] if row["way"] == "no way"]
    assert {(row["person"], row["worksite"]) for row in lost} == {
        ("reach-0.4318m", "W1"), ("reach-0.4318m", "W2"),
    }  # fmt: skip
    assert all(row["spare_m"] == pytest.approx(-0.0254) for row in lost)
    text = run(*asked)
    assert_answer(text, 1)
    assert "NOT SAFE OR NOT REACHED: 2 of 6." in text.out


def test_reaches_that_are_near_each_other_are_different_people() -> None:
    """One of two names that are the same when rounded would drop a person without a word."""
    asked = [
        "--reach",
        "0.60001m",
        "--reach",
        "0.60002m",
        "--rate",
        "0.15m/s",
        "--rate",
        "0.150001m/s",
    ]
    found = run("people", SMALL, *asked, "--protocol", "leapfrog", "--json").answer
    assert len(found["people"]) == 4
    assert len(found["worksites"]) == 4 * 3
    assert {row["own_reach_m"] for row in found["worksites"]} == {0.60001, 0.60002}


def test_a_person_of_the_structure_is_not_replaced_by_one_made_up(tmp_path: Path) -> None:
    document = document_of(read_structure(SMALL))
    document["people"] = [{"id": "reach-0.5m", "reach": 0.9}]
    path = tmp_path / "taken.json"
    path.write_text(json.dumps(document))
    found = run("people", path, "--person", "reach-0.5m", "--reach", "0.5m")
    assert_refused(found, "option --reach", "'reach-0.5m' already", "--person")


@pytest.mark.parametrize(("less_m", "spare_m"), [(0.0, 0.0), (0.9e-9, 0.0), (2e-9, -2e-9)])
def test_a_reach_at_the_limit_does_and_has_nothing_to_spare(less_m: float, spare_m: float) -> None:
    asked = ("people", SMALL, "--protocol", "leapfrog", "--json")
    least_m = run(*asked).answer["worksites"][0]["falls_off_m"]
    row = run(*asked, "--reach", f"{least_m - less_m!r}m").answer["worksites"][0]
    assert row["spare_m"] == pytest.approx(spare_m, abs=1e-14)
    assert row["way"] == ("safe" if spare_m == 0 else "no way")


def test_each_person_comes_first_and_then_the_worst_rows_only() -> None:
    asked = ("people", SMALL, "--people", "--reach", "17in", "--carry", "bag")
    found = run(*asked)
    assert_answer(found, 1)
    lines = found.out.splitlines()
    assert len([line for line in lines if line.startswith("W") and line[1].isdigit()]) == 20
    first = lines.index(next(line for line in lines if line.startswith("who ")))
    people = lines[first + 2 : first + 14]
    assert people[-4].split() == [
        "reach-0.4318m",
        "leapfrog",
        "0.4318",
        "1",
        "0",
        "2",
        "-0.0254",
        "W1",
    ]
    assert "The worst first, 20 of 36 (16 left out, all safe: --top prints more" in found.out
    few = run(*asked, "--top", "3")
    assert "3 of 36 (33 left out, 5 of them NOT SAFE OR NOT REACHED: " in few.out
    assert "left out" not in run(*asked, "--top", "36").out
    assert_answer(run(*asked, "--top", "0"), 1)
    assert_refused(run(*asked, "--top", "-1"), "option --top")


def test_what_is_not_safe_comes_before_what_has_little_to_spare() -> None:
    def row(worksite: str, way: Way, spare_m: float | None) -> PeopleRow:
        return PeopleRow(
            protocol="reel",
            worksite=worksite,
            own_reach_m=0.6,
            way=way,
            exact=True,
            spare_m=spare_m,
        )

    rows = [
        row("W1", "safe", 0.001), row("W2", "unsafe", 0.2), row("W3", "no way", -0.1),
        row("W4", "no way", None), row("W5", "safe", 0.1),
    ]  # fmt: skip
    assert [one.worksite for one in worst_first(rows)] == ["W4", "W3", "W2", "W1", "W5"]


def test_without_worksites_nothing_is_called_safe(tmp_path: Path) -> None:
    document = document_of(read_structure(SMALL)) | {"worksites": []}
    path = tmp_path / "bare.json"
    path.write_text(json.dumps(document))
    assert_refused(run("people", path), "no worksite that anybody could get to")


def test_rates_change_times_and_not_where_it_falls_off() -> None:
    asked = ("people", SMALL, "--rate", "0.5ft/s", "--rate", "0.25ft/s", "--protocol", "reel")
    rows = run(*asked, "--json").answer["worksites"]
    fast, slow = rows[:3], rows[3:]
    for one, other in zip(fast, slow, strict=True):
        assert one["falls_off_m"] == other["falls_off_m"]
        assert one["seconds"] < other["seconds"]


def test_the_same_bytes_however_it_runs(tmp_path: Path) -> None:
    asked = ("people", SMALL, "--people", "--json", "--rows")
    first = run(*asked, tmp_path / "a.csv")
    second = run(*asked, tmp_path / "b.csv", "--workers", "2")
    assert first.out == second.out
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()
    rows = list(csv.DictReader((tmp_path / "a.csv").read_text().splitlines()))
    assert len(rows) == len(first.answer["worksites"])


def test_what_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    found = run(
        "people", SMALL, "--up-to", "1", "--rate", "5", "--person", "nobody",
        "--rows", tmp_path / "x.txt",
    )  # fmt: skip
    assert_refused(found, "option --up-to", "option --rate", "'nobody'", "x.txt", "4 problems")


def test_without_a_hatch_nobody_is_outside(tmp_path: Path) -> None:
    text = SMALL.read_text()
    start = text.index("[[hatches]]")
    path = tmp_path / "shut.toml"
    path.write_text(text[:start] + text[text.index("[[worksites]]") :])
    (tmp_path / "handrails.csv").write_bytes((SMALL.parent / "handrails.csv").read_bytes())
    assert_refused(run("people", path), "no hatch")


def test_hostile_names(tmp_path: Path) -> None:
    evil = hostile_structure(tmp_path / "evil.json")
    found = run("people", evil, "--people", "--protocol", "leapfrog")
    assert_answer(found, found.code)
