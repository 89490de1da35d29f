"""What would save time: each answer against the whole pipeline run with that one thing changed."""

from collections.abc import Sequence

import networkx as nx
import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.margin_records import LineSaving, WhatIf
from routing.paths.answers.results import Protocol
from routing.paths.choices.what_if import MORE_LINE, ask_what_if
from routing.paths.no_route.answer import NoRouteError
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.elements import TetherPoint
from structures.model import Structure
from structures.units import FOOT_M
from tests.routing.paths.route_graphs import Arc, deck, made_graph, straight_rail

LIMITS = Limits(reserve_m=0.1, grip_spacing_m=0.5)
RATE_M_PER_S = 0.5 * FOOT_M


def _line(found: WhatIf) -> LineSaving:
    assert found.more_line is not None
    return found.more_line


def _aside(rating_n: float | None = 3000.0, **lists: object) -> Structure:
    """Make a deck whose second tether point can be hooked on from a rail beside H2 only."""
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(5.0, 1.5, 0.0), rating_n=rating_n),
    )
    rails = (
        *deck().handrails,
        straight_rail("K1", 4.0, 6.0, 0.55),
        straight_rail("K2", 4.0, 6.0, 1.1),
    )
    return deck(**{"tether_points": points, "handrails": rails, **lists})


def _ask(structure: Structure, protocol: Protocol, reels_m: Sequence[float] = (9.6, 9.6)) -> WhatIf:
    graph = build_graph(structure, Situation(limits=LIMITS))
    kit = Kit(reels_m=tuple(reels_m)) if protocol == "reel" else None
    return ask_what_if(graph, Request(start="A1", goal="W1", protocol=protocol, kit=kit))


def _seconds(structure: Structure, reels_m: Sequence[float], limits: Limits = LIMITS) -> float:
    options = RouteOptions(
        situation=Situation(limits=limits), kit=Kit(reels_m=tuple(reels_m)), explain=False
    )
    try:
        return find_route(structure, "A1", "W1", protocol="reel", options=options).totals.seconds
    except NoRouteError:
        return float("inf")


def test_the_best_tether_point_is_the_best_of_all_tried_one_by_one() -> None:
    structure = _aside()
    found = _ask(structure, "reel")
    now_s = _seconds(structure, (9.6, 9.6))
    assert found.seconds == pytest.approx(now_s)
    grips = build_graph(structure, Situation(limits=LIMITS)).grips
    places = [
        (grips.ids[i], tuple(grips.position_m[i].tolist()))
        for i in np.flatnonzero(grips.tether_hook & grips.usable).tolist()
    ]
    assert found.tether_point is not None
    assert found.tether_point.candidates == len(places)
    times = {}
    for grip, at_m in places:
        new = TetherPoint(id="NEW", position_m=at_m, rating_n=3000.0)
        more = _aside(tether_points=(*structure.tether_points, new))
        times[grip] = _seconds(more, (9.6, 9.6))
    assert all(seconds <= now_s + 1e-9 for seconds in times.values())
    assert found.tether_point.seconds == pytest.approx(min(times.values()))
    assert found.tether_point.near_grip is not None
    assert times[found.tether_point.near_grip] == pytest.approx(min(times.values()))
    # It saves the step aside to K2 and back, and most candidates need no search.
    assert found.tether_point.saved_s > 5
    assert found.tether_point.searched < len(places) / 2


def test_a_tether_point_that_only_lacks_its_rating_is_a_candidate() -> None:
    near = TetherPoint(id="T3", position_m=(5.0, 0.2, 0.0))
    structure = _aside(tether_points=(*_aside().tether_points, near), handrails=tuple(
        rail.model_copy(update={"tether_hook": False}) for rail in _aside().handrails
    ))  # fmt: skip
    found = _ask(structure, "reel").tether_point
    assert found is not None
    assert (found.candidates, found.tether_point, found.near_grip) == (1, "T3", None)
    rated = near.model_copy(update={"rating_n": 3000.0})
    points = (*_aside().tether_points, rated)
    assert found.seconds == pytest.approx(_seconds(_aside(tether_points=points), (9.6, 9.6)))


def test_longer_line_is_the_answer_of_the_longer_kit() -> None:
    structure = _aside()
    # 1.1 x 12.2 m reach the socket, 13.3 m of lay and reserve away, without a transfer.
    found = _ask(structure, "reel", (12.2, 12.2))
    longer_s = _seconds(structure, (13.42, 13.42))
    assert _line(found).seconds == pytest.approx(longer_s)
    assert _line(found).saved_s == pytest.approx(_seconds(structure, (12.2, 12.2)) - longer_s)
    assert _line(found).saved_s > 60
    assert _line(_ask(structure, "reel", (20.0,))).saved_s == 0


