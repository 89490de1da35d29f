"""Least costs from several sites at once, against one search a site, to the last bit."""

import numpy as np
import pytest

from routing.paths.search import cost_sweeps
from routing.paths.search.cost_sweeps import CostSweeps
from routing.paths.search.least_time import least_time_tree
from routing.paths.search.sweep_kernel import LANES, sweep_costs
from tests.needs import NUMBA
from tests.routing.paths.test_detours import drawn


@pytest.mark.parametrize("seed", range(12))
def test_costs_of_all_lanes_are_those_of_single_searches(seed: int) -> None:
    network, pairs, _, _ = drawn(seed)
    table, rows = np.full((LANES, len(network)), -1.0), np.arange(LANES)[::-1]
    changed = np.zeros(len(network), dtype=np.int8)
    sources = [(lane, node) for lane, pair in enumerate(pairs) for node in pair.sources]
    order = np.random.default_rng(seed).permutation(len(network))
    room = np.full((len(network), LANES), -1.0)
    sweep_costs(network.arrays, order, np.array(sources), room, changed, table, rows)
    found = table[rows]
    assert not changed.any()
    for lane, pair in enumerate(pairs):
        expected = least_time_tree(network, dict.fromkeys(pair.sources, 0.0), engine="plain")
        assert found[lane][order].tolist() == expected.cost.tolist()
    assert np.isinf(found[len(pairs) :]).all()


@NUMBA
@pytest.mark.parametrize("held_bytes", [0, 64_000_000])
@pytest.mark.parametrize("seed", range(12))
def test_more_sites_than_lanes_are_swept_in_turn(
    seed: int, held_bytes: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cost_sweeps, "_BYTES", held_bytes)
    network, _, closures, _ = drawn(seed)
    sites = closures[: 2 * LANES + 3]
    swept = [*CostSweeps(network).costs(sites)]
    assert len(swept) == len(sites)
    for site, costs in zip(sites, swept, strict=True):
        expected = least_time_tree(network, dict.fromkeys(site, 0.0), engine="plain")
        assert costs.tolist() == expected.cost.tolist()
