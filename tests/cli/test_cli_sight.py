"""`gripway sight`: vantage points as text, JSON and a picture."""

import csv
from pathlib import Path

from tests.cli.command_ground import EXAMPLES, assert_answer, assert_refused, run, schema

STATION = EXAMPLES["station"]


def test_text_and_json_say_the_same() -> None:
    text, found = run("sight", STATION, "FCD01"), run("sight", STATION, "FCD01", "--json")
    assert_answer(text)
    assert_answer(found)
    schema("sight").validate(found.answer)
    sight = found.answer["sight"]
    assert (sight["face"], sight["verdict"]) == ("FCD01", "seen from several")
    assert found.answer["safe"] is True
    assert "The fewest that see all that can be seen: 2; together they see " in text.out
    assert f"{sight['seen']} of {sight['samples']} samples, 100 %" in text.out
    for one in sight["cover"]:
        assert one["grip"] in text.out


def test_a_face_that_is_partly_hidden_ends_in_1(tmp_path: Path) -> None:
    path = tmp_path / "face.png"
    found = run("sight", STATION, "FCD02", "-o", path)
    assert_answer(found, 1)
    assert "partly seen (NOT ALL SEEN)" in found.out
    assert "14 hidden by solids" in found.out
    assert path.stat().st_size > 10_000


def test_wrong_calls_say_all_that_is_wrong() -> None:
    assert_refused(
        run("sight", STATION, "FCD1", "--camera", "CMD1", "--from", "hutch"),
        "no face has the id 'FCD1'",
        "no camera has the id 'CMD1'",
        "no site has the id 'hutch'",
        "did you mean hatch?",
    )


def test_the_table_has_a_row_for_every_vantage_point(tmp_path: Path) -> None:
    path = tmp_path / "sight.csv"
    found = run("sight", STATION, "FCD01", "--csv", path, "--json").answer["sight"]
    rows = list(csv.DictReader(path.read_bytes().decode().splitlines()))
    for name in ("cover", "whole", "best"):
        some = [row for row in rows if row["list"] == name]
        assert [row["grip"] for row in some] == [one["grip"] for one in found.get(name, ())]
        assert [float(row["seconds"]) for row in some] == [
            one["seconds"] for one in found.get(name, ())
        ]
    assert {row["verdict"] for row in rows} == {"seen from several"}
    assert str(path) in run("sight", STATION, "FCD01", "--csv", path).out.replace("\n", "")
