"""`gripway home`: the time home from every grip, against the limit, the worst first."""

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

SMALL, STATION = EXAMPLES["small"], EXAMPLES["station"]


def limit_file(folder: Path, seconds: float) -> Path:
    path = folder / "limits.toml"
    path.write_text(f'schema_version = 1\nlength_unit = "m"\ntime_home_limit_s = {seconds}\n')
    return path


def test_every_grip_has_its_verdict_and_unreached_ones_no_number() -> None:
    found = run("home", SMALL, "--json")
    assert_answer(found, found.code)
    schema("home").validate(found.answer)
    answer = found.answer
    graph = {one["place"]["grip"] for one in answer["places"]}
    assert len(graph) * 2 == len(answer["places"])
    for one in answer["places"]:
        assert len(one["place"]["position_m"]) == 3
        if "out_s" not in one:
            assert (one["verdict"], one["tow_verdict"]) == ("no way", "no way")
            assert "home_s" not in one
            assert "tow_s" not in one
        for times, verdict, why in (
            ("home_s", "verdict", "why"),
            ("tow_s", "tow_verdict", "tow_why"),
        ):
            assert (times in one) == (one[verdict] != "no way")
            assert (why in one) == (one[verdict] == "no way")
    safe = all(one["verdict"] == "in time" for one in answer["places"] if "out_s" in one)
    assert answer["safe"] == safe
    assert found.code == (0 if answer["safe"] and answer["safe_in_tow"] else 1)


def test_a_limit_that_is_too_short_is_said_and_ends_in_1(tmp_path: Path) -> None:
    asked = ("home", SMALL, "--protocol", "reel", "--limits", limit_file(tmp_path, 20.0))
    found = run(*asked, "--json")
    assert_answer(found, 1)
    answer = found.answer
    assert (answer["limit_s"], answer["safe"]) == (20.0, False)
    late = [one for one in answer["places"] if one["verdict"] == "too late"]
    assert late
    assert all(one["home_s"] > 20.0 for one in late)
    text = run(*asked)
    assert_answer(text, 1)
    assert f"{len(late)} TOO LATE" in text.out
    rows = text.out[text.out.index("----") :].splitlines()[1:]
    worst = max(
        answer["places"], key=lambda one: (one["tow_verdict"] == "no way", one.get("home_s", 0))
    )
    assert worst["place"]["grip"] in "".join(rows[:6])


def test_the_same_bytes_however_it_runs(tmp_path: Path) -> None:
    asked = ("home", SMALL, "--people", "--rows")
    first = run(*asked, tmp_path / "a.csv", "--json")
    second = run(*asked, tmp_path / "b.csv", "--json", "--workers", "2")
    assert first.out == second.out
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()
    rows = list(csv.DictReader((tmp_path / "a.csv").read_text().splitlines()))
    assert len(rows) == len(first.answer["places"])
    assert {row["person"] for row in rows} == set(first.answer["people"])
    assert all(row["x_m"] and row["y_m"] and row["z_m"] for row in rows)


@pytest.mark.parametrize("suffix", ["svg", "png"])
def test_drawing(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"home.{suffix}"
    asked = ("home", SMALL, "--protocol", "leapfrog", "-o", path, "--view", "plan", "--tow")
    found = run(*asked)
    assert_answer(found, found.code)
    assert f"the drawing is in {path}" in found.out
    first = path.read_bytes()
    run(*asked)
    assert path.read_bytes() == first


def test_without_a_hatch_there_is_no_home(tmp_path: Path) -> None:
    text = SMALL.read_text()
    start = text.index("[[hatches]]")
    path = tmp_path / "shut.toml"
    path.write_text(text[:start] + text[text.index("[[worksites]]") :])
    (tmp_path / "handrails.csv").write_bytes((SMALL.parent / "handrails.csv").read_bytes())
    for more in ((), ("--json",)):
        assert_refused(run("home", path, *more), "no hatch to go home to")


def test_what_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    found = run(
        "home", SMALL, "--person", "nobody", "--workers", "0", "-o", tmp_path / "x.gif",
        "--rows", tmp_path / "x.txt",
    )  # fmt: skip
    assert_refused(found, "'nobody'", "x.gif", "x.txt", "4 problems")
    drawing = tmp_path / "x.svg"
    assert_refused(
        run("home", SMALL, "--protocol", "leapfrog", "-o", drawing, "--view", "top"), "no view"
    )
    assert not drawing.exists()


def test_hostile_names(tmp_path: Path) -> None:
    evil = hostile_structure(tmp_path / "evil.json")
    rows, drawing = tmp_path / "rows.csv", tmp_path / "x.svg"
    found = run("home", evil, "--protocol", "leapfrog", "--rows", rows, "-o", drawing)
    assert_answer(found, found.code)
    for line in list(csv.reader(rows.read_text(encoding="utf-8").splitlines()))[1:]:
        assert not [cell for cell in line if cell.startswith(("=", "+", "@"))]
    assert not {"\x1b", "\x9b"} & set(drawing.read_text())
