"""Outings on a deck, made in memory, small enough to work out by hand.

::

    A1  H1 ................................ one rail along x from 0 to 10, hatch at -0.4
        0    FAR stands at x = 9, NEAR at x = 2; tether point T1 is beside the hatch
"""

from typing import Any

from routing.limits import DEFAULT_LIMITS, Limits
from routing.outings.plan import PlannedOuting, work_out
from routing.outings.plan_file.records import Outing
from routing.outings.translations import Ground
from structures.elements import Condition, Solid, TetherPoint, Worksite, Zone
from structures.model import Structure
from structures.shapes import Box, Sphere
from tests.routing.paths.route_graphs import HANDS_M, deck, straight_rail

__all__ = ["act", "action", "ball", "codes", "on_deck", "one_rail", "wall"]


def one_rail(
    *, zones: tuple[Zone, ...] = (), solids: tuple[Solid, ...] = (), **more: Any
) -> Structure:
    """Make the deck; what is given in ``more`` replaces lists of the structure."""
    plain = deck()
    lists: dict[str, object] = {
        "solids": (*plain.solids, *solids),
        "handrails": (straight_rail("H1", 0.0, 10.0),),
        "tether_points": (TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),),
        "sockets": (),
        "worksites": (
            Worksite(id="FAR", handrail="H1", place_m=(9.0, 0.0, HANDS_M)),
            Worksite(id="NEAR", handrail="H1", place_m=(2.0, 0.0, HANDS_M)),
        ),
        "zones": zones,
        "conditions": (Condition(id="radar"),),
    }
    return deck(**(lists | more))


def ball(at_m: float, radius_m: float, applies_to: str, *, up_m: float = HANDS_M) -> Zone:
    """Make a keep-out zone on the rail, in force under the condition radar."""
    return Zone.model_validate(
        {
            "id": "Z",
            "volume": Sphere(center_m=(at_m, 0.0, up_m), radius_m=radius_m),
            "applies_to": (applies_to,),
            "when": ("radar",),
        }
    )


def wall(at_m: float, room_m: float) -> Solid:
    """Make a beam over the rail that leaves so much room above the hands."""
    return Solid(
        id="beam",
        volume=Box(center_m=(at_m, 0.0, HANDS_M - room_m - 0.1), size_m=(0.6, 1.2, 0.2)),
    )


def act(act_id: str, does: str = "work", *, who: str = "EV1", **keys: Any) -> dict[str, Any]:
    """Write one act of EV1; five minutes where it takes time."""
    timed = does not in {"move", "carry", "wait"} and "minutes" not in keys
    return {"id": act_id, "who": (who,), "does": does} | ({"minutes": 5} if timed else {}) | keys


def action(act_id: str, **keys: Any) -> dict[str, Any]:
    """Write one action on the ground; a minute where nothing else is said."""
    return act(act_id, "action", **({"who": "ground", "minutes": 1} | keys))


def on_deck(
    structure: Structure,
    *acts: dict[str, Any],
    limits: Limits = DEFAULT_LIMITS,
    people: tuple[dict[str, Any], ...] = ({"id": "EV1"},),
    **more: Any,
) -> PlannedOuting:
    """Plan acts on a structure."""
    outing = Outing.model_validate(
        {
            "name": "Deck",
            "structure": "-",
            "people": [{"start": "A1"} | one for one in people],
            "acts": acts,
        }
        | more
    )
    return work_out(outing, Ground(structure, outing, limits))


def codes(planned: PlannedOuting) -> set[str]:
    """Return the codes of all that blocks."""
    return {one.code for one in planned.answer.findings if one.severity == "blocks"}
