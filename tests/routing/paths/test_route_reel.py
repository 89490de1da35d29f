"""Reel routes: payout, reserve, transfers and stays, worked out by hand on the deck."""

import math

import pytest

from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS, Limits
from routing.paths.answers.results import Protocol
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit, default_kit
from structures.elements import Handrail, Hatch, Solid, TetherPoint, Zone
from structures.shapes import Box
from structures.units import FOOT_M
from tests.routing.paths.route_graphs import UP, deck, straight_rail

FIRST_M = math.hypot(0.3, 0.07)
"""From tether point T1 to the hatch's grip."""
SECOND_M = math.hypot(0.2, 0.07)
"""From tether point T2 to the nearest place of rail H2, at x = 5."""
RATE_M_PER_S = 0.5 * FOOT_M


def kit(*reels_m: float, explain: bool = False, **limits: float) -> RouteOptions:
    return RouteOptions(
        kit=Kit(reels_m=reels_m), situation=Situation(limits=Limits(**limits)), explain=explain
    )


def test_one_long_reel_needs_no_transfer() -> None:
    route = find_route(deck(), "A1", "W1", protocol="reel")
    assert route.totals.transfers == 0
    assert route.totals.seconds == pytest.approx(12.9 / RATE_M_PER_S + 8, rel=1e-12)
    (stay,) = route.stays
    assert (stay.tether_point, stay.length_m) == ("T1", DEFAULT_LIMITS.reel_length_m)
    assert stay.most_payout_m == pytest.approx(FIRST_M + 12.9, abs=1e-9)
    line = route.margins.line
    assert line is not None
    assert line.least_left_m == pytest.approx(DEFAULT_LIMITS.reel_length_m - FIRST_M - 12.9)
    assert (line.worst_grip, line.runs_out_at) == ("S1", None)
    assert route.safe


def test_payout_never_goes_under_the_straight_line() -> None:
    route = find_route(deck(), "A1", "W1", protocol="reel")
    for place, over in zip(route.grips[1:], route.hand_overs, strict=True):
        assert over.payout_m is not None
        assert over.payout_m >= math.dist(place.position_m, (-0.4, 0.3, 0.0)) - 1e-9


@pytest.mark.parametrize("over_m", [0.001, -0.001])
def test_payout_plus_reserve_may_come_up_to_the_length_and_no_farther(over_m: float) -> None:
    needed_m = FIRST_M + 12.9 + 0.6
    options = kit(needed_m + over_m, reserve_m=0.6)
    if over_m > 0:
        route = find_route(deck(), "A1", "W1", protocol="reel", options=options)
        assert route.margins.line is not None
        assert route.margins.line.least_left_m == pytest.approx(0.6 + over_m, abs=1e-9)
    else:
        with pytest.raises(NoRouteError) as caught:
            find_route(deck(), "A1", "W1", protocol="reel", options=options)
        assert caught.value.why == "tether"
        line = caught.value.answer.line
        assert line is not None
        assert line.runs_out_at == "S1"
        assert line.runs_out_after_m == pytest.approx(12.9, abs=1e-9)


def test_two_short_reels_swap_at_the_tether_point_on_the_way() -> None:
    # With 8.2 m and 0.1 m reserve: from x = 5 on, 0.212 + 7.5 m; up to there 0.308 + 5.4 m.
    route = find_route(deck(), "A1", "W1", protocol="reel", options=kit(8.2, 8.2, reserve_m=0.1))
    assert route.totals.transfers == 1
    assert route.totals.seconds == pytest.approx(12.9 / RATE_M_PER_S + 8 + 60, rel=1e-12)
    first, second = route.stays
    (transfer,) = route.transfers
    assert (first.tether_point, second.tether_point) == ("T1", "T2")
    assert (transfer.tether_point, transfer.line_m, transfer.returns) == ("T2", 8.2, False)
    assert first.to_grip == second.from_grip == transfer.grip_index
    swap_x_m = route.grips[transfer.grip_index].position_m[0]
    away_m = math.hypot(swap_x_m - 5.0, SECOND_M)
    assert first.stowed_m == pytest.approx(FIRST_M + 0.4 + swap_x_m + away_m, abs=1e-9)
    assert second.most_payout_m == pytest.approx(away_m + 12.5 - swap_x_m, abs=1e-9)
    assert away_m <= DEFAULT_LIMITS.hook_reach_m
    assert route.margins.line is not None
    least_m = min(8.2 - (first.stowed_m or 0.0), 8.2 - second.most_payout_m)
    assert route.margins.line.least_left_m == pytest.approx(least_m, abs=1e-12)


