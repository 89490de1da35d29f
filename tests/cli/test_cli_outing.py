"""`gripway outing`: a whole plan as text, JSON and CSV; closing a handrail; wrong calls."""

import csv
import io
import re
import shutil
from pathlib import Path

import pytest

from tests.cli.command_ground import (
    ROOT,
    assert_answer,
    assert_plain,
    assert_refused,
    raw_document,
    run,
    schema,
)
from tests.routing.outings.outing_plans import write_plan
from tests.routing.outings.test_outing_lines import UNDER

SMALL = ROOT / "examples" / "small" / "outing.toml"
STATION = ROOT / "examples" / "station" / "outing.toml"


def test_small_outing_as_text() -> None:
    found = run("outing", SMALL, "--steps", "--ledger")
    assert_answer(found)
    verdict = found.out.splitlines()[2]
    assert verdict.startswith(
        "Planned within the limits given; 2 things to WATCH: corridor-tight, people-too-near."
    )
    assert "clean" not in verdict
    not_asked = found.out.splitlines()[3]
    assert "how the times spread (--spread N)" in not_asked
    assert "`gripway pack` asks all of it" in not_asked
    assert "7 acts and 6 ways in 1:48" in found.out
    assert "Note for EV2 these limits are planning placeholders: reach" in found.out
    assert "wait for heater-off" in found.out
    assert (
        "0:39 Torque check of the starboard valve with Torque wrench (wrench) [valve], 15 min."
        in (found.out)
    )
    assert "Critical path, with the ways to each: " in found.out
    assert "(PET: phased elapsed time, hours and minutes since the outing began" in found.out
    assert "Item ledger:" in found.out
    assert "Safety tethers, the first hooked one first:" in found.out
    assert_plain(found.err)


def test_json_is_what_the_schema_says_and_the_same_each_time() -> None:
    found = run("outing", SMALL, "--json")
    assert found.code == 0
    schema("outing").validate(found.answer)
    assert found.answer["verdict"] == "planned, with things to watch"
    assert [one["name"] for one in found.answer["inputs"]] == [
        "outing.toml",
        "small.toml",
        "handrails.csv",
    ]
    way = next(one for one in found.answer["translations"] if one["act"] == "latch")
    assert way["to_site"] == {"worksite": "W1"}
    again = run("outing", SMALL, "--json")
    assert (again.code, again.out) == (found.code, found.out)  # stderr says how long it took


@pytest.mark.parametrize("plan", [SMALL, STATION, STATION.with_name("outing_broken.toml")])
def test_example_plans_are_valid_documents(plan: Path) -> None:
    schema("plan").validate(raw_document(plan))


