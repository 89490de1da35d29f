"""The reach table: order, columns, schema, and ties that hands can get to."""

import csv
import io
import json
from dataclasses import replace

import jsonschema
import pytest

from routing.cli.reach_text import reach_cells
from routing.graph.build import build_graph
from routing.graph.situation import Situation
from routing.paths.tethers.kit import Outfitting
from routing.paths.worksite_routes import NoHatchError, worksite_routes
from routing.worksites.reach_table import ReachRow, reach_csv, reach_rows, reach_table
from routing.worksites.safety_chains import safety_chains
from routing.worksites.ties.chains import find_chain
from routing.worksites.ties.details import tie_details
from routing.worksites.ties.kit import DEFAULT_TETHER, TetherKit
from structures.elements import (
    AttachPoint,
    Handhold,
    Handrail,
    Hatch,
    Socket,
    Solid,
    TetherPoint,
    Worksite,
)
from structures.model import Structure
from structures.shapes import Box

UP = (0.0, 0.0, -1.0)
Z_M = -0.0635
LEAPFROG = Outfitting(name="leapfrog", protocol="leapfrog")


def worksite(site_id: str, x: float, up_m: float | None) -> Worksite:
    attach = ()
    if up_m is not None:
        at = (x, 0.0, Z_M - up_m)
        attach = (AttachPoint(id="a", held_m=at, seated_m=at),)
    return Worksite(id=site_id, name=f"=site {site_id}", socket="S1", attach=attach)


def station() -> Structure:
    floor = Box(center_m=(0, 0, 5), size_m=(60, 40, 10))
    return Structure(
        name="floor",
        revision="A",
        solids=(Solid(id="floor", volume=floor),),
        handrails=(
            Handrail(id="R1", points_m=((0, 0, Z_M), (4, 0, Z_M)), normal=UP),
            Handrail(id="R2", points_m=((14, 0, Z_M), (16, 0, Z_M)), normal=UP),
        ),
        hatches=(Hatch(id="A1", position_m=(-0.3, 0, Z_M), normal=UP, tether_point="T1"),),
        tether_points=(TetherPoint(id="T1", position_m=(0, 0.3, Z_M), rating_n=3000),),
        sockets=(Socket(id="S1", position_m=(1, 0.4, -0.01), normal=UP, clock_zero=(1, 0, 0)),),
        worksites=(
            worksite("W1", 1, 1.0),
            worksite("W2", 2, 1.5),
            worksite("W3", 3, 3.0),
            worksite("W4", 20, 1.0),
            worksite("W5", 15, 1.0),  # beside R2, which no way leads to
            worksite("W6", 1, None),
        ),
    )


def test_worst_first() -> None:
    graph = build_graph(station(), Situation())
    rows = reach_table(graph.structure, graph)
    assert [(row.worksite, row.tie, row.tethers) for row in rows] == [
        ("W4", "no chain", None),
        ("W5", "no chain", None),
        ("W3", "ok", 2),
        ("W2", "ok", 1),
        ("W1", "ok", 1),
        ("W6", "nothing to tie", None),
    ]
    two = rows[3]
    assert two.handrail == "R1"
    assert two.length_m == two.held_m == two.seated_m
    assert two.margin_m == pytest.approx(6 * 0.3048 - 1.5, abs=0.01)


def test_a_payload_that_may_drift_is_marked() -> None:
    def tied(*attach: AttachPoint) -> ReachRow:
        # A handhold on either side of the payload, and no solid: lines are straight.
        structure = station().model_copy(
            update={
                "handrails": (),
                "handholds": (
                    Handhold(id="R1", position_m=(0, 0, 0), normal=UP, tether_hook=True),
                    Handhold(id="R2", position_m=(0, 0, -3.0), normal=UP, tether_hook=True),
                ),
                "solids": (),
                "worksites": (Worksite(id="W1", socket="S1", attach=attach),),
            }
        )
        structure = Structure.model_validate(structure.model_dump())
        chain = find_chain(structure, "W1", Situation())
        details = tie_details(structure, "W1", Situation())
        assert chain.drifts == tuple(one.position for one in details.drifts)
        (row,) = reach_rows(structure, [chain])
        assert row.tie == "ok"
        mark = "one line" if len(attach) == 1 else "DRIFTS"
        assert reach_cells(row)[4] == (f"ok, {mark}" if chain.drifts else "ok")
        assert row.lines == len(attach)
        return row

    low = AttachPoint(id="a", held_m=(0, 0, -0.9), seated_m=(0, 0, -1.0))
    high = AttachPoint(id="b", held_m=(0, 0, -2.1), seated_m=(0, 0, -2.2))
    beside = AttachPoint(id="b", held_m=(0, 0.3, -0.9), seated_m=(0, 0.3, -1.0))
    assert tied(low).drifts == "held and seated"
    assert tied(low, beside).drifts == "held and seated"
    assert tied(low, high).drifts is None


def test_ways_from_the_hatch_come_first() -> None:
    graph = build_graph(station(), Situation())
    ways = {chain.worksite: chain for chain in safety_chains(graph, LEAPFROG)}
    rows = reach_table(graph.structure, graph, ways=ways)
    by_id = {row.worksite: row for row in rows}
    assert {row.way for row in rows} == {"safe"}
    assert by_id["W1"].seconds == ways["W1"].seconds
    assert by_id["W1"].start == "A1"
    closed = build_graph(station(), Situation(closed=("R1",)))
    none = {chain.worksite: chain for chain in safety_chains(closed, LEAPFROG)}
    cut = reach_table(closed.structure, closed, ways=none)
    assert {row.way for row in cut} == {"no route"}
    assert all(row.way_reason and not row.safe for row in cut)


def test_hatch_is_needed() -> None:
    graph = build_graph(station().model_copy(update={"hatches": ()}), Situation())
    with pytest.raises(NoHatchError, match="no hatch to start from"):
        worksite_routes(graph, protocol="leapfrog")


def test_csv_reads_back_as_text() -> None:
    graph = build_graph(station(), Situation())
    rows = reach_table(graph.structure, graph)
    read = list(csv.DictReader(io.StringIO(reach_csv(rows))))
    assert [row["worksite"] for row in read] == [row.worksite for row in rows]
    # The name begins with "=": in a spreadsheet it must stay a text.
    assert read[0]["name"].startswith("'=site")
    assert float(read[2]["held_m"]) == rows[2].held_m


def test_rows_for_csv_and_json() -> None:
    graph = build_graph(station(), Situation())
    rows = reach_table(graph.structure, graph)
    assert ReachRow.columns()[0] == "worksite"
    for row in rows:
        assert tuple(row.to_row()) == ReachRow.columns()
        assert row.to_row()["worksite"] == row.worksite
        document = json.loads(json.dumps(row.to_document(), allow_nan=False))
        jsonschema.validate(document, ReachRow.json_schema())
        assert ReachRow.from_document(document) == row
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate({"worksite": "W1"}, ReachRow.json_schema())


def test_unknown_rating_is_never_ok() -> None:
    graph = build_graph(station(), Situation())
    unrated = DEFAULT_TETHER.model_copy(update={"rating_n": None})
    rows = reach_table(graph.structure, graph, kit=TetherKit.of([unrated]))
    assert {row.tie for row in rows} == {"unknown", "nothing to tie"}


def test_graph_of_another_structure_is_refused() -> None:
    graph = build_graph(station(), Situation())
    other = station().model_copy(update={"revision": "B"})
    with pytest.raises(ValueError, match="build it anew"):
        reach_table(other, graph)
    assert reach_table(station(), replace(graph, structure=station())) != ()
