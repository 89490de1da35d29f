"""Plans that would once have passed, though who answers for safety would stop them."""

from pathlib import Path
from typing import Any

import pytest

from routing.outings.plan import PlannedOuting
from routing.outings.safety.rescue_watch import with_rescues
from routing.outings.told.results import OutingFinding
from structures.elements import Condition, TetherPoint
from tests.routing.outings import outing_plans
from tests.routing.outings.outing_decks import act, action, ball, codes, on_deck, one_rail
from tests.routing.outings.outing_plans import found

TWO: tuple[dict[str, Any], ...] = ({"id": "EV1"}, {"id": "EV2"})
BOX: dict[str, Any] = {
    "id": "box",
    "kind": "payload",
    "size_m": (0.2, 0.2, 0.2),
    "mass_kg": 1.0,
    "ends_anywhere": True,
}
OUT_AND_HOME = (act("work", at="NEAR"), act("home", "move", at="A1", way="recover"))
ON_AFTER = action("on", sets=("radar",), after=("home",))
"""Radar on once everybody is home."""


def said(planned: PlannedOuting, code: str) -> list[OutingFinding]:
    return [one for one in planned.answer.findings if one.code == code]


# What is left outside, and zones for items


def left_at(site: str, *more: dict[str, Any], **keys: Any) -> PlannedOuting:
    """Plan a box to be fetched near the hatch and left at a site."""
    return on_deck(
        one_rail(zones=(ball(9.0, 0.6, "item"),)),
        act("take", "fetch", item="box", at="NEAR"),
        act("leave", "put", item="box", at=site),
        act("home", "move", at="A1", way="recover"),
        *more,
        items=(BOX | {"at": "NEAR"},),
        **keys,
    )


def test_an_item_left_where_a_zone_for_items_comes_on_later_is_stopped() -> None:
    assert codes(left_at("FAR")) == set()
    (one,) = said(left_at("FAR", ON_AFTER), "item-in-zone")
    assert (one.severity, one.act, one.person) == ("blocks", "leave", "EV1")
    assert {"box", "FAR", "Z", "radar"} <= set(one.elements)
    assert codes(left_at("H1@7.000", ON_AFTER)) == set()


def test_an_item_reaches_as_far_as_its_box() -> None:
    """The zone begins at x = 8.4; the box is a ball of 0.17 m."""
    assert said(left_at("H1@8.250", ON_AFTER), "item-in-zone")
    assert not said(left_at("H1@8.000", ON_AFTER), "item-in-zone")


def test_what_is_taken_away_before_the_zone_comes_on_is_not_in_it() -> None:
    again = (
        act("back", "fetch", item="box", at="FAR"),
        act("down", "put", item="box", at="NEAR"),
        act("home-2", "move", at="A1", way="recover"),
        action("on", sets=("radar",), after=("home-2",)),
    )
    assert codes(left_at("FAR", *again)) == set()


def test_an_item_in_a_bag_is_where_the_bag_is() -> None:
    bag = {
        "id": "bag",
        "kind": "bag",
        "at": "NEAR",
        "bag": {"most_items": 2, "volume_l": 50.0},
        "size_m": (0.3, 0.3, 0.3),
        "mass_kg": 1.0,
        "ends_anywhere": True,
    }
    planned = on_deck(
        one_rail(zones=(ball(9.0, 0.6, "item"),)),
        act("take", "fetch", item="bag", at="NEAR"),
        act("leave", "put", item="bag", at="FAR"),
        act("home", "move", at="A1", way="recover"),
        ON_AFTER,
        items=(bag, BOX | {"at": "bag"}),
    )
    inside = {one.elements[0] for one in said(planned, "item-in-zone")}
    assert inside == {"bag", "box"}


def test_what_is_there_from_the_start_is_to_be_watched() -> None:
    zones = (ball(9.0, 0.6, "item"),)
    planned = on_deck(one_rail(zones=zones), *OUT_AND_HOME, ON_AFTER, items=(BOX | {"at": "FAR"},))
    (one,) = said(planned, "item-in-zone")
    assert (one.severity, one.act) == ("warns", None)


# Zones over the hatch, while everybody comes in


@pytest.mark.parametrize("minutes", [0, 1])
def test_a_zone_over_the_hatch_during_ingress_is_stopped(minutes: float) -> None:
    structure = one_rail(zones=(ball(-0.4, 0.5, "body"),))
    planned = on_deck(structure, *OUT_AND_HOME, ON_AFTER | {"minutes": minutes})
    assert codes(planned) == {"zone-in-force"}
    cleared = action("off", clears=("radar",), after=("on",), minutes=0)
    over = on_deck(structure, *OUT_AND_HOME, ON_AFTER | {"minutes": minutes}, cleared)
    assert codes(over) == (set() if minutes == 0 else {"zone-in-force"})


# Acts that take no time, tethers in two places, one point for two


