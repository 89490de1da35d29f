"""`gripway inspect`: findings by severity, exit 1 only when one blocks."""

import shutil
from collections import Counter
from pathlib import Path

import pytest

from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES, Outcome, assert_answer, run, schema


@pytest.fixture(scope="module")
def station_json() -> Outcome:
    return run("inspect", EXAMPLES["station"], "--json")


@pytest.fixture(scope="module")
def station_text() -> Outcome:
    return run("inspect", EXAMPLES["station"])


def test_small_example_is_clean() -> None:
    found = run("inspect", EXAMPLES["small"])
    assert_answer(found, 0)
    assert "2 solids, 21 handrails, 4 sockets" in found.out
    assert "1 hatch, 3 worksites" in found.out
    assert "No findings." in found.out
    answer = run("inspect", EXAMPLES["small"], "--json")
    assert_answer(answer, 0)
    assert answer.answer["findings"] == []


def test_station_is_warned_of_weak_tether_points(station_json: Outcome) -> None:
    # No way starts on one of them, and routes transfer to none: what routes say stays true.
    assert_answer(station_json, 0)
    answer = station_json.answer
    schema("inspect").validate(answer)
    assert answer["blocks"] is False
    warned = {f["elements"][0] for f in answer["findings"] if f["severity"] == "warns"}
    needed_n = 2553.0  # 574 lbf, the default of the limits, from memory
    weak = {
        point.id
        for point in read_structure(EXAMPLES["station"]).tether_points
        if point.rating_n is None or point.rating_n < needed_n
    }
    assert weak
    assert weak <= warned


def test_a_weak_tether_point_of_the_hatch_blocks_as_its_routes_do(tmp_path: Path) -> None:
    small = EXAMPLES["small"]
    shutil.copytree(small.parent, tmp_path, dirs_exist_ok=True)
    weak = tmp_path / "small.toml"
    weak.write_text(small.read_text().replace("rating_n = 3200.0", "rating_n = 900.0"))
    found = run("inspect", weak)
    assert_answer(found, 1)
    assert "BLOCKED: mend what blocks before an answer that rests on it is used: TP1." in found.out
    assert_answer(run("route", weak, "hatch", "W1"), 1)


def test_heading_counts_what_the_table_lists(station_text: Outcome, station_json: Outcome) -> None:
    assert_answer(station_text, 0)
    counts = Counter(finding["severity"] for finding in station_json.answer["findings"])
    shares = f"{counts['warns']} warn, {counts['notes']} note"
    assert f"{counts.total()} findings: {shares}" in station_text.out
    assert "BLOCKED" not in station_text.out
    rows = [line.split()[0] for line in station_text.out.splitlines() if line[:1].islower()]
    assert Counter(row for row in rows if row in counts) == counts


def test_worst_findings_come_first_and_every_one_says_what_to_do(station_json: Outcome) -> None:
    order = [finding["severity"] for finding in station_json.answer["findings"]]
    assert order == sorted(order, key=("blocks", "warns", "notes").index)
    assert all(";" in finding["message"] for finding in station_json.answer["findings"])


def test_same_call_same_bytes() -> None:
    assert run("inspect", EXAMPLES["small"]) == run("inspect", EXAMPLES["small"])


def test_schema_refuses_what_is_no_answer(station_json: Outcome) -> None:
    answer = station_json.answer
    for spoilt in (
        {key: value for key, value in answer.items() if key != "caution"},
        answer | {"grips": "many"},
        answer | {"more": 1},
    ):
        assert not schema("inspect").is_valid(spoilt)


@pytest.mark.parametrize(("written", "right"), [("in", "in"), ("ft", "in"), ("m", "in")])
def test_a_table_in_another_unit_is_one_doubt_before_all_others(
    tmp_path: Path, written: str, right: str
) -> None:
    """The rails of the small example are in inches; frames and solids stay as they are."""
    text = EXAMPLES["small"].read_text(encoding="utf-8")
    table = '{ csv = "handrails.csv"'
    assert table in text
    text = text.replace(table, f'{table}, length_unit = "{written}"')
    (tmp_path / "small.toml").write_text(text, encoding="utf-8")
    rails = EXAMPLES["small"].parent / "handrails.csv"
    (tmp_path / "handrails.csv").write_bytes(rails.read_bytes())
    findings = run("inspect", tmp_path / "small.toml", "--json").answer["findings"]
    doubts = [one for one in findings if one["code"] == "adrift-handrails"]
    if written == right:
        assert doubts == []
        return
    assert doubts == findings[:1]
    message = doubts[0]["message"]
    words = {"ft": "feet", "m": "metres"}[written]
    assert "handrails of handrails.csv float" in message
    assert f"is its length_unit right? It is read in {words}; in inches half of them" in message
    assert f'write handrails = {{ csv = "handrails.csv", length_unit = "{right}" }}' in message
    # Either file may be the wrong one: the message says so of both, with their units.
    assert "or handrails.csv is right and the document, which is read in inches, is" in message
    head = {"ft": 'write length_unit = "ft" at its head', "m": 'write length_unit = "m" at its'}
    assert head[written] in message
    assert f'keep length_unit = "{written}" for handrails.csv' in message
    assert doubts[0]["severity"] == "blocks"
