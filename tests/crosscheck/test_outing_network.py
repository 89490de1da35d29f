"""The activity network against networkx's longest path, many samples at once against one by one."""

import random

import networkx as nx
import numpy as np
import pytest

from routing.outings.clock.network import ActivityNetwork, critical_path, time_network


def random_network(seed: int) -> tuple[dict[str, list[str]], dict[str, float], dict[str, float]]:
    rng = random.Random(seed)
    names = [f"a{i}" for i in range(rng.randint(1, 40))]
    before: dict[str, list[str]] = {}
    for i, name in enumerate(names):
        before[name] = rng.sample(names[:i], rng.randint(0, min(i, 3)))
    shuffled = list(before)
    rng.shuffle(shuffled)
    durations = {name: rng.choice([0.0, 1.0, rng.uniform(0, 10)]) for name in names}
    releases = {name: rng.choice([0.0, 0.0, rng.uniform(0, 30)]) for name in names}
    return {name: before[name] for name in shuffled}, durations, releases


@pytest.mark.parametrize("seed", range(60))
def test_earliest_and_latest_times_are_longest_paths(seed: int) -> None:
    before, durations, releases = random_network(seed)
    network = ActivityNetwork.of(before)
    times = time_network(
        network,
        np.array([durations[one] for one in network.ids]),
        np.array([releases[one] for one in network.ids]),
    )
    # Activity on arc: each activity is an arc from its start to its end.
    graph = nx.DiGraph()
    for one, first in before.items():
        graph.add_edge((one, 0), (one, 1), weight=durations[one])
        graph.add_edge("begin", (one, 0), weight=releases[one])
        graph.add_edge((one, 1), "end", weight=0.0)
        for earlier in first:
            graph.add_edge((earlier, 1), (one, 0), weight=0.0)
    finish = nx.dag_longest_path_length(graph)
    assert float(times.finish_s) == pytest.approx(finish)
    for i, one in enumerate(network.ids):
        to_one = graph.subgraph({(one, 0)} | nx.ancestors(graph, (one, 0)))
        assert times.earliest_start_s[i] == pytest.approx(nx.dag_longest_path_length(to_one))
        on = graph.subgraph({(one, 0)} | nx.descendants(graph, (one, 0)))
        latest = finish - nx.dag_longest_path_length(on)
        assert times.latest_start_s[i] == pytest.approx(latest)
        for other in network.ids:
            always = nx.has_path(graph, (other, 1), (one, 0))
            assert network.comes_before(other, one) == always


@pytest.mark.parametrize("seed", range(20))
def test_the_critical_path_holds_the_end(seed: int) -> None:
    before, durations, _ = random_network(seed)
    network = ActivityNetwork.of(before)
    length = np.array([durations[one] for one in network.ids])
    times = time_network(network, length)
    path = critical_path(network, times)
    assert sum(durations[one] for one in path) == pytest.approx(float(times.finish_s))
    for one in path:
        assert times.slack_s[network.index[one]] == pytest.approx(0.0, abs=1e-9)
    # A delay of any activity on it is a delay of the end, by as much.
    at = network.index[path[len(path) // 2]]
    length[at] += 1.0
    assert float(time_network(network, length).finish_s) == pytest.approx(
        float(times.finish_s) + 1.0
    )


def test_many_samples_at_once_are_each_one_of_them() -> None:
    before, _, releases = random_network(7)
    network = ActivityNetwork.of(before)
    samples = np.random.default_rng(1).uniform(0, 10, (len(network), 25))
    at_once = time_network(network, samples, np.array([releases[one] for one in network.ids]))
    for k in range(samples.shape[1]):
        alone = time_network(
            network, samples[:, k].copy(), np.array([releases[one] for one in network.ids])
        )
        assert np.array_equal(at_once.earliest_start_s[:, k], alone.earliest_start_s)
        assert np.array_equal(at_once.latest_finish_s[:, k], alone.latest_finish_s)


def test_waiting_in_a_ring_is_refused() -> None:
    with pytest.raises(ValueError, match="wait for each other: a, b"):
        ActivityNetwork.of({"a": ["b"], "b": ["a"], "c": []})
    with pytest.raises(ValueError, match="nothing has the id 'x'"):
        ActivityNetwork.of({"a": ["x"]})
