"""Names and ids made to be misread: nothing is interpreted, nothing crashes, nothing is lost."""

import csv
import io
import json
from pathlib import Path
from xml.etree import ElementTree as ET

import networkx as nx
import pytest

from tests.cli.command_ground import (
    EVIL_ID,
    EVIL_NAME,
    EXAMPLES,
    assert_answer,
    assert_plain,
    assert_refused,
    hostile_structure,
    run,
    schema,
)

HATCH, GOAL = f"{EVIL_ID}hatch", f"{EVIL_ID}W1"
RAIL, BAG, PERSON = f"{EVIL_ID}H03", f"{EVIL_ID}bag", f"{EVIL_ID}ev-large"


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile_structure(tmp_path_factory.mktemp("hostile") / "evil [red]$x$.json")


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_route_text_keeps_its_steps(hostile: Path, protocol: str) -> None:
    found = run("route", hostile, HATCH, GOAL, "--protocol", protocol)
    assert_answer(found)
    assert_plain(found.err)
    plain = run("route", EXAMPLES["small"], "hatch", "W1", "--protocol", protocol)
    # A line break in a name would make a step of its own.
    assert len(found.out.splitlines()) == len(plain.out.splitlines())
    assert "[bold]01[/],<b>&amp;$x$" in found.out
    assert EVIL_ID in found.out


def test_route_json_has_the_names_as_they_are(hostile: Path) -> None:
    found = run(
        "route", hostile, HATCH, GOAL, "--json", "--person", PERSON, "--carry", BAG, "--when",
        f"{EVIL_ID}venting", "--close", f"{EVIL_ID}H20",
    )  # fmt: skip
    assert found.code == 0
    schema("route").validate(found.answer)
    assert found.answer["structure"]["name"] == EVIL_NAME
    assert found.answer["goal"] == {"worksite": GOAL}
    assert found.answer["situation"]["closed"] == [f"{EVIL_ID}H20"]
    # No control sign stands in the JSON text itself: JSON escapes them below U+0020.
    assert "\x1b" not in found.out


def test_no_route_and_situation_in_text(hostile: Path) -> None:
    closed = [arg for rail in ("H04", "H05") for arg in ("--close", f"{EVIL_ID}{rail}")]
    found = run("route", hostile, HATCH, GOAL, "--person", PERSON, "--carry", BAG, *closed)
    assert_answer(found, 1)
    assert f"NO ROUTE from {EVIL_ID}hatch to {EVIL_ID}W1" in found.out


def test_inspect_table_and_json(hostile: Path, tmp_path: Path) -> None:
    document = json.loads(hostile.read_text())
    for point in document["tether_points"]:
        point["rating_n"] = 900.0
    path = tmp_path / "weak.json"
    path.write_text(json.dumps(document))
    found = run("inspect", path)
    assert_answer(found, 1)
    assert "4 findings: 1 blocks, 3 warn" in found.out
    answer = run("inspect", path, "--json")
    schema("inspect").validate(answer.answer)
    assert {one["elements"][0] for one in answer.answer["findings"]} >= {f"{EVIL_ID}TP1"}


def test_reach_table_csv_and_json(hostile: Path, tmp_path: Path) -> None:
    path = tmp_path / "reach.csv"
    found = run("reach", hostile, "--csv", path)
    assert_answer(found)
    assert "[bold]01[/]" in "".join(found.out.split())
    rows = list(csv.reader(io.StringIO(path.read_bytes().decode(), newline="")))
    plain = run("reach", EXAMPLES["small"], "--json").answer["worksites"]
    assert len(rows) == 1 + len(plain)
    for row in rows:
        for cell in row:
            # What begins like this a spreadsheet takes for a formula, unless it is a number.
            assert not cell.startswith(("=", "+", "@", "\t", "\r"))
            assert not cell.startswith("-") or float(cell) < 0
    assert [row[0] for row in rows[1:]] == [f"'{EVIL_ID}{one['worksite']}" for one in plain]
    answer = run("reach", hostile, "--json")
    schema("reach").validate(answer.answer)
    assert {row["worksite"] for row in answer.answer["worksites"]} == {
        f"{EVIL_ID}{one['worksite']}" for one in plain
    }


def test_graph_in_both_formats(hostile: Path, tmp_path: Path) -> None:
    found = run("graph", hostile, "-o", tmp_path / "g.graphml", "--close", RAIL)
    assert_answer(found)
    graph = nx.read_graphml(tmp_path / "g.graphml")
    elements = {element for _, element in graph.nodes(data="element")}
    assert HATCH in elements
    assert RAIL not in elements
    assert json.loads(graph.graph["closed"]) == [RAIL]
    assert run("graph", hostile, "-o", tmp_path / "g.json").code == 0
    data = json.loads((tmp_path / "g.json").read_text(encoding="utf-8"))
    assert data["graph"]["structure"] == EVIL_NAME
    assert {node["element"] for node in data["nodes"]} >= {RAIL, HATCH}


def test_an_id_that_xml_cannot_hold_is_refused_for_graphml_only(
    hostile: Path, tmp_path: Path
) -> None:
    path = tmp_path / "odd.json"
    path.write_text(hostile.read_text().replace(f"{json.dumps(EVIL_ID)[1:-1]}H03", "H\uffff03"))
    assert_refused(run("graph", path, "-o", tmp_path / "g.graphml"), "XML cannot hold", "JSON")
    assert not (tmp_path / "g.graphml").exists()
    assert run("graph", path, "-o", tmp_path / "g.json").code == 0


@pytest.mark.parametrize("kind", ["svg", "pdf", "png"])
def test_map_and_profile(hostile: Path, tmp_path: Path, kind: str) -> None:
    drawing, profile = tmp_path / f"map.{kind}", tmp_path / f"profile.{kind}"
    found = run(
        "map", hostile, "-o", drawing, "--route", HATCH, GOAL, "--person", PERSON,
        "--close", f"{EVIL_ID}H20",
    )  # fmt: skip
    assert_answer(found)
    route = run("route", hostile, HATCH, GOAL, "--protocol", "reel", "--profile", profile)
    assert_answer(route)
    if kind == "svg":
        for path in (drawing, profile):
            root = ET.parse(path).getroot()
            tags = {element.tag.rpartition("}")[2] for element in root.iter()}
            assert not tags & {"b", "script", "foreignObject", "image"}
            text = "".join(root.itertext())
            assert "[bold]" in text
            assert not {"\u202e", "\x1b", "\x9b"} & set(text)


def test_errors_about_hostile_ids_are_plain(hostile: Path) -> None:
    found = run("route", hostile, f"{HATCH}x", f"{GOAL}\x1b[2Jx", "--close", f"{EVIL_ID}no")
    assert_refused(found, "did you mean", "3 problems")
    assert_plain(found.err)
    assert len(found.err.splitlines()) == 4


def test_file_names_are_plain_too(hostile: Path, tmp_path: Path) -> None:
    path = tmp_path / "a\x1b[31m\nb.json"
    found = run("graph", hostile, "-o", path)
    assert_answer(found)
    assert path.exists()
    assert_refused(run("graph", tmp_path / "no\x1b[31m\nfile.json", "-o", path), "no such file")
    gone = run("graph", tmp_path / "no\x1b[31m\nfile.json", "-o", path)
    assert_plain(gone.err)
