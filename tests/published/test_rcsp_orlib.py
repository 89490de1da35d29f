"""OR-Library resource-constrained shortest paths, read from beside the checkout if there.

Beasley and Christofides 1989, "An algorithm for the resource constrained shortest path
problem", Networks 19, pages 379-394, table 1 (values from memory, confirmed by an independent
dynamic programme). File format: rcspinfo of the OR-Library.
"""

from pathlib import Path

import numpy as np
import pytest

from routing.paths.search.arrays import Network
from routing.paths.search.constrained import find_constrained_path
from routing.paths.search.engine import Engine
from tests.needs import NUMBA

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "data" / "rcsp"


@pytest.mark.skipif(not FOLDER.is_dir(), reason="the OR-Library files are not beside the checkout")
@pytest.mark.parametrize("engine", ["plain", pytest.param("compiled", marks=NUMBA)])
@pytest.mark.parametrize(
    ("name", "size", "limit", "optimum", "resource_and_unlimited"),
    [
        ("rcsp1", (100, 955), 73, 131, (44, 80)),
        ("rcsp3", (100, 959), 17, 2, (15, 1)),
        ("rcsp9", (200, 2040), 13, 420, (12, 230)),
    ],
)
def test_table_1(
    engine: Engine,
    name: str,
    size: tuple[int, int],
    limit: int,
    optimum: int,
    resource_and_unlimited: tuple[int, int],
) -> None:
    resource, unlimited = resource_and_unlimited
    numbers = [int(word) for word in (FOLDER / f"{name}.txt").read_text("ascii").split()]
    nodes, moves, resources, lower, upper = numbers[:5]
    assert ((nodes, moves), resources, lower, upper) == (size, 1, 0, limit)
    rows = np.array(numbers[5 + nodes :]).reshape(moves, 4)
    network = Network.of_arcs(nodes + 1, [(int(a), int(b), float(c)) for a, b, c, _ in rows])
    used = rows[network.move, 3].astype(np.float64)
    found = find_constrained_path(network, used, {1: 0.0}, [nodes], limit=limit, engine=engine)
    assert found is not None
    assert found.cost == optimum
    # The resource of the printed path; another optimal path may use another amount.
    assert found.left >= 0
    tight = find_constrained_path(network, used, {1: 0.0}, [nodes], limit=resource, engine=engine)
    assert tight is not None
    assert tight.cost == optimum
    free = find_constrained_path(network, used, {1: 0.0}, [nodes], limit=10**6, engine=engine)
    assert free is not None
    assert free.cost == unlimited
