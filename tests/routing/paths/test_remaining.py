"""What remains with something closed, from a tree repaired, against a search of what is left."""

import numpy as np
import pytest

from routing.paths.search.least_time import least_time_tree
from routing.studies.closures.remaining import Remaining
from tests.needs import NUMBA
from tests.routing.paths.test_detours import drawn


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("engine", ["plain", pytest.param("compiled", marks=NUMBA)])
def test_costs_are_those_without_the_closed_nodes(seed: int, engine: str) -> None:
    network, pairs, closures, _ = drawn(seed)
    remaining = Remaining(network, engine=engine)
    changed = 0
    for pair in pairs:
        goals = np.array(pair.goals)
        for closed in closures:
            left = network.without(nodes=closed).reverse
            starts = {goal: 0.0 for goal in pair.goals if goal not in closed}
            expected = least_time_tree(left, starts, engine="plain").cost.copy()
            expected[closed] = np.inf
            found = remaining.without(closed, goals)
            assert found.tolist() == expected.tolist()
            changed += found.tolist() != remaining.without([], goals).tolist()
        assert remaining.without([], goals).tolist() == remaining.to(goals).tolist()
    assert changed > 30