def test_csv_has_the_run_sheet(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    found = run("outing", SMALL, "--csv", path)
    assert_answer(found)
    rows = list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"))))
    answer = run("outing", SMALL, "--json").answer
    assert len(rows) == len(answer["run_sheet"])
    latch = next(row for row in rows if row["act"] == "latch" and row["kind"] == "way")
    assert latch["handrails"] == "H01 H02 H03 H04 H05"
    assert latch["to"] == "W1"
    assert float(latch["line_left_m"]) == pytest.approx(16.84)


def test_closing_a_handrail_plans_again_and_says_what_changed() -> None:
    found = run("outing", SMALL, "--close", "H02")
    assert_answer(found)
    assert "With H02 closed 2 ways change" in found.out
    assert "EV2 to latch (hatch to W1): 79 s becomes 144 s" in found.out
    answer = run("outing", SMALL, "--close", "H02", "--json").answer
    schema("outing").validate(answer)
    assert [one["act"] for one in answer["changes"]["ways"]] == ["latch", "ev2-home"]
    assert answer["closed"] == answer["changes"]["closed"] == ["H02"]
    for way in answer["translations"]:
        assert "H02" not in {one.get("handrail") for one in way["handrails"]}


def test_a_closure_that_cuts_a_way_is_no_answer_to_follow() -> None:
    found = run("outing", SMALL, "--close", "H05")
    assert_answer(found, code=1)
    assert "NOT CLEAN: 1 finding must be mended first." in found.out
    assert "MORE THAN" in found.out
    assert "what is left is not known" in found.out
    assert "the outing cannot be done as planned, so its length is not known" in found.out
    assert "EV2 to latch: NO WAY any more; not worked out after it: ev2-home" in found.out
    assert "EV2 home from 0:35 on: NOT KNOWN, because a way was not found" in found.out
    (home,) = [line for line in found.out.splitlines() if line.startswith("EV2 home from")]
    assert "in time from everywhere" not in home
    answer = run("outing", SMALL, "--close", "H05", "--json").answer
    assert "planned_left_s" not in answer["totals"]
    assert answer["totals"]["ways_missing"] == 2
    assert [(one["person"], one["complete"]) for one in answer["home"]] == [
        ("EV1", True),
        ("EV2", False),
    ]
    assert {one["person"] for one in answer["turn_home"]} == {"EV1"}
    assert not [r for r in answer["run_sheet"] if r["who"] == ["EV2"] and "turn_by_s" in r]
    (finding,) = [one for one in answer["findings"] if one["severity"] != "notes"]
    assert (finding["code"], finding["act"]) == ("no-way", "latch")


def test_no_total_without_all_ways_stands_as_a_fact() -> None:
    found = run("outing", SMALL, "--close", "H05", "--late", "400")
    assert_answer(found, code=1)
    assert "acts and 6 ways in MORE THAN 8:27 (without 2 ways that could not be found)" in found.out
    assert (
        "400 min lost before the first act: MORE THAN 8:27 with nothing dropped "
        "(MORE THAN 1:47 before)." in found.out
    )
    assert "the outing takes MORE THAN 8:27, at least 1:27 more than what the suits hold" in (
        found.out
    )
    assert not re.search(r"(?<!MORE THAN )\b8:2[78]\b", found.out.split("Run sheet")[0])


def test_what_a_closure_costs_is_not_said_where_ways_were_missing_before(tmp_path: Path) -> None:
    shutil.copytree(SMALL.parent, tmp_path / "small")
    plan = tmp_path / "small" / "outing.toml"
    plan.write_text(f'closed = ["H05"]\n{plan.read_text(encoding="utf-8")}', encoding="utf-8")
    found = run("outing", plan, "--close", "H03")
    assert "MORE THAN" in found.out.split("With H03 closed ")[1].splitlines()[0]
    assert "how much longer is not known" in found.out


def test_closing_a_rail_of_the_station_outing_plans_again() -> None:
    found = run("outing", STATION, "--close", "H1097", "--json")
    assert found.code == 0
    changes = found.answer["changes"]
    assert changes["total_after_s"] > changes["total_before_s"]
    assert {way["act"] for way in changes["ways"]} >= {"r1-fetch", "r1-set-up"}
    said = {one["code"] for one in changes["new_findings"]}
    assert said == {"lines-cross", "gap-near-reach"}


def test_how_one_fetches_the_other_is_told_and_when_it_is_not_looked_at() -> None:
    found = run("outing", SMALL)
    lines = [line for line in found.out.splitlines() if " home: at worst " in line]
    assert [line.partition(" home")[0] for line in lines] == ["EV1 fetches EV2", "EV2 fetches EV1"]
    assert all("while the partner is on the way: NOT LOOKED AT" in line for line in lines)
    rescues = run("outing", SMALL, "--json").answer["rescues"]
    assert {(one["rescuer"], one["partner"]) for one in rescues} == {("EV1", "EV2"), ("EV2", "EV1")}
    assert {one["verdict"] for one in rescues} == {"in time"}


def test_wrong_calls_say_all_at_once(tmp_path: Path) -> None:
    found = run(
        "outing", SMALL, "--close", "H2", "--get-ahead", "more", "--csv", tmp_path / "no" / "x.csv"
    )
    assert_refused(
        found,
        "option --close: no handrail, handhold, hatch, socket or tether point has the id 'H2'",
        "option --get-ahead: no get-ahead of the plan has the id 'more'",
        "option --csv: there is no folder",
        "3 problems",
    )
    assert_refused(run("outing", tmp_path / "none.toml"), "none.toml")


def test_nothing_is_written_over_what_is_read(tmp_path: Path) -> None:
    shutil.copytree(SMALL.parent, tmp_path / "small")
    plan = tmp_path / "small" / "outing.toml"
    for name in ("outing.toml", "small.toml", "handrails.csv"):
        target = tmp_path / "small" / name
        before = target.read_bytes()
        assert_refused(run("outing", plan, "--csv", target), "is what is being read")
        assert target.read_bytes() == before


def test_a_wrong_plan_is_refused_with_lines(tmp_path: Path) -> None:
    shutil.copytree(SMALL.parent, tmp_path / "small")
    plan = tmp_path / "small" / "outing.toml"
    text = plan.read_text(encoding="utf-8")
    plan.write_text(text.replace('at = "W3"', 'at = "W33"').replace('"bag-out"]', '"bag-ot"]'))
    assert_refused(
        run("outing", plan),
        "outing.toml:59 acts[2].after[0]: no act or gate has the id 'bag-ot'; did you mean bag-out",
        "did you mean W3",
    )


def test_names_that_steer_a_terminal_do_not(tmp_path: Path) -> None:
    shutil.copytree(SMALL.parent, tmp_path / "small")
    plan = tmp_path / "small" / "outing.toml"
    text = plan.read_text(encoding="utf-8")
    evil = "\\u001b[31m=cmd|1 [bold]x[/]\\n9. Let go\\u202e"
    plan.write_text(
        text.replace('notes = "Look', f'notes = "{evil}Look')
        .replace('name = "Valve check"', f'name = "{evil}"')
        .replace('name = "Torque wrench"', f'name = "{evil}"'),
        encoding="utf-8",
    )
    sheet = tmp_path / "run.csv"
    found = run("outing", plan, "--steps", "--csv", sheet)
    assert_answer(found)
    assert "[bold]x[/]" in found.out
    clean = run("outing", SMALL, "--steps", "--csv", tmp_path / "clean.csv")
    steps = [line for line in found.out.splitlines() if line.startswith("9. Let go")]
    assert not steps
    assert len(clean.out.splitlines()) <= len(found.out.splitlines())
    for row in csv.reader(io.StringIO(sheet.read_text(encoding="utf-8"))):
        assert not [cell for cell in row if cell.startswith(("=", "+", "-", "@"))]


@pytest.mark.parametrize("suffix", ["svg", "png", "pdf"])
def test_the_timeline_is_drawn(tmp_path: Path, suffix: str) -> None:
    paths = [tmp_path / f"{name}.{suffix}" for name in "ab"]
    for path in paths:
        found = run("outing", SMALL, "--chart", path)
        assert_answer(found)
        assert f"the timeline is in {path}" in found.out.replace("\n", "")
    assert paths[0].read_bytes() == paths[1].read_bytes()


def test_a_timeline_of_another_format_is_refused(tmp_path: Path) -> None:
    found = run("outing", SMALL, "--chart", tmp_path / "a.gif")
    assert_refused(found, "option --chart", ".svg or .png or .pdf")


def test_spread_is_said_and_the_same_for_the_same_seed() -> None:
    call = ("outing", SMALL, "--spread", "400", "--seed", "3")
    found = run(*call)
    assert_answer(found)
    assert "Spread (PERT-beta, 400 samples, seed 3; ways do not spread): P50 1:" in found.out
    answer = run(*call, "--json").answer
    schema("outing").validate(answer)
    spread = answer["spread"]
    assert spread["p50_s"] < spread["p90_s"]
    # Rounded up: never less than it is.
    for name in ("P50", "P90"):
        (shown,) = re.findall(rf"{name} (\d+):(\d\d)", found.out.split("Spread")[1])[:1]
        over_s = 3600 * int(shown[0]) + 60 * int(shown[1]) - spread[f"{name.lower()}_s"]
        assert 0 <= over_s < 60
    assert run(*call).out == found.out
    assert run("outing", SMALL, "--spread", "1").code == 2


def test_the_time_left_is_filled_with_get_aheads() -> None:
    found = run("outing", STATION, "--fill", "--json")
    assert found.code == 0
    schema("outing").validate(found.answer)
    assert found.answer["get_aheads_planned"] == ["port-latch"]
    choice = found.answer["get_ahead_choice"]
    assert (choice["worth"], choice["worth_at_most"], choice["proven"]) == (3.0, 3.0, True)
    left = next(row for row in choice["rows"] if row["id"] == "window-cover")
    assert "more than the planned length of 6:30" in left["why_not"]
    assert found.answer["totals"]["planned_left_s"] > 0


def test_a_plan_without_get_aheads_has_none_to_choose() -> None:
    found = run("outing", SMALL, "--fill")
    assert_answer(found)
    assert "No get-aheads chosen: the plan has no get-aheads to choose from." in found.out


def test_what_is_dropped_when_time_is_lost() -> None:
    found = run("outing", STATION, "--late", "10", "--at", "unbolt", "--json")
    assert found.code == 0
    schema("outing").validate(found.answer)
    lost = found.answer["time_lost"]
    assert [one["code"] for one in lost["broken"]] == ["over-planned-length"]
    assert (lost["dropped"], lost["enough"], lost["proven"]) == (["test"], True, True)
    assert found.answer["dropped"] == ["test"]
    assert "pump-test" not in {row.get("act") for row in found.answer["run_sheet"]}
    begun = [row["id"] for row in lost["rows"] if row["begun"]]
    assert begun == ["photo"]


def test_more_than_can_be_made_up_is_no_answer_to_follow() -> None:
    found = run("outing", SMALL, "--late", "400", "--at", "valve")
    assert_answer(found, code=1)
    assert "400 min lost at valve: 8:28 with nothing dropped (1:48 before)." in found.out
    assert "broken: the outing takes 8:28, 1:28 more than what the suits hold" in found.out
    assert "NOTHING that may be dropped is enough" in found.out
    assert "Rule: dropped is what loses the least worth" in found.out


def test_what_is_in_the_way_is_said_where_time_is_not() -> None:
    found = run("outing", STATION, "--late", "30", "--at", "bag-park")
    assert_answer(found, code=1)
    said = next(one for one in found.out.splitlines() if one.startswith("IN THE WAY: lines-"))
    assert (
        "; there is time enough. NOTHING that may be dropped clears that (12 sets planned" in said
    )
    assert "give up an act" not in found.out
    said = found.out.splitlines()
    at = said.index(
        "  dropping cable (loses worth 8 of what may be dropped and 0 of get-aheads; 5:59) "
        "would be enough but for:"
    )
    assert said[at + 1].startswith("    the line of EV1 from H6002@0.620 (laid for wrench-pass")
    assert said[at + 1].endswith("(lines-may-tangle)")


def test_times_in_the_head_add_up() -> None:
    found = run("outing", STATION)
    # 386.56 min: shown as 387, so that 390 less what is shown is what is shown as left.
    assert (
        "69 acts and 25 ways in 6:27 (rounded up; the run sheet ends at 6:26); "
        "planned length 6:30 (0:03 left), suits 7:00 (0:33 left)" in found.out
    )


def test_wrong_losses_are_refused() -> None:
    assert_refused(
        run("outing", SMALL, "--at", "valve"), "option --at", "but not how much; add --late MINUTES"
    )
    assert_refused(
        run("outing", SMALL, "--late", "5", "--at", "valv"),
        "option --at: no act has the id 'valv'; did you mean valve",
    )
    assert_refused(
        run("outing", STATION, "--late", "5", "--at", "latch-check"),
        "latch-check is part of the get-ahead port-latch, which is not planned",
    )


def test_errands_are_arranged_and_get_aheads_chosen_over_all_orders() -> None:
    found = run("outing", STATION, "--fill", "--arrange", "--json")
    assert found.code == 0
    schema("outing").validate(found.answer)
    order, choice = found.answer["order"], found.answer["get_ahead_choice"]
    assert choice["chosen"] == ["port-latch"]
    assert (order["changed"], order["proven"], choice["proven"]) == (False, True, True)
    assert order["total_s"] == order["at_least_s"] == found.answer["totals"]["total_s"]
    (errand,) = order["rows"]
    assert (errand["id"], errand["person"], errand["place"]) == ("latch-errand", "EV2", 1)


def test_arranging_says_who_does_what_when(tmp_path: Path) -> None:
    text = SMALL.read_text(encoding="utf-8").replace("small.toml", str(SMALL.parent / "small.toml"))
    errands = [
        ('id = "far"', "W3", 6), ('id = "near"', "H01", 2), ('id = "middle"', "W1", 4),
    ]  # fmt: skip
    names = [one.split('"')[1] for one, _, _ in errands]
    listed = "".join(f'[[errands]]\nid = "do-{one}"\n\n' for one in names)
    acts = "".join(
        f'[[acts]]\n{one}\nwho = ["EV2"]\ndoes = "work"\nat = "{site}"\nminutes = {minutes}\n'
        f'errand = "do-{name}"\n\n'
        for name, (one, site, minutes) in zip(names, errands, strict=True)
    )
    first = text.index("[[acts]]")
    plan = tmp_path / "plan.toml"
    plan.write_text(text[:first] + listed + acts + text[first:], encoding="utf-8")
    found = run("outing", plan, "--arrange")
    assert "Errands arranged anew" in found.out
    assert "proven: no other order and split is shorter" in found.out
    assert "(planned: EV2, 1.)" in found.out


def test_a_plan_without_errands_has_none_to_arrange() -> None:
    found = run("outing", SMALL, "--arrange")
    assert_answer(found)
    assert "Nothing arranged: the plan has no errands." in found.out


def test_lines_that_tangle_are_cleared(tmp_path: Path) -> None:
    plan = write_plan(tmp_path, *UNDER)
    found = run("outing", plan)
    assert found.code == 1
    assert "STOP [home-1] the line of EV2 from" in found.out
    assert (
        "change the plan: EV1 waits before far until side is done and 1.5 min more; EV2 waits"
        in found.out
    )
    assert "(--clear-lines does) (lines-tangle)" in found.out
    cleared = run("outing", plan, "--clear-lines")
    assert_answer(cleared)
    assert "The plan is changed so that lines do not tangle" in cleared.out
    assert "# before act far" in cleared.out
    answer = run("outing", plan, "--clear-lines", "--json").answer
    schema("outing").validate(answer)
    assert answer["lines_cleared"]["applied"]
    assert answer["lines_cleared"]["total_s"] == answer["totals"]["total_s"]
    assert {one["ends"] for one in answer["lines"]} == {"undoes itself"}
    assert "lines_cleared" not in run("outing", SMALL, "--clear-lines", "--json").answer
