"""A worksite whose place nobody gets to from its handrail is safe in no answer of any command."""

import shutil
from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, assert_answer, run, schema

SMALL = EXAMPLES["small"]
PLACE = "place = [322.25, 0.0, -17.25]"
"""Of worksite W1 on handrail H05, which goes on to 6.75 in below: all in inches."""


@pytest.fixture(name="folder")
def small_with_w1_off_its_rail(tmp_path: Path) -> Path:
    shutil.copytree(SMALL.parent, tmp_path, dirs_exist_ok=True)
    text = SMALL.read_text()
    assert PLACE in text
    (tmp_path / "small.toml").write_text(text.replace(PLACE, "place = [322.25, 0.0, -117.25]"))
    return tmp_path


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
@pytest.mark.parametrize("sites", [("hatch", "W1"), ("W1", "hatch"), ("hatch", "W2", "--via=W1")])
def test_no_route_begins_ends_or_passes_there(
    folder: Path, protocol: str, sites: tuple[str, ...]
) -> None:
    asked = ("route", folder / "small.toml", *sites, "--protocol", protocol)
    text = run(*asked)
    assert_answer(text, 1)
    # 117.25 - 41.25 in beyond the end of the rail.
    assert "the place of worksite W1 is 1.94 m from the nearest grip of its handrail" in text.out
    found = run(*asked, "--json")
    schema("route").validate(found.answer)
    assert (found.answer["verdict"], found.answer["why"]) == ("no route", "place out of reach")


def test_reach_pairs_and_outing_say_so(folder: Path) -> None:
    reach = run("reach", folder / "small.toml", "--json")
    assert_answer(reach, 1)
    rows = {row["worksite"]: row for row in reach.answer["worksites"]}
    assert [rows[w]["way"] for w in ("W1", "W2", "W3")] == ["no route", "safe", "safe"]
    assert "1.94 m from the nearest grip" in rows["W1"]["way_reason"]
    out = folder / "rows.csv"
    run("pairs", folder / "small.toml", "--sites", "worksites", "--rows", out)
    lines = [line for line in out.read_text().splitlines() if "worksite,W1,worksite,W2," in line]
    assert lines
    assert all("no way" in line and "1.94 m from" in line for line in lines)
    outing = run("outing", folder / "outing.toml")
    assert_answer(outing, 1)
    assert "NOT CLEAN" in outing.out
    assert "EV2 finds no way from hatch to W1" in outing.out
    assert "1.94 m from the nearest grip" in outing.out


def test_inspect_warns_of_it_once(folder: Path) -> None:
    found = run("inspect", folder / "small.toml", "--json")
    about = [one["code"] for one in found.answer["findings"] if "W1" in one["elements"]]
    assert about == ["worksite-far-from-rail"]
