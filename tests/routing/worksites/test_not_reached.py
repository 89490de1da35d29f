"""What nobody gets to on a tether is no place to see a face from, or to tie a payload at."""

import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.worksites.bags.near_worksite import find_bag_places
from routing.worksites.sight.records import FaceSight
from routing.worksites.sight.vantage import sight_of
from routing.worksites.tethered import LEAPFROG, reached_for_work
from routing.worksites.ties.details import tie_details
from structures.elements import AttachPoint, Handrail, Item, Worksite
from structures.faces import Camera, Face
from structures.model import Structure
from tests.routing.paths.route_graphs import HANDS_M, deck, straight_rail

CAMERA = Camera(id="C", nearest_m=0.1, farthest_m=3.0, incidence_deg=60.0)
FACE = Face(
    id="F",
    center_m=(8.0, 0.0, -3.0),
    normal=(0.0, 0.0, 1.0),
    across=(1.0, 0.0, 0.0),
    size_m=(0.2, 0.2),
)
"""Over the last rail, looking down at it."""


def rails(*, last_hooks: bool) -> Structure:
    """Three rails in line; hands go on from each to the next, hooks only where they take them."""
    plain: tuple[Handrail, ...] = (
        straight_rail("H1", 0.0, 3.0),
        straight_rail("H2", 3.4, 6.0),
        straight_rail("H3", 6.4, 12.0),
    )
    return deck(
        handrails=(
            plain[0],
            *(one.model_copy(update={"tether_hook": last_hooks}) for one in plain[1:]),
        ),
        sockets=(),
        worksites=(
            Worksite(
                id="W",
                handrail="H3",
                place_m=(8.0, 0.0, HANDS_M),
                attach=(AttachPoint(id="a", held_m=(8.0, 0.6, -1.0), seated_m=(8.0, 0.6, -0.9)),),
            ),
        ),
        faces=(FACE,),
        cameras=(CAMERA,),
    )


def seen(structure: Structure, **more: object) -> FaceSight:
    graph = build_graph(structure, Situation(**more))
    return sight_of(graph, FACE, start="A1")


def test_rails_that_only_hands_without_a_tether_get_to_are_no_vantage_points() -> None:
    assert seen(rails(last_hooks=True)).safe
    found = seen(rails(last_hooks=False))
    assert (found.verdict, found.safe, found.grips) == ("not seen", False, 0)


def test_nobody_leaves_a_hatch_without_a_hook() -> None:
    found = seen(rails(last_hooks=True), closed=("T1",))
    assert (found.verdict, found.safe) == ("not seen", False)
    assert found.reason == "no tethered way leads from the start to any grip"


@pytest.mark.parametrize(
    ("closed", "hooks", "safe"),
    [((), True, True), (("H2",), True, False), (("T1",), True, False), ((), False, False)],
)
def test_a_payload_at_a_worksite_that_no_way_leads_to_is_not_tied_safely(
    closed: tuple[str, ...], *, hooks: bool, safe: bool
) -> None:
    """With the second rail closed nobody gets to the third, and no bag is hung there either.

    Nor without a hook at the hatch, or on rails that only hands without a tether go on to.
    """
    structure = rails(last_hooks=hooks)
    graph = build_graph(structure, Situation(closed=closed))
    reached = reached_for_work(graph, "W", LEAPFROG)
    found = tie_details(structure, "W", graph.situation, reached=reached)
    blocks = [one.code for one in found.findings if one.severity == "blocks"]
    assert (found.safe, blocks) == (safe, [] if safe else ["worksite-not-reached"])
    bag = Item(id="B", size_m=(0.1, 0.1, 0.1), mass_kg=1.0)
    bags = find_bag_places(graph, "W", bag, reached=reached)
    assert (bags.safe, bags.reason) == (
        safe,
        None if safe else "no safe way leads to H3, where W is",
    )
