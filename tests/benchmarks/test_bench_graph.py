"""How fast the reach graph is built, as ratios to baselines timed in the same run."""

import math
import statistics
import time
import tracemalloc
from collections.abc import Callable

import numpy as np
import pytest
from scipy.spatial import cKDTree

from routing.graph.bodies import fit_bodies
from routing.graph.build import build_graph, complete
from routing.graph.grips import place_grips
from routing.graph.moves import ends_of
from routing.graph.pairs import pairs_within
from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from routing.graph.ways import lay_legs
from structures.solids.distance import signed_distance
from structures.solids.sweep import sweep_clears
from tests.benchmarks.stations import SIZES, make_station

pytestmark = pytest.mark.benchmark

SAMPLES = 17
LARGE = tuple(size for size in SIZES if size >= 5_000)


def median_s(work: Callable[[], object], times: int) -> float:
    """Return the median of several timings of this process [s], whatever else the machine does."""
    taken = []
    for _ in range(times):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return statistics.median(taken)


def median_ratio(one: Callable[[], object], other: Callable[[], object], times: int) -> float:
    """Return the median of several ratios, each of two timings taken one after the other."""
    return statistics.median(median_s(one, 1) / median_s(other, 1) for _ in range(times))


@pytest.mark.parametrize("size", LARGE)
def test_pairs_against_a_tree(size: int) -> None:
    situation = Situation()
    structure = make_station(size)
    points_m = place_grips(structure, complete(structure, situation)).position_m
    reach_m = situation.ability.reach_m

    def ours() -> int:
        return len(pairs_within(points_m, reach_m)[0])

    def tree() -> int:
        return len(cKDTree(points_m).query_pairs(reach_m, output_type="ndarray"))

    assert ours() == tree()
    ratio = median_ratio(ours, tree, 15)
    print(f"\npairs, {len(points_m)} grips: {ratio:.2f} x cKDTree (target 1.6)")


@pytest.mark.parametrize("size", [5_000, 20_000])
def test_corridors_against_all_moves_and_all_solids(size: int) -> None:
    structure, situation = make_station(size), Situation()
    graph = build_graph(structure, situation)
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
    some = np.flatnonzero(tail < graph.moves.head)
    ends = ends_of(graph.grips, tail[some], graph.moves.head[some])
    radius_m = situation.ability.corridor_radius_m
    legs = lay_legs(ends, np.zeros(len(some), dtype=np.int64), radius_m)
    body = survey(structure, situation).body

    def every_one() -> None:
        """Sample every move against every shape: a step of about 5 cm, certain to 2.5 cm only."""
        for at in np.linspace(0, 1, SAMPLES):
            lean = (1 - at) * ends.start_lean + at * ends.end_lean
            lean /= np.linalg.norm(lean, axis=1, keepdims=True)
            centers_m = (1 - at) * ends.start_m + at * ends.end_m + radius_m * lean
            for shape in body.shapes:
                signed_distance(shape, centers_m)

    def ours() -> None:
        sweep_clears(body.shapes, legs.sweep, radius_m)

    ratio = median_ratio(every_one, ours, 5)
    print(
        f"\ncorridors, {len(some)} moves, {len(body.shapes)} shapes: {ratio:.1f} x faster, certain "
        f"to 1 mm, than {SAMPLES} samples of all against all (target 12 at 5k, 30 at 20k)"
    )


def test_build_grows_with_size() -> None:
    print()
    taken: dict[int, float] = {}
    for size in SIZES:
        structure = make_station(size)
        grips = len(build_graph(structure, Situation()).grips)
        times = 5 if size <= 20_000 else 3
        taken[grips] = median_s(lambda s=structure: build_graph(s, Situation()), times)
        print(f"build, {grips} grips: {1000 * taken[grips]:.0f} ms")
    sizes = sorted(taken)
    low, high = sizes[1], sizes[-1]
    exponent = math.log(taken[high] / taken[low]) / math.log(high / low)
    print(f"growth from {low} to {high} grips: n^{exponent:.2f} (target n^1.1)")


@pytest.mark.parametrize("size", LARGE)
def test_memory_at_its_peak(size: int) -> None:
    structure = make_station(size)
    build_graph(structure, Situation())
    tracemalloc.start()
    graph = build_graph(structure, Situation())
    held, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    moves = len(graph.moves)
    print(
        f"\nmemory, {len(graph.grips)} grips, {moves} moves: {peak / moves:.0f} bytes a move at "
        f"the peak (target 600), {held / moves:.0f} kept"
    )


def test_parts_of_a_build() -> None:
    structure, situation = make_station(3_000), Situation()
    around = survey(structure, situation)
    places = place_grips(structure, situation)
    whole_s = median_s(lambda: build_graph(structure, situation), 9)
    grips_s = median_s(lambda: place_grips(structure, situation), 9)
    bodies_s = median_s(lambda: fit_bodies(places, situation, around), 9)
    print(
        f"\nbuild of {len(places.ids)} grips: {1000 * whole_s:.0f} ms, of which grips "
        f"{grips_s / whole_s:.0%}, bodies {bodies_s / whole_s:.0%}, the rest moves"
    )
