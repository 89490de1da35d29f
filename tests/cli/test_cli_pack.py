"""`gripway pack`: a page for reviewers, as text and JSON, and wrong calls."""

from pathlib import Path

import pytest

from routing.caution import CAUTION
from tests.cli.command_ground import ROOT, assert_answer, assert_refused, run, schema
from tests.routing.show.pack_ground import parsed

SMALL = ROOT / "examples" / "small" / "outing.toml"


def test_the_pack_is_written_and_the_same_each_time(tmp_path: Path) -> None:
    paths = [tmp_path / name for name in ("a.html", "b.html")]
    for path in paths:
        found = run("pack", SMALL, "-o", path)
        assert_answer(found)
        assert (
            "Planned within the limits given; 2 things to WATCH: corridor-tight, people-too-near."
            in found.out
        )
        assert "lean within" not in found.out + path.read_text(encoding="utf-8")
    assert paths[0].read_bytes() == paths[1].read_bytes()
    assert CAUTION in paths[0].read_text(encoding="utf-8")


def test_json_says_what_is_in_it(tmp_path: Path) -> None:
    path = tmp_path / "a.html"
    found = run("pack", SMALL, "-o", path, "--no-sites", "--no-closures", "--json")
    assert found.code == 0
    schema("pack").validate(found.answer)
    assert found.answer["ways"] == 6
    assert found.answer["sites_checked"] is False
    assert found.answer["written"]["bytes"] == len(path.read_bytes())
    assert "NOT CHECKED" in path.read_text(encoding="utf-8")


def test_a_plan_that_is_not_clean_says_so_and_exits_with_1(tmp_path: Path) -> None:
    path = tmp_path / "a.html"
    found = run("pack", SMALL, "-o", path, "--close", "H05", "--no-sites", "--no-closures")
    assert_answer(found, 1)
    assert "NOT CLEAN" in found.out
    page = path.read_text(encoding="utf-8")
    assert "NOT CLEAN: " in page
    assert "NO WAY: " in page


def test_losses_of_time_are_in_it_as_gripway_outing_says_them(tmp_path: Path) -> None:
    path = tmp_path / "a.html"
    checks = ("--no-sites", "--no-closures")
    asked = ("--late", "20@latch", "--late", "400")
    found = run("pack", SMALL, "-o", path, *checks, *asked, "--json")
    schema("pack").validate(found.answer)
    page = parsed(path.read_text(encoding="utf-8"))
    told = page.by_id("losses").text
    for loss, late in zip(
        found.answer["losses"], (("--late", "20", "--at", "latch"), ("--late", "400")), strict=True
    ):
        alone = run("outing", SMALL, *late, "--json").answer["time_lost"]
        assert loss == alone
        lines = run("outing", SMALL, *late).out
        assert loss["broken"] or "No limit is broken" in told
        for broken in loss["broken"]:
            assert broken["message"] in lines
            assert broken["message"] in told
    assert [one.text for one in page.by_id("losses").all("h3")] == [
        "20 min lost at latch", "400 min lost before the first act",
    ]  # fmt: skip
    assert found.answer["losses"][1]["broken"], "nobody loses 400 minutes unpunished"
    run("pack", SMALL, "-o", path, *checks)
    assert "Not looked at: " in parsed(path.read_text(encoding="utf-8")).by_id("losses").text


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("-o", "a.pdf"), ".html or .htm"),
        (("-o", "a.html", "--close", "nope"), "nope"),
        (("-o", "a.html", "--get-ahead", "nope"), "nope"),
        (("-o", "a.html", "--late", "soon"), "'soon' is no loss of time; give minutes, 0 or more"),
        (("-o", "a.html", "--late", "-3@latch"), "'-3@latch' is no loss of time"),
        (("-o", "a.html", "--late", "nan"), "'nan' is no loss of time"),
        (("-o", "a.html", "--late", "3@"), "'3@' is no loss of time"),
        (("-o", "a.html", "--late", "3@latsch"), "option --late: no act has the id 'latsch'"),
    ],
)
def test_wrong_calls_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, args: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    assert_refused(run("pack", SMALL, *args), said)
    assert list(tmp_path.iterdir()) == []
