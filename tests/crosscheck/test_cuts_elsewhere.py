"""Cut grips and bridges of the reach graph, against networkx and igraph."""

from pathlib import Path

import igraph
import networkx as nx
import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.cuts import find_cuts
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from structures.files.reader import read_structure
from structures.model import Structure
from tests.benchmarks.stations import make_station
from tests.routing.graph.graph_structures import random_structure

ROOT = Path(__file__).resolve().parents[2]


def edges(graph: ReachGraph) -> list[tuple[int, int]]:
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr))
    sockets = graph.grips.kind == GripKind.SOCKET
    pairs = zip(tail.tolist(), graph.moves.head.tolist(), strict=True)
    return sorted({(min(p), max(p)) for p in pairs if not sockets[list(p)].any()})


def hold_against_others(structure: Structure) -> tuple[int, int]:
    graph = build_graph(structure, Situation())
    found, listed = find_cuts(graph), edges(graph)
    one = nx.Graph(listed)
    assert found.grips == tuple(sorted(nx.articulation_points(one)))
    assert found.bridges == tuple(sorted((min(b), max(b)) for b in nx.bridges(one)))
    other = igraph.Graph(n=len(graph.grips), edges=listed)
    assert found.grips == tuple(sorted(other.articulation_points()))
    bridges = [other.es[i].tuple for i in other.bridges()]
    assert found.bridges == tuple(sorted((min(b), max(b)) for b in bridges))
    return len(found.grips), len(found.bridges)


@pytest.mark.parametrize("name", ["small", "station"])
def test_examples(name: str) -> None:
    cuts, bridges = hold_against_others(read_structure(ROOT / "examples" / name / f"{name}.toml"))
    # The station's wings and booms hang on single rails, the small structure on none.
    assert (cuts > 10) == (bridges > 0) == (name == "station")


@pytest.mark.parametrize("draw", range(30))
def test_random_structures(draw: int) -> None:
    hold_against_others(random_structure(draw))


@pytest.mark.parametrize("draw", range(2))
def test_made_up_stations(draw: int) -> None:
    hold_against_others(make_station(1_000, draw + 20))
