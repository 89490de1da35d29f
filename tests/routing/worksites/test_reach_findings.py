"""Every finding about reach: a floor with rails on it, and one fault at a time."""

from itertools import combinations

import networkx as nx
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.graph.build import build_graph
from routing.graph.parts import NOWHERE, find_parts, reached_elements
from routing.graph.reach_findings import inspect_reach
from routing.graph.reach_graph import GripKind
from routing.graph.situation import Situation
from routing.limits import DEFAULT_LIMITS
from structures.elements import (
    Condition,
    Element,
    Handrail,
    Hatch,
    Socket,
    Solid,
    TetherPoint,
    Worksite,
    Zone,
)
from structures.findings import Finding
from structures.model import ELEMENT_LISTS, Structure
from structures.shapes import Box
from structures.solids.sweep import SWEEP_TOLERANCE_M
from structures.units import fine_text
from tests.draws import draws

UP = (0.0, 0.0, -1.0)
Z_M = -0.0635
REACH_M = 0.6096  # 24 in, the default


def rail(rail_id: str, start: tuple[float, float], end: tuple[float, float]) -> Handrail:
    return Handrail(id=rail_id, points_m=((*start, Z_M), (*end, Z_M)), normal=UP)


def box(box_id: str, low: tuple[float, ...], high: tuple[float, ...]) -> Solid:
    center_m = tuple((a + b) / 2 for a, b in zip(low, high, strict=True))
    size_m = tuple(b - a for a, b in zip(low, high, strict=True))
    return Solid(id=box_id, volume=Box(center_m=center_m, size_m=size_m))


def base() -> Structure:
    """Build a floor with a hatch, two rails in a row, a socket and worksites on both."""
    return Structure(
        name="floor",
        revision="A",
        solids=(box("floor", (-20, -20, 0), (20, 20, 1)),),
        handrails=(rail("R1", (0, 0), (2, 0)), rail("R2", (2.5, 0), (4, 0))),
        hatches=(Hatch(id="A1", position_m=(-0.4, 0, Z_M), normal=UP, tether_point="T1"),),
        tether_points=(TetherPoint(id="T1", position_m=(0.2, 0.3, -0.02), rating_n=3000),),
        sockets=(Socket(id="S1", position_m=(3, 0.4, -0.01), normal=UP, clock_zero=(1, 0, 0)),),
        worksites=(
            Worksite(id="W1", socket="S1"),
            Worksite(id="W2", handrail="R2", place_m=(3.1, 0, 0)),
        ),
        conditions=(Condition(id="loose", closes=("R2",)),),
    )


def plus(*added: tuple[str, Element]) -> Structure:
    structure = base()
    for list_name, element in added:
        others = [e for e in getattr(structure, list_name) if e.id != element.id]
        structure = structure.model_copy(update={list_name: (*others, element)})
    return structure


def inspected(structure: Structure, situation: Situation | None = None) -> tuple[Finding, ...]:
    return inspect_reach(build_graph(structure, situation or Situation()))


def codes(findings: tuple[Finding, ...]) -> list[tuple[str, tuple[str, ...]]]:
    return [(f.code, f.elements) for f in findings]


def with_rail(start: tuple[float, float], end: tuple[float, float]) -> Structure:
    return plus(("handrails", rail("R3", start, end)))


def test_nothing_to_say_about_the_base() -> None:
    assert inspected(base()) == ()


def test_island_and_near_miss_with_the_missing_distance() -> None:
    found = inspected(with_rail((4.7, 0), (6, 0)))
    assert codes(found) == [("island", ("R3",)), ("near-miss", ("R2", "R3"))]
    assert found[1].value == pytest.approx(0.7, abs=1e-9)
    assert found[1].limit == pytest.approx(REACH_M)
    assert "91 mm (3.6 in) over the reach" in found[1].message
    assert "0.700 m (2.30 ft), over the reach of 0.610 m (2.00 ft)" in found[0].message


@pytest.mark.parametrize(
    ("gap_m", "expected"),
    [
        (REACH_M, []),
        (REACH_M + 1e-6, ["island", "near-miss"]),
        (1.5 * REACH_M - 1e-6, ["island", "near-miss"]),
        (1.5 * REACH_M + 1e-6, ["island"]),
    ],
)
def test_gaps_at_the_limits(gap_m: float, expected: list[str]) -> None:
    found = inspected(with_rail((4 + gap_m, 0), (6, 0)))
    assert [f.code for f in found] == expected


def test_near_miss_is_measured_between_places_that_are_no_grips() -> None:
    # R3 ends over R2 between two grips of it (2.5, 2.75, 3.0 m ...).
    found = inspected(with_rail((2.63, 0.7), (2.63, 3)))
    near = [f for f in found if f.code == "near-miss" and f.elements == ("R2", "R3")]
    assert near[0].value == pytest.approx(0.7, abs=1e-9)


