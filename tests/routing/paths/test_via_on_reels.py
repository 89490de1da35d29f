"""Via sites on reels: back along the lay where that is quicker, and only as far as needed."""

from pathlib import Path

import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.no_route import limit_search, trials
from routing.paths.no_route.answer import NoRouteError
from routing.paths.request import Request, request_stops
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.legs import SearchGaveUpError, by_way_of, follow_legs
from routing.paths.tethers.outfit import make_outfit, start_states
from routing.paths.tethers.reel import reel_ground
from structures.elements import TetherPoint
from structures.files import read_structure
from structures.units import FOOT_M
from tests.routing.paths.route_graphs import deck, straight_rail

EXAMPLE = Path(__file__).parents[3] / "examples" / "station" / "station.toml"


def test_a_dead_end_is_left_along_the_lay_to_its_mouth() -> None:
    # A rail of 3 m to port of x = 3 ends nowhere; the goal is straight on. Way out 3.4 m, the
    # dead end 0.4 + 2.6 m and back, then from x = 3 on: the line must be taken in on the way
    # back, or it is 6 m longer than it may be.
    rails = (*deck().handrails, straight_rail("P1", 0.0, 3.0, y_m=-0.4).model_copy(
        update={"points_m": ((3.0, -0.4, -0.07), (3.0, -3.0, -0.07))}
    ))  # fmt: skip
    structure = deck(handrails=rails, tether_points=deck().tether_points[:1])
    options = RouteOptions(
        situation=Situation(limits=Limits(reserve_m=0.1)), kit=Kit(reels_m=(7.5,))
    )
    route = find_route(structure, "A1", "W2", via=("P1@2.600",), protocol="reel", options=options)
    first_m = (0.3**2 + 0.07**2) ** 0.5
    out_m, side_m, on_m = 3.4, 3.0, 1.0
    # Hands may cut the corner into the dead end by some decimetres, once each way.
    assert 9.5 < route.totals.distance_m <= out_m + 2 * side_m + on_m + 1e-9
    assert route.margins.line is not None
    assert 6.3 < route.margins.line.most_payout_m <= first_m + out_m + side_m + 1e-9
    at = route.via_grips[0]
    grips = [place.grip for place in route.grips]
    assert grips[at] == "P1@2.600"
    there = grips[at:]
    inside = next(i for i, grip in enumerate(there) if not grip.startswith("P1")) - 1
    assert inside >= 4
    assert grips[at - inside : at + 1] == list(reversed(there[: inside + 1]))
    assert route.safe


@pytest.mark.parametrize(
    ("sites", "kit"),
    [
        (("hatch", "W09", "W24", "W10"), (85 * FOOT_M,)),
        (("hatch", "W27", "W15", "W22"), (55 * FOOT_M, 55 * FOOT_M)),
        (("hatch", "W05", "W11", "W03"), (85 * FOOT_M, 85 * FOOT_M)),
    ],
)
def test_all_legs_together_are_never_dearer_than_leg_after_leg(
    sites: tuple[str, ...], kit: tuple[float, ...]
) -> None:
    graph = build_graph(read_structure(EXAMPLE), Situation())
    request = Request(start=sites[0], goal=sites[-1], via=sites[1:-1], protocol="reel")
    places = request_stops(graph, request)
    outfit = make_outfit(graph, Kit(reels_m=kit))
    stops = [place.grips.tolist() for place in places[1:]]
    asked = (
        reel_ground(graph),
        outfit.rules,
        start_states(graph, outfit, places[0]),
        stops,
    )
    found = by_way_of(*asked)
    legs = follow_legs(*asked)
    assert found is not None
    assert len(legs) == len(stops)
    assert found.unproven == 0
    assert found.cost <= sum(leg.cost for leg in legs)
    route = find_route(
        graph,
        sites[0],
        sites[-1],
        via=sites[1:-1],
        protocol="reel",
        options=RouteOptions(kit=Kit(reels_m=kit), explain=False),
    )
    assert route.safe
    assert route.totals.seconds == pytest.approx(found.cost, abs=1e-6)
    assert "not-proven-best" not in {finding.code for finding in route.findings}


def test_a_site_that_nobody_gets_to_makes_no_search_of_all_legs() -> None:
    points = (TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),)
    graph = build_graph(deck(tether_points=points), Situation())
    outfit = make_outfit(graph, Kit(reels_m=(8.0,)))
    places = request_stops(graph, Request(start="A1", goal="W1", via=("W2",), protocol="reel"))
    stops = [place.grips.tolist() for place in places[1:]]
    starts = start_states(graph, outfit, places[0])
    # With one label the search of all legs would give up with an error.
    ground = reel_ground(graph)
    assert by_way_of(ground, outfit.rules, starts, stops, most_labels=1) is None


def test_a_trial_that_gives_up_does_not_hide_that_there_is_no_route(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def give_up(*_: object) -> None:
        raise SearchGaveUpError(1)

    monkeypatch.setattr(trials, "solve", give_up)
    monkeypatch.setattr(limit_search, "solve", give_up)
    options = RouteOptions(kit=Kit(reels_m=(6.0,)))
    with pytest.raises(NoRouteError) as caught:
        find_route(deck(), "A1", "W1", via=("W2",), protocol="reel", options=options)
    answer = caught.value.answer
    assert answer.why == "tether"
    assert "the rest: a search by all via sites gave up" in answer.not_tried
