"""`gripway home`: the time home from every grip, against the limit, the worst first."""

import csv
import json
from pathlib import Path

import pytest

from structures.elements import Person, Solid, TetherPoint, Zone
from structures.files.writer import document_of
from structures.shapes import Box, Sphere
from tests.cli.command_ground import (
    EXAMPLES,
    assert_answer,
    assert_refused,
    hostile_structure,
    run,
    schema,
)
from tests.routing.paths.route_graphs import deck

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
    assert "(@ = metres along the handrail)" in text.out
    rows = text.out[text.out.index("----") :].splitlines()[1:]
    worst = max(
        answer["places"], key=lambda one: (one["tow_verdict"] == "no way", one.get("home_s", 0))
    )
    assert worst["place"]["grip"] in "".join(rows[:6])


def made(path: Path, **lists: object) -> Path:
    path.write_text(json.dumps(document_of(deck(**lists))), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("point", "codes"),
    [
        ({}, set()),
        ({"rating_n": None}, {"tether-point-not-rated"}),
        ({"rating_n": 100.0}, {"tether-point-too-weak"}),
        ({"position_m": (-0.4, 0.9, 0.0)}, {"hatch-without-hook", "first-hook-out-of-reach"}),
    ],
)
def test_no_time_home_is_safe_from_a_hatch_that_does_not_hold(
    tmp_path: Path, point: dict[str, object], codes: set[str]
) -> None:
    given = {"id": "T1", "position_m": (-0.4, 0.3, 0.0), "rating_n": 3000.0} | point
    path = made(tmp_path / "deck.json", tether_points=(TetherPoint.model_validate(given),))
    found = run("home", path, "--json")
    assert_answer(found, 1 if codes else 0)
    schema("home").validate(found.answer)
    assert {one["code"] for one in found.answer.get("findings", ())} == codes
    assert found.answer["safe"] == found.answer["safe_in_tow"] == (not codes)
    assert ("STOP: " in run("home", path).out) == bool(codes)
    rows = tmp_path / "rows.csv"
    run("home", path, "--rows", rows)
    written = list(csv.DictReader(rows.read_text(encoding="utf-8").splitlines()))
    for row in (one for one in written if one["out_s"]):
        if codes & {"tether-point-not-rated", "tether-point-too-weak"}:
            assert {row["verdict"], row["tow_verdict"]} == {"not held"}, row
        elif not codes:
            assert {row["verdict"], row["tow_verdict"]} == {"in time"}, row
    assert not codes or any(one["verdict"] == "not held" for one in written)


def test_nobody_getting_anywhere_is_not_safe(tmp_path: Path) -> None:
    zone = Zone(id="Z", volume=Sphere(center_m=(-0.4, 0.0, -0.5), radius_m=0.1))
    path = made(tmp_path / "deck.json", zones=(zone,))
    found = run("home", path)
    assert_answer(found, 1)
    assert found.out.count("NOBODY GETS ANYWHERE: 0 of ") == 2


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


def test_a_hatch_that_only_the_second_person_gets_out_of_is_looked_at_too(tmp_path: Path) -> None:
    """The first one has no room there, so that nothing could be said of the tether point."""
    low = Solid(id="lid", volume=Box(center_m=(-0.4, 0.0, -1.8), size_m=(1.0, 4.0, 1.0)))
    path = made(
        tmp_path / "deck.json",
        solids=(*deck().solids, low),
        tether_points=(TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0)),),
        people=(Person(id="a-wide", corridor_radius_m=0.7), Person(id="b-slim")),
    )
    answer = run("home", path, "--people", "--json").answer
    reached = [one for one in answer["places"] if "out_s" in one]
    assert {one["person"] for one in reached} == {"b-slim"}
    assert {one["verdict"] for one in reached} == {"not held"}
    assert {one["code"] for one in answer["findings"]} == {"tether-point-not-rated"}
