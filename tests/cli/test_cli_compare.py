"""`gripway compare`: two revisions, what changed, and which answers are worth less."""

import csv
import hashlib
import json
import shutil
from pathlib import Path
from typing import Any

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
from tests.structures.other_units import document_in

SMALL = EXAMPLES["small"]


def revised(folder: Path, name: str = "b.json", **lists: Any) -> Path:
    """Write the small example with some of its lists replaced, as revision B."""
    document = document_of(read_structure(SMALL)) | {"revision": "B"}
    path = folder / name
    path.write_text(json.dumps(document | lists))
    return path


def small(list_name: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = document_of(read_structure(SMALL))[list_name]
    return found


def moved(rail_id: str, by_m: tuple[float, float, float]) -> list[dict[str, Any]]:
    rails = small("handrails")
    for rail in rails:
        if rail["id"] == rail_id:
            rail["points"] = [[a + b for a, b in zip(p, by_m, strict=True)] for p in rail["points"]]
    return rails


def without(list_name: str, *ids: str) -> list[dict[str, Any]]:
    return [one for one in small(list_name) if one["id"] not in ids]


def test_nothing_changed(tmp_path: Path) -> None:
    found = run("compare", SMALL, SMALL)
    assert_answer(found)
    assert "No answer changed." in found.out
    assert "Elements: all are the same." in found.out
    assert "Unchanged: 9 of 9 answers" in found.out
    as_json = run("compare", SMALL, revised(tmp_path), "--json")
    schema("compare").validate(as_json.answer)
    assert as_json.answer["answers"] == []
    assert as_json.answer["elements"]["head"] == [{"field": "revision", "old": "A", "new": "B"}]


def test_a_lost_answer_is_worst_and_ends_in_1(tmp_path: Path) -> None:
    new = revised(tmp_path, handrails=without("handrails", "H04"))
    found = run("compare", SMALL, new, "--json")
    assert_answer(found, 1)
    schema("compare").validate(found.answer)
    answer = found.answer
    assert answer["safe"] is False
    assert answer["old_structure"]["revision"] == "A"
    assert answer["structure"]["revision"] == "B"
    assert [one["id"] for one in answer["elements"]["removed"]] == ["H04"]
    first = answer["answers"][0]
    assert first["change"] == "lost"
    assert (first["old"]["verdict"], first["new"]["verdict"]) == ("answered and safe", "no route")
    text = run("compare", SMALL, new)
    assert_answer(text, 1)
    assert "LOST OR UNSAFE NOW" in text.out


def test_removing_a_rail_is_as_closing_it(tmp_path: Path) -> None:
    """The new answers are those that `route --close` gives on the old revision."""
    new = revised(tmp_path, handrails=without("handrails", "H03"))
    answers = run("compare", SMALL, new, "--protocol", "reel", "--json").answer["answers"]
    routes = [one for one in answers if one["question"] == "route on reels"]
    assert routes
    for one in routes:
        asked = ("route", SMALL, "hatch", one["worksite"], "--protocol", "reel", "--json")
        before, after = run(*asked).answer, run(*asked, "--close", "H03").answer
        assert one["old"]["seconds"] == before["totals"]["seconds"]
        if "totals" in after:
            more = after["totals"]["seconds"] - before["totals"]["seconds"]
            assert one["seconds_more"] == pytest.approx(more)
        else:
            assert one["change"] == "lost"


def test_an_improvement_is_said_too(tmp_path: Path) -> None:
    worse = revised(tmp_path, handrails=without("handrails", "H04"))
    found = run("compare", worse, SMALL)
    assert_answer(found)
    assert "gained" in found.out
    assert "LOST" not in found.out


def test_a_worksite_that_is_gone_is_a_lost_answer_and_its_new_name_a_guess(tmp_path: Path) -> None:
    sites = small("worksites")
    sites[1]["id"] = "W2-new"
    found = run("compare", SMALL, revised(tmp_path, worksites=sites), "--json")
    assert_answer(found, 1)
    assert found.answer["elements"]["renamed_guess"] == [
        {"kind": "worksite", "old": "W2", "new": "W2-new"}
    ]
    changes = {(one["worksite"], one["change"]) for one in found.answer["answers"]}
    assert changes == {("W2", "lost"), ("W2-new", "new")}
    assert (
        "renamed? worksite W2 -> W2-new: a guess" in run("compare", SMALL, tmp_path / "b.json").out
    )


def test_what_is_lost_is_printed_however_few_are_asked_for(tmp_path: Path) -> None:
    rails = [one for one in moved("H20", (0.3, 0.0, 0.4)) if one["id"] not in {"H03", "H04"}]
    for one in rails:
        one["standoff"] = 0.06
    new = revised(tmp_path, handrails=rails)
    asked = ("compare", SMALL, new)
    whole, few = run(*asked), run(*asked, "--top", "1")
    assert whole.code == few.code == 1
    bad = [one for one in run(*asked, "--json").answer["answers"] if one["change"] == "lost"]
    assert len(bad) > 1
    for one in bad:
        assert any(
            line.startswith(one["worksite"]) and one["question"] in line and " lost " in line
            for line in few.out.splitlines()
        )
    assert "more changed elements that moved no farther (--top, or --json for all)" in few.out
    assert "more" not in whole.out.partition("Answers that changed")[0]
    none = run(*asked, "--top", "0").out
    assert f"and {len(rails)} more changed elements" in none
    assert "W2" in none
    assert_refused(run(*asked, "--top", "-1"), "--top")


def test_ids_that_changed_places_are_pointed_out(tmp_path: Path) -> None:
    rails = small("handrails")
    ids = {"H20": "H21", "H21": "H20"}
    turned = [rail | {"id": ids.get(rail["id"], rail["id"])} for rail in rails]
    found = run("compare", SMALL, revised(tmp_path, handrails=turned))
    assert_answer(found)
    assert "renamed? handrail H20 -> H21: a guess" in found.out
    assert "BEWARE: that id was another one's" in found.out


def test_moved_elements_say_how_far(tmp_path: Path) -> None:
    new = revised(tmp_path, handrails=moved("H20", (0.03, 0.0, 0.04)))
    answer = run("compare", SMALL, new, "--json").answer
    (change,) = answer["elements"]["changed"]
    assert (change["kind"], change["id"]) == ("handrail", "H20")
    assert change["moved_m"] == pytest.approx(0.05)
    assert [one["field"] for one in change["fields"]] == ["points_m"]


def test_same_call_same_bytes_whatever_the_order_of_the_file(tmp_path: Path) -> None:
    rails = without("handrails", "H03")
    straight = revised(tmp_path, "b.json", handrails=rails)
    first = run("compare", SMALL, straight)
    turned = revised(tmp_path, "b.json", handrails=rails[::-1])
    second = run("compare", SMALL, turned)
    # The digest of the file is another one; everything else is the same.
    assert first.out.splitlines()[2:] == second.out.splitlines()[2:]
    assert run("compare", SMALL, turned) == second


def test_the_same_bytes_however_it_runs(tmp_path: Path) -> None:
    new = revised(tmp_path, handrails=without("handrails", "H03"))
    asked = ("compare", SMALL, new, "--json", "--rows")
    first = run(*asked, tmp_path / "rows-1.csv")
    second = run(*asked, tmp_path / "rows-2.csv", "--workers", "2")
    assert first.out == second.out == run(*asked[:-1]).out
    assert (tmp_path / "rows-1.csv").read_bytes() == (tmp_path / "rows-2.csv").read_bytes()
    rows = list(csv.DictReader((tmp_path / "rows-1.csv").read_text().splitlines()))
    assert len(rows) == 2 * 9
    assert {row["revision"] for row in rows} == {"old", "new"}
    lost = {one["worksite"] for one in first.answer["answers"] if one["change"] == "lost"}
    told = {
        row["worksite"] for row in rows if (row["revision"], row["verdict"]) == ("new", "no route")
    }
    assert lost <= told


@pytest.mark.parametrize("unit", ["m", "ft"])
def test_a_document_written_in_another_unit_changes_nothing(tmp_path: Path, unit: str) -> None:
    other = tmp_path / "other.json"
    other.write_text(json.dumps(document_in(read_structure(SMALL), unit)))
    found = run("compare", SMALL, other)
    assert_answer(found)
    assert "No answer changed." in found.out
    assert "Elements: all are the same." in found.out
    assert run("compare", other, SMALL, "--json").answer["answers"] == []


def test_a_move_of_a_hair_is_told_with_the_digits_it_takes(tmp_path: Path) -> None:
    found = run("compare", SMALL, revised(tmp_path, handrails=moved("H20", (1e-6, 0.0, 0.0))))
    assert "< 0.001" in found.out
    assert "[[7.21995, -0.2032, -1.58115], " in found.out
    assert "-> [[7.219951, -0.2032, -1.58115], " in found.out
    assert "time 80.210110 -> 80.210114 s (+0.000004)" in found.out


def test_a_way_home_that_turns_too_long_is_an_answer_that_turned_unsafe(tmp_path: Path) -> None:
    limits = tmp_path / "limits.toml"
    limits.write_text('schema_version = 1\nlength_unit = "m"\ntime_home_limit_s = 900\n')
    new = revised(tmp_path, handrails=without("handrails", "H03"))
    found = run("compare", SMALL, new, "--limits", limits, "--protocol", "leapfrog", "--json")
    assert_answer(found, 1)
    schema("compare").validate(found.answer)
    first = found.answer["answers"][0]
    assert (first["worksite"], first["change"]) == ("W2", "turned unsafe")
    home = run("route", new, "hatch", "W2", "--homeward", "--limits", limits, "--json").answer
    assert first["new"]["home_s"] == home["homeward"]["worst_s"] > 900
    assert "the way home takes 1168 s" in first["says"]


def test_what_is_not_safe_in_either_is_said_though_nothing_changed(tmp_path: Path) -> None:
    lame = revised(tmp_path, handrails=without("handrails", "H04"))
    found = run("compare", lame, lame)
    assert_answer(found)
    assert "No answer changed. NOT SAFE BEFORE AND NOW: " in found.out
    assert "NOT SAFE BEFORE AND NOT SAFE NOW:" in found.out
    answer = run("compare", lame, lame, "--json").answer
    schema("compare").validate(answer)
    assert {one["verdict"] for one in answer["still_not_safe"]} == {"no route"}
    assert all(one["reason"] for one in answer["still_not_safe"])


def test_a_new_worksite_that_nobody_gets_to_safely_ends_in_1(tmp_path: Path) -> None:
    lame = revised(tmp_path, "lame.json", handrails=without("handrails", "H04"))
    document = json.loads(lame.read_text())
    fewer = [one for one in document["worksites"] if one["id"] != "W2"]
    (tmp_path / "fewer.json").write_text(json.dumps(document | {"worksites": fewer}))
    found = run("compare", tmp_path / "fewer.json", lame, "--json")
    assert_answer(found, 1)
    assert found.answer["answers"][0]["change"] == "new and not safe"


def test_a_person_of_the_revisions_is_taken_from_each(tmp_path: Path) -> None:
    """Who reaches less far in the new revision does so there only."""
    old = revised(tmp_path, "old.json", people=[{"id": "ev", "reach": 0.62}])
    new = revised(tmp_path, "new.json", people=[{"id": "ev", "reach": 0.35}])
    found = run("compare", old, new, "--person", "ev", "--json")
    assert found.code == 1
    assert found.answer["answers"][0]["change"] == "lost"
    assert run("compare", old, old, "--person", "ev", "--json").answer["answers"] == []


def test_without_worksites_there_is_no_answer_that_could_be_the_same(tmp_path: Path) -> None:
    bare = revised(tmp_path, worksites=[])
    found = run("compare", bare, bare)
    assert_answer(found)
    assert "no answer to compare" in found.out
    assert "No answer changed" not in found.out


def test_without_a_hatch_nobody_is_outside(tmp_path: Path) -> None:
    shut = revised(tmp_path, hatches=[])
    assert_refused(run("compare", SMALL, shut), "has no hatch to start from")


@pytest.mark.parametrize("suffix", ["svg", "png", "pdf"])
def test_drawing(tmp_path: Path, suffix: str) -> None:
    new = revised(tmp_path, handrails=moved("H20", (0.3, 0.0, 0.4)))
    drawing = tmp_path / f"before-after.{suffix}"
    found = run("compare", SMALL, new, "-o", drawing, "--view", "plan", "--view", "starboard")
    assert_answer(found, 1)
    assert f"the drawing is in {drawing}" in found.out
    first = drawing.read_bytes()
    run("compare", SMALL, new, "-o", drawing, "--view", "plan", "--view", "starboard")
    assert drawing.read_bytes() == first


def test_what_is_wrong_with_both_is_said_at_once(tmp_path: Path) -> None:
    old = revised(tmp_path, conditions=[*small("conditions"), {"id": "only-before"}])
    asked = ("--when", "only-before", "--close", "nothing", "-o", tmp_path / "x.gif")
    found = run("compare", old, SMALL, *asked)
    assert_refused(
        found,
        "option --when (NEW, small.toml)",
        "option --close (OLD, b.json)",
        "option --close (NEW, small.toml)",
        "4 problems",
    )
    assert found.err.count("x.gif") == 1


def test_neither_revision_is_overwritten(tmp_path: Path) -> None:
    new = revised(tmp_path)
    target = tmp_path / "a.svg"
    target.symlink_to(new)
    assert_refused(run("compare", SMALL, new, "-o", target), "is what is being read")


def test_unreadable_files_and_unknown_views(tmp_path: Path) -> None:
    assert_refused(run("compare", SMALL, tmp_path / "no.toml"), "no such file")
    drawing = tmp_path / "x.svg"
    found = run("compare", SMALL, revised(tmp_path), "-o", drawing, "--view", "plane")
    assert_refused(found, "did you mean 'plan'?")
    assert not drawing.exists()


def test_hostile_names(tmp_path: Path) -> None:
    evil = hostile_structure(tmp_path / "evil.json")
    found = run("compare", SMALL, evil, "-o", tmp_path / "x.svg")
    assert_answer(found, 1)
    answer = run("compare", SMALL, evil, "--json")
    schema("compare").validate(answer.answer)
    assert not {"\x1b", "\x9b"} & set((tmp_path / "x.svg").read_text())


def test_revisions_that_differ_in_a_list_beside_the_document_are_told_apart(
    tmp_path: Path,
) -> None:
    shutil.copytree(SMALL.parent, tmp_path / "new")
    rails = tmp_path / "new" / "handrails.csv"
    rails.write_text(rails.read_text() + "\n")
    found = run("compare", SMALL, tmp_path / "new" / SMALL.name)
    old, new = found.out.splitlines()[:2]
    digest = hashlib.sha256(rails.read_bytes()).hexdigest()[:12]
    assert f"handrails.csv {digest}" in new
    assert digest not in old
