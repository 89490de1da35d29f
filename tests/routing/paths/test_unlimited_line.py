"""The least-time path with the line's length left out: quicker, unsafe where it runs out."""

import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.request import Request
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from routing.paths.unlimited_line import least_time_anyway, least_time_course
from tests.routing.paths.route_graphs import deck

GRAPH = build_graph(deck(), Situation(limits=Limits(reserve_m=0.1)))


def test_it_is_the_route_of_a_reel_that_never_runs_out() -> None:
    kit = Kit(reels_m=(8.2, 8.2))
    request = Request(start="A1", goal="W1", protocol="reel", kit=kit)
    found = least_time_anyway(GRAPH, request, RouteOptions(kit=kit))
    assert found is not None
    endless = find_route(
        GRAPH, "A1", "W1", protocol="reel", options=RouteOptions(kit=Kit(reels_m=(900.0,)))
    )
    assert found.totals.seconds == pytest.approx(endless.totals.seconds)
    assert found.totals.transfers == 0
    assert found.verdict == "unsafe"
    (finding,) = [one for one in found.findings if one.severity == "blocks"]
    assert finding.code == "line-runs-out"
    # 0.308 m are out at the first grip, and 0.1 m of the 8.2 m are the reserve.
    assert found.margins.line is not None
    assert found.margins.line.runs_out_after_m is not None
    assert 0 < found.margins.line.runs_out_after_m - (8.1 - 0.308) < 0.5


def test_with_line_enough_it_is_the_exact_route() -> None:
    request = Request(start="A1", goal="W1", protocol="reel", kit=Kit(reels_m=(20.0,)))
    found = least_time_anyway(GRAPH, request, RouteOptions(kit=request.kit))
    exact = find_route(GRAPH, "A1", "W1", protocol="reel", options=RouteOptions(kit=request.kit))
    assert found is not None
    assert (found.verdict, found.findings) == (exact.verdict, exact.findings)
    assert found.totals.seconds == pytest.approx(exact.totals.seconds)


def test_only_reels_have_a_length_to_leave_out() -> None:
    with pytest.raises(ValueError, match="ask with the reel protocol"):
        least_time_course(GRAPH, Request(start="A1", goal="W1", protocol="leapfrog"))
    # There is no tether point within reach of W2, so no line can be said to run out.
    request = Request(start="W2", goal="W1", protocol="reel")
    assert least_time_course(GRAPH, request) is None