def test_islands_come_biggest_first_and_near_misses_by_missing_distance() -> None:
    found = inspected(
        plus(
            ("handrails", rail("R3", (4.8, 0), (5.2, 0))),
            ("handrails", rail("R4", (-1.3, 0), (-9, 0))),
            ("handrails", rail("R5", (5.9, 0), (6.3, 0))),
        )
    )
    assert codes(found) == [
        ("island", ("R4",)),
        ("island", ("R3",)),
        ("island", ("R5",)),
        ("near-miss", ("R3", "R5")),
        ("near-miss", ("R2", "R3")),
        ("near-miss", ("A1", "R4")),
    ]
    assert [round(f.value or 0, 6) for f in found[3:]] == [0.7, 0.8, 0.9]


def test_gap_that_saves_much_time() -> None:
    # Two rails side by side, joined at one end only: 0.8 m across, 17 m round.
    long = plus(
        ("handrails", rail("R3", (4, 0), (4, 0.8))),
        ("handrails", rail("R2", (2.5, 0), (12, 0))),
        ("handrails", rail("R4", (12, 0.8), (4, 0.8))),
    )
    near = [f for f in inspected(long) if f.code == "near-miss"]
    assert codes(tuple(near)) == [("near-miss", ("R2", "R4"))]
    assert near[0].value == pytest.approx(0.8, abs=1e-9)
    short = plus(
        ("handrails", rail("R3", (4, 0), (4, 0.8))),
        ("handrails", rail("R2", (2.5, 0), (6, 0))),
        ("handrails", rail("R4", (6, 0.8), (4, 0.8))),
    )
    assert inspected(short) == ()


def test_near_miss_needs_turn_and_corridor() -> None:
    turned = rail("R3", (4.7, 0), (6, 0)).model_copy(update={"normal": (0.0, 0.0, 1.0)})
    assert "near-miss" not in [f.code for f in inspected(plus(("handrails", turned)))]
    walled = plus(
        ("handrails", rail("R3", (4.7, 0), (6.5, 0))),
        ("solids", box("wall", (4.3, -9, -9), (4.4, 9, 0))),
    )
    assert "near-miss" not in [f.code for f in inspected(walled)]


def test_crossing_blocked_by_turn() -> None:
    under = Handrail(id="R3", points_m=((1, 0, 0.4), (1.8, 0, 0.4)), normal=(0, 0, 1))
    thin = plus(("handrails", under), ("solids", box("floor", (-20, -20, 0), (20, 20, 0.3))))
    found = {f.code: f for f in inspected(thin)}
    assert set(found) == {"island", "crossing-blocked"}
    assert "180.0 deg is over the limit of 100 deg" in found["crossing-blocked"].message
    assert found["crossing-blocked"].value == pytest.approx(0.4635, abs=1e-9)


def test_crossing_blocked_by_a_wall() -> None:
    walled = plus(
        ("handrails", rail("R2", (2.5, 0), (3.3, 0))),
        ("handrails", rail("R3", (3.9, 0), (6.5, 0))),
        ("solids", box("wall", (3.59, -9, -0.1), (3.61, 9, 0))),  # low, yet the body meets it
    )
    found = {f.code: f for f in inspected(walled)}
    blocked, near = found["crossing-blocked"], found["near-miss"]
    # Hands are within reach in a line, but not by the way round: both findings say that much.
    way = near.message.split(" is ", 1)[1].split(" over", 1)[0].replace(", ", " for the hands, ")
    assert f"but the way that is clear for the body past wall is {way} over" in blocked.message


@pytest.mark.parametrize("off_m", [0.0, 5e-4])
def test_a_socket_flush_with_the_hull_is_told_how_far_to_move(off_m: float) -> None:
    def told(away_m: float) -> list[Finding]:
        flush = Socket(id="S9", position_m=(3, 0.4, -away_m), normal=UP, clock_zero=(1, 0, 0))
        return [f for f in inspected(plus(("sockets", flush))) if f.code == "no-body-place"]

    (found,) = told(off_m)
    assert "if it is flush with floor, move it off that face along its normal" in found.message
    # The body ball has to be clear by the tolerance of sweeps, not only to touch.
    short_m = found.limit - found.value
    assert short_m == pytest.approx(SWEEP_TOLERANCE_M - off_m)
    assert f"it is {fine_text(short_m, 'up')} too near to floor" in found.message
    assert not told(off_m + short_m + 1e-9)


def test_socket_and_worksite_that_nothing_reaches() -> None:
    far = Socket(id="S1", position_m=(3, 2, -0.01), normal=UP, clock_zero=(1, 0, 0))
    found = inspected(plus(("sockets", far)))
    assert codes(found) == [("socket-unreached", ("S1",)), ("worksite-unreached", ("W1", "S1"))]
    assert found[1].worksite == "W1"
    assert "no grip is within the reach of 0.610 m (2.00 ft)" in found[0].message