def test_only_points_known_to_hold_are_used_for_transfers() -> None:
    for rating_n, there in ((3000.0, True), (2000.0, False), (None, False)):
        points = (
            TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
            TetherPoint(id="T2", position_m=(5.0, 0.2, 0.0), rating_n=rating_n),
        )
        structure = deck(tether_points=points)
        options = kit(8.2, 8.2, reserve_m=0.1)
        if there:
            assert find_route(structure, "A1", "W1", protocol="reel", options=options).safe
        else:
            with pytest.raises(NoRouteError):
                find_route(structure, "A1", "W1", protocol="reel", options=options)


def test_a_start_on_a_rated_point_comes_before_a_nearer_one_without_rating() -> None:
    near = TetherPoint(id="T0", position_m=(5.0, 0.05, 0.0))
    route = find_route(deck(tether_points=(*deck().tether_points, near)), "H2", "W1",
                       protocol="reel")  # fmt: skip
    assert route.stays[0].tether_point == "T2"
    assert route.safe
    alone = deck(tether_points=(deck().tether_points[0], near))
    unsafe = find_route(alone, "H2", "W1", protocol="reel")
    assert unsafe.stays[0].tether_point == "T0"
    assert "tether-point-not-rated" in {finding.code for finding in unsafe.findings}
    assert not unsafe.safe


def test_a_staged_tether_serves_where_it_is() -> None:
    for staged_m, there in (((8.2,), True), ((), False)):
        points = (
            TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
            TetherPoint(id="T2", position_m=(5.0, 0.2, 0.0), rating_n=3000.0, staged_m=staged_m),
        )
        structure = deck(tether_points=points)
        if there:
            route = find_route(
                structure, "A1", "W1", protocol="reel", options=kit(8.2, reserve_m=0.1)
            )
            assert [stay.tether_point for stay in route.stays] == ["T1", "T2"]
        else:
            with pytest.raises(NoRouteError):
                find_route(structure, "A1", "W1", protocol="reel", options=kit(8.2, reserve_m=0.1))


def test_going_back_along_the_lay_takes_line_in() -> None:
    route = find_route(
        deck(), "A1", "A1", via=("W2",), protocol="reel", options=kit(6.0, reserve_m=0.1)
    )
    assert route.totals.distance_m == pytest.approx(2 * 4.4, abs=1e-9)
    assert route.margins.line is not None
    assert route.margins.line.most_payout_m == pytest.approx(FIRST_M + 4.4, abs=1e-9)
    assert route.hand_overs[-1].payout_m == pytest.approx(FIRST_M, abs=1e-9)
    assert route.via_grips == (route.totals.hand_overs // 2,)
    assert "not-proven-best" not in {f.code for f in route.findings}


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_a_via_site_is_met_where_the_whole_way_is_shortest(protocol: Protocol) -> None:
    # The rail V is 0.5 m away at the start, and 0.15 m at x = 8: there hands go over to it
    # from x = 7.5 and back to x = 8.5, both grips of H1, as farther ones are beyond reach.
    rails = (
        straight_rail("H1", 0.0, 12.0),
        Handrail(
            id="V",
            points_m=((0.0, 0.5, -0.07), (0.0, 2.5, -0.07), (8.0, 2.5, -0.07), (8.0, 0.15, -0.07)),
            normal=UP,
        ),
    )
    structure = deck(handrails=rails, worksites=deck().worksites[:1])
    route = find_route(structure, "A1", "W1", via=("V",), protocol=protocol)
    transfers_s = 180.0 if protocol == "leapfrog" else 0.0
    by_hand_m = 12.9 - 1.0 + 2 * math.hypot(0.5, 0.15)
    by_hand_s = by_hand_m / RATE_M_PER_S + 4 * 2 + transfers_s
    assert route.totals.seconds == pytest.approx(by_hand_s, rel=1e-9)
    assert route.grips[route.via_grips[0]].position_m[:2] == pytest.approx((8.0, 0.15))


def test_going_back_over_a_transfer_takes_the_earlier_tether_again() -> None:
    # T2 beside x = 9: the short reel does for what lies beyond, but not for the way home.
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(9.0, 0.2, 0.0), rating_n=3000.0),
    )
    options = kit(10.2, 4.0, reserve_m=0.1)
    structure = deck(tether_points=points)
    route = find_route(structure, "A1", "A1", via=("W1",), protocol="reel", options=options)
    assert [t.returns for t in route.transfers] == [False, True]
    assert [t.tether_point for t in route.transfers] == ["T2", "T1"]
    assert [s.tether_point for s in route.stays] == ["T1", "T2", "T1"]
    assert [s.length_m for s in route.stays] == [10.2, 4.0, 10.2]
    assert route.totals.transfers_s == 120.0
    assert route.totals.seconds == pytest.approx(2 * (12.9 / RATE_M_PER_S + 8) + 120, rel=1e-12)
    assert route.hand_overs[-1].payout_m == pytest.approx(FIRST_M, abs=1e-9)
    assert any("Take the earlier tether" in step for step in route.steps)
    assert "tether-left-outside" not in {f.code for f in route.findings}


