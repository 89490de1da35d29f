"""Conditions that acts switch on while somebody stays where they are, and what hides them.

All on the deck with one rail of `outing_decks`.
"""

from typing import Any

import pytest

from structures.built_in import built_in_bodies
from structures.elements import Item, Socket, Solid, Target, TetherPoint, Worksite, Zone
from structures.model import Structure
from structures.shapes import Box
from tests.routing.outings.outing_decks import (
    act,
    action,
    ball,
    codes,
    on_deck,
    one_rail,
    wall,
)
from tests.routing.paths.route_graphs import HANDS_M, UP
from tests.routing.worksites.restraint_ground import COARSE

STAY = (
    act("there", at="FAR"),
    action("on", sets=("radar",), after=("there",)),
    action("off", clears=("radar",), after=("on",)),
    act("stay", "wait", after=("off",)),
    act("home", "move", at="A1"),
)
LEAPFROG = ({"id": "EV1", "protocol": "leapfrog"},)


def test_a_short_tether_counts_where_somebody_stays() -> None:
    """Nobody is in a zone for lines alone, but the hook beside the hand is."""
    in_it, beside = (one_rail(zones=(ball(at_m, 0.2, "tether"),)) for at_m in (9.0, 9.8))
    assert "line-in-zone" in codes(on_deck(in_it, *STAY, people=LEAPFROG))
    assert codes(on_deck(beside, *STAY, people=LEAPFROG)) == set()


def test_at_a_hatch_the_short_tether_runs_to_its_tether_point() -> None:
    """T1 is 0.3 m beside the hatch: half-way between is 0.15 m from the hands."""
    stay = (action("on", sets=("radar",)), action("off", clears=("radar",), after=("on",)))
    acts = (*stay, act("stay", "wait", after=("off",)))

    def zone(y_m: float) -> Structure:
        plain = ball(-0.4, 0.05, "tether", up_m=-0.035)
        centre_m = (-0.4, y_m, -0.035)
        volume = plain.volume.model_copy(update={"center_m": centre_m})
        return one_rail(zones=(plain.model_copy(update={"volume": volume}),))

    assert "line-in-zone" in codes(on_deck(zone(0.15), *acts, people=LEAPFROG))
    assert codes(on_deck(zone(-0.15), *acts, people=LEAPFROG)) == set()


def test_a_condition_that_is_over_and_comes_again_counts() -> None:
    """In force at first, it is switched off before anybody goes there, then on again."""
    structure = one_rail(zones=(ball(9.0, 0.5, "body"),))
    over = (action("first-off", clears=("radar",)), act("then", "wait", after=("first-off",)))
    planned = on_deck(structure, *over, *STAY, when=("radar",))
    assert "zone-in-force" in codes(planned)
    assert "no-way" not in codes(planned)
    assert codes(on_deck(structure, *over, STAY[0], STAY[-1], when=("radar",))) == set()


def test_who_is_there_needs_no_way_there_after_a_condition_of_the_start() -> None:
    structure = one_rail(zones=(ball(9.0, 0.5, "body"),))
    acts = (
        action("off", clears=("radar",)),
        act("then", "wait", after=("off",)),
        act("there", at="FAR"),
        act("again", at="FAR"),
        act("home", "move", at="A1"),
    )
    planned = on_deck(structure, *acts, when=("radar",))
    assert codes(planned) == set()
    assert set(planned.leg.trips) == {"there@EV1", "home@EV1"}


def test_a_zone_for_people_alone_leaves_lines_alone() -> None:
    """The line lies through it; only who goes home along it minds."""
    structure = one_rail(zones=(ball(5.0, 0.2, "body"),))
    planned = on_deck(structure, *STAY)
    assert codes(planned) == {"no-way-home"}
    assert codes(on_deck(one_rail(zones=(ball(5.0, 0.2, "tether"),)), *STAY)) == {
        "line-in-zone",
        "no-way-home",
    }


@pytest.mark.parametrize("carried", [False, True])
def test_a_line_in_a_zone_is_seen_past_a_load_too_wide_for_the_way_it_lies(
    *, carried: bool
) -> None:
    """Under the beam there is room for a person (1.09 m), not for one with the crate."""
    crate = Item(id="crate", size_m=(0.3, 0.3, 0.3), mass_kg=20.0, stowed_at="FAR")
    structure = one_rail(
        zones=(ball(5.0, 0.1, "tether"),), solids=(wall(5.0, 1.12),), items=(crate,)
    )
    there, on, off, stay, home = STAY
    fetch = act("fetch", "fetch", item="crate", at="FAR") if carried else there | {"id": "fetch"}
    back = (act("back", "put", item="crate", at="FAR"),) if carried else ()
    rest = act("rest", "wait", minutes=5)
    acts = (fetch, rest, on | {"after": ("rest",)}, off, stay, *back, home)
    planned = on_deck(structure, *acts, items=[{"id": "crate"}] if carried else [])
    assert "line-in-zone" in codes(planned)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_the_time_home_counts_what_is_switched_on_while_somebody_waits(protocol: str) -> None:
    """Between two acts at one site: the zone on the way home is on for an hour and a half."""
    structure = one_rail(zones=(ball(5.0, 0.2, "body"),))
    there, on, off, stay, home = STAY
    acts = (there, on | {"minutes": 90}, off, stay, home)
    people = ({"id": "EV1", "protocol": protocol},)
    planned = on_deck(structure, *acts, people=people)
    (found,) = [one for one in planned.answer.findings if one.code == "no-way-home"]
    assert found.severity == "blocks"
    assert found.value == pytest.approx(91.0)
    assert found.at_s == pytest.approx(planned.schedule.start_s("on"))


