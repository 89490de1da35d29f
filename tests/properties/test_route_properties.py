"""What must hold of every route, on random graphs and random small structures."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.results import Protocol, Route
from routing.paths.course import course_seconds
from routing.paths.no_route.answer import NoRouteError
from routing.paths.request import Request, solve
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit
from structures.elements import Zone
from structures.model import Structure
from structures.shapes import Box
from tests.draws import draws
from tests.routing.graph.graph_structures import random_structure
from tests.routing.paths.route_graphs import Arc, made_graph

DRAWS = st.integers(min_value=0, max_value=100_000)
QUICK = settings(deadline=None, derandomize=True, max_examples=draws(60))
SLOW = settings(deadline=None, derandomize=True, max_examples=draws(25))
# A body small enough to pass between the rails of so small a box.
LIMITS = Limits(reach_m=1.1, hook_reach_m=1.1, corridor_radius_m=0.25, max_turn_deg=120.0)


def random_graph(draw: int) -> ReachGraph:
    """Rails of several grips, two sockets, a hold without hook; whole seconds, so ties come."""
    random = np.random.default_rng(draw)
    names = ["a", "b", "c", "d", "k", "s", "t"]
    elements = sorted(
        [*(str(one) for one in random.choice(names[:4], size=6)), "k", "s", "t"],
    )
    count = len(elements)
    arcs = {}
    for _ in range(int(random.integers(2 * count, 7 * count))):
        tail, head = (int(one) for one in random.integers(0, count, 2))
        if tail != head:
            arcs[tail, head] = Arc(
                tail=tail,
                head=head,
                seconds=float(random.integers(1, 6)),
                way_m=float(random.choice([0.25, 0.4, 0.5, 0.7])),
                line_clear=bool(random.random() < 0.97),
            )
    kinds = {"k": GripKind.HANDHOLD, "s": GripKind.SOCKET, "t": GripKind.SOCKET}
    return made_graph(elements, list(arcs.values()), kinds=kinds)


def leapfrog_extra(graph: ReachGraph, tail: int, move: int) -> float | None:
    """The rule once more, one move at a time: seconds for a transfer, None if not allowed."""
    grips, moves, limits = graph.grips, graph.moves, graph.situation.limits
    head = int(moves.head[move])
    on, over = bool(grips.tether_hook[tail]), bool(grips.tether_hook[head])
    if not moves.line_clear[move]:
        return None
    if grips.element_ids[tail] == grips.element_ids[head] and on:
        return 0.0
    if not (on or over):
        return None
    if moves.gap_m[move] > limits.hook_reach_m or moves.way_m[move] > limits.short_tether_m:
        return None
    return limits.transfer_s if over else 0.0


def brute_force(graph: ReachGraph, stops: list[list[int]]) -> float:
    """Least seconds over all walks that meet the stops in order: relax till nothing changes."""
    count, legs = len(graph.grips), len(stops) - 1
    sockets = {i for i in range(count) if graph.grips.kind[i] == GripKind.SOCKET}
    best = {(0, grip): 0.0 for grip in stops[0]}
    changed = True
    while changed:
        changed = False
        for leg, tail in itertools.product(range(legs), range(count)):
            if (leg, tail) not in best:
                continue
            reached = best[leg, tail]
            options = []
            if tail not in sockets or tail in stops[leg]:
                for move in range(int(graph.moves.indptr[tail]), int(graph.moves.indptr[tail + 1])):
                    extra = leapfrog_extra(graph, tail, move)
                    head = int(graph.moves.head[move])
                    if extra is None or (head in sockets and head not in stops[leg + 1]):
                        continue
                    cost = reached + float(graph.moves.seconds[move]) + extra
                    options.append(((leg, head), cost))
            if tail in stops[leg + 1] and leg + 1 < legs:
                options.append(((leg + 1, tail), reached))
            for node, cost in options:
                if cost < best.get(node, math.inf):
                    best[node] = cost
                    changed = True
    return min((best.get((legs - 1, goal), math.inf) for goal in stops[-1]), default=math.inf)


def grips_of(graph: ReachGraph, site: str) -> list[int]:
    return [i for i, element in enumerate(graph.grips.element_ids) if element == site]


@given(draw=DRAWS)
@settings(deadline=None, derandomize=True, max_examples=draws(300))
def test_leapfrog_with_via_sites_in_order_is_as_fast_as_brute_force(draw: int) -> None:
    graph = random_graph(draw)
    random = np.random.default_rng(draw + 1)
    sites = sorted(set(graph.grips.element_ids))
    chosen = [str(one) for one in random.choice(sites, size=int(random.integers(2, 5)))]
    request = Request(start=chosen[0], goal=chosen[-1], via=tuple(chosen[1:-1]))
    course = solve(graph, request)
    best = brute_force(graph, [grips_of(graph, site) for site in chosen])
    if course is None:
        assert best == math.inf
        return
    assert course_seconds(graph, course) == pytest.approx(best, abs=1e-9)
    elements = graph.grips.element_ids
    met = [elements[course.grips[at]] for at in (0, *course.via_at, len(course.grips) - 1)]
    assert met == chosen
    assert list(course.via_at) == sorted(course.via_at)


@given(draw=DRAWS)
@QUICK
def test_going_by_way_of_something_is_never_faster(draw: int) -> None:
    graph = random_graph(draw)
    assume("b" in graph.grips.element_ids)
    direct = solve(graph, Request(start="k", goal="s"))
    by = solve(graph, Request(start="k", goal="s", via=("b",)))
    if by is not None:
        assert direct is not None
        assert course_seconds(graph, direct) <= course_seconds(graph, by) + 1e-9


@given(draw=DRAWS)
@QUICK
def test_a_tether_never_makes_the_hands_faster(draw: int) -> None:
    graph = random_graph(draw)
    request = Request(start="k", goal="s")
    free, held = solve(graph, request.untethered), solve(graph, request)
    if held is not None:
        assert free is not None
        assert course_seconds(graph, free) <= course_seconds(graph, held) + 1e-9


@given(draw=DRAWS, faster=st.floats(min_value=0.0, max_value=60.0))
@QUICK
def test_cheaper_transfers_never_cost_more(draw: int, faster: float) -> None:
    graph = random_graph(draw)
    request = Request(start="k", goal="t")
    quick = replace(graph, situation=Situation(limits=Limits(transfer_s=faster)))
    before, after = solve(graph, request), solve(quick, request)
    assert (before is None) == (after is None)
    if before is not None and after is not None:
        assert course_seconds(quick, after) <= course_seconds(graph, before) + 1e-9


def route_or_none(
    structure: Structure, situation: Situation, protocol: Protocol, kit: Kit | None = None
) -> Route | None:
    options = RouteOptions(situation=situation, explain=False, kit=kit)
    try:
        return find_route(
            structure, "A", structure.handrails[-1].id, protocol=protocol, options=options
        )
    except NoRouteError:
        return None


def never_cheaper(before: Route | None, after: Route | None) -> bool:
    if after is None:
        return True
    return before is not None and before.totals.seconds <= after.totals.seconds + 1e-9


def remade(structure: Structure, **lists: object) -> Structure:
    content = {name: getattr(structure, name) for name in Structure.model_fields}
    return Structure.model_validate(content | lists)


@given(draw=DRAWS, protocol=st.sampled_from(["leapfrog", "reel"]))
@SLOW
def test_a_new_zone_is_never_cheaper(draw: int, protocol: Protocol) -> None:
    structure = random_structure(draw)
    random = np.random.default_rng(draw + 2)
    x, y, z = (float(one) for one in random.uniform(-1.5, 1.5, 3))
    size = float(random.uniform(0.05, 0.8))
    zone = Zone(
        id="NEW",
        kind=("keep-out", "slow-down")[int(random.integers(2))],
        volume=Box(center_m=(x, y, z), size_m=(size, size, size)),
    )
    situation = Situation(limits=LIMITS)
    before = route_or_none(structure, situation, protocol)
    after = route_or_none(remade(structure, zones=(*structure.zones, zone)), situation, protocol)
    assert never_cheaper(before, after)


@given(draw=DRAWS, protocol=st.sampled_from(["leapfrog", "reel"]))
@SLOW
def test_a_closure_is_never_cheaper(draw: int, protocol: Protocol) -> None:
    structure = random_structure(draw)
    before = route_or_none(structure, Situation(limits=LIMITS), protocol)
    for rail in structure.handrails[:3]:
        after = route_or_none(structure, Situation(limits=LIMITS, closed=(rail.id,)), protocol)
        assert never_cheaper(before, after)
        if after is not None:
            assert rail.id not in {stretch.id for stretch in after.handrails}


@given(draw=DRAWS)
@SLOW
def test_longer_line_and_more_reels_are_never_dearer(draw: int) -> None:
    structure, situation = random_structure(draw), Situation(limits=LIMITS)
    kits = (Kit(reels_m=(2.0,)), Kit(reels_m=(3.0,)), Kit(reels_m=(3.0, 3.0)), None)
    routes = [route_or_none(structure, situation, "reel", kit) for kit in kits]
    for shorter, longer in itertools.pairwise(routes):
        assert never_cheaper(longer, shorter)


@given(draw=DRAWS)
@SLOW
def test_hands_take_the_same_time_there_and_back(draw: int) -> None:
    graph = build_graph(random_structure(draw), Situation(limits=LIMITS))
    there = solve(graph, Request(start="A", goal="G", protocol=None))
    back = solve(graph, Request(start="G", goal="A", protocol=None))
    assert (there is None) == (back is None)
    if there is not None and back is not None:
        assert course_seconds(graph, there) == pytest.approx(course_seconds(graph, back), abs=1e-9)


@given(draw=DRAWS, protocol=st.sampled_from(["leapfrog", "reel"]))
@SLOW
def test_every_route_keeps_its_own_margins(draw: int, protocol: Protocol) -> None:
    structure, situation = random_structure(draw), Situation(limits=LIMITS)
    route = route_or_none(structure, situation, protocol)
    if route is None:
        return
    margins = route.margins
    if margins.gap is not None:
        assert margins.gap.left_m >= -1e-9
    if margins.turn is not None:
        assert margins.turn.left_deg >= -1e-6
    if margins.clearance is not None:
        assert margins.clearance.clearance_m >= -1e-3
    if margins.line is not None:
        assert margins.line.least_left_m >= margins.line.reserve_m - 1e-9
        assert margins.line.runs_out_at is None
    assert "corridor-not-clear" not in {finding.code for finding in route.findings}
    assert (protocol == "reel") == bool(route.stays)
