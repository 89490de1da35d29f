"""Closures: 500 of them against 50 pairs, ratios to scipy and networkx in the same run.

How many of the pairs share a start decides what grouping them is worth: `gripway closures`
asks for the ways from the hatch by default, so from one start to all goals; pairs of which
hardly two begin at the same grip are the hardest for trees and bounds that are kept.

scipy is grouped by source: for every closure the matrix without the element, then one pass
for each source, which gives least times and no ways. networkx answers pair by pair with
`dijkstra_path`, on a copy without the element, or a view that hides it, that serves all pairs
of a closure. Both are timed on a part of the cases and
extrapolated. Ours is timed on all of them, what is searched with nothing closed included,
down to answers with transfers, chain and verdict. Seconds are those of the processor, since
other work shares it; for workers they are those of the clock. All are taken in turns,
since a machine has slow and quick minutes, and what others left behind is cleared away first.
"""

import gc
import random
import time
from collections.abc import Callable
from functools import cache
from statistics import median

import networkx as nx
import numpy as np
import pytest
from scipy.sparse.csgraph import dijkstra

from routing.graph.reach_graph import GripKind
from routing.graph.situation import Situation
from routing.paths.search.arrays import Network
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.short_tethers import hook_rule
from routing.studies.closures.answers import Answers, Asked, worksite_trips
from routing.studies.closures.closure import single_closures, two_at_a_time
from routing.studies.closures.ground import Ground
from routing.studies.closures.leapfrog import LeapfrogGround
from routing.studies.closures.reel import ReelGround
from routing.studies.closures.sweep import closure_study
from routing.studies.running.run import run_study
from structures.units import FOOT_M
from tests.benchmarks.search_grounds import Bench, as_matrix, make_bench
from tests.benchmarks.stations import make_station
from tests.benchmarks.test_bench_tether import _expanded

pytestmark = pytest.mark.benchmark
CLOSURES, PAIRS = 500, 50
_TURNS = 7
KIT = Kit(reels_m=(85 * FOOT_M,) * 3 + (55 * FOOT_M,) * 2)


@cache
def case() -> tuple[Bench, list[str], list[tuple[int, int]]]:
    """A station, closures of handrails, and pairs of grips in its largest part."""
    bench = make_bench(5_000)
    draw = random.Random(1)
    rails = sorted({i for i in bench.graph.grips.element_ids if bench.graph.structure.by_id})
    rails = [one for one in rails if one.startswith("H")]
    passed = bench.passed.tolist()
    pairs = [(draw.choice(passed), draw.choice(passed)) for _ in range(PAIRS)]
    return bench, draw.sample(rails, CLOSURES), pairs


def sweep(ground: Ground, closures: list[str], pairs: list[tuple[int, int]]) -> float:
    """Seconds for all answers."""
    ids = ground.graph.grips.ids
    begin = time.process_time()
    ground.changes(
        [(ids[start], ids[goal]) for start, goal in pairs],
        [frozenset({closure}) for closure in closures],
    )
    return time.process_time() - begin


def pairs_of(starts: int) -> list[tuple[int, int]]:
    """Fifty pairs with the goals of `case` and so many starts, the hatch first."""
    bench, _, pairs = case()
    drawn = random.Random(2).sample(bench.passed.tolist(), starts - 1)
    from_ = [bench.graph.grips.of_element["A1"][0], *drawn]
    return [(from_[i % starts], goal) for i, (_, goal) in enumerate(pairs)]


def scipy_s(network: Network, gone: list[list[int]], sources: list[int]) -> float:
    """Seconds a closure: the matrix without what is closed, one pass for each source."""
    begin = time.process_time()
    for nodes in gone:
        dijkstra(as_matrix(network.without(nodes=nodes)), indices=sources)
    return (time.process_time() - begin) / len(gone)


def networkx_s(
    whole: nx.DiGraph,
    gone: list[list[int]],
    pairs: list[tuple[int, int]],
    without: Callable[[nx.DiGraph, list[int]], nx.DiGraph],
) -> float:
    """Seconds a closure and pair; the graph without what is closed serves all pairs."""
    begin = time.process_time()
    for nodes in gone:
        left = without(whole, nodes)
        for start, goal in pairs:
            try:
                nx.dijkstra_path(left, start, goal)
            except (nx.NetworkXNoPath, nx.NodeNotFound):
                continue
    return (time.process_time() - begin) / (len(gone) * len(pairs))


def copied(whole: nx.DiGraph, gone: list[int]) -> nx.DiGraph:
    """Return a copy without some nodes."""
    left = whole.copy()
    left.remove_nodes_from(gone)
    return left


def viewed(whole: nx.DiGraph, gone: list[int]) -> nx.DiGraph:
    """Return a view that hides some nodes."""
    return nx.restricted_view(whole, gone, [])


