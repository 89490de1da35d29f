"""Why nobody gets home with the partner in tow: the place, the hand-over, the zone, by name."""

from typing import Any

from routing.limits import Limits
from routing.outings.told.results import OutingFinding
from structures.elements import Handrail, Zone
from structures.model import Structure
from structures.shapes import Sphere
from tests.routing.outings.outing_decks import act, action, on_deck, one_rail, wall
from tests.routing.paths.route_graphs import HANDS_M, straight_rail

PEOPLE = ({"id": "EV1"}, {"id": "EV2"})
OUT = (act("far", at="FAR", minutes=10), act("home", "move", at="A1"))
LIMITS = Limits()


def in_tow(structure: Structure, *acts: dict[str, Any], **more: Any) -> OutingFinding | None:
    watch = act("watch", "wait", who="EV2", after=("far",))
    planned = on_deck(structure, *(acts or OUT), watch, people=PEOPLE, **more)
    found = [one for one in planned.answer.findings if one.code == "no-way-home-in-tow"]
    found = [one for one in found if one.person == "EV1"]
    return found[0] if found else None


def test_with_room_all_along_somebody_is_brought_home() -> None:
    assert in_tow(one_rail()) is None


def test_the_first_hand_over_that_two_are_too_wide_for_is_named() -> None:
    """The beam half-way leaves 1.12 m: one person takes 1.09 m, two take 1.74 m."""
    found = in_tow(one_rail(solids=(wall(5.0, 1.12),)))
    assert found is not None
    assert found.severity == "warns"
    assert "first at H1@4." in found.message
    assert "longest at H1@9.000: in tow 8 moves of the quickest way home alone do not go, " in (
        found.message
    )
    assert "the first from H1@" in found.message
    assert "and beam" in found.message or "beam; it needs" in found.message
    assert "by tow_envelope" in found.message
    assert "beam" in found.elements


def test_where_one_stands_there_may_be_no_room_for_two() -> None:
    found = in_tow(one_rail(solids=(wall(9.0, 1.12),)))
    assert found is not None
    assert "longest at H1@9.000: there is no room for two: at H1@9.000" in found.message
    assert "beam" in found.elements


def test_a_gap_that_is_over_the_reach_in_tow_is_named() -> None:
    reach_m = LIMITS.reach_m
    gap_m = reach_m * (1 + LIMITS.tow_reach_factor) / 2
    rails: tuple[Handrail, ...] = (
        straight_rail("H1", 0.0, 5.0),
        straight_rail("H2", 5.0 + gap_m, 10.0),
    )
    structure = one_rail(handrails=rails)
    worksites = tuple(
        one.model_copy(update={"handrail": "H2"}) if one.id == "FAR" else one
        for one in structure.worksites
    )
    found = in_tow(structure.model_copy(update={"worksites": worksites}))
    assert found is not None
    assert "in tow 1 move of the quickest way home alone does not go" in found.message
    assert "from H2@0.000 to H1@5.000: the gap of" in found.message
    assert "over the reach" in found.message
    assert "by tow_reach_factor" in found.message


def test_a_zone_switched_on_by_an_act_is_named_with_condition_and_act() -> None:
    """The ball over the rail leaves room for one."""
    zone = Zone.model_validate(
        {
            "id": "Z",
            "volume": Sphere(center_m=(5.0, 0.0, HANDS_M - 1.35), radius_m=0.2),
            "applies_to": ("body",),
            "when": ("radar",),
        }
    )
    structure = one_rail(zones=(zone,))
    on = action("on", sets=("radar",))
    assert in_tow(structure) is None
    found = in_tow(structure, on, *OUT)
    assert found is not None
    assert "it is there without radar (zone Z; on begins it at" in found.message
    assert found.remedy.startswith("let on wait until nobody needs it")
    assert {"Z", "radar"} <= set(found.elements)