REELS = ({"id": "EV1", "reels_m": (6.0,)}, {"id": "EV2", "reels_m": (6.0,)})


def staged(*lengths_m: float) -> Structure:
    """T2 is at x = 4: a reel of 6 m comes there, one staged there goes on to the far end."""
    return one_rail(
        tether_points=(
            TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
            TetherPoint(id="T2", position_m=(4.0, 0.2, 0.0), rating_n=3000.0, staged_m=lengths_m),
        )
    )


def two_go(later_min: float) -> tuple[dict[str, Any], ...]:
    return (
        act("one", at="FAR", minutes=10),
        act("one-home", "move", at="A1", way="recover"),
        act("wait", "wait", who="EV2", minutes=later_min),
        act("two", at="FAR", who="EV2"),
        act("two-home", "move", at="A1", way="recover", who="EV2"),
    )


def test_two_people_may_be_on_two_staged_tethers_of_one_length() -> None:
    assert codes(on_deck(staged(9.0, 9.0), *two_go(0), people=REELS)) == set()
    assert "tether-used-twice" in codes(on_deck(staged(9.0), *two_go(0), people=REELS))


def test_a_staged_tether_is_in_use_until_its_transfer_is_over() -> None:
    """EV1 is back at T2, lets go of it within a minute, and is at the hatch half a minute later."""
    one = on_deck(staged(9.0), *two_go(60), people=REELS).schedule
    let_go_s = one.end_s("one-home@EV1") - 4.4 / 0.1524 - 2.0  # from x = 4 to the hatch
    takes_s = 4.4 / 0.1524 + 2.0  # after the start of EV2's way
    begins_s = one.end_s("@begin")
    for before_s, twice in ((10.0, True), (-10.0, False)):
        wait_min = (let_go_s - takes_s - before_s - begins_s) / 60.0
        planned = on_deck(staged(9.0), *two_go(wait_min), people=REELS)
        assert ("tether-used-twice" in codes(planned)) == twice


def test_who_stands_in_a_restraint_keeps_out_of_zones_until_the_get_out() -> None:
    """The zone is from 1.6 m above the socket on: over the ball at the hold, about the head."""
    socket = Socket(id="S1", position_m=(10.4, 0.0, HANDS_M), normal=UP, clock_zero=(1, 0, 0))
    target = Target(id="T", position_m=(10.9, 0.1, HANDS_M - 1.85), facing=(-1.0, 0.0, 0.0))
    panel = Box(center_m=(11.1, 0.0, HANDS_M - 1.25), size_m=(0.4, 3.0, 2.6))
    over = Zone(
        id="Z",
        volume=Box(center_m=(10.0, 0.0, HANDS_M - 1.9), size_m=(3.0, 3.0, 0.6)),
        applies_to=("body",),
        when=("radar",),
    )
    stool = Item(id="stool", size_m=(0.3, 0.3, 0.3), mass_kg=8.0, stowed_at="FAR")
    acts = (
        act("fetch", "fetch", item="stool", at="FAR"),
        act("up", "set-up", item="stool", at="PANEL"),
        act("in", "get-in", item="stool"),
        action("on", sets=("radar",), after=("in",)),
        act("work", in_restraint=True, after=("on",)),
        action("off", clears=("radar",), after=("work",)),
        act("then", "wait", after=("off",)),
        act("out", "get-out", item="stool"),
        act("home", "move", at="A1"),
    )
    plain = one_rail()
    given = {"id": "stool", "kind": "restraint", "model": "coarse", "ends_anywhere": True}
    for zones, blocked in (((), set()), ((over,), {"restraint-does-not-serve"})):
        structure = one_rail(
            zones=zones,
            solids=(Solid(id="panel", volume=panel),),
            sockets=(socket,),
            worksites=(*plain.worksites, Worksite(id="PANEL", socket="S1", targets=(target,))),
            items=(stool,),
            restraints=(COARSE,),
            bodies=tuple(built_in_bodies()),
        )
        assert codes(on_deck(structure, *acts, items=[given])) == blocked