@pytest.mark.parametrize("starts", [1, 2, 5, 10, 20, 25, 50])
def test_leapfrog_closures(starts: int) -> None:
    bench, closures, pairs = case()
    pairs = pairs_of(starts) if starts < PAIRS else pairs
    graph = bench.graph
    rule = hook_rule(graph)
    network = Network.of_moves(
        graph.moves,
        extra_s=rule.transfer_s,
        allowed=rule.allowed,
        terminal=np.flatnonzero(graph.grips.kind == GripKind.SOCKET),
    )
    whole: nx.DiGraph = nx.DiGraph()
    whole.add_nodes_from(range(len(network)))
    whole.add_weighted_edges_from(
        zip(network.tail.tolist(), network.head.tolist(), network.cost.tolist(), strict=True)
    )
    gone = [graph.grips.of_element[one] for one in closures]
    sources = sorted({start for start, _ in pairs})
    for engine in ("plain", "compiled"):
        sweep(LeapfrogGround(graph, engine=engine), closures[:20], pairs[:5])
    # In turns: the machine has slow and quick minutes.
    rounds = []
    for turn in range(_TURNS):
        some = gone[3 * turn : 3 * turn + 3]
        gc.collect()  # what others have left; what each leaves itself is cleared away in its time
        taken = {"scipy": CLOSURES * scipy_s(network, some, sources)}
        gc.collect()
        taken["copies"] = CLOSURES * PAIRS * networkx_s(whole, some, pairs, copied)
        gc.collect()
        taken["views"] = CLOSURES * PAIRS * networkx_s(whole, some[:1], pairs[::5], viewed)
        for engine, times in (("plain", 1), ("compiled", 5)):
            gc.collect()
            grounds = [LeapfrogGround(graph, engine=engine) for _ in range(times)]
            taken[engine] = median(sweep(ground, closures, pairs) for ground in grounds)
        rounds.append(taken)
    middle = {one: median(taken[one] for taken in rounds) for one in rounds[0]}
    print(
        f"\n{len(network)} grips, {CLOSURES} closures x {PAIRS} pairs of {len(sources)} starts, "
        f"{grounds[0].searched} searches: scipy grouped by start {middle['scipy']:.2f} s, "
        f"networkx on copies {middle['copies']:.0f} s, on views {middle['views']:.0f} s, "
        "extrapolated"
    )
    for engine in ("plain", "compiled"):
        line = f"{engine}: {middle[engine]:.3f} s"
        for base in ("scipy", "copies", "views"):
            ratios = sorted(taken[base] / taken[engine] for taken in rounds)
            line += f"; {median(ratios):.0f} x {base} ({ratios[0]:.0f} to {ratios[-1]:.0f})"
        print(line)


def test_tethered_closures() -> None:
    bench, closures, pairs = case()
    graph = bench.graph
    begin = time.process_time()
    for _ in closures[:2]:
        # Leaving an element out saves the baseline next to nothing: it is built whole.
        matrix, start = _expanded(bench, near_only=False)
        dijkstra(matrix, indices=[start])
    # One source here: the hatch. The baseline needs one build and one pass a closure.
    scipy_s = (time.process_time() - begin) / 2 * CLOSURES
    begin = time.process_time()
    for _ in closures[:2]:
        matrix, start = _expanded(bench, near_only=True)
        dijkstra(matrix, indices=[start])
    near_s = (time.process_time() - begin) / 2 * CLOSURES
    goals = [graph.grips.ids[goal] for _, goal in pairs]
    print(
        f"\n{CLOSURES} closures x {PAIRS} goals from the hatch: expanded graph rebuilt and one "
        f"scipy pass a closure {scipy_s:.0f} s, pairs in reach only {near_s:.0f} s (extrapolated)"
    )
    for engine in ("plain", "compiled"):
        taken = []
        for _ in range(1 if engine == "plain" else 3):
            ground = ReelGround(graph, KIT, engine=engine)
            begin = time.process_time()
            for closure in closures:
                for goal in goals:
                    ground.answer("A1", goal, frozenset({closure}))
            taken.append(time.process_time() - begin)
        seconds = sorted(taken)[len(taken) // 2]
        print(
            f"{engine}: {seconds:.2f} s, {ground.searched} searches; {scipy_s / seconds:.0f} x "
            f"scipy on all pairs, {near_s / seconds:.0f} x on pairs in reach"
        )


def test_workers() -> None:
    """Two workers against one on a study of a minute or more: every two of what ways rest on."""
    structure = make_station(5_000)
    asked = Asked(structure=structure, situation=Situation(), protocol="reel", kit=KIT)
    trips = worksite_trips(structure)
    answers = Answers(asked, engine="compiled")
    resting = [best[1].rests_on for trip in trips if (best := answers.best(trip)) is not None]
    closable = {one.ids[0] for one in single_closures(structure, Situation())}
    used = sorted(closable & frozenset[str]().union(*resting))[:100]
    closures = two_at_a_time(used, Situation())
    taken = {}
    for workers in (1, 2):
        begin = time.perf_counter()
        rows = sum(1 for _ in run_study(closure_study(asked, trips, closures), workers=workers))
        taken[workers] = time.perf_counter() - begin
        print(f"\n{workers} workers: {taken[workers]:.1f} s, {rows} rows", end="")
    print(f"; {taken[1] / taken[2]:.2f} x")
