"""`gripway pairs`: every trip both ways, for each person and load, the same bytes everywhere."""

import csv
import json
from pathlib import Path

import pytest

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

SMALL, STATION = EXAMPLES["small"], EXAMPLES["station"]


def test_all_trips_of_the_small_example_both_ways() -> None:
    found = run("pairs", SMALL, "--json")
    assert_answer(found, 1)
    schema("pairs").validate(found.answer)
    trips = found.answer["trips"]
    ends = [(one["protocol"], *one["start"].values(), *one["goal"].values()) for one in trips]
    sites = ("hatch", "W1", "W2", "W3")
    assert ends == [
        (protocol, a, b)
        for protocol in ("leapfrog", "reel")
        for a in sites
        for b in sites
        if a != b
    ]
    assert {"worksite"} <= {key for one in trips for key in one["start"]}
    assert found.answer["safe"] is False
    # Nothing to hook a reel on at W1 (small.toml has no tether point near it).
    lost = [one for one in trips if one["way"] == "no way"]
    assert lost
    assert all(one["why"] and "seconds" not in one for one in lost)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_trips_are_those_of_route(protocol: str) -> None:
    trips = run("pairs", SMALL, "--protocol", protocol, "--json").answer["trips"]
    for trip in trips:
        ends = (next(iter(trip["start"].values())), next(iter(trip["goal"].values())))
        route = run("route", SMALL, *ends, "--protocol", protocol, "--json")
        assert (route.code == 0) == (trip["way"] == "safe")
        if "totals" in route.answer:
            assert trip["seconds"] == pytest.approx(route.answer["totals"]["seconds"], rel=1e-9)


def test_people_and_loads_are_cases(tmp_path: Path) -> None:
    rows = tmp_path / "pairs.csv"
    found = run(
        "pairs", SMALL, "--people", "--reach", "20in", "--carry", "bag", "--protocol", "leapfrog",
        "--sites", "hatches", "--sites", "W2", "--rows", rows, "--json",
    )  # fmt: skip
    assert_answer(found, found.code)
    cases = [(one.get("person"), one.get("carry")) for one in found.answer["trips"]]
    people = [*found.answer["people"]]
    assert people[-1] == "reach-0.508m"
    assert cases == [(who, load) for who in people for load in (None, "bag") for _ in range(2)]
    table = list(csv.DictReader(rows.read_text().splitlines()))
    assert [(row["person"] or None, row["carry"] or None) for row in table] == cases
    about = json.loads((tmp_path / "pairs.csv.about.json").read_text())
    assert {one["name"] for one in about["columns"]} >= {"seconds", "exposure_s", "line_left_m"}


def test_a_heavier_load_is_never_quicker() -> None:
    trips = run("pairs", SMALL, "--people", "--carry", "bag", "--json").answer["trips"]
    by_case = {
        (
            one["person"],
            one.get("carry"),
            one["protocol"],
            *one["start"].values(),
            *one["goal"].values(),
        ): one
        for one in trips
    }
    compared = 0
    for key, one in by_case.items():
        if key[1] == "bag" and "seconds" in one:
            bare = by_case[key[0], None, *key[2:]]
            assert bare["seconds"] <= one["seconds"]
            compared += 1
    assert compared


def test_one_way_is_longer_than_back_only_where_it_is_said() -> None:
    answer = run("pairs", STATION, "--protocol", "leapfrog", "--tolerance", "0.5", "--json").answer
    seconds = {
        (*one["start"].values(), *one["goal"].values()): one.get("seconds")
        for one in answer["trips"]
    }
    said = {(*one["start"].values(), *one["goal"].values()): one for one in answer["one_way_more"]}
    for (a, b), there_s in seconds.items():
        back_s = seconds[b, a]
        longer = back_s is not None and (there_s is None or there_s - back_s > 0.5)
        assert ((a, b) in said) == longer
    assert said


def test_the_same_bytes_however_it_runs(tmp_path: Path) -> None:
    asked = ("pairs", SMALL, "--people", "--json", "--rows")
    first = run(*asked, tmp_path / "a.jsonl")
    second = run(*asked, tmp_path / "b.jsonl", "--workers", "2")
    assert first.out == second.out
    assert (tmp_path / "a.jsonl").read_bytes() == (tmp_path / "b.jsonl").read_bytes()
    assert run(*asked[:-1]).out == first.out


def test_text_says_the_worst_and_why(tmp_path: Path) -> None:
    found = run("pairs", SMALL, "--rows", tmp_path / "rows.csv")
    assert_answer(found, 1)
    assert "WITHOUT A WAY" in found.out
    assert "9 WITHOUT A WAY (all because no trip at all can begin or end at 3 sites; " in found.out
    assert "; 9 where no reel can begin, see below)" in found.out
    # That says nothing against the way, and stands apart from what does.
    assert "No reel can begin there (each trip is asked by itself, with no line out" in found.out
    assert "No way, by reason:" not in found.out
    reason = "no open tether point is within hook reach of W1, W2, W3"
    assert f"  9 trips on reel: {reason}\n" in found.out
    safe = run("pairs", SMALL, "--protocol", "leapfrog")
    assert_answer(safe)
    assert (
        "Answered and safe within the limits given: 12 trips; time home NOT looked at (" in safe.out
    )


def test_what_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    found = run(
        "pairs", SMALL, "--sites", "worksite", "--person", "nobody", "--carry", "nothing",
        "--reach", "20", "--workers", "0", "--rows", tmp_path / "x.txt",
    )  # fmt: skip
    assert_refused(found, "did you mean worksites?", "'nobody'", "'nothing'", "'20'", "6 problems")
    assert_refused(run("pairs", SMALL, "--sites", "W1"), "there is 1 such site")
    assert_refused(run("pairs", SMALL, "--tolerance", "-1"), "tolerance")


@pytest.mark.parametrize("tolerance", ["inf", "nan", "-1", "1e9"])
def test_a_tolerance_is_a_number_of_seconds(tolerance: str) -> None:
    assert_refused(run("pairs", SMALL, "--tolerance", tolerance), "--tolerance")


def test_parts_are_not_kept_in_the_file_of_rows(tmp_path: Path) -> None:
    rows = tmp_path / "rows.csv"
    found = run("pairs", SMALL, "--rows", rows, "--work", tmp_path / "." / "rows.csv")
    assert_refused(found, "option --work", "the file of --rows too")
    assert not rows.exists()


def test_a_site_with_a_word_for_its_id_is_not_taken_for_what_the_word_means(
    tmp_path: Path,
) -> None:
    document = document_of(read_structure(SMALL))
    rails = [one | {"id": one["id"].replace("H19", "worksites")} for one in document["handrails"]]
    path = tmp_path / "words.json"
    path.write_text(json.dumps(document | {"handrails": rails}))
    ids = {one["start"].popitem()[1] for one in run("pairs", path, "--json").answer["trips"]}
    assert ids == {"hatch", "W1", "W2", "W3"}


def test_hostile_names(tmp_path: Path) -> None:
    evil = hostile_structure(tmp_path / "evil.json")
    rows = tmp_path / "rows.csv"
    found = run("pairs", evil, "--people", "--rows", rows)
    assert_answer(found, 1)
    for line in list(csv.reader(rows.read_text(encoding="utf-8").splitlines()))[1:]:
        assert not [cell for cell in line if cell.startswith(("=", "+", "@"))]
    answer = run("pairs", evil, "--json")
    schema("pairs").validate(answer.answer)
