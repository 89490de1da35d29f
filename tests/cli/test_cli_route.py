"""`gripway route`: verdict, steps, margins; the same as JSON; exit codes by what was found."""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

from routing.cli.route_text import no_route_answer
from routing.graph.situation import Situation
from tests.cli.command_ground import (
    EXAMPLES,
    GOALS,
    ROOT,
    Outcome,
    assert_answer,
    assert_refused,
    run,
    schema,
)
from tests.routing.paths.reason_ground import across, why_not
from tests.routing.paths.route_graphs import deck

SMALL, STATION = EXAMPLES["small"], EXAMPLES["station"]
NOT_LOOKED_AT = "time home NOT looked at (ask with --homeward)"


@pytest.mark.parametrize("example", sorted(EXAMPLES))
@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_json_and_text_say_the_same(example: str, protocol: str) -> None:
    asked = ("route", EXAMPLES[example], "hatch", GOALS[example], "--protocol", protocol)
    found = run(*asked, "--json")
    assert_answer(found)
    answer = found.answer
    schema("route").validate(answer)
    assert answer["goal"] == {"worksite": GOALS[example]}
    assert answer["verdict"] == "answered and safe"
    text = run(*asked)
    assert_answer(text)
    assert f"Answered and safe within the limits given; {NOT_LOOKED_AT}." in text.out
    assert answer["home"] == "not checked"
    assert "; this way fails below a reach of " in text.out
    assert "(@ = metres along the handrail)" in text.out
    for step in answer["steps"]:
        assert f"\n{step}\n" in text.out
    assert f"Total {answer['totals']['seconds']:.0f} s" in text.out
    assert "hatch hatch" not in text.out


def test_small_route_is_the_one_worked_out_by_hand() -> None:
    # examples/small/by_hand.md works this out with pencil and paper.
    answer = run("route", SMALL, "hatch", "W1", "--json").answer
    ids = [part.get("handrail") or part.get("hatch") for part in answer["handrails"]]
    assert ids == ["hatch", "H01", "H02", "H03", "H04", "H05"]
    assert answer["totals"]["transfers"] == 5


def test_inputs_are_named_with_their_digests() -> None:
    answer = run("route", SMALL, "hatch", "W1", "--json").answer
    digests = {one["name"]: one["sha256"] for one in answer["inputs"]}
    for name in ("small.toml", "handrails.csv"):
        assert digests[name] == hashlib.sha256((SMALL.parent / name).read_bytes()).hexdigest()


def test_changed_limits_are_shown_and_their_file_is_an_input(tmp_path: Path) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text('schema_version = 1\nlength_unit = "in"\nreach = 26.0\n')
    answer = run("route", SMALL, "hatch", "W1", "--limits", limits, "--json").answer
    assert answer["limits_changed"] == {
        "reach_m": {"value": pytest.approx(26 * 0.0254), "default": pytest.approx(24 * 0.0254)}
    }
    assert answer["inputs"][-1]["name"] == "limits.toml"
    text = run("route", SMALL, "hatch", "W1", "--limits", limits)
    assert "limits changed: reach 0.6604 m (default 0.6096 m)" in text.out


def test_situation_is_shown() -> None:
    found = run(
        "route", SMALL, "hatch", "W1", "--person", "Larger person", "--carry", "bag",
        "--when", "venting", "--close", "H20", "--close", "H20", "--json",
    )  # fmt: skip
    answer = found.answer
    schema("route").validate(answer)
    assert answer["situation"] == {
        "person": "ev-large", "carry": "bag", "when": ["venting"], "closed": ["H20"],
    }  # fmt: skip


def test_via_is_met_in_order_and_back_again() -> None:
    answer = run("route", SMALL, "hatch", "hatch", "--via", "W3", "--via", "H03", "--json").answer
    schema("route").validate(answer)
    assert answer["via"] == [{"worksite": "W3"}, {"handrail": "H03"}]
    first, second = answer["via_grips"]
    assert first < second
    assert answer["grips"][0] == answer["grips"][-1]


