"""`gripway reach`: every worksite with its chain, margin and verdict, each for a reason."""

import csv
import io
from pathlib import Path
from typing import NamedTuple

import pytest

from routing.cli.tables import Column, table_lines
from structures.files.reader import read_structure
from structures.units import length_text
from tests.cli.command_ground import EXAMPLES, Outcome, assert_answer, assert_refused, run, schema

SMALL, STATION = EXAMPLES["small"], EXAMPLES["station"]


class Station(NamedTuple):
    json: Outcome
    text: Outcome
    table: str


UNABLE = {"unknown", "no setting", "another socket", "some bodies"}
NO_TARGET = "nothing to reach"


@pytest.fixture(scope="module")
def station(tmp_path_factory: pytest.TempPathFactory) -> Station:
    path = tmp_path_factory.mktemp("reach") / "reach.csv"
    return Station(
        run("reach", STATION, "--json"),
        run("reach", STATION, "--csv", path),
        path.read_bytes().decode(),
    )


def test_every_worksite_is_listed_under_its_key(station: Station) -> None:
    assert_answer(station.json, 1)
    answer = station.json.answer
    schema("reach").validate(answer)
    listed = {row["worksite"] for row in answer["worksites"]}
    assert listed == {worksite.id for worksite in read_structure(STATION).worksites}
    assert answer["safe"] is False


def test_one_tether_two_tethers_and_none_that_does(station: Station) -> None:
    rows = station.json.answer["worksites"]
    ties = [(row["tie"], row.get("tethers")) for row in rows if row["tie"] != "nothing to tie"]
    assert ("ok", 1) in ties
    assert ("ok", 2) in ties
    failed = [row for row in rows if row["tie"] not in {"ok", "nothing to tie"}]
    assert failed
    assert all(row["reason"] for row in failed)


def test_text_names_what_is_not_safe_and_why(station: Station) -> None:
    assert_answer(station.text, 1)
    rows = station.json.answer["worksites"]
    keys = ("reason", "restraint_reason", "home_reason")
    bad = [row for row in rows if any(row.get(key) for key in keys)]
    fails = [(row["tie"], row["restraint"], row["home"]) for row in bad]
    assert all(
        tie == "no chain" or restraint in UNABLE or home == "too late"
        for tie, restraint, home in fails
    )
    assert {row["way"] for row in rows} == {"safe"}
    for row in bad:
        assert row["worksite"] in station.text.out.split("NOT SAFE OR NOT REACHED: ")[1]
        for key in keys:
            if row.get(key):
                assert f"  {row['worksite']}: {row[key]}\n" in station.text.out
    good = [row for row in rows if row not in bad]
    partly = sum(row["restraint"] == "not asked" for row in good)
    assert partly > 0
    assert f"Safe: {len(good) - partly} of {len(rows)} worksites." in station.text.out
    assert f"in what was checked: {partly} of {len(rows)} worksites." in station.text.out


def test_times_are_those_of_the_routes(station: Station) -> None:
    rows = {row["worksite"]: row for row in station.json.answer["worksites"]}
    for goal in ("W12", "W28"):
        route = run("route", STATION, "hatch", goal, "--json").answer
        assert rows[goal]["seconds"] == route["totals"]["seconds"]
        assert rows[goal]["transfers"] == route["totals"]["transfers"]


def test_csv_holds_the_same_rows(station: Station) -> None:
    rows = list(csv.DictReader(io.StringIO(station.table, newline="")))
    answer = station.json.answer["worksites"]
    assert [row["worksite"] for row in rows] == [row["worksite"] for row in answer]
    for row, said in zip(rows, answer, strict=True):
        for key in ("seconds", "held_m", "margin_m"):
            assert (float(row[key]) if row[key] else None) == said.get(key)


def test_reels_and_limits_are_shown_and_matter(tmp_path: Path) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text('schema_version = 1\nlength_unit = "ft"\nreserve = 3.0\n')
    asked = ("reach", SMALL, "--protocol", "reel", "--reel", "11ft", "--limits", limits)
    found = run(*asked, "--json")
    assert_answer(found, 1)
    schema("reach").validate(found.answer)
    assert found.answer["protocol"] == "reel"
    assert found.answer["reels_m"] == [11 * 0.3048]
    assert set(found.answer["limits_changed"]) == {"reserve_m"}
    assert "no route" in {row["way"] for row in found.answer["worksites"]}
    text = run(*asked)
    assert "protocol reel, 1 reel of 3.35 m (11.0 ft)" in text.out
    assert "limits changed: reserve 0.9144 m (default 0.6096 m)" in text.out


