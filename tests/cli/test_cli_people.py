"""`gripway people`: who gets to which worksite, the least spare reach first."""

import csv
from pathlib import Path

import pytest

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
