"""Warm least-time routes of far pairs: ratios to networkx and scipy in the same run."""

import networkx as nx
import pytest
from scipy.sparse.csgraph import dijkstra

from routing.paths.search.landmarks import prepare_landmarks
from routing.paths.search.least_time import least_time
from tests.benchmarks.search_grounds import as_matrix, make_bench, median_ms, ratio_row
from tests.benchmarks.stations import SIZES

pytestmark = pytest.mark.benchmark
PAIRS = 8


@pytest.mark.parametrize("grips", SIZES)
def test_warm_far_pairs(grips: int) -> None:
    bench = make_bench(grips)
    network, pairs = bench.network, bench.pairs(PAIRS)
    matrix = as_matrix(network)
    reference = nx.DiGraph()
    reference.add_nodes_from(range(len(network)))
    reference.add_weighted_edges_from(
        zip(network.tail.tolist(), network.head.tolist(), network.cost.tolist(), strict=True)
    )
    tables = prepare_landmarks(network, engine="compiled")
    _ = network.lists

    def each(search: object) -> float:
        times = []
        for start, goal in pairs:
            search(start, goal)
            times.append(median_ms(lambda s=start, g=goal: search(s, g), 3))
        return sorted(times)[len(times) // 2]

    def ours(engine: str, *, led: bool) -> object:
        def search(start: int, goal: int) -> object:
            bound = tables.bound([start], [goal], engine=engine) if led else None
            return least_time(network, {start: 0.0}, [goal], bound=bound, engine=engine)

        return search

    general = each(lambda start, goal: nx.dijkstra_path(reference, start, goal))
    full = each(lambda start, _: dijkstra(matrix, indices=start))
    print(f"\n{len(network)} grips, {len(network.head)} moves, median of {PAIRS} far pairs")
    print(f"networkx dijkstra_path {general:.3f} ms, scipy full pass {full:.3f} ms")
    for engine in ("plain", "compiled"):
        for led in (False, True):
            taken = each(ours(engine, led=led))
            name = f"{engine}, {'landmarks' if led else 'no bounds'}"
            print(ratio_row(f"{name} against networkx", general, taken))
            print(ratio_row(f"{name} against a scipy pass", full, taken))
    for start, goal in pairs:
        found = least_time(network, {start: 0.0}, [goal])
        assert found is not None
        assert found.cost == pytest.approx(dijkstra(matrix, indices=start)[goal], rel=1e-9)
