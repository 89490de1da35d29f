"""What the search benchmarks run on: made-up stations as networks, and far pairs on them."""

import functools
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components

from routing.graph.build import build_graph
from routing.graph.hooks import hook_places
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from routing.paths.search.arrays import Network
from routing.paths.tethers.search import TetherProblem
from routing.paths.tethers.stack import Tether, TetherRules, hooked_at
from routing.paths.tethers.steps import Hooks, TetherGround
from structures.units import FOOT_M
from tests.benchmarks.stations import make_station

__all__ = ["Bench", "as_matrix", "make_bench", "median_ms", "ratio_row"]


@dataclass(frozen=True, kw_only=True)
class Bench:
    graph: ReachGraph
    network: Network
    ground: TetherGround
    problem: TetherProblem
    passed: NDArray[np.int64]
    """Grips of the largest part that is joined up, sockets left out."""

    def pairs(self, count: int) -> list[tuple[int, int]]:
        """Far pairs: from the near end to the far end of the longest extent."""
        place = self.graph.grips.position_m[self.passed]
        axis = int(np.argmax(np.ptp(place, axis=0)))
        order = self.passed[np.argsort(place[:, axis], kind="stable")]
        step = max(len(order) // 20 // count, 1)
        return [(int(order[n * step]), int(order[-1 - n * step])) for n in range(count)]


def as_matrix(network: Network) -> csr_array:
    size = len(network)
    return csr_array((network.cost, network.head, network.indptr), shape=(size, size))


@functools.cache
def make_bench(grips: int) -> Bench:
    structure = make_station(grips)
    graph = build_graph(structure, Situation())
    sockets = np.flatnonzero(graph.grips.kind == GripKind.SOCKET).tolist()
    network = Network.of_moves(graph.moves, terminal=sockets)
    _, part = connected_components(as_matrix(network), connection="strong")
    main = part == np.argmax(np.bincount(part))
    passed = np.flatnonzero(main & (network.terminal == 0)).astype(np.int64)
    places = hook_places(graph, [point.id for point in structure.tether_points])
    hooks = Hooks(point=places.point, grip=places.grip, distance_m=places.distance_m)
    ground = TetherGround.of_moves(graph.moves, hooks, terminal=sockets)
    rules = TetherRules(
        tethers=(
            Tether(name="85 ft", length_m=85 * FOOT_M),
            Tether(name="55 ft", length_m=55 * FOOT_M),
        ),
        reserve_m=2 * FOOT_M,
        transfer_s=60.0,
    )
    # The first tether hangs where a tether point is nearest to the near end.
    place = graph.grips.position_m
    axis = int(np.argmax(np.ptp(place[passed], axis=0)))
    usable = np.flatnonzero(np.isin(hooks.grip, passed))
    first = usable[np.argmin(place[hooks.grip[usable], axis])]
    start = hooked_at(
        point=int(hooks.point[first]),
        grip=int(hooks.grip[first]),
        distance_m=float(hooks.distance_m[first]),
        tether=0,
        carried=(2, 2),
    )
    return Bench(
        graph=graph,
        network=network,
        ground=ground,
        problem=TetherProblem(ground=ground, rules=rules, starts=(start,)),
        passed=passed,
    )


def median_ms(call: Callable[[], object], repeat: int = 5) -> float:
    """Return the median time that the processor takes: others share the machine."""
    taken = []
    for _ in range(repeat):
        begin = time.process_time()
        call()
        taken.append(time.process_time() - begin)
    return 1000 * statistics.median(taken)


def ratio_row(name: str, baseline_ms: float, taken_ms: float) -> str:
    return f"{name:58s} {taken_ms:9.3f} ms  {baseline_ms / taken_ms:8.2f} x faster than baseline"
