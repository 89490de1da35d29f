"""How much culling saves in the clearance of carried balls: ratios to all against all."""

import time
import tracemalloc
from collections.abc import Iterator

import numpy as np
import pytest

from routing.graph.bodies import fit_bodies
from routing.graph.build import complete
from routing.graph.grips import place_grips
from routing.graph.pairs import pairs_within
from routing.graph.situation import Situation
from routing.graph.surroundings import survey
from structures.shapes import Shape
from structures.solids import sweep as sweep_module
from structures.solids.axes import Floats, Indices
from structures.solids.distance import signed_distance
from structures.solids.sweep import Sweep, sweep_clearance, sweep_clears
from structures.solids.tables import ShapeTables
from structures.solids.track import Track
from tests.benchmarks.stations import make_station

pytestmark = pytest.mark.benchmark

SAMPLES = 17
"""Places on a move at which the plain way of doing it measures: every 3 cm or so."""

BASELINE_MOVES = 4000
"""The plain way is timed on so many moves and scaled up: its time grows with them exactly."""


def station_sweep(grips: int) -> tuple[tuple[Shape, ...], Sweep, float]:
    """Return what bodies keep clear of, and the balls of all hand-overs within reach."""
    situation = Situation()
    structure = make_station(grips)
    around = survey(structure, situation)
    ability = situation.ability
    places = place_grips(structure, complete(structure, situation))
    bodies = fit_bodies(places, situation, around)
    first, second = pairs_within(places.position_m, ability.reach_m)
    sweep = Sweep(
        places.position_m[first],
        places.position_m[second],
        bodies.lean[first],
        bodies.lean[second],
        ability.corridor_radius_m,
    )
    return around.body.shapes, sweep, ability.corridor_radius_m


def all_against_all(shapes: tuple[Shape, ...], sweep: Sweep, radius_m: float) -> "np.ndarray":
    """Measure every move against every shape at a few places, without any culling."""
    track = Track.of(sweep, 0, len(sweep))
    every = np.arange(len(sweep))
    clear = np.ones(len(sweep), dtype=bool)
    for at in np.linspace(0, 1, SAMPLES):
        centers = track.centers(every, np.full(len(sweep), at))
        for shape in shapes:
            clear &= signed_distance(shape, centers) >= radius_m
    return clear


def every_pair(
    shapes: ShapeTables, _centers_m: Floats, _radii_m: Floats, some: Indices, _within_m: float
) -> Iterator[tuple[Indices, Indices, Floats]]:
    """Stand in for the culling: no pair is left out."""
    for shape in range(shapes.count):
        yield np.full(len(some), shape), some, np.full(len(some), -1e9)


@pytest.mark.parametrize("grips", [5_000, 20_000, 100_000])
def test_culled_against_all(grips: int, monkeypatch: pytest.MonkeyPatch) -> None:
    shapes, sweep, radius_m = station_sweep(grips)
    some = np.random.default_rng(1).permutation(len(sweep))[:BASELINE_MOVES]
    few = Sweep(
        sweep.start_m[some],
        sweep.end_m[some],
        sweep.start_lean[some],
        sweep.end_lean[some],
        sweep.offset_m,
    )
    begin = time.process_time()
    plain = all_against_all(shapes, few, radius_m)
    plain_s = (time.process_time() - begin) * len(sweep) / len(few)
    times = []
    for _ in range(3):
        begin = time.process_time()
        clear = sweep_clears(shapes, sweep, radius_m)
        times.append(time.process_time() - begin)
    ours_s = sorted(times)[1]
    begin = time.process_time()
    sweep_clearance(shapes, sweep, radius_m)
    margins_s = time.process_time() - begin
    tracemalloc.start()
    sweep_clears(shapes, sweep, radius_m)
    peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    monkeypatch.setattr(sweep_module, "near_pairs", every_pair)
    begin = time.process_time()
    same = sweep_clears(shapes, few, radius_m)
    same_s = (time.process_time() - begin) * len(sweep) / len(few)
    assert (same == clear[some]).all()
    assert not (clear[some] & ~plain).any()  # never clear where the plain way finds it blocked
    print(
        f"\n{grips:>7} grips, {len(sweep)} moves, {len(shapes)} shapes: all against all "
        f"{plain_s:.2f} s, culled {ours_s * 1000:.0f} ms = {plain_s / ours_s:.0f} x faster "
        f"({same_s / ours_s:.0f} x than the same bisection without culling); "
        f"margins to 1 mm {margins_s * 1000:.0f} ms = {plain_s / margins_s:.0f} x faster; "
        f"clear {clear.mean():.0%}; {peak_mb:.0f} MB"
    )
    assert peak_mb < 64
