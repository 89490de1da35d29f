"""`gripway both`: two people's routes, their lines, the map, and calls that are wrong."""

from pathlib import Path

import pytest

from tests.cli.command_ground import EXAMPLES, assert_answer, assert_refused, run, schema

SMALL, STATION = EXAMPLES["small"], EXAMPLES["station"]
ITEM = "bag-small"
CROSSING = ("--first", "hatch", "W09", "--second", "hatch", "W19", "--later", "60")


def test_a_crossing_is_told_with_its_order_and_the_pair_that_avoids_it() -> None:
    found = run("both", STATION, *CROSSING, "--json")
    assert_answer(found, 0)
    schema("both").validate(found.answer)
    routes = found.answer["routes"]
    assert routes["verdict"] == "the lines cross, and another pair of routes avoids it"
    assert routes["best"]["home_order"] == "second goes home first"
    assert routes["clean"]["crosses"] is False
    assert routes["best"]["first"]["goal"] == {"worksite": "W09"}
    text = run("both", STATION, *CROSSING)
    assert_answer(text, 0)
    assert "the second person's line lies over" in text.out
    assert "It undoes itself if the second person goes home first." in text.out
    assert f"do not cross, {routes['clean_costs_s']:.0f} s more" in text.out


def test_a_map_shows_both(tmp_path: Path) -> None:
    path = tmp_path / "both.svg"
    found = run("both", STATION, *CROSSING, "--map", path)
    assert_answer(found, 0)
    assert f"the map is in {path}" in found.out
    text = path.read_text()
    assert "EV1" in text
    assert "EV2" in text


def test_no_route_for_one_is_no_answer_for_both(tmp_path: Path) -> None:
    asked = ("--first", "hatch", "W09", "--second", "hatch", "W28", "--reel", "55ft")
    path = tmp_path / "both.svg"
    found = run("both", STATION, *asked, "--map", path)
    assert_answer(found, 1)
    assert "NO ROUTE for one of the two." in found.out
    assert "no route from hatch to W28" in found.out
    assert not path.exists()
    answer = run("both", STATION, *asked, "--json").answer
    schema("both").validate(answer)
    assert answer["safe"] is False


def test_under_leapfrog_it_is_told_when_the_two_are_near(tmp_path: Path) -> None:
    asked = ("both", STATION, *CROSSING, "--protocol", "leapfrog")
    found = run(*asked, "--json")
    schema("both").validate(found.answer)
    met = found.answer["routes"]
    assert found.answer["answer"] == "both on short tethers"
    assert found.code == (0 if found.answer["safe"] else 1)
    assert met["within_m"] == pytest.approx(2 * 1.2192 + 0.3048)
    assert met["meetings"][0]["kind"] == "together from the start"
    assert met["meetings"][0]["from_s"] == pytest.approx(60.0)
    path = tmp_path / "both.svg"
    text = run(*asked, "--map", path)
    assert text.code == found.code
    assert "Short tethers stay nowhere behind, so no lines cross for good" in text.out
    assert "Together from 60 s to" in text.out
    assert path.exists()
    alone = run("both", SMALL, "--first", "hatch", "W1", "--second", "hatch", "W1",
                "--protocol", "leapfrog")  # fmt: skip
    assert_answer(alone, 1)
    assert "NOT SAFE: both would stay at one place." in alone.out
    assert "STOP: both are at " in alone.out
    assert "Together from 0 s on, at the nearest 0 mm" in alone.out


def test_two_people_are_not_at_one_place() -> None:
    asked = ("both", SMALL, "--first", "hatch", "W1", "--second", "hatch", "W1")
    text = run(*asked)
    assert_answer(text, 1)
    assert "NOT SAFE: both would stay at one place." in text.out
    assert "STOP: both are at " in text.out
    answer = run(*asked, "--json").answer
    schema("both").validate(answer)
    assert answer["safe"] is False
    assert answer["routes"]["best"]["goals_near"]["distance_m"] == 0.0


def test_no_leapfrog_route_for_one(tmp_path: Path) -> None:
    asked = ("--first", "hatch", "W1", "--second", "hatch", "W2", "--protocol", "leapfrog")
    path = tmp_path / "both.svg"
    found = run("both", SMALL, *asked, "--close", "H01", "--close", "H03", "--map", path)
    assert_answer(found, 1)
    assert "NO ROUTE for one of the two." in found.out
    assert not path.exists()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--first", "hatch", "W9", "--second", "hatch", "W19"), "option --first"),
        (("--first", "hatch", "W09", "--second", "hatsch", "W19"), "option --second"),
        ((*CROSSING, "--map", "both.gif"), "option --map"),
        ((*CROSSING, "--reel", "55"), "option --reel"),
        ((*CROSSING, "--second-reel", "55"), "option --second-reel"),
        ((*CROSSING, "--protocol", "leapfrog", "--second-reel", "55ft"), "--protocol reel"),
        ((*CROSSING, "--protocol", "leapfrog", "--reel", "55ft"), "--protocol reel"),
        ((*CROSSING, "--second-person", "nobody"), "option --second-person"),
        ((*CROSSING, "--second-carry", "nothing"), "option --second-carry"),
        (("--first", "hatch", "W09"), "--second"),
        ((*CROSSING, "--later", "-5"), "--later"),
    ],
)
def test_wrong_calls_say_what_is_wrong(options: tuple[str, ...], said: str) -> None:
    assert_refused(run("both", STATION, *options), said)


def test_the_second_person_may_have_other_reels_and_another_load() -> None:
    asked = ("--first", "hatch", "W28", "--second", "hatch", "W09")
    found = run("both", STATION, *asked, "--second-reel", "55ft", "--json")
    assert_answer(found, 0)
    schema("both").validate(found.answer)
    assert found.answer["second_reels_m"] == [pytest.approx(55 * 0.3048)]
    pair = found.answer["routes"]["best"]
    assert len(pair["first"]["reels_m"]) == 2
    assert pair["second"]["reels_m"] == found.answer["second_reels_m"]
    swapped = run("both", STATION, *asked, "--reel", "55ft", "--second-reel", "85ft", "--json")
    assert_answer(swapped, 1)
    assert [one["goal"] for one in swapped.answer["routes"]["missing"]] == [{"worksite": "W28"}]
    item = run("route", STATION, "hatch", "W09", "--protocol", "reel", "--carry", ITEM, "--json")
    loaded = run("both", STATION, *asked, "--second-carry", ITEM, "--json")
    routes = loaded.answer["routes"]["best"]
    assert routes["first"]["situation"].get("carry") is None
    assert routes["second"]["situation"]["carry"] == ITEM
    assert routes["second"]["totals"] == item.answer["totals"]
