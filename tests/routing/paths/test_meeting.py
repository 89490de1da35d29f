"""When two people's short tethers can come together, against looking at every moment."""

import itertools
import math

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import Route
from routing.paths.route import find_route
from routing.paths.two_people.meeting import Meeting, find_meetings, meeting_routes
from tests.routing.paths.route_graphs import deck


@pytest.fixture(scope="module")
def graph() -> ReachGraph:
    return build_graph(deck(), Situation())


def _holds(route: Route, at_s: float) -> list[tuple[float, float, float]]:
    """Return where a person's hands may be so long after the start: a slow, plain replay."""
    clock_s = 0.0
    places = [grip.position_m for grip in route.grips]
    for at, over in enumerate(route.hand_overs):
        clock_s += over.seconds
        clock_s += sum(one.seconds for one in route.transfers if one.grip_index == at)
        if at_s < clock_s:
            return places[at : at + 2]
    return places[-1:]


def _nearest_m(first: Route, second: Route, at_s: float, later_s: float) -> float:
    hands = itertools.product(_holds(first, at_s), _holds(second, at_s - later_s))
    return min(math.dist(one, other) for one, other in hands)


@pytest.mark.parametrize("later_s", [0.0, 30.0, 500.0])
@pytest.mark.parametrize("trips", [("A1", "W1", "W1", "A1"), ("A1", "W1", "A1", "W2")])
def test_every_moment_is_in_a_meeting_or_far_apart(
    graph: ReachGraph, trips: tuple[str, str, str, str], later_s: float
) -> None:
    first = find_route(graph, trips[0], trips[1])
    second = find_route(graph, trips[2], trips[3])
    within_m = 2.0
    found = find_meetings(first, second, within_m, later_s)
    ends_s = max(first.totals.seconds, later_s + second.totals.seconds)
    near = 0
    for at_s in np.arange(later_s, ends_s + 60.0, 0.37):
        told = [
            one for one in found
            if one.from_s <= at_s and (one.until_s is None or at_s < one.until_s)
        ]  # fmt: skip
        distance_m = _nearest_m(first, second, at_s, later_s)
        assert len(told) == (distance_m < within_m), at_s
        assert all(one.distance_m <= distance_m + 1e-9 for one in told)
        near += len(told)
    assert bool(near) == bool(found)


def test_people_who_pass_each_other_come_together(graph: ReachGraph) -> None:
    met = meeting_routes((graph, graph), (("A1", "W1"), ("W1", "A1")))
    assert met.within_m == pytest.approx(2 * 1.2192 + 0.3048)
    assert met.verdict == "the short tethers can come together"
    (one,) = met.meetings
    assert one.kind == "come together"
    assert one.until_s is not None
    assert not met.safe


def test_who_goes_far_ahead_is_not_met_again(graph: ReachGraph) -> None:
    met = meeting_routes((graph, graph), (("A1", "W1"), ("A1", "H1@0.500")), second_after_s=1000.0)
    assert met.meetings == ()
    assert met.safe
    beside = meeting_routes((graph, graph), (("A1", "W1"), ("A1", "W1")))
    assert [one.kind for one in beside.meetings] == ["together from the start"]
    assert beside.meetings[0] == Meeting(
        kind="together from the start",
        from_s=0.0,
        until_s=None,
        distance_m=0.0,
        first_at=beside.meetings[0].first_at,
        second_at=beside.meetings[0].first_at,
    )
    assert beside.verdict == "both would stay at one place"
    assert not beside.safe