def test_three_kits_side_by_side(tmp_path: Path) -> None:
    path = tmp_path / "chains.csv"
    kits = ("--kit", "85ft+85ft", "--kit", "55 ft", "--kit", "leapfrog")
    found = run("reach", STATION, *kits, "--json")
    assert_answer(found, 1)
    answer = found.answer
    schema("reach").validate(answer)
    serves = {kit["kit"]: kit["serves"] for kit in answer["compared"]["kits"]}
    sites = {worksite.id for worksite in read_structure(STATION).worksites}
    short = {
        chain["worksite"]
        for chain in answer["chains"]
        if chain["kit"] == "55ft" and chain["way"] != "safe"
    }
    # Of the thirty sites that the station was laid out with; others may be added to it.
    assert len(short & {f"W{number:02d}" for number in range(1, 31)}) == 12
    many = len(sites)
    assert serves == {"85ft+85ft": many, "55ft": many - len(short), "leapfrog": many}
    assert answer["compared"]["fastest"] == "85ft+85ft"
    assert answer["compared"]["least"] == "leapfrog"
    far = {c["kit"]: c for c in answer["chains"] if c["worksite"] == "W28"}
    assert far["85ft+85ft"]["transfers"] == 1
    assert [s["tether_point"] for s in far["85ft+85ft"]["stays"]] == ["TP01", "TP39"]
    assert far["55ft"]["way"] == "no route"
    assert "the line from TP01 runs out at" in far["55ft"]["reason"]
    assert len(answer["chains"]) == 3 * many
    text = run("reach", STATION, *kits, "--chains", path)
    assert_answer(text, 1)
    assert "Fastest kit that serves all worksites: 85ft+85ft" in text.out
    short_m = far["55ft"]["shortfall"]["line_short_m"]
    row = next(line for line in text.out.splitlines() if line.startswith("W28 "))
    assert f"NO, {length_text(short_m, 'up')} short" in row
    listed = list(csv.DictReader(io.StringIO(path.read_text())))
    assert {row["kit"] for row in listed} == {"85ft+85ft", "55ft", "leapfrog"}
    assert sum(row["worksite"] == "W28" for row in listed) == 2 + 1 + 1


def test_all_verdicts_in_one_row_worst_first(station: Station) -> None:
    asked = ("reach", STATION, "--protocol", "reel")
    found = run(*asked, "--json")
    assert_answer(found, 1)
    schema("reach").validate(found.answer)
    rows = {row["worksite"]: row for row in found.answer["worksites"]}
    assert {row["home"] for row in rows.values()} == {"in time"}
    assert all(row["home_s"] > 0 for row in rows.values())
    for worksite in ("W01", "W28"):
        asked_alone = ("route", STATION, "hatch", worksite, "--protocol", "reel", "--homeward")
        alone = run(*asked_alone, "--json").answer
        assert rows[worksite]["home_s"] == pytest.approx(alone["homeward"]["worst_s"])
    restraints = {row["restraint"] for row in rows.values()}
    assert {"ok", "no setting", "some bodies", "not asked"} <= restraints
    bad = [row for row in rows.values() if row["restraint"] in {"no setting", "some bodies"}]
    assert all(row["restraint_reason"] for row in bad)
    order = [row["worksite"] for row in found.answer["worksites"]]
    good = [w for w, row in rows.items() if row["restraint"] == "ok" and row["tie"] == "ok"]
    worst = {row["worksite"] for row in bad}
    assert max(order.index(one) for one in worst) < min(order.index(one) for one in good)


def test_what_is_not_checked_is_never_said_to_be_ok() -> None:
    asked = ("reach", STATION, "--only", "tether")
    rows = run(*asked, "--json").answer["worksites"]
    assert {row["restraint"] for row in rows} == {"not checked"}
    assert {row["home"] for row in rows} == {"not checked"}
    out = run(*asked).out
    said = f"NOT CHECKED: foot restraint of {len(rows)}, time home of {len(rows)}."
    *_, closing, _, caution = out.rstrip().splitlines()
    assert closing.startswith(said)
    assert caution.startswith("CAUTION")
    (verdict,) = [line for line in out.splitlines() if line.startswith("NOT SAFE OR NOT REACHED")]
    assert said in verdict
    assert "Nothing unsafe in what was checked: " in verdict
    assert "Safe: " not in out


