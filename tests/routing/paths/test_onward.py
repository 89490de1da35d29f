"""Routes one after another: the next starts where the last one ended, on the same tethers."""

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS
from routing.paths.answers.results import Protocol
from routing.paths.onward import NoWayOnError, Whereabouts, begin_at, route_onward
from routing.paths.request import Request
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.elements import Condition, Item, Zone
from structures.shapes import Box
from tests.routing.paths.route_graphs import deck

LONG = Kit(reels_m=(25.908,))
SHORT = Kit(reels_m=(9.0, 9.0))


@pytest.fixture(name="graph")
def deck_graph() -> ReachGraph:
    return build_graph(deck(), Situation())


def asked(kit: Kit, protocol: Protocol = "reel") -> Request:
    return Request(start="", goal="", protocol=protocol, kit=kit)


@pytest.mark.parametrize("protocol", ["reel", "leapfrog"])
def test_the_first_route_is_the_one_that_is_found_afresh(
    graph: ReachGraph, protocol: Protocol
) -> None:
    where = begin_at(graph, "A1", protocol, LONG)
    onward = route_onward(graph, where, ["W1"], request=asked(LONG, protocol))
    options = RouteOptions(kit=LONG)
    fresh = find_route(graph, "A1", "W1", protocol=protocol, options=options)
    assert onward.route.grips == fresh.grips
    assert onward.route.totals == fresh.totals
    assert onward.ends.grip == graph.grips.ids.index("S1")


def test_the_next_route_starts_with_the_line_that_is_out(graph: ReachGraph) -> None:
    there = route_onward(graph, begin_at(graph, "A1", "reel", LONG), ["W1"], request=asked(LONG))
    back = route_onward(graph, there.ends, ["H1"], request=asked(LONG))
    out, home = there.route.stays[-1], back.route.stays[0]
    assert home.tether_point == out.tether_point
    assert home.first_payout_m == pytest.approx(out.most_payout_m)
    # Back along the lay: the line goes in again.
    (state,) = back.ends.tethers
    assert state.payout_m < out.most_payout_m
    assert not [f for f in back.route.findings if f.severity == "blocks"]


def test_tethers_left_on_the_way_come_along_on_recovering(graph: ReachGraph) -> None:
    there = route_onward(graph, begin_at(graph, "A1", "reel", SHORT), ["W1"], request=asked(SHORT))
    (state,) = there.ends.tethers
    assert len(state.stack) == 2
    assert sum(state.carried) == 0
    home = route_onward(graph, there.ends, ["A1"], request=asked(SHORT), manner="recover")
    (state,) = home.ends.tethers
    assert len(state.stack) == 1
    assert sum(state.carried) == 1
    assert [t.returns for t in home.route.transfers] == [True]
    assert home.route.grips[-1].hatch == "A1"
    # The same moves the other way round, and the same transfer.
    assert home.route.totals.seconds == pytest.approx(there.route.totals.seconds, rel=1e-9)


def test_a_load_changes_the_moves_but_not_the_lay(graph: ReachGraph) -> None:
    there = route_onward(graph, begin_at(graph, "A1", "reel", LONG), ["W1"], request=asked(LONG))
    box = Item(id="box", size_m=(0.2, 0.2, 0.2), mass_kg=9.0, envelope_m=0.1)
    loaded = build_graph(deck(), Situation(carry=box))
    back = route_onward(loaded, there.ends, ["A1"], request=asked(LONG), manner="recover")
    assert back.route.totals.travel_s == pytest.approx(
        there.route.totals.travel_s / DEFAULT_LIMITS.load_rate_factor
    )
    assert [g.grip for g in back.route.grips] == [g.grip for g in there.route.grips][::-1]


def test_via_sites_are_met_in_order(graph: ReachGraph) -> None:
    where = begin_at(graph, "A1", "reel", LONG)
    onward = route_onward(graph, where, ["H3", "H1", "W1"], request=asked(LONG))
    at = [onward.route.grips[i].handrail for i in onward.route.via_grips]
    assert at == ["H3", "H1"]
    assert onward.route.grips[-1].socket == "S1"


def test_no_way_on_says_whether_it_is_the_tethers(graph: ReachGraph) -> None:
    one = Kit(reels_m=(9.0,))
    where = begin_at(graph, "A1", "reel", one)
    with pytest.raises(NoWayOnError, match=r"the tethers do not reach from A1 to W1.*hangs on T1"):
        route_onward(graph, where, ["W1"], request=asked(one))
    closed = build_graph(deck(), Situation(closed=("H2",)))
    with pytest.raises(NoWayOnError, match="no way leads from A1 to W1"):
        route_onward(closed, begin_at(closed, "A1", "reel", LONG), ["W1"], request=asked(LONG))
    with pytest.raises(NoWayOnError, match="under leapfrog rules"):
        route_onward(
            closed, Whereabouts(site="A1"), ["W1"], request=asked(LONG, protocol="leapfrog")
        )


def test_recovering_through_a_zone_that_has_come_up_is_refused() -> None:
    zone = Zone(
        id="Z",
        volume=Box(center_m=(5.0, 0.0, -0.5), size_m=(0.5, 2.0, 1.0)),
        when=("hot",),
    )
    structure = deck(zones=(zone,), conditions=(Condition(id="hot"),))
    clear = build_graph(structure, Situation())
    there = route_onward(clear, begin_at(clear, "A1", "reel", LONG), ["W1"], request=asked(LONG))
    barred = build_graph(structure, Situation(when=("hot",)))
    assert barred.grips.ids == clear.grips.ids
    with pytest.raises(NoWayOnError, match="way back along the line from H2@"):
        route_onward(barred, there.ends, ["A1"], request=asked(LONG), manner="recover")


def test_retracing_takes_the_line_in_and_goes_nowhere_else(graph: ReachGraph) -> None:
    there = route_onward(graph, begin_at(graph, "A1", "reel", SHORT), ["W1"], request=asked(SHORT))
    back = route_onward(graph, there.ends, ["H1"], request=asked(SHORT), manner="retrace")
    out = [place.grip for place in there.route.grips]
    assert [place.grip for place in back.route.grips] == out[::-1][: len(back.route.grips)]
    assert back.route.grips[-1].handrail == "H1"
    (state,) = back.ends.tethers
    assert len(state.stack) == 1
    with pytest.raises(NoWayOnError, match="does not come to W1: it ends at"):
        route_onward(graph, back.ends, ["W1"], request=asked(SHORT), manner="retrace")
