"""The six-node constrained path of a primer, every limit.

Desrosiers and Lubbecke 2005, "A Primer in Column Generation", in: Column Generation,
Springer, pages 1-32; data as coded in a stored copy (function primer(), T = 14). Printed
optimum for T = 14: 13 by 1,3,2,4,6 (from memory, confirmed by listing all nine paths).
"""

import itertools

import numpy as np
import pytest

from routing.paths.search.arrays import Network
from routing.paths.search.constrained import find_constrained_path
from routing.paths.search.engine import Engine
from tests.needs import NUMBA

ARCS = {
    (1, 2): (1, 10),
    (1, 3): (10, 3),
    (3, 2): (1, 2),
    (2, 4): (1, 1),
    (2, 5): (2, 3),
    (3, 5): (12, 3),
    (3, 4): (5, 7),
    (4, 5): (10, 1),
    (4, 6): (1, 7),
    (5, 6): (2, 2),
}
OPTIMA = {
    **dict.fromkeys(range(8)),
    **dict.fromkeys((8, 9), (24, (1, 3, 5, 6))),
    **dict.fromkeys((10, 11, 12), (15, (1, 3, 2, 5, 6))),
    **dict.fromkeys((13, 14), (13, (1, 3, 2, 4, 6))),
    **dict.fromkeys((15, 16, 17), (5, (1, 2, 5, 6))),
    **dict.fromkeys((18, 19, 100), (3, (1, 2, 4, 6))),
}


@pytest.mark.parametrize("engine", ["plain", pytest.param("compiled", marks=NUMBA)])
@pytest.mark.parametrize("limit", OPTIMA)
def test_every_limit(engine: Engine, limit: int) -> None:
    network = Network.of_arcs(7, [(a, b, cost) for (a, b), (cost, _) in ARCS.items()])
    times = [time for _, time in ARCS.values()]
    used = np.array([times[move] for move in network.move], dtype=np.float64)
    found = find_constrained_path(network, used, {1: 0.0}, [6], limit=limit, engine=engine)
    expected = OPTIMA[limit]
    if expected is None:
        assert found is None
        return
    cost, path = expected
    assert found is not None
    assert (found.cost, found.nodes) == (cost, path)
    pairs = itertools.pairwise(path)
    assert found.left == limit - sum(ARCS[pair][1] for pair in pairs)
