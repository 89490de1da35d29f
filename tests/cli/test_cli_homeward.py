"""`gripway route --homeward` and `--what-if`: time home from every hold, and what saves time."""

from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, assert_answer, run, schema

STATION = EXAMPLES["station"]


def test_reel_tells_where_home_is_longest_and_json_has_every_hold() -> None:
    asked = ("route", STATION, "hatch", "W20", "--protocol", "reel", "--homeward")
    found = run(*asked, "--json")
    assert_answer(found)
    answer = found.answer
    schema("route").validate(answer)
    home = answer["homeward"]
    assert [hold["grip"] for hold in home["holds"]] == [grip["grip"] for grip in answer["grips"]]
    # The way home with all recovered is the way out backwards, the transfer taken back with it.
    assert home["worst_s"] == pytest.approx(answer["totals"]["seconds"], rel=1e-9)
    assert (home["worst_grip"], home["tethers"]) == ("SK52", "recovered")
    assert home["holds"][-1]["transfers"] == 1
    assert "homeward" not in run(*asked[:-1], "--json").answer
    text = run(*asked)
    assert_answer(text)
    assert "Way home: longest from SK52 (hold 79 of 79), 367 s, 1 transfer" in text.out
    assert "every tether recovered; limit 1800 s" in text.out


def test_leaving_tethers_names_where_they_stay() -> None:
    asked = ("route", STATION, "hatch", "W20", "--protocol", "reel", "--leave-tethers")
    home = run(*asked, "--json").answer["homeward"]
    assert home["tethers"] == "left"
    assert home["holds"][-1]["left_outside"] == ["TP06"]
    assert home["holds"][-1]["seconds"] == pytest.approx(306.87, abs=0.01)
    assert "tethers left outside; limit 1800 s" in run(*asked).out


def test_at_the_hatch_on_another_tether_is_not_home_with_all_recovered() -> None:
    # The quickest way there and back leaves the second tether on TP06.
    asked = ("route", STATION, "hatch", "hatch", "--via", "W20", "--protocol", "reel")
    answer = run(*asked, "--homeward", "--json").answer
    assert "tether-left-outside" in {finding["code"] for finding in answer["findings"]}
    home = answer["homeward"]
    assert (home["holds"][0]["seconds"], home["worst_grip"]) == (0.0, "SK52")
    assert home["holds"][-1]["grip"] == "hatch"
    # Back to TP06 along the line, the first tether taken again, and back to the hatch.
    assert home["holds"][-1]["transfers"] == 1
    assert home["holds"][-1]["seconds"] == pytest.approx(312.02, abs=0.01)
    left = run(*asked, "--leave-tethers", "--json").answer["homeward"]["holds"][-1]
    assert (left["seconds"], left["left_outside"]) == (0.0, ["TP06"])


def test_too_late_home_is_unsafe(tmp_path: Path) -> None:
    asked = ("route", STATION, "hatch", "W20", "--homeward")
    found = run(*asked)
    assert found.code == 1
    assert "UNSAFE" in found.out
    assert "STOP: from SK52 the way home takes 1977 s, and no more than 1800 s" in found.out
    limits = tmp_path / "limits.toml"
    limits.write_text('schema_version = 1\nlength_unit = "m"\ntime_home_limit_s = 1977\n')
    assert_answer(run(*asked, "--limits", limits))


def test_home_that_is_not_known_is_unsafe() -> None:
    found = run("route", STATION, "W20", "W15", "--protocol", "reel", "--homeward")
    assert found.code == 1
    assert "Way home: NOT KNOWN from SK52 (hold 1 of 22)" in found.out
    assert "STOP: from 22 of 22 holds no time home is known" in found.out


def test_what_would_save_time() -> None:
    asked = ("route", STATION, "hatch", "W20", "--protocol", "reel", "--reel", "17m",
             "--reel", "17m", "--reel", "17m", "--what-if")  # fmt: skip
    found = run(*asked, "--json")
    assert_answer(found)
    schema("route").validate(found.answer)
    what = found.answer["what_if"]
    assert what["seconds"] == pytest.approx(found.answer["totals"]["seconds"])
    assert what["transfer"]["saved_s"] == pytest.approx(60.0)
    assert what["tether_point"]["near_grip"] == "H1009@0.230"
    assert what["tether_point"]["saved_s"] == pytest.approx(1.06, abs=0.01)
    assert what["tether_point"]["searched"] < what["tether_point"]["candidates"] / 10
    text = run(*asked)
    assert "one more tether point, at H1009@0.230: saves 1.1 s, leaves 367 s" in text.out
    assert "tethers 10% longer: saves nothing" in text.out
    choices = run("choices", STATION, "hatch", "W05", "--count", "1", "--what-if", "--json")
    assert choices.answer["what_if"]["transfer"]["saved_s"] == pytest.approx(60.0)
    via = run("route", STATION, "hatch", "W20", "--via", "W15", "--protocol", "reel", "--what-if")
    assert_answer(via)
    assert "tethers 10% longer: saves nothing" in via.out
    assert "not tried: one more tether point and a free transfer" in via.out