def test_built_in_restraints_are_used_alike_and_said() -> None:
    """The small example lists no restraints and no bodies."""
    rows = {row["worksite"]: row for row in run("reach", SMALL, "--json").answer["worksites"]}
    alone = {row["worksite"]: row for row in run("restraint", SMALL, "--json").answer["worksites"]}
    tried = [one for one in alone.values() if one["verdict"] not in {"not asked", NO_TARGET}]
    assert tried
    for one in tried:
        row = rows[one["worksite"]]
        assert row["restraint"] == one["verdict"]
        assert row.get("restraint_margin_m") == pytest.approx(one.get("margin_m"))
        assert "the built-in one was used" in row["restraint_remark"]
    assert run("reach", SMALL).out.count("the structure lists no restraints") == 1


def test_home_too_late_is_no_fault_of_the_way(tmp_path: Path) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text('schema_version = 1\nlength_unit = "m"\ntime_home_limit_s = 10.0\n')
    found = run("reach", SMALL, "--limits", limits, "--json")
    assert_answer(found, 1)
    for row in found.answer["worksites"]:
        assert row["way"] == "safe"
        assert row["home"] == "too late"
        assert "the way home takes" in row["home_reason"]
    text = run("reach", SMALL, "--limits", limits)
    assert "NOT SAFE OR NOT REACHED" in text.out


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--kit", "85"), "'85' is not a length with its unit"),
        (("--kit", "85ft+"), "'' is not a length with its unit"),
        (("--kit", "9000ft"), "check the unit"),
        (("--kit", "85ft", "--reel", "55ft"), "--reel is given too"),
        (("--kit", "85ft", "--protocol", "reel"), "--protocol is given too"),
        (("--kit", "85ft+55ft", "--kit", "55ft+85ft"), "kit '55ft+85ft' is given twice"),
        (("--kit", "+".join(["9m"] * 13)), "13 reels are in one kit"),
        (sum((("--kit", f"{n}m") for n in range(5, 18)), ()), "13 kits are given"),
    ],
)
def test_kits_that_are_none_are_refused(options: tuple[str, ...], said: str) -> None:
    assert_refused(run("reach", SMALL, *options), "option --kit", said)


def test_line_spare_is_rounded_down_in_every_table() -> None:
    found = run("reach", SMALL, "--kit", "55ft", "--only", "tether")
    # By hand: 16.764 m less 0.6096 m less 357 in (9.0678 m) are 7.0866 m.
    kits, worksites, chains = (line for line in found.out.split("\n") if line.startswith("W1 "))
    assert "7.08 m spare" in kits
    assert "  7.08 " in worksites
    assert "  7.08 " in chains


def test_small_is_safe_and_repeats() -> None:
    found = run("reach", SMALL, "--only", "tether")
    assert_answer(found, 0)
    assert "Answered and safe" not in found.out
    assert "Nothing unsafe in what was checked: 3 worksites. NOT CHECKED: foot" in found.out
    whole = run("reach", SMALL)
    assert_answer(whole)
    assert "Answered and safe within the limits given: 3 worksites." in whole.out
    assert "none planned" in whole.out
    # Every column that is an abbreviation is explained below the table.
    (key,) = [line for line in whole.out.splitlines() if line.startswith("Key: ")]
    table, _, _ = whole.out.partition(key)
    assert "in metres along the handrail" in key
    for name in ("hatch", "line spare", "rail@m", "tethers", "held", "seated", "margin", "home"):
        assert name in key
        assert name.split()[0] in table
    assert whole.out == run("reach", SMALL).out


def test_a_restraint_that_was_only_not_asked_is_never_safe(tmp_path: Path) -> None:
    text = "".join(
        line
        for line in SMALL.read_text().splitlines(keepends=True)
        if not line.startswith("without_restraint")
    )
    path = tmp_path / "small.toml"
    path.write_text(text)
    (tmp_path / "handrails.csv").write_bytes((SMALL.parent / "handrails.csv").read_bytes())
    found = run("reach", path)
    assert_answer(found, 1)
    assert "Safe: 2 of 3 worksites. Nothing unsafe in what was checked: 1 of 3" in found.out
    assert "NOT CHECKED: foot restraint of 1 (W1): on a handrail" in found.out
    assert "NOT SAFE" not in found.out
    assert "--only" not in found.out
    answer = run("reach", path, "--json").answer
    schema("reach").validate(answer)
    assert (answer["safe"], answer["verdict"]) == (False, "not all checked")
    assert [one.partition(":")[0] for one in answer["not_checked"]] == ["foot restraint of 1 (W1)"]
    left_out = run("reach", path, "--only", "tether", "--json")
    assert_answer(left_out)
    answer = left_out.answer
    assert (answer["safe"], answer["verdict"]) == (True, "not all checked")
    whole = run("reach", SMALL, "--json").answer
    assert (whole["safe"], whole["verdict"], whole["not_checked"]) == (True, "safe", [])


