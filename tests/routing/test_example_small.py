"""The small example against examples/small/by_hand.md: every number below was worked by hand."""

from itertools import groupby
from math import pi
from pathlib import Path

import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.paths.answers.results import HandOver, Route
from routing.paths.route import find_route
from structures.files import read_structure
from structures.model import Structure
from structures.units import INCH_M

EXAMPLE = Path(__file__).parents[2] / "examples" / "small" / "small.toml"

# One row a step of by_hand.md: rail left, rail reached, way [in], change, turn and face [s].
STEPS = [
    ("hatch", "H01", 10, 2, 0.0, 0),
    ("H01", "H01", 60, 0, 0.0, 0),
    ("H01", "H02", 12, 2, 0.0, 0),
    ("H02", "H02", 60, 0, 0.0, 0),
    ("H02", "H03", 12, 2, 0.0, 0),
    ("H03", "H03", 54, 0, 0.0, 0),
    ("H03", "H04", 18, 2, 0.0, 0),
    ("H04", "H04", 74, 0, 0.0, 0),
    ("H04", "H05", 21, 2, 2 * pi, 5),
    ("H05", "H05", 24, 0, 0.0, 0),
]


@pytest.fixture(scope="module")
def structure() -> Structure:
    return read_structure(EXAMPLE)


@pytest.fixture(scope="module")
def graph(structure: Structure) -> ReachGraph:
    return build_graph(structure, Situation())


@pytest.fixture(scope="module")
def on_a_reel(graph: ReachGraph) -> Route:
    return find_route(graph, "hatch", "W1", protocol="reel")


def rail(grip: str) -> str:
    return grip.partition("@")[0]


def in_inches(metres: float) -> float:
    return metres / INCH_M


def test_the_hand_route_is_the_least_time_route(on_a_reel: Route) -> None:
    totals = on_a_reel.totals
    assert totals.travel_s == pytest.approx(57.5, abs=1e-9)
    assert totals.gap_s == pytest.approx(10, abs=1e-9)
    assert totals.turn_s == pytest.approx(6.283185307, abs=1e-9)
    assert totals.face_s == pytest.approx(5, abs=1e-9)
    assert totals.slow_s == 0
    assert totals.transfers_s == 0
    assert totals.seconds == pytest.approx(78.783185307, abs=1e-9)
    assert in_inches(totals.distance_m) == pytest.approx(345, abs=1e-9)


def test_its_handrails_come_in_the_order_of_the_sketch(on_a_reel: Route) -> None:
    assert [stretch.id for stretch in on_a_reel.handrails] == [
        *["hatch", "H01", "H02", "H03", "H04", "H05"]
    ]


def test_where_hands_change_over_is_free_but_the_parts_are_not(on_a_reel: Route) -> None:
    # In line, a longer gap saves as much on the rail before and after: many equal routes.
    # So rails and gaps in line are summed, and the step round the edge stands alone.
    def before_the_edge(move: HandOver) -> bool:
        return (rail(move.from_grip), rail(move.to_grip)) != ("H04", "H05")

    parts = [list(moves) for _, moves in groupby(on_a_reel.hand_overs, before_the_edge)]
    assert [len(parts), len(parts[1])] == [3, 1]
    ways_in = [sum(in_inches(move.way_m) for move in part) for part in parts]
    assert ways_in == pytest.approx([300, 21, 24], abs=1e-9)
    seconds = [sum(move.seconds for move in part) for part in parts]
    assert seconds == pytest.approx([58.0, 16.783185307, 4.0], abs=1e-9)


def test_the_moves_of_the_sketch_are_in_the_graph_with_its_costs(graph: ReachGraph) -> None:
    # From the first to the last hold of each rail on the way, rail by rail.
    ends = {
        "hatch": ("hatch", "hatch"),
        "H01": ("H01@0.000", "H01@1.524"),
        "H02": ("H02@0.000", "H02@1.524"),
        "H03": ("H03@0.000", "H03@1.372"),
        "H04": ("H04@0.000", "H04@1.880"),
        "H05": ("H05@0.000", "H05@0.610"),
    }
    for left, reached, way_in, change_s, turn_s, face_s in STEPS:
        start = ends[left][0 if left == reached else 1]
        goal = ends[reached][1 if left == reached else 0]
        totals = find_route(graph, start, goal, protocol="leapfrog").totals
        assert in_inches(totals.distance_m) == pytest.approx(way_in, abs=1e-9)
        assert totals.travel_s == pytest.approx(way_in / 6, abs=1e-9)
        assert totals.gap_s == change_s
        assert totals.turn_s == pytest.approx(turn_s, abs=1e-9)
        assert totals.face_s == face_s


def test_the_steps_add_up_to_the_sum_on_the_page() -> None:
    page = (EXAMPLE.parent / "by_hand.md").read_text(encoding="utf-8")
    assert sum(step[2] for step in STEPS) == 345
    assert sum(step[2] / 6 + sum(step[3:]) for step in STEPS) == pytest.approx(78.7832, abs=5e-5)
    assert "| **345** | **57.5000** | **10** | **6.2832** | **5** | **78.7832** |" in page


def test_leapfrog_adds_one_transfer_a_change_of_handrail(graph: ReachGraph) -> None:
    totals = find_route(graph, "hatch", "W1").totals
    assert totals.transfers == 5
    assert totals.seconds == pytest.approx(78.783185307 + 5 * 60, abs=1e-9)


def test_the_reel_pays_out_what_the_page_says(on_a_reel: Route) -> None:
    line = on_a_reel.margins.line
    assert line is not None
    assert line.most_payout_m == pytest.approx(9.0678, abs=1e-9)
    assert line.least_left_m == pytest.approx(16.8402, abs=1e-9)


def test_the_largest_gap_is_the_one_round_the_edge(on_a_reel: Route) -> None:
    gap = on_a_reel.margins.gap
    assert gap is not None
    assert (gap.from_grip, gap.to_grip) == ("H04@1.880", "H05@0.000")
    assert in_inches(gap.way_m) == pytest.approx(21, abs=1e-9)


@pytest.mark.parametrize("condition", ["venting", "rail-loose"])
def test_without_the_zenith_line_the_way_is_round_by_nadir(
    structure: Structure, condition: str
) -> None:
    graph = build_graph(structure, Situation(when=(condition,)))
    route = find_route(graph, "hatch", "W1")
    changed = [move for move in route.hand_overs if move.changes_rail]
    assert len(changed) == 12
    assert {"H17", "H18", "H19", "H06"} <= {stretch.id for stretch in route.handrails}
    assert not {"H02", "H03", "H04"} & {stretch.id for stretch in route.handrails}
    assert route.totals.seconds - route.totals.transfers_s > 78.79
