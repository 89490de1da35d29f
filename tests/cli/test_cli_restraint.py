"""`gripway restraint`: settings, bodies and reasons, as text, JSON and pictures."""

import csv
from pathlib import Path
from typing import NamedTuple

import pytest

from structures.files import write_structure
from structures.units import fine_text
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
from tests.routing.worksites.restraint_ground import deck, reachable

STATION = EXAMPLES["station"]


class Every(NamedTuple):
    found: Outcome
    table: str


@pytest.fixture(scope="module")
def every(tmp_path_factory: pytest.TempPathFactory) -> Every:
    """One worksite of the station asked about with all bodies: all settings, so only once."""
    path = tmp_path_factory.mktemp("restraint") / "restraint.csv"
    asked = ("restraint", STATION, "WD02", "--person", "ev-small")
    return Every(run(*asked, "--csv", path, "--json"), path.read_bytes().decode())


@pytest.fixture
def depot(tmp_path: Path) -> Path:
    path = tmp_path / "deck.json"
    write_structure(reachable(), path)
    return path


def test_one_worksite_as_text_and_json_say_the_same(depot: Path) -> None:
    text, found = run("restraint", depot, "W1"), run("restraint", depot, "W1", "--json")
    assert_answer(text)
    assert_answer(found)
    schema("restraint").validate(found.answer)
    (site,) = found.answer["worksites"]
    assert (site["worksite"], site["verdict"], found.answer["safe"]) == ("W1", "ok", True)
    for body in site["sockets"][0]["bodies"]:
        assert f"  {body['body']}: {body['working']} of 120 settings work" in text.out
        assert f"margin {fine_text(body['best'][0]['margin_m'], 'down')} " in text.out
    assert "Socket S1 (the worksite's own), restraint coarse" in text.out


def test_all_worksites_in_short_end_in_1_where_one_cannot_be_done(depot: Path) -> None:
    good = run("restraint", depot)
    assert_answer(good)
    assert "Every body can work at every worksite, 1 in all." in good.out
    bad = run("restraint", depot, "--close", "S1")
    assert_answer(bad, 1)
    assert "NO SETTING FOR EVERY BODY: W1. Done: 0 of 1." in bad.out
    assert "W1: socket S1 is closed" in bad.out
    assert run("restraint", depot, "--close", "S1", "--json").answer["safe"] is False


def test_a_socket_that_no_tether_leads_to_is_not_safe_and_said(depot: Path) -> None:
    found = run("restraint", depot, "W1", "--close", "H1")
    assert_answer(found, 1)
    assert "W1, 1 target: ok; NO SAFE TETHERED WAY TO THE SOCKET (NOT SAFE)" in found.out
    assert "no safe tethered way leads from a hatch to socket S1" in found.out
    every = run("restraint", depot, "--close", "H1")
    assert_answer(every, 1)
    assert "NO SAFE TETHERED WAY TO THE SOCKET: W1. Done: 0 of 1. Time home NOT looked" in every.out
    answer = run("restraint", depot, "--close", "H1", "--json").answer
    schema("restraint").validate(answer)
    (site,) = answer["worksites"]
    assert (answer["safe"], site["verdict"], site["way"]) == (False, "ok", "not reached")
    assert next(one["code"] for one in site["findings"]) == "socket-not-reached"
    reels = run("restraint", depot, "--protocol", "reel", "--reel", "1m", "--json")
    assert_answer(reels, 1)
    assert (reels.answer["protocol"], reels.answer["reels_m"]) == ("reel", [1.0])
    assert_answer(run("restraint", depot, "--protocol", "reel"))


def test_built_in_data_is_said_to_be_used(tmp_path: Path) -> None:
    path = tmp_path / "bare.json"
    write_structure(deck(restraints=(), bodies=()), path)
    found = run("restraint", path, "W1")
    assert "the built-in one was used; its numbers are from memory or assumed" in found.out


def test_one_body_or_the_persons_may_be_asked_about() -> None:
    only = run("restraint", STATION, "WD02", "--body", "BD03", "--json")
    assert_answer(only)
    assert only.answer["worksites"][0]["able"] == ["BD03"]
    large = run("restraint", STATION, "WD02", "--person", "ev-large", "--json")
    assert_answer(large)
    (site,) = large.answer["worksites"]
    assert (site["bodies"], site["able"], site["verdict"]) == (["BD03"], ["BD03"], "ok")
    assert not [one for one in site["findings"] if one["code"] == "body-not-known"]


def test_a_person_without_a_body_is_asked_about_with_every_body(every: Every) -> None:
    assert_answer(every.found, 1)
    (site,) = every.found.answer["worksites"]
    assert [one["code"] for one in site["findings"]] == ["body-not-known"]
    assert len(site["bodies"]) == 3


def test_same_call_same_bytes(depot: Path) -> None:
    assert run("restraint", depot, "W1") == run("restraint", depot, "W1")


def test_wrong_calls_say_all_that_is_wrong(depot: Path, tmp_path: Path) -> None:
    assert_refused(
        run("restraint", depot, "W2", "--body", "midle", "-o", tmp_path / "no" / "x.gif"),
        "no worksite has the id 'W2'",
        "did you mean W1?",
        "no body has the id 'midle'",
        "did you mean middle",
        "'x.gif' has a suffix",
    )
    assert_refused(run("restraint", depot, "-o", tmp_path / "x.svg"), "none is named")


def test_hostile_names_are_text(tmp_path: Path) -> None:
    path = hostile_structure(tmp_path / "evil.json")
    for call in (("restraint", path), ("restraint", path, f"{EVIL_ID}W1")):
        found = run(*call)
        assert found.code in {0, 1}
        assert_plain(found.out)


def test_the_table_has_a_row_for_every_body_in_every_socket(every: Every) -> None:
    found = every.found.answer["worksites"][0]
    rows = list(csv.DictReader(every.table.splitlines()))
    bodies = [(one, body) for one in found["sockets"] for body in one["bodies"]]
    assert len(rows) == len(bodies)
    for row, (one, body) in zip(rows, bodies, strict=True):
        assert (row["socket"], row["restraint"], row["body"]) == (
            one["socket"],
            one["restraint"],
            body["body"],
        )
        assert int(row["working"]) == body["working"]
        shown = body["best"][0] if body["working"] else body["nearest"]
        assert (float(row["margin_m"]) if row["margin_m"] else None) == shown.get("margin_m")
        assert row["limited_by"] == shown["limited_by"]


def test_a_worksite_where_nothing_was_tried_has_one_row(depot: Path, tmp_path: Path) -> None:
    path = tmp_path / "restraint.csv"
    run("restraint", depot, "--close", "S1", "--csv", path)
    (row,) = csv.DictReader(path.read_bytes().decode().splitlines())
    assert (row["worksite"], row["verdict"], row["body"]) == ("W1", "no setting", "")
    assert row["reason"].startswith("socket S1 is closed")
