"""What there is no route on, and the reason that is given."""

import pytest

from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.no_route.answer import NoRoute, NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.elements import Zone
from structures.model import Structure
from structures.shapes import Box
from tests.routing.paths.route_graphs import deck, straight_rail


def why_not(
    structure: Structure,
    situation: Situation | None = None,
    protocol: Protocol = "leapfrog",
    kit: Kit | None = None,
    goal: str = "W1",
) -> NoRoute:
    options = RouteOptions(situation=situation or Situation(), kit=kit)
    with pytest.raises(NoRouteError) as caught:
        find_route(structure, "A1", goal, protocol=protocol, options=options)
    answer = caught.value.answer
    assert (caught.value.start, caught.value.goal) == ("A1", goal)
    assert caught.value.why == answer.why
    assert str(caught.value) == answer.message
    assert isinstance(caught.value, LookupError)
    return answer


def across(x_m: float, **more: object) -> Zone:
    """A keep-out zone right across the rails."""
    volume = Box(center_m=(x_m, 0.0, -0.6), size_m=(0.4, 8.0, 0.4))
    return Zone.model_validate({"id": f"Z{x_m:g}", "volume": volume, **more})


def gapped(gap_m: float) -> Structure:
    rails = (straight_rail("H1", 0.0, 3.0), straight_rail("H3", 3.0 + gap_m, 12.0))
    return deck(handrails=rails, worksites=deck().worksites[:1])


def with_point(**point: object) -> Structure:
    """The deck with another tether point at its hatch."""
    first = deck().tether_points[0].model_copy(update=point)
    return deck(tether_points=(first, *deck().tether_points[1:]))
