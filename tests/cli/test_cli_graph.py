"""`gripway graph`: anyone can compute the cost of a route again with networkx alone."""

import json
from collections.abc import Callable
from hashlib import sha256
from itertools import pairwise
from math import fsum
from pathlib import Path
from typing import Any

import networkx as nx
import pytest

from tests.cli.command_ground import EXAMPLES, GOALS, Outcome, assert_answer, run, schema

Graph = Any
Read = Callable[[Path], Graph]


def read_json(path: Path) -> Graph:
    return nx.node_link_graph(json.loads(path.read_text(encoding="utf-8")), edges="edges")


def read_graphml(path: Path) -> Graph:
    return nx.read_graphml(path)


def node_link_reads_edges() -> bool:
    return tuple(int(part) for part in nx.__version__.split(".")[:2]) >= (3, 4)


@pytest.fixture(scope="module", params=sorted(EXAMPLES))
def example(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def written(example: str, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Graph]:
    folder = tmp_path_factory.mktemp("graph")
    found = {}
    readers: dict[str, Read] = {".graphml": read_graphml}
    if node_link_reads_edges():
        readers[".json"] = read_json
    for suffix, read in readers.items():
        path = folder / f"{example}{suffix}"
        outcome = run("graph", EXAMPLES[example], "-o", path)
        assert_answer(outcome)
        assert str(path) in outcome.out
        found[suffix] = read(path)
    assert [one.suffix for one in sorted(folder.iterdir())] == sorted(readers)
    return found


@pytest.fixture(scope="module")
def routes(example: str) -> dict[str, Any]:
    found: dict[str, Outcome] = {
        protocol: run(
            "route", EXAMPLES[example], "hatch", GOALS[example], "--protocol", protocol, "--json"
        )
        for protocol in ("leapfrog", "reel")
    }
    assert all(outcome.code == 0 for outcome in found.values())
    return {protocol: outcome.answer for protocol, outcome in found.items()}


def test_route_costs_the_same_on_the_exported_graph(
    written: dict[str, Graph], routes: dict[str, Any]
) -> None:
    for graph in written.values():
        for route in routes.values():
            grips = [place["grip"] for place in route["grips"]]
            seconds = fsum(graph.edges[pair]["seconds"] for pair in pairwise(grips))
            totals = route["totals"]
            assert seconds == pytest.approx(totals["seconds"] - totals["transfers_s"], rel=1e-9)


def test_networkx_alone_finds_the_same_least_time(
    written: dict[str, Graph], routes: dict[str, Any]
) -> None:
    for graph in written.values():
        for protocol, route in routes.items():
            start, goal = route["grips"][0]["grip"], route["grips"][-1]["grip"]
            kept = [
                node
                for node, ends_only in graph.nodes(data="ends_only")
                if not ends_only or node in {start, goal}
            ]
            inner = graph.subgraph(kept).edge_subgraph(
                edge for edge in graph.subgraph(kept).edges if graph.edges[edge]["line_clear"]
            )
            least_s = nx.dijkstra_path_length(inner, start, goal, weight="seconds")
            seconds = route["totals"]["seconds"] - route["totals"]["transfers_s"]
            # Leapfrog may go a longer way for fewer transfers. On reels that are never
            # swapped nothing but the time of the moves counts.
            assert seconds >= least_s * (1 - 1e-9)
            if protocol == "reel":
                assert route["totals"]["transfers"] == 0
                assert seconds == pytest.approx(least_s, rel=1e-9)


def test_every_attribute_is_explained_in_the_file(written: dict[str, Graph]) -> None:
    for graph in written.values():
        explained = graph.graph["attributes"]
        explained = json.loads(explained) if isinstance(explained, str) else explained
        assert set(graph.graph) - {"node_default", "edge_default"} <= set(explained["graph"])
        assert {k for _, data in graph.nodes(data=True) for k in data} == set(explained["node"])
        seen = {k for *_, data in graph.edges(data=True) for k in data} - {"id"}
        assert seen == set(explained["edge"])
        assert "not certified for flight" in graph.graph["caution"]


def test_options_change_the_graph(tmp_path: Path) -> None:
    plain, changed = tmp_path / "plain.graphml", tmp_path / "changed.graphml"
    run("graph", EXAMPLES["small"], "-o", plain)
    run("graph", EXAMPLES["small"], "-o", changed, "--close", "H03", "--carry", "bag")
    graph = nx.read_graphml(changed)
    assert json.loads(graph.graph["closed"]) == ["H03"]
    assert graph.graph["carry"] == "bag"
    on_h03 = [node for node, element in graph.nodes(data="element") if element == "H03"]
    assert all(graph.degree(node) == 0 for node in on_h03)
    assert nx.read_graphml(plain).number_of_edges() > graph.number_of_edges()


def test_same_call_same_bytes(tmp_path: Path) -> None:
    first, second = tmp_path / "a.json", tmp_path / "b.json"
    for path in (first, second):
        run("graph", EXAMPLES["small"], "-o", path)
    assert first.read_bytes() == second.read_bytes()


def test_json_says_what_was_written(tmp_path: Path) -> None:
    path = tmp_path / "graph.json"
    found = run("graph", EXAMPLES["small"], "-o", path, "--json")
    assert_answer(found)
    schema("graph").validate(found.answer)
    assert found.answer["written"]["sha256"] == sha256(path.read_bytes()).hexdigest()
    assert found.answer["grips"] == len(json.loads(path.read_text())["nodes"])