def test_socket_joins_no_parts() -> None:
    # S2 is within reach of R2 and of R3, but nobody passes through it.
    between = plus(
        ("handrails", rail("R3", (5, 0), (6, 0))),
        ("sockets", Socket(id="S2", position_m=(4.5, 0, -0.01), normal=UP, clock_zero=(1, 0, 0))),
    )
    graph = build_graph(between, Situation())
    parts = find_parts(graph)
    socket = graph.grips.element_ids.index("S2")
    assert parts.reached[socket]
    assert "R3" not in reached_elements(graph)
    assert ("island", ("R3",)) in codes(inspect_reach(graph))


def test_worksite_on_an_island() -> None:
    away = plus(
        ("handrails", rail("R3", (7, 0), (9, 0))),
        ("worksites", Worksite(id="W2", handrail="R3", place_m=(8, 0, 0))),
    )
    found = {f.code: f for f in inspected(away)}
    assert set(found) == {"island", "worksite-unreached"}
    assert "island" in found["worksite-unreached"].message


def test_a_worksite_out_of_reach_of_its_own_rail() -> None:
    near = plus(("worksites", Worksite(id="W3", handrail="R2", place_m=(3, 0.6, 0))))
    assert "worksite-far-from-rail" not in {f.code for f in inspected(near)}
    away = plus(("worksites", Worksite(id="W3", handrail="R2", place_m=(3, 60, 0))))
    found = [f for f in inspected(away) if f.code == "worksite-far-from-rail"]
    assert [(f.worksite, f.elements) for f in found] == [("W3", ("W3", "R2"))]
    assert found[0].value == pytest.approx(60.0, abs=0.1)


@pytest.mark.parametrize(("off_m", "told"), [(0.0, False), (0.09, False), (0.11, True)])
def test_a_worksite_within_reach_but_off_its_own_rail(off_m: float, told: bool) -> None:
    site = Worksite(id="W3", handrail="R2", place_m=(3, off_m, Z_M))
    found = [f for f in inspected(plus(("worksites", site))) if f.code == "worksite-off-rail"]
    assert [(f.worksite, f.severity) for f in found] == [("W3", "notes")] * told
    assert all("is 0.11 m off its handrail R2" in f.message for f in found)
    assert all(f.value == pytest.approx(off_m) and f.limit == 0.1 for f in found)


def test_closed_by_condition_and_by_call() -> None:
    found = inspected(base(), Situation(when=("loose",), closed=("T1",)))
    closed = [f for f in found if f.code == "closed"]
    assert [f.elements for f in closed] == [("R2",), ("T1",)]
    assert "condition loose" in closed[0].message
    assert "the call" in closed[1].message
    unreached = {f.elements[0]: f for f in found if f.code.endswith("-unreached")}
    assert set(unreached) == {"S1", "W1", "W2"}
    assert unreached["W2"].severity == "notes"
    assert unreached["S1"].severity == "warns"


def test_body_places_missing_and_against_what() -> None:
    roofed = plus(("solids", box("roof", (2.2, -3, -0.9), (4.3, 3, -0.8))))
    found = {(f.code, f.elements) for f in inspected(roofed)}
    assert ("no-body-place", ("R2", "roof")) in found
    zone = Zone(
        id="Z1", volume=Box(center_m=(4.2, 0, -1), size_m=(0.8, 4, 2)), applies_to=("body",)
    )
    some = {f.code: f for f in inspected(plus(("zones", zone)))}
    assert set(some) == {"few-body-places"}
    assert some["few-body-places"].elements == ("R2", "Z1")
    assert some["few-body-places"].severity == "notes"


def test_hatch_without_a_body_place_blocks() -> None:
    shut = plus(("solids", box("roof", (-2, -3, -0.9), (-0.3, 3, -0.8))))
    worst = {f.code: f.severity for f in inspected(shut)}
    assert worst["no-body-place"] == "blocks"
    assert worst["hatch-cut-off"] == "blocks"


def test_hatch_alone_blocks() -> None:
    away = plus(("hatches", Hatch(id="A1", position_m=(-9, 0, Z_M), normal=UP, tether_point="T1")))
    found = inspected(away)
    assert ("hatch-cut-off", ("A1",)) in codes(found)
    assert next(f for f in found if f.code == "island").elements == ("R1", "R2", "S1")


def test_no_hatch_is_said_and_the_largest_part_stands_for_it() -> None:
    none = plus(("handrails", rail("R3", (7, 0), (8, 0)))).model_copy(update={"hatches": ()})
    assert codes(inspected(none)) == [("no-hatch", ()), ("island", ("R3",))]


