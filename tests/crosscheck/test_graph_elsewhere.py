"""The exported graph taken elsewhere: four general libraries find the same least times."""

import json
from pathlib import Path

import igraph
import networkx as nx
import numpy as np
import pytest
import rustworkx
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra

from routing.graph.build import build_graph
from routing.graph.export import write_graph
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from structures.model import Structure
from tests.benchmarks.stations import make_station
from tests.routing.graph.graph_structures import random_structure

CASES = (*(random_structure(draw) for draw in range(8)), make_station(1_000))


def from_arrays(graph: ReachGraph, start: int) -> "dict[str, float]":
    """Return least seconds from a grip by scipy; no way leads on from a socket."""
    moves, count = graph.moves, len(graph.grips)
    tail = np.repeat(np.arange(count), np.diff(moves.indptr))
    onward = (graph.grips.kind[tail] != GripKind.SOCKET) | (tail == start)
    matrix = csr_matrix(
        (moves.seconds[onward], (tail[onward], moves.head[onward])), shape=(count, count)
    )
    least_s = dijkstra(matrix, indices=start)
    return {graph.grips.ids[i]: float(least_s[i]) for i in np.flatnonzero(np.isfinite(least_s))}


@pytest.mark.parametrize("suffix", ["json", "graphml"])
@pytest.mark.parametrize("structure", CASES, ids=lambda s: f"{s.name}-{s.revision}")
def test_least_times_are_the_same_everywhere(
    structure: Structure, suffix: str, tmp_path: Path
) -> None:
    graph = build_graph(structure, Situation())
    path = tmp_path / f"graph.{suffix}"
    write_graph(graph, path)
    read: nx.DiGraph[str] = (
        nx.read_graphml(path)
        if suffix == "graphml"
        else nx.node_link_graph(json.loads(path.read_text(encoding="utf-8")), edges="edges")
    )
    start = structure.hatches[0].id
    expected = from_arrays(graph, graph.grips.ids.index(start))
    # Nothing leads on from a node that is an end only, unless one starts there.
    ends = {node for node, only in read.nodes(data="ends_only") if only}
    read.remove_edges_from([(a, b) for a, b in read.edges if a in ends and a != start])

    found = nx.single_source_dijkstra_path_length(read, start, weight="seconds")
    assert found == pytest.approx(expected, rel=1e-9)

    names = list(read)
    number = {name: i for i, name in enumerate(names)}
    edges = [(number[a], number[b], s) for a, b, s in read.edges(data="seconds")]
    rust = rustworkx.PyDiGraph()
    rust.add_nodes_from(names)
    rust.add_edges_from(edges)
    rust_s = rustworkx.dijkstra_shortest_path_lengths(rust, number[start], float)
    others = {name: rust_s[i] for i, name in enumerate(names) if i in rust_s}
    assert others | {start: 0.0} == pytest.approx(expected, rel=1e-9)

    third = igraph.Graph(n=len(names), edges=[(a, b) for a, b, _ in edges], directed=True)
    third_s = third.distances(source=number[start], weights=[s for _, _, s in edges])[0]
    least = {name: s for name, s in zip(names, third_s, strict=True) if np.isfinite(s)}
    assert least == pytest.approx(expected, rel=1e-9)
