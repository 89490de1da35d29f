"""The whole site table of the station example against its safety-tether chains alone."""

import statistics
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.tethers.kit import Kit, Outfitting
from routing.worksites.reach_table import reach_table, site_restraints
from routing.worksites.safety_chains import safety_chains
from structures.files import read_structure
from structures.units import FOOT_M

EXAMPLE = Path(__file__).parents[2] / "examples" / "station" / "station.toml"
TWO_LONG = Outfitting(name="reels", protocol="reel", kit=Kit(reels_m=(85 * FOOT_M,) * 2))


def seconds(work: Callable[[], object], times: int = 3) -> float:
    taken = []
    for _ in range(times):
        begun = time.process_time()
        work()
        taken.append(time.process_time() - begun)
    return statistics.median(taken)


@pytest.mark.benchmark
def test_full_table_against_the_chains_alone() -> None:
    structure, situation = read_structure(EXAMPLE), Situation()
    graph = build_graph(structure, situation)
    chains_s = seconds(lambda: safety_chains(graph, TWO_LONG))
    ways = {one.worksite: one for one in safety_chains(graph, TWO_LONG, home=True)}
    parts = {
        "chains with time home": seconds(lambda: safety_chains(graph, TWO_LONG, home=True)),
        "restraints": seconds(lambda: site_restraints(structure, situation)),
        "equipment tethers": seconds(lambda: reach_table(structure, graph, ways=ways)),
    }
    print(f"\nsafety-tether chains alone {chains_s:.2f} s of processor time")
    for what, taken in parts.items():
        print(f"  {what}: {taken / chains_s:.1f} x")
    full_s = sum(parts.values())
    print(f"  full table: {full_s / chains_s:.1f} x (aim <= 3 x)")
    ground_s = seconds(lambda: build_graph(read_structure(EXAMPLE), situation))
    print(
        f"  with reading and the reach graph on both sides ({ground_s:.2f} s): "
        f"{(ground_s + full_s) / (ground_s + chains_s):.1f} x"
    )