def test_tether_point_out_of_hook_reach() -> None:
    off = plus(("tether_points", TetherPoint(id="T1", position_m=(0.2, 0.8, -0.02))))
    assert codes(inspected(off)) == [("tether-point-unreached", ("T1",))]
    at_limit = DEFAULT_LIMITS.hook_reach_m
    z = Z_M
    on = plus(("tether_points", TetherPoint(id="T1", position_m=(0.25, at_limit, z))))
    assert inspected(on) == ()


@given(st.integers(0, 10_000))
def test_parts_against_networkx(seed: int) -> None:
    random = np.random.default_rng(seed)
    rails = tuple(
        rail(f"R{i:02}", (x, y), (x + dx, y + dy))
        for i, (x, y, dx, dy) in enumerate(random.uniform([-2, -2, 0.2, 0.2], [2, 2, 1, 1], (9, 4)))
    )
    sockets = tuple(
        Socket(id=f"S{i}", position_m=(*xy, -0.01), normal=UP, clock_zero=(1, 0, 0))
        for i, xy in enumerate(random.uniform(-2, 2, (4, 2)).tolist())
    )
    structure = base().model_copy(
        update={"handrails": rails, "sockets": sockets, "worksites": (), "conditions": ()}
    )
    graph = build_graph(structure, Situation())
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr)).tolist()
    edges = list(zip(tail, graph.moves.head.tolist(), strict=True))
    is_socket = (graph.grips.kind == GripKind.SOCKET).tolist()
    reference = nx.Graph()
    reference.add_nodes_from(i for i in range(len(graph.grips)) if not is_socket[i])
    reference.add_edges_from((a, b) for a, b in edges if not (is_socket[a] or is_socket[b]))
    parts = find_parts(graph)
    for component in nx.connected_components(reference):
        labels = {int(parts.label[i]) for i in component}
        usable = {bool(graph.grips.usable[i]) for i in component}
        assert labels == ({min(component)} if True in usable else {NOWHERE})
    hatch = graph.grips.element_ids.index("A1")
    home = nx.node_connected_component(reference, hatch)
    home |= {b for a, b in edges if a in home}
    assert set(np.flatnonzero(parts.reached).tolist()) == home


def random_floor(seed: int) -> Structure:
    random = np.random.default_rng(seed)
    rails = tuple(
        rail(f"R{i:02}", (x, y), (x + dx, y + dy))
        for i, (x, y, dx, dy) in enumerate(
            random.uniform([-2.5, -2.5, -0.7, 0.2], [2.5, 2.5, 0.7, 1], (7, 4))
        )
    )
    return base().model_copy(
        update={"handrails": rails, "sockets": (), "worksites": (), "conditions": ()}
    )


def joined(structure: Structure, reach_m: float, one: str, other: str) -> bool:
    """Tell whether a move joins two elements when people reach so far."""
    limits = DEFAULT_LIMITS.model_copy(update={"reach_m": reach_m})
    graph = build_graph(structure, Situation(limits=limits))
    tail = np.repeat(np.arange(len(graph.grips)), np.diff(graph.moves.indptr)).tolist()
    ids = graph.grips.element_ids
    heads = graph.moves.head.tolist()
    return any({ids[a], ids[b]} == {one, other} for a, b in zip(tail, heads, strict=True))


@settings(max_examples=draws(25))
@given(st.integers(0, 10_000))
def test_near_misses_are_what_more_reach_would_open(seed: int) -> None:
    structure = random_floor(seed)
    graph = build_graph(structure, Situation())
    parts = find_parts(graph)
    part = {i: int(parts.label[k]) for k, i in enumerate(graph.grips.element_ids)}
    near = [f for f in inspect_reach(graph) if f.code == "near-miss"]
    said = {f.elements for f in near}
    for finding in near:
        one, other = finding.elements
        assert finding.value is not None
        assert joined(structure, finding.value + 1e-6, one, other)
        assert not joined(structure, finding.value - 1e-6, one, other)
    # And none is left out: what half as much reach again joins from part to part is listed.
    for (one, here), (other, there) in combinations(sorted(part.items()), 2):
        if here != there:
            assert joined(structure, 1.5 * REACH_M, one, other) == ((one, other) in said)


def test_order_of_elements_does_not_matter() -> None:
    structure = plus(
        ("handrails", rail("R3", (4.8, 0), (5.2, 0))),
        ("handrails", rail("R4", (-1.3, 0), (-9, 0))),
        ("solids", box("wall", (1.0, 0.3, -9), (1.1, 9, 0))),
    )
    turned = structure.model_copy(
        update={name: tuple(reversed(getattr(structure, name))) for name in ELEMENT_LISTS}
    )
    assert len(inspected(structure)) >= 4
    assert inspected(turned) == inspected(structure)
