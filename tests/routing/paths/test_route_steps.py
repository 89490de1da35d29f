"""Step text: what it says, and that names from files cannot make it say something else."""

import re
import unicodedata

import pytest

from routing.caution import CAUTION
from routing.graph.situation import Situation
from routing.paths.answers.margin_records import LineMargin
from routing.paths.answers.step_text import line_left_text, one_line, route_text
from routing.paths.route import RouteOptions, find_route
from structures.elements import Person, Zone
from structures.shapes import Box
from tests.routing.paths.route_graphs import deck, straight_rail


def test_the_steps_of_the_deck() -> None:
    assert find_route(deck(), "A1", "W1").steps == (
        "1. Start at hatch A1; one short tether is hooked there, the other is free.",
        (
            "2. Hands over to handrail H1 at 0.00 m along it, gap 0.40 m (1.3 ft); hook the free "
            "tether to it, check it, then release the one behind."
        ),
        "3. Follow handrail H1 forward for 3.00 m (9.8 ft) to 3.00 m along it.",
        (
            "4. Hands over to handrail H2 at 0.00 m along it, gap 0.40 m (1.3 ft); hook the free "
            "tether to it, check it, then release the one behind."
        ),
        "5. Follow handrail H2 forward for 2.60 m (8.5 ft) to 2.60 m along it.",
        (
            "6. Hands over to handrail H3 at 0.00 m along it, gap 0.50 m (1.6 ft) (largest gap of "
            "the route, 0.10 m (0.3 ft) of reach left); hook the free tether to it, check it, then "
            "release the one behind."
        ),
        "7. Follow handrail H3 forward for 5.50 m (18.0 ft) to 5.50 m along it.",
        "8. Hands over to socket S1, gap 0.50 m (1.6 ft).",
        "9. At worksite W1.",
    )


def test_what_little_is_left_is_never_said_to_be_nothing_or_more() -> None:
    # Gaps of 0.5 m: a reach of 0.5048 m leaves 4.8 mm, which is 0.19 in.
    person = Person(id="P", reach_m=0.5048)
    options = RouteOptions(situation=Situation(person=person))
    text = "\n".join(find_route(deck(), "A1", "W1", options=options).steps)
    assert "(largest gap of the route, 4 mm (0.1 in) of reach left)" in text


def test_via_sites_split_the_way_along_a_rail() -> None:
    steps = find_route(deck(), "A1", "W1", via=("W2",)).steps
    assert steps[4] == "5. Follow handrail H2 forward for 0.60 m (2.0 ft) to 0.60 m along it."
    assert steps[5] == "6. By way of worksite W2."
    assert steps[6] == "7. Follow handrail H2 forward for 2.00 m (6.6 ft) to 2.60 m along it."


def test_going_aft_and_slow_zones_are_said() -> None:
    zone = Zone(
        id="HOT", kind="slow-down", volume=Box(center_m=(9.0, 0.0, -0.6), size_m=(1.0, 0.5, 0.5))
    )
    steps = find_route(deck(zones=(zone,)), "W1", "A1").steps
    (line,) = [step for step in steps if "slow down for HOT" in step]
    assert "Follow handrail H3 aft" in line


def test_the_text_ends_with_the_caution_and_starts_with_what_it_is_about() -> None:
    route = find_route(deck(), "A1", "W1", protocol="reel")
    lines = route_text(route).split("\n")
    assert lines[0] == "deck, revision A: from hatch A1 to worksite W1, reel."
    assert lines[-1] == CAUTION
    numbered = [line for line in lines if re.match(r"\d+\. ", line)]
    assert numbered == list(route.steps)
    assert [int(line.split(".")[0]) for line in numbered] == list(range(1, len(numbered) + 1))
    assert any(line.startswith("Least line left 12.69") for line in lines)


def test_moves_and_steps_to_another_rail_are_counted_apart() -> None:
    route = find_route(deck(), "A1", "W1", protocol="reel")
    changes = sum("Hands over to" in step for step in route.steps)
    assert 0 < changes < route.totals.hand_overs
    total = f"{route.totals.hand_overs} moves of the hands ({changes} to another rail or hold), "
    assert total in route_text(route)


def test_line_that_just_keeps_its_reserve_reads_as_one_that_does() -> None:
    kept = LineMargin(reserve_m=0.6096, most_payout_m=25.3, least_left_m=0.6098, worst_grip="S1")
    assert line_left_text(kept) == (
        "0.609 m (2.00 ft) at S1, 0 mm (0.0 in) above the reserve of 0.610 m (2.00 ft)"
    )
    short = LineMargin(reserve_m=0.61, most_payout_m=25.4, least_left_m=0.5, worst_grip="S1")
    assert "0.500 m (1.64 ft) at S1, 0.110 m (0.37 ft) short of the reserve" in line_left_text(
        short
    )


def test_findings_that_block_are_told_as_stops() -> None:
    points = (deck().tether_points[0].model_copy(update={"rating_n": None}),)
    text = route_text(find_route(deck(tether_points=points), "A1", "W1"))
    assert text.split("\n")[1].startswith("STOP: tether point T1 has no rating")
    assert text.count("STOP") == 1


@pytest.mark.parametrize(
    "name",
    ["a\n9. Let go of everything", "b\r\n\r\n1. x", "c\x1b[2Jd", "e\u202ef", "g\u2028h", "i\x00j"],
)
def test_hostile_names_stay_on_their_line(name: str) -> None:
    rails = (straight_rail("H1", 0.0, 3.0, name=name), *deck().handrails[1:])
    route = find_route(deck(name=name, handrails=rails), "A1", "W1")
    text = route_text(route)
    assert len(route.steps) == 9
    assert len(text.splitlines()) == len(text.split("\n"))
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f\u202e\u2028]", text)
    assert one_line(name) in text


def test_nothing_steers_the_screen() -> None:
    assert one_line("\u200bx\ud800 \t y\x85") == "x y"
    assert one_line("") == ""


def test_only_letters_that_stand_on_a_screen_are_kept() -> None:
    # All of the first pages, where the plain letters are that are not looked up.
    for letter in map(chr, range(0x2100)):
        steers = unicodedata.category(letter) in {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}
        kept = "a b" if steers or letter.isspace() else f"a{letter}b"
        assert one_line(f"a{letter}b") == kept, hex(ord(letter))
