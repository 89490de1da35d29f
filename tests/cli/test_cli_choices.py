"""`gripway choices`: trade-offs, alternatives and a fallback, as text and as JSON."""

import pytest

from tests.cli.command_ground import EXAMPLES, assert_answer, assert_refused, run, schema

STATION, SMALL = EXAMPLES["station"], EXAMPLES["small"]


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_json_and_text_say_the_same(protocol: str) -> None:
    asked = ("choices", STATION, "hatch", "W12", "--protocol", protocol, "--count", "2")
    found = run(*asked, "--json")
    assert_answer(found)
    answer = found.answer
    schema("choices").validate(answer)
    assert answer["goal"] == {"worksite": "W12"}
    numbers = {row["route"] for row in (*answer["tradeoffs"], *answer["alternatives"])}
    assert numbers | {answer["fallback"]["route"]} == set(range(len(answer["routes"])))
    for route in answer["routes"]:
        schema("route").validate(route)
        assert route["verdict"] == answer["verdict"] == "answered and safe"
    text = run(*asked)
    assert_answer(text)
    assert f"Answered and safe within the limits given: {len(answer['routes'])} route" in text.out
    assert "routes; time home NOT looked at (`gripway route` with --homeward" in text.out
    assert "Fallback: route" in text.out
    assert f"shares {', '.join(answer['fallback']['shared'])} with" in text.out
    for number, route in enumerate(answer["routes"], start=1):
        held = ", ".join(next(iter(_ids(part))) for part in route["handrails"])
        assert f"\n  {number}: {held}\n" in text.out


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_the_same_bytes_each_time(protocol: str) -> None:
    asked = ("choices", SMALL, "hatch", "W1", "--protocol", protocol)
    for form in ((), ("--json",)):
        assert run(*asked, *form).out == run(*asked, *form).out != ""


def _ids(part: dict[str, str]) -> list[str]:
    return [part[key] for key in ("handrail", "handhold", "hatch", "socket") if key in part]


def test_trade_offs_on_reels_to_the_wing_tip() -> None:
    answer = run("choices", STATION, "hatch", "W20", "--protocol", "reel", "--count", "1",
                 "--json").answer  # fmt: skip
    rows = [
        (round(r["seconds"]), r["transfers"], round(r["exposure_s"])) for r in answer["tradeoffs"]
    ]
    # Round the slow-down zone with one transfer, or through it with none.
    assert rows == [(367, 1, 0), (416, 0, 205)]
    assert answer["picks"] == {
        "quickest": 0, "fewest_transfers": 1, "least_exposure": 0, "balanced": 0,
    }  # fmt: skip
    for best, (seconds, transfers, _) in (("seconds", rows[0]), ("transfers", rows[1])):
        totals = run("route", STATION, "hatch", "W20", "--protocol", "reel", "--best", best,
                     "--json").answer["totals"]  # fmt: skip
        assert (round(totals["seconds"]), totals["transfers"]) == (seconds, transfers)


def test_no_route_is_an_answer_with_reasons() -> None:
    asked = ("choices", SMALL, "hatch", "W1", "--close", "H01", "--close", "H03")
    found = run(*asked, "--json")
    assert found.code == 1
    schema("choices").validate(found.answer)
    assert found.answer["verdict"] == "no route"
    text = run(*asked)
    assert text.code == 1
    assert "NO ROUTE from hatch to W1" in text.out


def test_wrong_calls_are_refused() -> None:
    asked = ("choices", SMALL, "hatch", "W1")
    assert_refused(run(*asked, "--count", "0"), "--count", "1")
    assert_refused(run(*asked, "--overlap", "1"), "--overlap", "0.99")
    assert_refused(run("choices", SMALL, "hatch", "W9"), "W9")
    assert_refused(run("choices", SMALL, "hatch", "hatch"), "leads nowhere")
    assert_refused(run("choices", SMALL, "hatch", "W1", "--via", "H9"), "option --via")
    assert_refused(run("route", SMALL, "hatch", "W1", "--best", "shortest"), "shortest")


def test_choices_by_way_of_a_site_on_reels() -> None:
    asked = (SMALL, "hatch", "W1", "--via", "W3", "--protocol", "reel")
    found = run("choices", *asked, "--json")
    assert_answer(found, 0)
    schema("choices").validate(found.answer)
    assert found.answer["complete"] is False
    text = run("choices", *asked)
    assert "Quickest, fewest transfers, least exposure (over via sites on reels" in text.out
    assert "another may be up to 1 s quicker" in text.out
    route = run("route", *asked, "--best", "exposure", "--json")
    assert route.answer["totals"]["exposure_s"] == pytest.approx(
        min(row["exposure_s"] for row in found.answer["tradeoffs"])
    )


def test_choices_by_way_of_a_site() -> None:
    found = run("choices", SMALL, "hatch", "W1", "--via", "W3", "--json")
    assert_answer(found, 0)
    schema("choices").validate(found.answer)
    assert found.answer["via"] == [{"worksite": "W3"}]
    quickest = found.answer["picks"]["quickest"]
    route = run("route", SMALL, "hatch", "W1", "--via", "W3", "--best", "seconds", "--json")
    assert found.answer["tradeoffs"][quickest]["seconds"] == pytest.approx(
        route.answer["totals"]["seconds"]
    )
    text = run("route", SMALL, "hatch", "W1", "--via", "W3", "--protocol", "reel", "--what-if")
    assert "not tried: one more tether point" in text.out
