"""`gripway closures`: what hangs on what, the same however it is run."""

import csv
import io
import json
from pathlib import Path

import pytest

from structures.files.reader import read_structure
from structures.files.writer import document_of, write_structure
from tests.cli.command_ground import (
    EVIL_ID,
    EXAMPLES,
    Outcome,
    assert_answer,
    assert_plain,
    assert_refused,
    hostile_structure,
    run,
    schema,
)
from tests.routing.paths.route_graphs import deck
from tests.routing.studies.test_closures_additions import only_together

SMALL, STATION = EXAMPLES["small"], EXAMPLES["station"]


@pytest.fixture(scope="module")
def station() -> Outcome:
    return run("closures", STATION, "--json")


def test_the_station_hangs_on_one_handrail(station: Outcome) -> None:
    assert_answer(station, 1)
    answer = station.answer
    schema("closures").validate(answer)
    first = answer["critical"][0]
    sites = [{"worksite": one.id} for one in read_structure(STATION).worksites]
    assert first["closure"] == ["H4008"]
    assert first["kind"] == "handrail"
    assert sorted(first["lost"], key=str) == sorted(sites, key=str)
    assert len(answer["critical"][1]["lost"]) <= 4
    assert answer["trips"] == len(sites) == len(answer["intact"])
    # A grip of the planted rail holds the reach graph together too.
    assert any(grip.startswith("H4008@") for grip in answer["cut_grips"])


def test_single_points_are_the_closures_that_cut_a_goal_off(station: Outcome) -> None:
    answer = station.answer
    hanging = {one["goal"]["worksite"]: one for one in answer["single_points"]}
    for worksite, one in hanging.items():
        for element in (*one.get("elements", ()), *one.get("conditions", ())):
            critical = next(c for c in answer["critical"] if c["closure"] == [element])
            assert {"worksite": worksite} in (*critical["lost"], *critical["unsafe"])
    assert "radiator-hot" in hanging["W30"]["conditions"]
    assert "H4008" in hanging["W30"]["elements"]


def test_a_closure_is_what_close_says(station: Outcome) -> None:
    intact = {one["goal"]["worksite"]: one for one in station.answer["intact"]}
    slower = [one for one in station.answer["critical"] if one["slower"]][:3]
    assert slower
    for one in slower:
        goal = one["most_extra_goal"]["worksite"]
        closed = run("route", STATION, "hatch", goal, "--close", one["closure"][0], "--json")
        before_s, after_s = intact[goal]["seconds"], closed.answer["totals"]["seconds"]
        assert after_s - before_s == pytest.approx(one["most_extra_s"], abs=1e-6)


def test_text_says_what_hangs_on_what() -> None:
    found = run("closures", STATION, "--top", 3)
    assert_answer(found, 1)
    assert "H4008" in found.out
    assert "more that change less" in found.out
    (line,) = (line for line in found.out.splitlines() if line.startswith("  W30: "))
    assert "which it is at; H1076, H1077" in line


def test_closures_that_put_a_worksite_over_the_emergency_limit(station: Outcome) -> None:
    """Each is what `reach --close` says; without them the worksite is in time."""
    answer = station.answer
    assert (answer["home"], answer["home_limit_s"]) == ("too late", 1800.0)
    intact = {one["goal"]["worksite"]: one for one in answer["intact"]}
    late = [one for one in answer["critical"] if one["late"]]
    assert len(late) >= 10
    for one in late:
        for goal in one["late"]:
            assert intact[goal["worksite"]]["home"] == "in time"
    first = late[0]
    goal = first["most_home_goal"]["worksite"]
    asked = ("route", STATION, "hatch", goal, "--close", first["closure"][0], "--homeward")
    home = run(*asked, "--json").answer
    assert home["home"] == "too late"
    assert first["most_home_s"] == pytest.approx(home["homeward"]["worst_s"], abs=1e-6)
    points = {one["goal"]["worksite"]: one for one in answer["single_points"]}
    assert first["closure"][0] in points[first["late"][0]["worksite"]]["late_with"]


def home_limit(folder: Path, seconds: float) -> Path:
    path = folder / "limits.toml"
    text = f'schema_version = 1\nlength_unit = "m"\ntime_home_limit_s = {seconds}\n'
    path.write_text(text, encoding="utf-8")
    return path


