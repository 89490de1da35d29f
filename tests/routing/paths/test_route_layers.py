"""Via layers: the bound that leads the search must never say too much, and paths come apart."""

import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.layers import unstack
from routing.paths.request import Request, request_layers, request_stops
from routing.paths.search.least_time import least_time_tree
from tests.benchmarks.stations import make_station
from tests.routing.paths.route_graphs import deck


@pytest.mark.parametrize("protocol", ["leapfrog", None])
def test_what_must_remain_is_never_more_than_what_does_remain(protocol: Protocol | None) -> None:
    structure = make_station(1000)
    graph = build_graph(structure, Situation())
    random = np.random.default_rng(3)
    rails = [rail.id for rail in structure.handrails]
    told = 0.0
    for legs in (1, 2, 3):
        sites = [str(one) for one in random.choice(rails, size=legs + 1)]
        request = Request(start=sites[0], goal=sites[-1], via=tuple(sites[1:-1]), protocol=protocol)
        stops = [place.grips for place in request_stops(graph, request)]
        layers = request_layers(graph, request, stops)
        remains = least_time_tree(
            layers.network.reverse, dict.fromkeys(layers.goals.tolist(), 0.0)
        ).cost
        assert (layers.bound <= remains + 1e-9).all()
        assert (layers.bound[layers.goals] == 0).all()
        told = max(told, float(layers.bound.max()))
    assert told > 10.0


def test_a_long_via_rail_counts_at_its_nearest_end() -> None:
    # From x = 6 by rail H3 (6.5 to 12) to the socket: at least straight there, and no more.
    graph = build_graph(deck(), Situation())
    request = Request(start="H2", goal="H2", via=("H3",), protocol=None)
    stops = [place.grips for place in request_stops(graph, request)]
    layers = request_layers(graph, request, stops)
    remains = least_time_tree(
        layers.network.reverse, dict.fromkeys(layers.goals.tolist(), 0.0)
    ).cost
    assert (layers.bound <= remains + 1e-9).all()
    last = graph.grips.ids.index("H2@2.600")
    # Gap 0.5 m there and back at the rate, the two allowances of 2 s left out.
    assert layers.bound[last] == pytest.approx(2 * 0.5 / 0.1524, rel=1e-6)


def test_paths_come_apart_into_grips_and_where_via_sites_are_met() -> None:
    assert unstack([0, 1, 2], 3) == ([0, 1, 2], [])
    assert unstack([0, 3, 6], 3) == ([0], [0, 0])
    assert unstack([0, 1, 4, 3, 6, 8], 3) == ([0, 1, 0, 2], [1, 2])