def test_without_a_hatch_nobody_is_outside(tmp_path: Path) -> None:
    text = SMALL.read_text()
    start = text.index("[[hatches]]")
    path = tmp_path / "shut.toml"
    path.write_text(text[:start] + text[text.index("[[worksites]]") :])
    (tmp_path / "handrails.csv").write_bytes((SMALL.parent / "handrails.csv").read_bytes())
    found = run("reach", path)
    assert (found.code, found.out) == (2, "")
    assert "has no hatch to start from" in found.err
    assert "internal fault" not in found.err


class TestTables:
    COLUMNS = (
        Column("worksite", keep=12), Column("way"), Column("held m", number=True), Column("why")
    )  # fmt: skip
    ROWS = (
        ("W1 Locker forward latch and more", "no route", "12.345", "a reason of many words " * 9),
        ("W2", "safe", "", ""),
    )

    @pytest.mark.parametrize("width", [40, 60, 80, 100, 220])
    def test_no_line_is_wider_than_asked_or_ends_in_spaces(self, width: int) -> None:
        lines = table_lines(self.COLUMNS, self.ROWS, width)
        assert max(map(len, lines)) <= width
        assert lines == [line.rstrip() for line in lines]

    def test_no_wider_than_needed(self) -> None:
        assert table_lines([Column("a"), Column("b m", number=True)], [["x", "1.00"]], 220) == [
            "a   b m",
            "-------",
            "x  1.00",
        ]

    @pytest.mark.parametrize("width", [1, 20, 47, 80])
    def test_numbers_are_never_broken_and_no_word_is_lost(self, width: int) -> None:
        lines = table_lines(self.COLUMNS, self.ROWS, width)
        assert any("12.345" in line for line in lines)
        joined = " ".join(lines).split()
        for word in " ".join(cell for row in self.ROWS for cell in row).split():
            assert joined.count(word) == " ".join(" ".join(r) for r in self.ROWS).split().count(
                word
            )

    def test_markup_and_wide_letters_are_only_text(self) -> None:
        lines = table_lines(
            [Column("n"), Column("m")], [["[red]x[/]", "漢字"], ["漢", ":star:"]], 80
        )
        assert "[red]x[/]  漢字" in lines
        assert any(":star:" in line for line in lines)


def test_the_kit_at_hand_decides_what_is_tied(station: Station) -> None:
    every = {row["worksite"]: row for row in station.json.answer["worksites"]}
    asked = ("reach", STATION, "--only", "tether", "--tethers")
    answer = run(*asked, "ETE01=1", "--json").answer
    schema("reach").validate(answer)
    assert (answer["tethers"], station.json.answer.get("tethers")) == ({"ETE01": 1}, None)
    changed = {
        row["worksite"]: row
        for row in answer["worksites"]
        if row["tie"] != every[row["worksite"]]["tie"]
    }
    assert changed
    assert all(row["tie"] == "no chain" and row["reason"] for row in changed.values())
    more = run(*asked, "ETE01=1", "--tethers", "ETE02=3", "--json").answer
    laced = next(row for row in more["worksites"] if row["worksite"] == "WC501")
    assert "(1 x ETE01, 3 x ETE02) ties 4 of 5 attach points at the same time" in laced["reason"]
    text = run(*asked, "ETE01=1")
    assert "Equipment tethers at hand: 1 x ETE01." in text.out
    for name in changed:
        assert name in text.out.split("NOT SAFE OR NOT REACHED: ")[1].split(". Safe:")[0]


def test_a_kit_that_is_not_there_is_refused() -> None:
    assert_refused(
        run("reach", STATION, "--tethers", "ETE1=2", "--tethers", "2"),
        "no equipment tether has the id 'ETE1'",
        "'2' is not ID=COUNT",
    )
