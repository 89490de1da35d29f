"""No safe start on reels: nothing is called a remedy that leads over it."""

import pytest

from routing.graph.build import build_graph
from routing.graph.sites import site_grips
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.no_route.answer import NoRouteError
from routing.paths.no_route.shortfall import shortfalls
from routing.paths.request import Request
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from tests.routing.paths.reason_ground import across, why_not, with_point
from tests.routing.paths.route_graphs import deck


@pytest.mark.parametrize(
    ("point", "code"),
    [
        ({"rating_n": None}, "tether-point-not-rated"),
        ({"rating_n": 900.0}, "tether-point-too-weak"),
        ({"position_m": (-0.4, 0.9, 0.0)}, "first-hook-out-of-reach"),
        ({"position_m": (-0.4, 0.1, 0.05)}, "first-line-blocked"),
    ],
)
def test_more_line_is_no_remedy_where_the_start_is_not_safe(
    point: dict[str, object], code: str
) -> None:
    answer = why_not(with_point(**point), protocol="reel", kit=Kit(reels_m=(9.0,)))
    assert answer.why == "tether"
    assert answer.openings == ()
    unsafe = {o.limit: o for o in answer.unsafe_openings}
    assert {"reel_length_m", "reels"} <= set(unsafe)
    for opening in unsafe.values():
        assert code in opening.blocked_by
        assert "NOT SAFE" in opening.message
    assert "no single zone, closure or limit opens it safely" in answer.message
    length_m = unsafe["reel_length_m"].value
    assert length_m is not None
    options = RouteOptions(kit=Kit(reels_m=(length_m,)))
    opened = find_route(with_point(**point), "A1", "W1", protocol="reel", options=options)
    assert not opened.safe
    assert opened.totals.seconds == pytest.approx(unsafe["reel_length_m"].seconds)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_a_zone_or_closure_is_no_remedy_where_the_start_is_not_safe(protocol: Protocol) -> None:
    weak = with_point(rating_n=900.0)
    for structure, situation in (
        (deck(zones=(across(8.0),), tether_points=weak.tether_points), Situation()),
        (weak, Situation(closed=("H2",))),
    ):
        answer = why_not(structure, situation, protocol)
        assert answer.openings == ()
        (one,) = (o for o in answer.unsafe_openings if o.zone == "Z8" or o.closure == "H2")
        assert one.blocked_by == ("tether-point-too-weak",)


def test_opening_what_made_the_start_unsafe_is_a_remedy() -> None:
    """What is offered is safe as an answer: only the closed tether point stood in the way."""
    answer = why_not(deck(), Situation(closed=("T1",)), "reel")
    assert [o.closure for o in answer.openings] == ["T1"]
    assert answer.unsafe_openings == ()
    assert "its tether point T1 is closed" in answer.message


def test_a_start_without_a_tether_point_is_said() -> None:
    far = deck(tether_points=deck().tether_points[:1])
    with pytest.raises(NoRouteError) as caught:
        find_route(far, "W1", "A1", protocol="reel")
    said = "no reel of the kit can be hooked on at W1: no open tether point is within hook reach"
    assert said in caught.value.answer.message
    home = "ask for the way home `gripway route STRUCTURE A1 W1 --protocol reel --homeward`, or"
    assert home in caught.value.answer.message
    with pytest.raises(NoRouteError) as caught_on:
        find_route(far, "W1", "W2", via=["H3"], protocol="reel")
    onward = "`gripway route STRUCTURE A1 W2 --via W1 --via H3 --protocol reel`, for the way home"
    assert onward in caught_on.value.answer.message
    places = {site: site_grips(build_graph(far, Situation()), site) for site in ("W1", "A1")}
    found = shortfalls(
        build_graph(far, Situation()),
        Request(start="W1", goal="A1", protocol="reel"),
        places["W1"],
        [places["A1"]],
    )
    assert found["A1"].message in caught.value.answer.message


def test_what_would_do_is_said_not_to_be_safe_for_many_goals_too() -> None:
    graph = build_graph(with_point(rating_n=900.0), Situation())
    request = Request(start="A1", goal="W1", protocol="reel", kit=Kit(reels_m=(9.0,)))
    start, goal = (site_grips(graph, site) for site in ("A1", "W1"))
    message = shortfalls(graph, request, start, [goal])["W1"].message
    assert message.count("that way is NOT SAFE: tether point T1 is rated 900 N") == 2