def test_a_closure_that_makes_home_too_late_is_unsafe(tmp_path: Path) -> None:
    """By hand: on reels W2 of the small example is 200 s from home without H02, 80 s with it."""
    limits = home_limit(tmp_path, 150.0)
    asked = ("closures", SMALL, "--protocol", "reel", "--limits", limits)
    found = run(*asked, "--json")
    assert_answer(found, 1)
    schema("closures").validate(found.answer)
    critical = {one["closure"][0]: one for one in found.answer["critical"]}
    assert critical["H02"]["late"] == [{"worksite": "W2"}]
    assert critical["H02"]["slower"] == 2
    assert not critical["H02"]["lost"]
    out = run(*asked).out
    assert "TOO LATE HOME: " in out
    assert "over the emergency limit of 150 s, or leave no way home: " in out
    assert "and from the goal for who is there when it closes (tethers left outside).\n" in out
    (line,) = (line for line in out.splitlines() if line.startswith("  W2: "))
    assert "LATE home with the loss of H02" in line
    (row,) = (line for line in out.splitlines() if line.startswith("H02 "))
    assert row.endswith("LATE W2")


def test_what_is_late_with_nothing_closed_is_told_first(tmp_path: Path) -> None:
    limits = home_limit(tmp_path, 450.0)
    found = run("closures", SMALL, "--limits", limits)
    assert_answer(found, 1)
    told = "TOO LATE HOME even with nothing closed, against the emergency limit of 450 s: W2."
    assert told in found.out


def test_a_goal_that_is_at_what_is_closed_is_gone(tmp_path: Path) -> None:
    document = document_of(deck())
    document["conditions"] = [{"id": "hot", "closes": ["H2"]}]
    path = tmp_path / "deck.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    asked = ("closures", path)
    answer = run(*asked, "--json").answer
    schema("closures").validate(answer)
    critical = {one["closure"][0]: one for one in answer["critical"]}
    assert critical["S1"]["itself"] == [{"worksite": "W1"}]
    assert not critical["S1"]["lost"]
    for closed in ("H2", "hot"):
        assert critical[closed]["itself"] == [{"worksite": "W2"}]
        assert critical[closed]["lost"] == [{"worksite": "W1"}]
    # Gone goals are counted, and stand before as many that are cut off.
    ranks = [
        (-len(one["lost"]) - len(one["unsafe"]) - len(one["itself"]), -len(one["itself"]))
        for one in answer["critical"]
    ]
    assert ranks == sorted(ranks)
    points = {one["goal"]["worksite"]: one for one in answer["single_points"]}
    assert points["W1"]["gone_with"] == ["S1"]
    assert points["W2"]["gone_with"] == ["H2", "hot"]
    out = run(*asked).out
    (line,) = (line for line in out.splitlines() if line.startswith("S1 "))
    assert line.split()[-2:] == ["GONE", "W1"]
    assert "GONE W2; W1" in out
    # Who is at W1 has no way home once H2 is lost, and that is never called in time.
    assert answer["home"] == "too late"
    assert {one["home"] for one in answer["intact"]} == {"in time"}
    assert critical["H2"]["caught"] == [{"worksite": "W1"}]
    assert any(
        line.startswith("Who is at a goal when it closes is NOT home") for line in out.split("\n")
    )
    assert any(line.startswith("Time home within 1800 s: looked at") for line in out.split("\n"))
    assert "W1: socket S1, which it is at; " in out
    assert "W2: handrail H2, which it is at; free of hot, which closes what it is at" in out
    cutting = [one for one in answer["critical"] if one["lost"] or one["unsafe"]]
    assert f"SINGLE POINTS OF FAILURE: {len(cutting)} of " in out
    assert "; not among them 1 closure of what a goal is at, by which the goal is GONE" in out


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_text_says_the_way_that_is_left(protocol: str) -> None:
    asked = ("closures", SMALL, "--protocol", protocol)
    answer = run(*asked, "--json").answer
    told = [one for one in answer["critical"] if one.get("most_extra_goal")]
    assert told
    out = run(*asked).out
    for one in told:
        goal, after = one["most_extra_goal"]["worksite"], one["most_extra_chain"]
        lines = [line for line in out.splitlines() if f": to {goal} " in line]
        (line,) = (line for line in lines if one["closure"][0] in line.split(":")[0])
        new = [held for held in after if held not in one["most_extra_before"]]
        shown = " > ".join(after) if protocol == "reel" else ", ".join(new[:8])
        assert f"to {goal} {'by' if protocol == 'reel' else 'over'} {shown}" in line
        if one["kind"] == "handrail" and protocol == "reel":
            closed = ("--close", one["closure"][0])
            route = run("route", SMALL, "hatch", goal, "--protocol", protocol, *closed, "--json")
            assert len(after) == 1 + route.answer["totals"]["transfers"]


