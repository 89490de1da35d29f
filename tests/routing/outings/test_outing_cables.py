"""A cable that is laid stays: all that comes into force while it lies there counts for it."""

from typing import Any

import pytest

from routing.outings.plan import PlannedOuting
from routing.outings.told.results import OutingFinding
from structures.cables import Cable, CableTie, Connector
from structures.elements import Condition, Item, Zone
from structures.model import Structure
from structures.shapes import Sphere
from tests.routing.outings.outing_decks import act, action, on_deck, one_rail

ASIDE_M = 1.5
"""The cable lies so far beside the handrail."""

LAY = (
    act("take", "fetch", item="drum", at="NEAR"),
    act("lay", "lay-cable", item="drum", at="NEAR", to="FAR", plugs=("C1", "C2")),
    act("home", "move", at="A1"),
)
ON = action("on", sets=("radar",), after=("lay",))


def yard(*, aside: bool = False, applies_to: str = "tether") -> Structure:
    """A straight run over five ties past a zone on the third; two more ties round it if so said."""
    ties = [(3.0 + k, ASIDE_M) for k in range(5)]
    ties += [(4.5, ASIDE_M + 0.6), (5.5, ASIDE_M + 0.6)] if aside else []
    zones = [
        Zone.model_validate(
            {
                "id": name,
                "volume": Sphere(center_m=(5.0, ASIDE_M, -0.05), radius_m=0.2),
                "applies_to": (applies_to,),
                "when": (condition,),
            }
        )
        for name, condition in (("Z", "radar"), ("Z2", "venting"))
    ]
    return one_rail(
        zones=tuple(zones),
        conditions=(Condition(id="radar"), Condition(id="venting")),
        items=(Item(id="drum", size_m=(0.3, 0.3, 0.2), mass_kg=4.0, stowed_at="NEAR"),),
        connectors=(
            Connector(id="C1", position_m=(2.0, ASIDE_M, -0.05), normal=(1, 0, 0)),
            Connector(id="C2", position_m=(8.0, ASIDE_M, -0.05), normal=(-1, 0, 0)),
        ),
        cable_ties=tuple(
            CableTie(id=f"C-{k}", position_m=(x, y, -0.05), stow_m=1.0)
            for k, (x, y) in enumerate(ties)
        ),
        cables=(Cable(id="K", length_m=8.0, bend_radius_m=0.04, item="drum"),),
    )


def cable_findings(structure: Structure, *acts: dict[str, Any], **more: Any) -> list[OutingFinding]:
    planned: PlannedOuting = on_deck(
        structure, *acts, items=[{"id": "drum", "kind": "cable", "ends_anywhere": True}], **more
    )
    return [one for one in planned.answer.findings if one.code.startswith("cable-")]


def test_laid_well_where_nothing_comes_on() -> None:
    assert cable_findings(yard(), *LAY) == []
    assert cable_findings(yard(applies_to="body"), *LAY, ON) == []


@pytest.mark.parametrize("applies_to", ["tether", "item"])
def test_a_zone_that_comes_on_when_it_lies_there_blocks_and_is_named(applies_to: str) -> None:
    (one,) = cable_findings(yard(applies_to=applies_to), *LAY, ON)
    assert (one.code, one.severity, one.act) == ("cable-in-zone-later", "blocks", "lay")
    assert "once radar is in force (by on)" in one.message
    assert "without keep-out zones (Z) there is one of" in one.message


def test_another_way_round_the_zone_is_taken_for_it() -> None:
    assert cable_findings(yard(aside=True), *LAY, ON) == []


def test_a_zone_in_force_while_it_is_laid_is_no_later_one() -> None:
    (one,) = cable_findings(yard(), *LAY, when=("radar",))
    assert one.code == "cable-does-not-reach"


def test_what_is_certainly_over_or_comes_when_it_is_taken_up_again_does_not_count() -> None:
    before = action("on", sets=("radar",))
    off = action("off", clears=("radar",), after=("on",))
    take = LAY[0] | {"after": ("off",)}
    assert cable_findings(yard(), before, off, take, *LAY[1:]) == []
    up = act("up", "fetch", item="drum", at="FAR")
    assert cable_findings(yard(), *LAY[:2], up, LAY[2], ON | {"after": ("up",)}) == []
    # Not ordered against taking it up: it may come on before.
    assert cable_findings(yard(), *LAY[:2], up, LAY[2], ON) != []
