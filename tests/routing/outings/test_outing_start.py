"""People who never leave the hatch: what holds them there is looked at all the same."""

import pytest

from structures.elements import TetherPoint
from tests.routing.outings.outing_decks import act, ball, codes, on_deck, one_rail

AT_THE_HATCH = act("help", at="A1")
PROTOCOLS = pytest.mark.parametrize("protocol", ["leapfrog", "reel"])


def stands(protocol: str, *points: TetherPoint, **more: object) -> set[str]:
    people = ({"id": "EV1", "protocol": protocol},)
    structure = one_rail(tether_points=points)
    return codes(on_deck(structure, AT_THE_HATCH, people=people, **more))


def point(away_m: float = 0.3, rating_n: float | None = 3000.0) -> TetherPoint:
    return TetherPoint(id="T1", position_m=(-0.4, away_m, 0.0), rating_n=rating_n)


@PROTOCOLS
def test_who_stays_at_the_hatch_needs_a_tether_that_holds(protocol: str) -> None:
    assert stands(protocol, point()) == set()
    assert stands(protocol, point(rating_n=None)) == {"tether-point-not-rated"}
    assert stands(protocol, point(rating_n=100.0)) == {"tether-point-too-weak"}
    far = {"leapfrog": "hatch-without-hook", "reel": "first-hook-out-of-reach"}[protocol]
    assert stands(protocol, point(away_m=0.9)) == {far}


@PROTOCOLS
def test_who_has_nothing_to_hang_on_or_to_hold_does_not_begin(protocol: str) -> None:
    closed = {"leapfrog": "hatch-without-hook", "reel": "no-hold-at-start"}[protocol]
    assert stands(protocol, point(), closed=("T1",)) == {closed}
    people = ({"id": "EV1", "protocol": protocol},)
    zone = ball(-0.4, 0.3, "body").model_copy(update={"when": ()})
    for acts in ((AT_THE_HATCH,), (act("wait", "wait", minutes=5),)):
        found = codes(on_deck(one_rail(zones=(zone,)), *acts, people=people))
        assert found == {"no-hold-at-start"}


def test_who_has_no_act_at_all_is_looked_at_too() -> None:
    people = ({"id": "EV1"}, {"id": "EV2"})
    planned = on_deck(one_rail(tether_points=(point(rating_n=None),)), AT_THE_HATCH, people=people)
    blocked = [one for one in planned.answer.findings if one.severity == "blocks"]
    assert {one.person for one in blocked} == {"EV1", "EV2"}
    assert {one.act for one in blocked} == {None}