def test_coming_home_on_another_tether_than_the_first_is_pointed_out() -> None:
    # From x = 5 the second reel reaches home too, and swapping back would cost 60 s.
    options = kit(8.2, 8.2, reserve_m=0.1)
    route = find_route(deck(), "A1", "A1", via=("W1",), protocol="reel", options=options)
    assert route.stays[-1].tether_point == "T2"
    assert "tether-left-outside" in {f.code for f in route.findings}
    out = find_route(deck(), "A1", "W1", protocol="reel", options=options)
    assert "tether-left-outside" not in {f.code for f in out.findings}


def test_a_start_beside_no_tether_point_has_nothing_to_hang_on() -> None:
    with pytest.raises(NoRouteError) as caught:
        find_route(deck(), "H3@5.500", "A1", protocol="reel")
    assert caught.value.why == "tether"
    assert caught.value.answer.reached_grips == 0
    near = find_route(deck(), "H2@1.600", "A1", protocol="reel")
    assert near.stays[0].tether_point == "T2"


def test_a_closed_tether_point_at_the_hatch_stops_the_reel_and_reopening_it_does_not() -> None:
    situation = Situation(closed=("T1",))
    with pytest.raises(NoRouteError) as caught:
        find_route(deck(), "A1", "W1", protocol="reel", options=RouteOptions(situation=situation))
    assert [opening.closure for opening in caught.value.openings] == ["T1"]
    assert find_route(deck(), "A1", "W1", protocol="reel").safe


def test_the_line_stays_out_of_zones_for_tethers() -> None:
    zone = Zone(
        id="Z1",
        volume=Box(center_m=(8.0, 0.0, 0.0), size_m=(0.5, 0.5, 0.5)),
        applies_to=("tether",),
    )
    for protocol in ("reel", "leapfrog"):
        with pytest.raises(NoRouteError) as caught:
            find_route(deck(zones=(zone,)), "A1", "W1", protocol=protocol)
        assert caught.value.why == "tether"
        assert [o.zone for o in caught.value.openings] == ["Z1"]


def test_an_unrated_start_is_unsafe_on_a_reel() -> None:
    points = (TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0)),)
    route = find_route(deck(tether_points=points), "A1", "H1", protocol="reel")
    assert route.verdict == "unsafe"
    assert route.findings[0].code == "tether-point-not-rated"


@pytest.mark.parametrize(("away_m", "verdict"), [(0.6, "answered and safe"), (0.62, "unsafe")])
def test_the_hatch_tether_point_must_be_in_hook_reach(away_m: float, verdict: str) -> None:
    points = (TetherPoint(id="T1", position_m=(-0.4, away_m, -0.07), rating_n=3000.0),)
    structure = deck(tether_points=points)
    route = find_route(structure, "A1", "H1", protocol="reel")
    assert route.verdict == verdict
    far = [f for f in route.findings if f.code == "first-hook-out-of-reach"]
    assert [f.severity for f in far] == ["blocks"] * (verdict == "unsafe")
    assert [f.value for f in far] == pytest.approx([away_m] * len(far))


@pytest.mark.parametrize(
    ("kind", "code"), [("solid", "first-line-blocked"), ("zone", "first-line-in-zone")]
)
def test_the_first_line_must_run_straight(kind: str, code: str) -> None:
    wall = Box(center_m=(-0.4, 0.15, -0.02), size_m=(0.2, 0.02, 0.1))
    lists: dict[str, object] = (
        {"solids": (*deck().solids, Solid(id="WALL", volume=wall))}
        if kind == "solid"
        else {"zones": (Zone(id="WALL", volume=wall, applies_to=("tether",)),)}
    )
    route = find_route(deck(**lists), "A1", "H1", protocol="reel")
    assert route.verdict == "unsafe"
    assert route.findings[0].code == code
    clear = find_route(deck(), "A1", "H1", protocol="reel")
    assert code not in {finding.code for finding in clear.findings}


def test_the_longest_reel_is_not_taken_just_because_it_is_longest() -> None:
    # The far half needs 7.7 m, the near one 5.8 m: both kits do, whatever is hooked first.
    options = kit(8.0, 6.2, reserve_m=0.1)
    route = find_route(deck(), "A1", "W1", protocol="reel", options=options)
    assert [stay.length_m for stay in route.stays] == [6.2, 8.0]


def test_kits() -> None:
    assert default_kit(DEFAULT_LIMITS).reels_m == (25.908, 25.908)
    with pytest.raises(ValueError, match="at least one"):
        Kit(reels_m=())
    for wrong in (0.0, -1.0, math.inf, math.nan):
        with pytest.raises(ValueError, match="above 0"):
            Kit(reels_m=(wrong,))
    assert Hatch(id="A1", position_m=(-0.4, 0.0, -0.07), normal=UP, tether_point="T1")