def test_acts_of_no_time_are_to_be_watched_all_in_one() -> None:
    structure = one_rail()
    planned = on_deck(
        structure,
        act("a", at="NEAR", minutes=0),
        act("b", minutes=(0, 1, 2)),
        act("c", minutes=(0, 0, 2)),
        action("g", minutes=0),
        act("home", "move", at="A1"),
    )
    (one,) = said(planned, "takes-no-time")
    assert one.severity == "warns"
    assert one.message.startswith("a, c are planned to take 0 min")


@pytest.mark.parametrize(("minutes", "warned"), [(420.0, False), (421.0, True), (300.0, False)])
def test_suits_that_hold_more_than_their_design_are_to_be_watched(
    minutes: float, warned: bool
) -> None:
    limits = {"consumables_min": minutes}
    planned = on_deck(one_rail(), *OUT_AND_HOME, outing_limits=limits)
    (*some,) = said(planned, "suits-hold-more")
    assert [one.severity for one in some] == (["warns"] if warned else [])
    assert all("7:01, more than 7:00: suit design 7 h" in one.message for one in some)


def test_a_tether_that_ties_something_is_no_tool_meanwhile(tmp_path: Path) -> None:
    parts = (
        outing_plans.act("t", "EV1", "tie", item="crate", using=["line-1"], at="W3"),
        outing_plans.act("w", "EV1", "work", using=["line-1"]),
    )
    (one,) = (x for x in found(tmp_path, *parts) if x.severity == "blocks")
    assert (one.code, one.act, one.elements) == ("tether-used-twice", "w", ("line-1", "crate"))
    again = (parts[0], outing_plans.act("w", "EV1", "work", using=["line-2"]))
    assert "tether-used-twice" not in {x.code for x in found(tmp_path, *again)}


def both_beyond(rating_n: float | None, **keys: Any) -> list[OutingFinding]:
    """Send two people, one after the other, over the tether point in the middle."""
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(5.0, 0.3, 0.0), rating_n=rating_n),
    )
    people = tuple(one | {"reels_m": (7.0, 7.0)} for one in TWO)
    acts = (act("a", at="FAR", minutes=60), act("b", who="EV2", at="FAR", minutes=60))
    if keys.get("in_turn"):
        home = act("home", "move", at="A1", way="recover")
        acts = (*acts[:1], home, act("wait", "wait", who="EV2", after=("home",)), *acts[1:])
    return said(
        on_deck(one_rail(tether_points=points), *acts, people=people), "tether-point-shared"
    )


def test_two_people_on_one_tether_point_are_to_be_watched() -> None:
    (one,) = both_beyond(3000.0)
    assert (one.severity, one.elements) == ("warns", ("T2",))
    assert "EV1 and EV2 both hang on T2" in one.message
    assert both_beyond(1e5) == []
    assert both_beyond(3000.0, in_turn=True) == []


def test_a_shared_point_of_unknown_rating_is_not_said_to_be_rated() -> None:
    """Both begin on the rail, where only a point without a rating is within hook reach."""
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(2.0, 0.3, 0.0)),
    )
    people = tuple(one | {"start": "NEAR"} for one in TWO)
    acts = (act("a", minutes=9), act("b", who="EV2", minutes=9))
    planned = on_deck(one_rail(tether_points=points), *acts, people=people)
    (one,) = said(planned, "tether-point-shared")
    assert (one.elements, one.value) == (("T2",), None)
    assert "EV1 and EV2 both hang on T2 (at " in one.message
    assert "), of which the rating is not known; one safety tether asks for" in one.message


# People whose whereabouts are not known, or who are alone


def told(planned: PlannedOuting) -> set[str]:
    answer = with_rescues(planned.answer, planned.schedule, planned.ground, planned.stock)
    return {one.code for one in answer.findings}


def test_who_is_lost_is_not_shown_to_be_fetched() -> None:
    planned = on_deck(one_rail(), act("far", at="FAR"), people=TWO, closed=("H1",))
    answer = with_rescues(planned.answer, planned.schedule, planned.ground, planned.stock)
    assert answer.rescues == ()
    assert {"no-way", "rescue-not-looked-at"} <= {one.code for one in answer.findings}
    (note,) = (one for one in answer.findings if one.code == "rescue-not-looked-at")
    assert "is on the way or nobody knows where either is; the times home" in note.message
    shut = one_rail(conditions=(Condition(id="radar", closes=("A1",)),))
    nowhere = on_deck(shut, action("on", sets=("radar",)), act("x"), people=TWO)
    assert {"no-hold-at-start", "rescue-not-looked-at"} <= told(nowhere)


def test_one_person_outside_alone_is_to_be_watched() -> None:
    assert "alone-outside" in told(on_deck(one_rail(), *OUT_AND_HOME))
    assert "alone-outside" not in told(on_deck(one_rail(), *OUT_AND_HOME, people=TWO))