def test_rows_are_the_same_on_workers(tmp_path: Path) -> None:
    asked = ("closures", SMALL, "--protocol", "reel", "--together", "H01", "--together", "H02")
    texts = []
    for workers in (1, 2):
        path = tmp_path / f"rows{workers}.csv"
        found = run(*asked, "--json", "--rows", path, "--workers", workers)
        schema("closures").validate(found.answer)
        texts.append((found.out, path.read_bytes()))
        assert not path.with_name(path.name + ".work").exists()
    assert texts[0] == texts[1]
    rows = list(csv.DictReader(io.StringIO(texts[0][1].decode())))
    assert len(rows) == json.loads(texts[0][0])["changed"]
    assert {row["worksite"] for row in rows} == {one.id for one in read_structure(SMALL).worksites}
    assert any(row["closure"] == "H01 H02" for row in rows)


def test_a_work_folder_is_taken_up_again(tmp_path: Path) -> None:
    asked = ("closures", SMALL, "--json", "--work", tmp_path / "work")
    first = run(*asked)
    kept = sorted((tmp_path / "work").rglob("chunk-*.jsonl"))
    assert kept
    times = [path.stat().st_mtime_ns for path in kept]
    assert run(*asked).out == first.out
    assert [path.stat().st_mtime_ns for path in kept] == times


def test_chosen_trips_only() -> None:
    found = run("closures", STATION, "--trip", "W20 hatch", "--trip", "W01 H1003", "--json")
    schema("closures").validate(found.answer)
    goals = [one["goal"] for one in found.answer["intact"]]
    assert goals == [{"hatch": "hatch"}, {"handrail": "H1003"}]
    assert found.answer["intact"][0]["start"] == {"worksite": "W20"}


def test_everything_within_reach_two_at_a_time() -> None:
    one = run("closures", SMALL, "--json")
    two = run("closures", SMALL, "--together-near", "H01", "--within", "1", "--json")
    assert two.answer["closures"] > one.answer["closures"]
    assert any(len(c["closure"]) == 2 for c in two.answer["critical"])


def test_handrails_to_add_are_ranked_by_what_they_repair(tmp_path: Path) -> None:
    path = tmp_path / "gaps.json"
    write_structure(only_together(), path)
    found = run("closures", path, "--additions", 2, "--json", "--workers", 2)
    answer = found.answer
    schema("closures").validate(answer)
    pairs = [tuple(one["addition"]["between"]) for one in answer["additions"]["candidates"]]
    assert pairs == [("H1", "H2"), ("H1", "H7"), ("H2", "H3")]
    (chosen,) = answer["additions"]["chosen"]
    assert chosen["addition"]["between"] == ["H1", "H7"]
    assert chosen["alone"] == chosen["together"]
    text = run("closures", path, "--additions", 2)
    assert_answer(text, 1)
    assert "not proven the best set" in text.out
    assert "1. between H1 and H7, (1.200, 0.188, -0.070) to (1.200, 0.562, -0.070) m" in text.out