def test_no_route_is_an_answer_with_exit_1(tmp_path: Path) -> None:
    asked = ("route", SMALL, "hatch", "W1", "--close", "H04", "--close", "H05")
    found = run(*asked, "--json")
    assert_answer(found, 1)
    schema("route").validate(found.answer)
    assert found.answer["verdict"] == "no route"
    text = run(*asked, "--profile", tmp_path / "p.svg")
    assert_answer(text, 1)
    assert "NO ROUTE from hatch to W1 (leapfrog): closed elements are in the way;" in text.out
    assert text.out.lower().count("no route from") == 1
    assert text.out.count("closest grip") == 1
    for opening in found.answer["openings"]:
        assert text.out.count(opening["message"]) == 1
    assert "No profile was drawn" in text.out
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_a_via_site_that_is_closed_is_no_route(protocol: str) -> None:
    asked = ("route", SMALL, "hatch", "W2", "--via", "W1", "--close", "H05")
    found = run(*asked, "--protocol", protocol)
    assert_answer(found, 1)
    assert "worksite W1 has no grip that can be used" in found.out


def test_the_verdict_tells_whether_the_time_home_was_looked_at(tmp_path: Path) -> None:
    asked = ("route", SMALL, "hatch", "W1", "--homeward")
    found = run(*asked, "--json").answer
    assert (found["home"], found["homeward"]["worst_s"] <= found["homeward"]["limit_s"]) == (
        "in time", True,
    )  # fmt: skip
    text = run(*asked).out
    assert "Answered and safe within the limits given, the time home among them.\n" in text
    assert "NOT looked at" not in text
    limits = tmp_path / "limits.toml"
    limit_s = found["homeward"]["worst_s"] - 1
    head = 'schema_version = 1\nlength_unit = "m"\n'
    limits.write_text(f"{head}time_home_limit_s = {limit_s:.0f}\n")
    late = run(*asked, "--limits", limits, "--json")
    assert_answer(late, 1)
    assert (late.answer["home"], late.answer["verdict"]) == ("too late", "unsafe")
    assert run(*asked[:-1], "--limits", limits, "--json").answer["home"] == "not checked"


def test_no_route_names_what_opens_it_only_all_at_once() -> None:
    answer = why_not(deck(zones=(across(8.0),)), Situation(closed=("H2",)))
    *_, alone, head, told, tried = no_route_answer(answer)
    assert alone == "No single change that was tried opens it."
    assert head == "What opens it only all at once:"
    assert told.startswith("  - zone Z8 off and H2 open, together and none of them left out, open")
    assert tried.startswith("Tried: ")
    assert "\n".join(no_route_answer(answer)).count("zone Z8 off and H2 open") == 1


def test_unsafe_route_says_so_first_and_exits_1(tmp_path: Path) -> None:
    weak = tmp_path / "weak.toml"
    text = SMALL.read_text().replace("rating_n = 3200.0", "rating_n = 900.0")
    weak.write_text(text)
    (tmp_path / "handrails.csv").write_bytes((SMALL.parent / "handrails.csv").read_bytes())
    found = run("route", weak, "hatch", "W1")
    assert_answer(found, 1)
    lines = found.out.splitlines()
    (verdict,) = [i for i, line in enumerate(lines) if "UNSAFE: do not use this route" in line]
    assert lines[verdict + 1].startswith("STOP: tether point TP1 is rated 900 N")
    assert found.out.count("STOP: tether point") == 1
    assert "Answered and safe" not in found.out
    assert run("route", weak, "hatch", "W1", "--json").answer["verdict"] == "unsafe"