def test_no_time_at_the_only_transfer_saves_that_time() -> None:
    found = _ask(_aside(), "reel")
    assert found.transfer is not None
    assert (found.transfer.tether_point, found.transfer.element) == ("T2", None)
    assert found.transfer.saved_s == pytest.approx(60.0)
    assert _ask(_aside(), "reel", (20.0,)).transfer is None


def test_with_line_enough_there_is_nothing_to_save() -> None:
    found = _ask(_aside(), "reel", (13.4, 13.4))
    assert found.transfer is None
    assert found.tether_point is not None
    assert (found.tether_point.saved_s, found.tether_point.searched) == (0, 0)


def _random_rails(number: int) -> ReachGraph:
    rng = np.random.default_rng(number)
    nodes = 12
    arcs = [
        Arc(tail=a, head=b, seconds=int(rng.integers(4, 400)) / 4, way_m=0.25)
        for a, b in sorted(nx.gnp_random_graph(nodes, 0.22, seed=number, directed=True).edges)
    ]
    elements = ["HATCH", *(f"R{(node + 1) // 2}" for node in range(1, nodes))]
    return made_graph(elements, arcs, kinds={"HATCH": GripKind.HATCH})


def test_free_transfers_equal_another_library() -> None:
    better = 0
    for number in range(90):
        graph = _random_rails(number)
        goal = len(graph.grips) - 1
        request = Request(start="HATCH", goal=graph.grips.ids[goal], protocol="leapfrog")
        course = solve(graph, request)
        if course is None:
            continue
        elements = graph.grips.element_ids
        times = {}
        for free in dict.fromkeys(elements[grip] for grip in course.grips[1:]):
            weighted = nx.DiGraph()
            for tail in range(goal + 1):
                for move in range(*graph.moves.indptr[tail : tail + 2].tolist()):
                    head = int(graph.moves.head[move])
                    changes = elements[tail] != elements[head] and head > 0
                    swap_s = 60.0 if changes and elements[head] != free else 0.0
                    weighted.add_edge(tail, head, weight=float(graph.moves.seconds[move]) + swap_s)
            times[free] = nx.dijkstra_path_length(weighted, 0, goal)
        found = ask_what_if(graph, request).transfer
        assert found is not None
        assert found.seconds == min(times.values())
        better += found.saved_s > 60
    assert better >= 3


def test_leapfrog_asks_for_short_tethers_and_handrails() -> None:
    found = _ask(_aside(), "leapfrog")
    assert found.tether_point is None
    assert found.transfer is not None
    # Three rails are hooked on to on the way; the first of equal ones is named.
    assert (found.transfer.element, found.transfer.saved_s) == ("H1", pytest.approx(60.0))
    assert _line(found).saved_s == 0


def test_longer_short_tethers_are_the_answer_of_the_longer_limit() -> None:
    # From H2 to H3 the gap is 0.52 m: 0.5 m of short tether do not span it, 0.55 m do.
    short = Limits(grip_spacing_m=0.5, short_tether_m=0.5)
    first, _, last = deck().handrails
    rails = (first, straight_rail("H2", 3.4, 5.98), last, straight_rail("K1", 0.0, 12.2, 0.45))
    structure = deck(handrails=rails)
    graph = build_graph(structure, Situation(limits=short))
    found = ask_what_if(graph, Request(start="A1", goal="W1", protocol="leapfrog"))
    longer = short.model_copy(update={"short_tether_m": 0.55})
    options = RouteOptions(situation=Situation(limits=longer))
    then_s = find_route(structure, "A1", "W1", options=options).totals.seconds
    assert _line(found).seconds == pytest.approx(then_s)
    assert _line(found).saved_s > 1


def test_what_cannot_be_asked_is_refused() -> None:
    graph = build_graph(_aside(), Situation(limits=LIMITS))
    with pytest.raises(ValueError, match="there is no route"):
        ask_what_if(graph, Request(start="A1", goal="W1", protocol="reel", kit=Kit(reels_m=(3.0,))))
    via = Request(start="A1", goal="W1", via=("H2",), protocol="leapfrog")
    assert _line(ask_what_if(graph, via)).saved_s == 0


def test_more_line_over_via_sites_on_reels() -> None:
    graph = build_graph(_aside(), Situation(limits=LIMITS))
    asked = Request(start="A1", goal="W1", via=("H2",), protocol="reel")
    found = ask_what_if(graph, asked)
    kit = asked.kit_for(graph.situation.limits)
    longer = Kit(reels_m=tuple(MORE_LINE * one for one in kit.reels_m))
    then = find_route(
        graph, "A1", "W1", via=("H2",), protocol="reel", options=RouteOptions(kit=longer)
    )
    assert _line(found).seconds == pytest.approx(then.totals.seconds)
    assert found.transfer is None
    assert found.tether_point is None
    assert ["not searched for" in one for one in found.not_tried] == [True]
