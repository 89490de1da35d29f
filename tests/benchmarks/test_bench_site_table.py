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


TIMES = 7


def seconds(work: Callable[[], object]) -> float:
    begun = time.process_time()
    work()
    return time.process_time() - begun


@pytest.mark.benchmark
def test_full_table_against_the_chains_alone() -> None:
    """Time the parts by turns: what slows the machine for a while then slows all of them."""
    structure, situation = read_structure(EXAMPLE), Situation()
    graph = build_graph(structure, situation)
    ways = {one.worksite: one for one in safety_chains(graph, TWO_LONG, home=True)}
    works: dict[str, Callable[[], object]] = {
        "chains alone": lambda: safety_chains(graph, TWO_LONG),
        "chains with time home": lambda: safety_chains(graph, TWO_LONG, home=True),
        "restraints": lambda: site_restraints(structure, situation),
        "equipment tethers": lambda: reach_table(structure, graph, ways=ways),
        "ground": lambda: build_graph(read_structure(EXAMPLE), situation),
    }
    turns = [{what: seconds(work) for what, work in works.items()} for _ in range(TIMES)]
    print(
        f"\n{TIMES} turns; safety-tether chains alone "
        f"{statistics.median(turn['chains alone'] for turn in turns):.2f} s of processor time"
    )
    parts = ("chains with time home", "restraints", "equipment tethers")
    for part in parts:
        ratios = [turn[part] / turn["chains alone"] for turn in turns]
        print(f"  {part}: {statistics.median(ratios):.2f} x")
    full = [sum(turn[part] for part in parts) / turn["chains alone"] for turn in turns]
    print(
        f"  full table: {statistics.median(full):.2f} x, "
        f"{min(full):.2f} to {max(full):.2f} x (aim <= 3 x)"
    )
    with_ground = [
        (sum(turn[part] for part in parts) + turn["ground"])
        / (turn["chains alone"] + turn["ground"])
        for turn in turns
    ]
    print(
        f"  with reading and the reach graph on both sides: {statistics.median(with_ground):.2f} x"
    )