class TestReels:
    def test_default_kit_is_two_of_the_limits(self) -> None:
        answer = run("route", SMALL, "hatch", "W1", "--protocol", "reel", "--json").answer
        assert answer["reels_m"] == [85 * 0.3048] * 2  # 85 ft = 25.908 m exactly
        leapfrog = run("route", SMALL, "hatch", "W1", "--json").answer
        assert "reels_m" not in leapfrog

    @pytest.mark.parametrize(
        ("text", "length_m"),
        [
            ("85ft", 25.908), ("85 ft", 25.908), ("1020in", 25.908), (" 25.908 m ", 25.908),
            (".5m", 0.5), ("12.m", 12.0),
        ],
    )  # fmt: skip
    def test_units_of_lengths(self, text: str, length_m: float) -> None:
        # 1 in = 25.4 mm exactly (NIST SP 811, 2008, appendix B.8).
        found = run("route", SMALL, "hatch", "H01", "--protocol", "reel", "--reel", text, "--json")
        assert found.answer["reels_m"] == [pytest.approx(length_m, rel=1e-12)]

    @pytest.mark.parametrize(
        "text",
        ["85", "ft", "-5m", "0ft", "nan m", "inf m", "1e3m", "5km", "2000m", "85 ft ft", "٣m"],
    )
    def test_what_is_no_length_is_refused(self, text: str) -> None:
        found = run("route", SMALL, "hatch", "W1", "--protocol", "reel", f"--reel={text}")
        assert_refused(found, "option --reel", "1 problem")

    def test_reels_need_their_protocol(self) -> None:
        assert_refused(run("route", SMALL, "hatch", "W1", "--reel", "85ft"), "--protocol reel")

    def test_too_many_reels(self) -> None:
        reels = ["--reel=9ft"] * 13
        assert_refused(run("route", SMALL, "hatch", "W1", "--protocol", "reel", *reels), "13 reels")

    def test_mixed_kit_is_used_and_shown(self) -> None:
        # The way to W1 takes 9.07 m of line; the first tether is too short for all of it.
        asked = ("route", SMALL, "hatch", "W1", "--protocol", "reel", "--reel=6m", "--reel=7.5m")
        found = run(*asked, "--json")
        schema("route").validate(found.answer)
        assert found.answer["reels_m"] == [6.0, 7.5]
        assert {stay["length_m"] for stay in found.answer["stays"]} == {6.0, 7.5}
        assert found.answer["totals"]["transfers"] == 1
        assert "1 reel of 7.50 m (24.6 ft), 1 reel of 6.00 m (19.7 ft)" in run(*asked).out

    def test_too_short_a_kit_is_no_route(self) -> None:
        found = run("route", SMALL, "hatch", "W1", "--protocol", "reel", "--reel", "10ft")
        assert_answer(found, 1)
        assert "tether" in found.out


class TestProfile:
    def test_profile_is_drawn_beside_the_answer(self, tmp_path: Path) -> None:
        path = tmp_path / "profile.svg"
        asked = ("route", SMALL, "hatch", "W1", "--protocol", "reel", "--profile")
        found = run(*asked, path)
        assert_answer(found)
        assert f"the profile is in {path}" in found.out
        drawn = path.read_text()
        assert "line out" in drawn
        assert "not certified for flight" in drawn
        again = tmp_path / "again.svg"
        assert run(*asked, again, "--json").code == 0
        assert again.read_bytes() == path.read_bytes()
        assert sorted(one.name for one in tmp_path.iterdir()) == ["again.svg", "profile.svg"]

    def test_a_route_without_a_move_has_no_profile(self, tmp_path: Path) -> None:
        # W3 is at socket SK2, so the hands stay where they are.
        found = run("route", SMALL, "W3", "SK2", "--profile", tmp_path / "p.png")
        assert_refused(found, "no hand-over")
        assert list(tmp_path.iterdir()) == []


def test_same_bytes_whatever_the_hash_seed() -> None:
    script = "import sys; from routing.cli.main import main; sys.exit(main())"
    outs = {
        subprocess.run(
            [sys.executable, "-c", script, "route", STATION, "hatch", "W12", "--json"],
            cwd=ROOT,
            env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONIOENCODING": "utf-8"},
            capture_output=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(outs) == 1


def test_terminal_without_utf8_gets_escapes_and_the_same_json(tmp_path: Path) -> None:
    text = SMALL.read_text().replace('name = "Pocket Module"', 'name = "Modül ☃ Pocket"')
    path = tmp_path / "odd.toml"
    path.write_text(text, encoding="utf-8")
    (tmp_path / "handrails.csv").write_bytes((SMALL.parent / "handrails.csv").read_bytes())
    asked = ("route", path, "hatch", "W1")
    plain: Outcome = run(*asked, encoding="latin-1")
    assert plain.code == 0
    assert "Modül \\u2603 Pocket" in plain.out
    narrow = run(*asked, "--json", encoding="ascii")
    assert narrow.answer == run(*asked, "--json").answer
    assert narrow.answer["structure"]["name"] == "Modül ☃ Pocket"
