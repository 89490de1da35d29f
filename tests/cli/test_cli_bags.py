"""`gripway bags`: places at a worksite of the station, with and without a route, wrong calls."""

from pathlib import Path

from tests.cli.command_ground import EXAMPLES, assert_answer, assert_refused, run, schema

STATION = EXAMPLES["station"]
CALL = ("bags", STATION, "W14", "--item", "bag-small")


def test_a_bag_at_the_pump_box_bay(tmp_path: Path) -> None:
    found = run(*CALL, "--json")
    assert_answer(found)
    schema("bags").validate(found.answer)
    bags = found.answer["bags"]
    assert [place["handrail"] for place in bags["places"]] == ["H3004"]
    assert all(one["reason"] for one in bags["others"])
    path = tmp_path / "bags.svg"
    text = run(*CALL, "--picture", path)
    assert_answer(text)
    assert "bag-small at W14: 1 handrail to tie it to." in text.out
    assert "\nrail@m = metres along the handrail\n" in text.out
    assert "1: H3004 at" in path.read_text()


def test_the_route_to_the_worksite_needs_that_handrail() -> None:
    found = run(*CALL, "--route", "hatch", "W14")
    assert_answer(found, 1)
    assert "bag-small at W14: NO PLACE to tie it within reach." in found.out
    # With no place at all there are no others, and no table whose gap would be left.
    assert "within reach. Time home NOT looked at.\n\nWhy not the handrails near by:\n" in found.out
    assert "nearer than it may be tied" in found.out
    assert "adrift the bag could block H3004, which a route uses" in found.out


def test_nothing_to_draw_and_wrong_calls(tmp_path: Path) -> None:
    picture = tmp_path / "bags.svg"
    assert_refused(
        run(*CALL, "--keep-clear", "H3004", "--picture", picture),
        "there is no place for bag-small at W14, so there is no picture",
    )
    assert not picture.exists()
    assert_refused(
        run("bags", STATION, "W99", "--item", "bag", "--keep-clear", "W14"),
        "WORKSITE: no worksite has the id 'W99'",
        "option --item: no item has the id 'bag'",
        "option --keep-clear: no handrail or handhold has the id 'W14'",
    )
