"""`gripway cable`: the station's cable both ways round, the picture, and wrong calls."""

from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, assert_answer, assert_refused, run, schema

STATION = EXAMPLES["station"]
CALL = ("cable", STATION, "CNE01", "CNE02")
FORWARD = ["CTE01", "CTE02", "CTE03", "CTE04", "CTE05"]
AFT = ["CTE06", "CTE07", "CTE08", "CTE09", "CTE10", "CTE11", "CTE12"]


def test_long_enough_one_way_round_and_short_the_other() -> None:
    found = run(*CALL, "--json")
    assert_answer(found)
    schema("cable").validate(found.answer)
    runs = found.answer["runs"]
    assert (runs["best"]["verdict"], runs["best"]["ties"]) == ("ok", FORWARD)
    assert [one["tie"] for one in runs["best"]["stowed"]] == ["CTE04"]
    other = runs["others"][0]
    assert (other["verdict"], other["ties"]) == ("too short", AFT)
    assert other["spare_m"] == pytest.approx(-0.4, abs=0.005)


def test_a_route_over_the_forward_side_leaves_only_the_short_cable() -> None:
    found = run(*CALL, "--route", "hatch", "SK34", "--json")
    assert_answer(found, 1)
    answer = found.answer
    assert answer["runs"]["best"]["ties"] == AFT
    assert answer["runs"]["best"]["verdict"] == "too short"
    assert "H5007" in answer["runs"]["kept_clear"]
    assert answer["remarks"][0].startswith("hatch to SK34: answered and safe")
    same = run(*CALL, "--keep-clear", "H5007", "--json").answer
    assert same["runs"]["best"] == answer["runs"]["best"]
    text = run(*CALL, "--keep-clear", "H5007")
    assert_answer(text, 1)
    assert "CBE01 (7.25 m) from CNE01 to CNE02: CANNOT BE LAID." in text.out
    assert "7.65 m needed, 0.40 m SHORT" in text.out


def test_no_run_says_what_is_in_the_way() -> None:
    found = run(*CALL, "--keep-clear", "H5007", "--keep-clear", "H5015")
    assert_answer(found, 1)
    assert "NO RUN." in found.out
    assert "without handrails to keep clear of (H5007) there is one of 5.14 m" in found.out


def test_a_route_that_is_not_there_is_never_safe() -> None:
    found = run(*CALL, "--route", "hatch", "W30", "--when", "radiator-hot")
    assert_answer(found, 1)
    assert "hatch to W30: NO ROUTE." in found.out


def test_picture_says_what_cannot_be_laid(tmp_path: Path) -> None:
    path = tmp_path / "cable.svg"
    found = run(*CALL, "--keep-clear", "H5007", "--picture", path)
    assert_answer(found, 1)
    text = path.read_text()
    assert "CANNOT BE LAID: CBE01 from CNE01 to CNE02" in text
    assert "way that the cable is too short for" in text
    assert "CAUTION" in text


def test_all_that_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    assert_refused(
        run("cable", STATION, "CNE1", "CNE1", "--cable", "CBE1", "--keep-clear", "X", "--route",
            "hatch", "nowhere", "--picture", tmp_path / "x.gif"),
        "FROM: no connector has the id 'CNE1'",
        "TO: no connector has the id 'CNE1'",
        "leads nowhere",
        "option --cable: no cable has the id 'CBE1'",
        "option --keep-clear: no handrail or handhold has the id 'X'",
        "option --route",
        "x.gif",
    )  # fmt: skip


def test_a_structure_without_cables() -> None:
    found = run("cable", EXAMPLES["small"], "A", "B")
    assert_refused(found, "the structure has 0 cables, and none is named", "add a cable")