def test_no_near_miss_is_said() -> None:
    found = run("closures", SMALL, "--additions", 1, "--json")
    schema("closures").validate(found.answer)
    text = run("closures", SMALL, "--additions", 1).out
    assert ("there are no near misses" in text) == (not found.answer["additions"]["candidates"])


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (("--workers", "0"), ("--workers", "1 to 256")),
        (("--workers", "2", "--cluster", "tcp://10.0.0.5:8786"), ("--cluster", "leave out")),
        (("--rows", "rows.xls"), ("--rows", ".csv or .jsonl or .parquet")),
        (("--together", "H01"), ("only one element",)),
        (("--together", "H01", "--together", "H01"), ("only one element",)),
        (("--together", "H01", "--together", "H99"), ("'H99'", "did you mean")),
        (("--together-near", "W1"), ("'W1' is nothing that can be taken out",)),
        (("--together-near", "H01", "--within", "0"), ("--within", "more than 0")),
        (("--together-near", "H01", "--within", "nan"), ("--within", "more than 0")),
        (("--together-near", "H01", "--within", "1e-6"), ("nothing else", "longer --within")),
        (("--trip", "hatch"), ("'hatch' is not two ids",)),
        (("--trip", "hatch W9"), ("no worksite", "'W9'")),
        (("--top", "-1"), ("--top", "0 or more")),
        (("--additions", "-1"), ("--additions", "0 or more")),
        (("--trip", "hatch W1", "--trip", "H01 W1"), ("'W1' is asked for 2 times",)),
        (("--cluster", "tcp://127.0.0.1:1"), ("no cluster answers",)),
    ],
)
def test_wrong_calls_teach(
    options: tuple[str, ...], says: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("routing.studies.running.lanes._CONNECT_S", 0.5)
    assert_refused(run("closures", SMALL, *options), *says)


def test_all_problems_are_told_at_once() -> None:
    found = run("closures", SMALL, "--workers", "0", "--trip", "x", "--person", "nobody")
    assert_refused(found, "--workers", "--trip", "--person")


def test_a_structure_without_a_hatch_needs_trips(tmp_path: Path) -> None:
    text = SMALL.read_text().split("[[hatches]]")
    rest = text[1].split("\n[[", 1)
    path = tmp_path / "no_hatch.toml"
    path.write_text(text[0] + "[[" + rest[1])
    for name in ("handrails.csv",):
        (tmp_path / name).write_bytes((SMALL.parent / name).read_bytes())
    assert_refused(run("closures", path), "has no hatch")


def test_hostile_names_are_only_names(tmp_path: Path) -> None:
    hostile = hostile_structure(tmp_path / "evil.json")
    rows = tmp_path / "rows.csv"
    found = run("closures", hostile, "--rows", rows)
    assert_plain(found.out)
    assert_plain(found.err)
    plain = run("closures", SMALL, "--json").answer
    answer = run("closures", hostile, "--json").answer
    schema("closures").validate(answer)
    assert answer["changed"] == plain["changed"]
    ids = [one["closure"][0] for one in answer["critical"]]
    assert sorted(ids) == sorted(EVIL_ID + one["closure"][0] for one in plain["critical"])
    for row in csv.reader(io.StringIO(rows.read_text(encoding="utf-8"))):
        assert not any(cell.startswith(("=", "+", "@")) for cell in row)


@pytest.mark.parametrize("suffix", ["svg", "png"])
def test_drawing(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"closures.{suffix}"
    asked = ("closures", SMALL, "-o", path, "--view", "plan")
    found = run(*asked)
    assert_answer(found, found.code)
    assert f"the drawing is in {path}" in found.out
    first = path.read_bytes()
    run(*asked)
    assert path.read_bytes() == first


def test_a_drawing_that_cannot_be_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "x.svg"
    refused = run("closures", SMALL, "-o", path, "--view", "top", "--view", "plan", "--top", "-1")
    assert_refused(refused, "no view 'top'")
    assert_refused(run("closures", SMALL, "-o", tmp_path / "x.gif"), "x.gif")
    assert_refused(run("closures", SMALL, "--view", "plan"), "nothing is drawn")
    assert not path.exists()


def test_hostile_names_in_a_drawing(tmp_path: Path) -> None:
    evil = hostile_structure(tmp_path / "evil.json")
    drawing = tmp_path / "x.svg"
    found = run("closures", evil, "-o", drawing)
    assert_answer(found, found.code)
    assert not {"\x1b", "\x9b"} & set(drawing.read_text())
    assert "<script" not in drawing.read_text()


def test_no_way_to_lose_is_no_safe_answer(tmp_path: Path) -> None:
    """Without worksites there is nothing to look at, and that must not read as safe."""
    path = tmp_path / "deck.json"
    path.write_text(json.dumps(document_of(deck(worksites=()))), encoding="utf-8")
    assert_refused(run("closures", path), "there is no worksite", "--trip")
    assert_answer(run("closures", path, "--trip", "A1 H3"), 1)
