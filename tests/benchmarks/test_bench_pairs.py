"""All pairs of 200 sites: ratios to networkx and scipy in the same run."""

import time
from collections.abc import Callable

import networkx as nx
import numpy as np
import pytest
from scipy.sparse.csgraph import dijkstra

from routing.paths.search.all_goals import ways_to_all
from routing.paths.search.engine import Engine
from tests.benchmarks.search_grounds import as_matrix, make_bench, ratio_row

pytestmark = pytest.mark.benchmark
SITES = 200
SHARE = 10
"""networkx is timed on every so many starts, and counted up."""


def _cpu_ms(call: Callable[[], object], repeat: int) -> float:
    """Least processor time of several runs: what else runs on the machine does not count."""
    taken = []
    for _ in range(repeat):
        begin = time.process_time()
        call()
        taken.append(time.process_time() - begin)
    return 1000 * min(taken)


@pytest.mark.parametrize("grips", [5000, 22000])
def test_all_pairs_of_200_sites(grips: int) -> None:
    bench = make_bench(grips)
    network, matrix = bench.network, as_matrix(bench.network)
    sites = np.sort(np.random.default_rng(0).choice(bench.passed, SITES, replace=False))
    alone = [np.array([site]) for site in sites]
    reference = nx.DiGraph()
    reference.add_weighted_edges_from(
        zip(network.tail.tolist(), network.head.tolist(), network.cost.tolist(), strict=True)
    )

    def ours(starts: list[np.ndarray], engine: Engine, *, traced: bool) -> list[object]:
        return list(ways_to_all(network, starts, alone, engine=engine, traced=traced))

    ours(alone[:2], "compiled", traced=True)
    whole = _cpu_ms(lambda: dijkstra(matrix, indices=sites), 7)
    some = sites[:: SITES // SHARE].tolist()
    general = _cpu_ms(lambda: [nx.single_source_dijkstra(reference, one) for one in some], 1)
    pairwise = _cpu_ms(lambda: [nx.dijkstra_path(reference, int(sites[0]), one) for one in some], 1)
    general_all, pairwise_all = general * SITES / SHARE, pairwise * SITES * SITES / SHARE
    plain_all = _cpu_ms(lambda: ours(alone, "plain", traced=True), 3)
    print(f"\n{len(network)} grips, {len(network.head)} moves, {SITES} sites, processor time")
    print(f"scipy {whole:.0f} ms; networkx, counted up from {SHARE} searches: {general_all:.0f} ms "
          f"by one search a start, {pairwise_all:.0f} ms by one search a pair")  # fmt: skip
    print(
        ratio_row(
            "plain, with the moves of every trip, against networkx a pair", pairwise_all, plain_all
        )
    )
    print(
        ratio_row(
            "plain, with the moves of every trip, against networkx a start", general_all, plain_all
        )
    )
    for traced in (False, True):
        taken = _cpu_ms(lambda t=traced: ours(alone, "compiled", traced=t), 7)
        name = f"compiled, {'with the moves of every trip' if traced else 'seconds'}"
        print(ratio_row(f"{name}, against scipy's seconds", whole, taken))
        print(ratio_row(f"{name}, against networkx a start", general_all, taken))
    found = np.array([ways.seconds for ways in ways_to_all(network, alone, alone)])
    assert found == pytest.approx(dijkstra(matrix, indices=sites)[:, sites], rel=1e-9)
