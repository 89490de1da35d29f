import json
import math
from pathlib import Path

import networkx as nx
import pytest

from routing.graph.build import build_graph
from routing.graph.export import ATTRIBUTES, to_graphml, to_networkx, to_node_link, write_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from structures.elements import Handhold, Item
from tests.routing.graph.graph_structures import UP, flat_deck, rail, random_structure

ODD_IDS = ('a"b', "<b&c>", "=SUM(A1)", "c,d;e'", "ü→\U0001f680")


def graph_of(draw: int = 3) -> ReachGraph:
    return build_graph(random_structure(draw), Situation(when=("hot",)))


def test_every_attribute_is_documented_and_every_documented_one_is_there() -> None:
    found = to_networkx(graph_of())
    assert set(found.graph) == set(ATTRIBUTES["graph"])
    for _, node in found.nodes(data=True):
        assert set(node) == set(ATTRIBUTES["node"])
    for _, _, edge in found.edges(data=True):
        assert set(edge) == set(ATTRIBUTES["edge"])
    assert found.graph["attributes"] == ATTRIBUTES


def test_every_value_is_plain_and_finite() -> None:
    found = to_networkx(graph_of())
    rows = [data for _, data in found.nodes(data=True)]
    rows += [data for _, _, data in found.edges(data=True)]
    assert rows
    for row in rows:
        for value in row.values():
            assert type(value) in {str, float, bool}
            assert not isinstance(value, float) or math.isfinite(value)


def test_the_graph_holds_the_arrays() -> None:
    graph = graph_of()
    found = to_networkx(graph)
    assert tuple(found) == graph.grips.ids
    assert found.number_of_edges() == len(graph.moves)
    assert [d["seconds"] for _, _, d in found.edges(data=True)] == graph.moves.seconds.tolist()
    assert [n for n, ends in found.nodes(data="ends_only") if ends] == ["S"]


def test_node_link_json_reads_back_the_same(tmp_path: Path) -> None:
    graph = graph_of()
    path = tmp_path / "graph.json"
    write_graph(graph, path)
    data = json.loads(path.read_text(encoding="utf-8"))
    assert data == json.loads(json.dumps(to_node_link(graph)))
    back = nx.node_link_graph(data, edges="edges")
    assert nx.utils.graphs_equal(back, to_networkx(graph))


def test_graphml_reads_back_the_same(tmp_path: Path) -> None:
    graph = graph_of()
    path = tmp_path / "graph.graphml"
    write_graph(graph, path)
    back = nx.read_graphml(path)
    assert dict(back.nodes(data=True)) == dict(to_networkx(graph).nodes(data=True))
    assert list(back.edges(data=True)) == list(to_networkx(graph).edges(data=True))
    assert json.loads(back.graph["attributes"]) == ATTRIBUTES
    assert back.graph["reach_m"] == graph.situation.ability.reach_m


def test_odd_ids_and_names_survive(tmp_path: Path) -> None:
    holds = tuple(
        Handhold(id=name, position_m=(0.1 * i, 0.0, -0.07), normal=UP)
        for i, name in enumerate(ODD_IDS)
    )
    structure = flat_deck(
        rail("H<1>", (0.0, 0.2, -0.07), (0.4, 0.2, -0.07)),
        handholds=holds,
        name='<script>"&\x00',
    )
    graph = build_graph(structure, Situation())
    for suffix, read in (("json", None), ("graphml", nx.read_graphml)):
        path = tmp_path / f"graph.{suffix}"
        write_graph(graph, path)
        if read is None:
            back = nx.node_link_graph(json.loads(path.read_text(encoding="utf-8")), edges="edges")
            assert back.graph["structure"] == structure.name
        else:
            back = read(path)
            assert back.graph["structure"] == '<script>"&\ufffd'
        assert set(ODD_IDS) < set(back)
        assert list(back) == list(graph.grips.ids)


def test_an_id_that_xml_cannot_hold_is_refused_with_the_other_format_named() -> None:
    structure = flat_deck(handholds=(Handhold(id="a\ufffe", position_m=(0, 0, -0.07), normal=UP),))
    with pytest.raises(ValueError, match="JSON"):
        to_graphml(build_graph(structure, Situation()))


def test_an_unknown_suffix_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"\.graphml"):
        write_graph(graph_of(), tmp_path / "graph.gexf")
    assert list(tmp_path.iterdir()) == []


def test_the_situation_is_in_the_graph() -> None:
    bag = Item(id="bag", size_m=(0.1, 0.1, 0.1), mass_kg=1.0)
    structure = flat_deck(rail("H", (0.0, 0.0, -0.07), (0.4, 0.0, -0.07)), items=(bag,))
    head = to_networkx(build_graph(structure, Situation(carry=bag))).graph
    assert head["carry"] == "bag"
    assert head["person"] == ""
    assert head["limits"]["transfer_s"] == 60.0
    assert head["reach_m"] == pytest.approx(0.9 * 0.6096)
