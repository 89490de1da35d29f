"""What hangs on the suit: long things are loads, and zones for items count for small ones."""

import pytest

from routing.outings.plan import PlannedOuting
from structures.elements import Item
from tests.routing.outings.outing_decks import act, action, ball, codes, on_deck, one_rail, wall

OUT_AND_BACK = (
    act("take", "fetch", item="kit", at="NEAR", hung=True),
    act("far", at="FAR"),
    act("put", "put", item="kit", at="NEAR"),
    act("home", "move", at="A1"),
)


def hung(planned: PlannedOuting) -> set[str | None]:
    """Return the acts on whose ways, or at which, an item on the suit is in a zone."""
    return {one.act for one in planned.answer.findings if one.code == "hung-item-in-zone"}


def kit(edge_m: float, kg: float = 1.0) -> tuple[Item, ...]:
    return (Item(id="kit", size_m=(edge_m, 0.1, 0.1), mass_kg=kg, stowed_at="NEAR"),)


@pytest.mark.parametrize(
    ("edge_m", "kg", "passes"), [(0.4, 1.0, True), (0.6, 1.0, False), (0.4, 6.0, False)]
)
def test_a_long_item_on_the_suit_widens_the_corridor_however_light(
    edge_m: float, kg: float, *, passes: bool
) -> None:
    """Under the beam there are 1.12 m, for a body of 1.09 m."""
    structure = one_rail(solids=(wall(5.0, 1.12),), items=kit(edge_m, kg))
    planned = on_deck(structure, *OUT_AND_BACK, items=[{"id": "kit"}])
    assert codes(planned) == (set() if passes else {"no-way"})


def test_a_bag_on_the_suit_is_a_load_whatever_it_weighs_itself() -> None:
    structure = one_rail(solids=(wall(5.0, 1.12),), items=kit(0.4))
    bag = {"id": "kit", "kind": "bag", "bag": {"most_items": 3, "volume_l": 4.0}}
    assert "no-way" in codes(on_deck(structure, *OUT_AND_BACK, items=[bag]))


@pytest.mark.parametrize("zone_at_m", [5.0, 9.0])
def test_a_zone_for_items_keeps_out_what_hangs_on_the_suit(zone_at_m: float) -> None:
    """On the way, or where the work is; the person alone may be there."""
    zone = ball(zone_at_m, 0.1, "item").model_copy(update={"when": ()})
    structure = one_rail(zones=(zone,), items=kit(0.4))
    planned = on_deck(structure, *OUT_AND_BACK, items=[{"id": "kit"}])
    found = [one for one in planned.answer.findings if one.code == "hung-item-in-zone"]
    assert [one.act for one in found] == ["far"]
    assert {one.severity for one in found} == {"blocks"}
    assert codes(planned) == {"hung-item-in-zone"}
    assert planned.answer.verdict == "not clean"
    assert {one.elements for one in found} == {("Z", "kit")}
    assert "if who answers for Z accepts it, name it under hung_past" in found[0].remedy
    alone = (OUT_AND_BACK[1], OUT_AND_BACK[3])
    assert hung(on_deck(structure, *alone)) == set()


def test_what_the_plan_accepts_for_a_zone_is_still_to_watch() -> None:
    zones = [ball(9.0, 0.1, "item").model_copy(update={"when": ()})]
    zones.append(zones[0].model_copy(update={"id": "Z2"}))
    structure = one_rail(zones=tuple(zones), items=kit(0.4))
    given = {"items": [{"id": "kit"}], "hung_past": ("Z",)}
    planned = on_deck(structure, *OUT_AND_BACK, **given)
    found = [one for one in planned.answer.findings if one.code == "hung-item-in-zone"]
    assert {one.elements[0]: one.severity for one in found} == {"Z": "warns", "Z2": "blocks"}
    assert {one.elements[0]: "as the plan accepts" in one.message for one in found} == {
        "Z": True,
        "Z2": False,
    }
    # A load in the hands is kept out of a zone all the same.
    by_hand = [one | {"hung": False} if one["id"] == "take" else one for one in OUT_AND_BACK]
    assert "no-way" in codes(on_deck(structure, *by_hand, items=[{"id": "kit"}], hung_past=("Z",)))


def test_only_while_the_zone_may_be_in_force() -> None:
    structure = one_rail(zones=(ball(9.0, 0.1, "item"),), items=kit(0.4))
    given = {"items": [{"id": "kit"}]}
    assert hung(on_deck(structure, *OUT_AND_BACK, **given)) == set()
    on, off = action("on", sets=("radar",)), action("off", clears=("radar",), after=("on",))
    assert hung(on_deck(structure, on, *OUT_AND_BACK, **given)) == {"far"}
    take, *rest = OUT_AND_BACK
    over = (on, off, take, act("then", "wait", after=("off",)), *rest)
    assert hung(on_deck(structure, *over, **given)) == set()
