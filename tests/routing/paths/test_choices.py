"""Choices between two sites: complete, each a route that keeps the rules, under both protocols."""

import itertools
from pathlib import Path

import networkx as nx
import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind, ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.answers.results import Protocol, Route
from routing.paths.choices.alternatives import Held, constrained_solver, find_alternatives
from routing.paths.choices.choices import ChoiceOptions, best_course, find_choices
from routing.paths.choices.records import Choices
from routing.paths.course import course_seconds
from routing.paths.no_route.answer import NoRouteError
from routing.paths.request import Request
from routing.paths.route import RouteOptions, find_route
from routing.paths.search.arrays import Network
from routing.paths.tethers.kit import Kit
from structures.elements import TetherPoint, Zone
from structures.files import read_structure
from structures.model import Structure
from structures.shapes import Box
from tests.routing.paths.route_graphs import Arc, deck, made_graph, straight_rail

KIT = Kit(reels_m=(8.2, 8.2))
LIMITS = Limits(reserve_m=0.1)
SMALL = Path(__file__).parents[3] / "examples" / "small" / "small.toml"


def _two_lanes(**lists: object) -> Structure:
    """Make a deck with the three rails of `deck`, and a second lane that slows nobody down.

    The first lane is in a slow-down zone from x = 4 to 6; the second one, 0.5 m beside it, runs
    from x = 2 to 10 in rails of its own, and is longer by the two steps across.
    """
    rails = (
        *deck().handrails,
        straight_rail("K1", 2.0, 4.6, 0.5),
        straight_rail("K2", 5.0, 7.6, 0.5),
        straight_rail("K3", 8.0, 10.0, 0.5),
    )
    slow = Zone(
        id="SLOW",
        kind="slow-down",
        slow_factor=1.1,
        volume=Box(center_m=(4.7, -0.55, -0.5), size_m=(1.2, 0.7, 3.0)),
        applies_to=("body",),
    )
    return deck(handrails=rails, zones=(slow,), **lists)


def _choices(protocol: Protocol, structure: Structure | None = None, **more: object) -> Choices:
    graph = build_graph(structure or _two_lanes(), Situation(limits=LIMITS))
    options = ChoiceOptions(route=RouteOptions(kit=KIT, explain=False), **more)
    return find_choices(graph, "A1", "W1", protocol=protocol, options=options)


def _criteria(route: Route) -> tuple[float, int, float]:
    return (route.totals.seconds, route.totals.transfers, route.totals.exposure_s)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_rows_are_what_their_routes_are_and_none_is_beaten(protocol: Protocol) -> None:
    found = _choices(protocol)
    assert len(found.tradeoffs) >= 2
    for row in found.tradeoffs:
        assert _criteria(found.routes[row.route]) == pytest.approx(
            (row.seconds, row.transfers, row.exposure_s), abs=1e-3
        )
    for one, other in itertools.permutations(found.tradeoffs, 2):
        a, b = ((r.seconds, r.transfers, r.exposure_s) for r in (one, other))
        assert not all(x <= y for x, y in zip(a, b, strict=True))


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_picks_are_the_extremes(protocol: Protocol) -> None:
    found = _choices(protocol)
    rows, picks = found.tradeoffs, found.picks
    assert rows[picks.quickest].seconds == min(row.seconds for row in rows)
    assert rows[picks.fewest_transfers].transfers == min(row.transfers for row in rows)
    assert rows[picks.least_exposure].exposure_s == min(row.exposure_s for row in rows)
    assert 0 <= picks.balanced < len(rows)
    graph = build_graph(_two_lanes(), Situation(limits=LIMITS))
    least = find_route(graph, "A1", "W1", protocol=protocol, options=RouteOptions(kit=KIT))
    assert rows[picks.quickest].seconds == pytest.approx(least.totals.seconds, abs=1e-3)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_every_route_keeps_the_tether_rules_and_has_its_own_verdict(protocol: Protocol) -> None:
    found = _choices(protocol)
    assert found.safe
    for route in found.routes:
        assert route.safe
        assert (route.start.id, route.goal.id) == ("A1", "W1")
        if protocol == "reel":
            assert route.margins.line is not None
            assert route.margins.line.least_left_m >= LIMITS.reserve_m - 1e-9
            for stay in route.stays:
                assert stay.most_payout_m <= stay.length_m - LIMITS.reserve_m + 1e-9
        else:
            changes = [over for over in route.hand_overs if over.changes_rail]
            assert all(over.way_m <= LIMITS.short_tether_m + 1e-9 for over in changes)
            # All but the last, onto the socket, end with a transfer.
            assert route.totals.transfers == len(changes) - 1


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_alternatives_differ_by_the_stated_measure(protocol: Protocol) -> None:
    found = _choices(protocol, count=5, max_overlap=0.7)
    assert len(found.alternatives) >= 2
    first = found.routes[found.alternatives[0].route]
    # All moves of the first but the last, onto the socket, end on handrails.
    on_rails_m = sum(over.way_m for over in first.hand_overs[:-1])
    before: set[str] = set()
    for row in found.alternatives:
        route = found.routes[row.route]
        used = {p.id for p in route.handrails if p.kind in {"handrail", "handhold"}}
        ids = [grip.id for grip in route.grips]
        shared_m = sum(
            over.way_m
            for over, there in zip(route.hand_overs, ids[1:], strict=True)
            if there in before
        )
        assert row.shared_m == pytest.approx(shared_m, abs=1e-9)
        assert row.overlap == pytest.approx(shared_m / on_rails_m)
        assert row.overlap <= 0.7 + 1e-3
        assert set(row.shared) == used & before
        before |= used
    seconds = [found.routes[row.route].totals.seconds for row in found.alternatives]
    assert seconds == sorted(seconds)


@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_fallback_says_what_it_must_share(protocol: Protocol) -> None:
    found = _choices(protocol)
    assert found.fallback is not None
    assert found.fallback.proven
    first = found.routes[found.tradeoffs[found.picks.quickest].route]
    spare = found.routes[found.fallback.route]
    own = {part.id for part in first.handrails} & {part.id for part in spare.handrails}
    assert set(found.fallback.shared) == own - {"A1", "S1"}
    # Only H1 is near the hatch and only H3 near the socket.
    assert set(found.fallback.needed) == {"H1", "H3"}


def test_a_fallback_that_shares_nothing() -> None:
    second = (straight_rail("K1", 0.0, 12.2, 0.45),)
    structure = deck(handrails=(*deck().handrails, *second))
    found = _choices("leapfrog", structure)
    assert found.fallback is not None
    assert found.fallback.shared == ()
    first = found.routes[found.tradeoffs[found.picks.quickest].route]
    spare = found.routes[found.fallback.route]
    assert {p.id for p in first.handrails} & {p.id for p in spare.handrails} == {"A1", "S1"}


def test_no_fallback_where_there_is_one_way_only() -> None:
    found = _choices("leapfrog", deck())
    assert found.fallback is None
    assert len(found.alternatives) == 1


def test_an_unsafe_route_makes_the_answer_unsafe() -> None:
    weak = TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=100.0)
    found = _choices("reel", deck(tether_points=(weak, deck().tether_points[1])))
    assert not found.safe
    assert found.findings
    assert all(finding.message.startswith("route ") for finding in found.findings)


def test_best_picks_from_the_trade_offs() -> None:
    graph = build_graph(_two_lanes(), Situation(limits=LIMITS))
    found = _choices("reel")
    for best, pick in (
        ("seconds", found.picks.quickest),
        ("transfers", found.picks.fewest_transfers),
        ("exposure", found.picks.least_exposure),
    ):
        options = RouteOptions(kit=KIT, best=best)
        route = find_route(graph, "A1", "W1", protocol="reel", options=options)
        row = found.tradeoffs[pick]
        assert _criteria(route) == pytest.approx(
            (row.seconds, row.transfers, row.exposure_s), abs=1e-3
        )


@pytest.mark.parametrize("via", [("H2",), ("W1", "A1"), ("K2", "K2")])
def test_choices_over_via_sites_in_leapfrog(via: tuple[str, ...]) -> None:
    """Every way over the via sites is matched: the picks are those of all complete choices."""
    graph = build_graph(_two_lanes(), Situation(limits=LIMITS))
    options = ChoiceOptions(route=RouteOptions(explain=False))
    found = find_choices(graph, "A1", "W1", via=via, options=options)
    quickest = find_route(graph, "A1", "W1", via=via)
    rows = [(row.seconds, row.transfers, row.exposure_s) for row in found.tradeoffs]
    assert rows[found.picks.quickest][0] == pytest.approx(quickest.totals.seconds)
    for route in found.routes:
        assert len(route.via_grips) == len(via)
        assert [site.id for site in route.via] == list(via)
    for row in found.tradeoffs:
        assert _criteria(found.routes[row.route]) == pytest.approx(
            (row.seconds, row.transfers, row.exposure_s), abs=1e-3
        )
    for best, column in (("seconds", 0), ("transfers", 1), ("exposure", 2)):
        route = find_route(graph, "A1", "W1", via=via, options=RouteOptions(best=best))
        assert _criteria(route)[column] == pytest.approx(min(row[column] for row in rows), abs=1e-3)
    # Each leg by itself can do no better than the whole does in what one has least of.
    sites = ("A1", *via, "W1")
    legs = [
        _criteria(find_route(graph, one, other, options=RouteOptions(best="transfers")))[1]
        for one, other in itertools.pairwise(sites)
        if one != other
    ]
    assert min(row[1] for row in rows) >= sum(legs)


@pytest.mark.parametrize("via", [("H2",), ("K2", "H1")])
def test_choices_over_via_sites_on_reels(via: tuple[str, ...]) -> None:
    """The best of each kind, each as `find_route` gives it, and all routes go by all sites."""
    graph = build_graph(_two_lanes(), Situation(limits=LIMITS))
    options = ChoiceOptions(route=RouteOptions(kit=KIT, explain=False))
    found = find_choices(graph, "A1", "W1", via=via, protocol="reel", options=options)
    assert not found.complete
    assert found.not_known == ()
    quickest = find_route(
        graph, "A1", "W1", via=via, protocol="reel", options=RouteOptions(kit=KIT)
    )
    rows = [(row.seconds, row.transfers, row.exposure_s) for row in found.tradeoffs]
    assert min(rows)[0] == pytest.approx(quickest.totals.seconds)
    for route in found.routes:
        assert [site.id for site in route.via] == list(via)
        assert route.margins.line is not None
        assert route.margins.line.least_left_m >= LIMITS.reserve_m - 1e-9
    for best, column in (("transfers", 1), ("exposure", 2)):
        best_only = RouteOptions(kit=KIT, best=best)
        route = find_route(graph, "A1", "W1", via=via, protocol="reel", options=best_only)
        assert _criteria(route)[column] == pytest.approx(min(row[column] for row in rows), abs=1e-3)
    for row in found.alternatives:
        assert row.overlap <= found.max_overlap + 1e-9


def test_no_route_is_explained() -> None:
    graph = build_graph(deck(), Situation(limits=LIMITS))
    options = ChoiceOptions(route=RouteOptions(kit=Kit(reels_m=(5.0,)), explain=False))
    with pytest.raises(NoRouteError) as caught:
        find_choices(graph, "A1", "W1", protocol="reel", options=options)
    assert caught.value.why == "tether"
    with pytest.raises(NoRouteError):
        find_route(
            graph, "A1", "W1", protocol="reel",
            options=RouteOptions(kit=Kit(reels_m=(5.0,)), explain=False, best="transfers"),
        )  # fmt: skip


def test_options_that_no_list_can_be_made_with() -> None:
    with pytest.raises(ValueError, match="0 alternatives are none"):
        ChoiceOptions(count=0)
    with pytest.raises(ValueError, match=r"max_overlap is 1\.0; it must be from 0 to below 1"):
        ChoiceOptions(max_overlap=1.0)


def test_no_two_of_the_routes_listed_are_the_same_choice() -> None:
    """Ways of equal seconds on the same handrails differ in their grips: one choice."""
    graph = build_graph(read_structure(SMALL), Situation())
    options = ChoiceOptions(route=RouteOptions(explain=False), count=5, max_overlap=0.8)
    sites = ["hatch", "W1", "W2", "W3"]
    several = 0
    for start, goal in itertools.permutations(sites, 2):
        found = find_choices(graph, start, goal, options=options)
        told = [
            (tuple(part.id for part in route.handrails), *(round(x, 2) for x in _criteria(route)))
            for route in found.routes
        ]
        assert len(set(told)) == len(told), (start, goal)
        used = [
            frozenset(part.id for part in found.routes[row.route].handrails)
            for row in found.alternatives
        ]
        assert len(set(used)) == len(used), (start, goal)
        several += len(used) > 1 and found.fallback is not None
    assert several >= 6


def test_a_way_that_is_mostly_onto_its_socket_is_no_alternative_to_itself() -> None:
    """Metres count where routes can differ: 0.25 m of 0.95 m on the rail are all of it."""
    arcs = [
        Arc(tail=0, head=1, seconds=1.0, way_m=0.25),
        Arc(tail=1, head=2, seconds=2.0, way_m=0.7),
        Arc(tail=0, head=3, seconds=2.0, way_m=0.25),
        Arc(tail=3, head=2, seconds=2.0, way_m=0.7),
    ]
    kinds = {"HATCH": GripKind.HATCH, "SOCKET": GripKind.SOCKET}
    for other in ("R1", "R2"):
        graph = made_graph(["HATCH", "R1", "SOCKET", other], arcs, kinds=kinds)
        network = Network.of_moves(graph.moves)
        ids = graph.grips.element_ids
        element = np.array([{"R1": 0, "R2": 1}.get(one, -1) for one in ids])
        held = Held(network=network, way_m=graph.moves.way_m, element=element)
        found = find_alternatives(held, constrained_solver(held, {0: 0.0}, [2]), count=4)
        assert [one.cost for one in found] == ([3.0] if other == "R1" else [3.0, 4.0])


def _random_rails(number: int) -> ReachGraph:
    """Return rails of two grips at random with a hatch and a socket, some moves in slow zones."""
    rng = np.random.default_rng(number)
    nodes = 9
    graph = nx.gnp_random_graph(nodes, 0.33, seed=number, directed=True)
    arcs = [
        Arc(tail=a, head=b, seconds=int(rng.integers(4, 60)) / 4, way_m=0.25)
        for a, b in sorted(graph.edges)
    ]
    elements = ["HATCH", *(f"R{(node + 1) // 2}" for node in range(1, nodes - 1)), "SOCKET"]
    made = made_graph(elements, arcs, kinds={"HATCH": GripKind.HATCH, "SOCKET": GripKind.SOCKET})
    made.moves.exposure_s[:] = np.where(rng.random(len(arcs)) < 0.5, made.moves.seconds, 0.0)
    return made


def _all_criteria(graph: ReachGraph) -> list[tuple[float, float, float]]:
    """Return the criteria of every simple path that leapfrog allows, from its definition."""
    moves, elements, transfer_s = graph.moves, graph.grips.element_ids, 60.0
    hooked = [kind == GripKind.HANDRAIL for kind in graph.grips.kind.tolist()]
    hooked[0] = True  # the hatch has its tether point
    numbers: dict[tuple[int, int], tuple[float, float, float]] = {}
    for tail in range(len(elements)):
        for move in range(int(moves.indptr[tail]), int(moves.indptr[tail + 1])):
            head = int(moves.head[move])
            if not hooked[tail] and not hooked[head]:
                continue
            swap = elements[tail] != elements[head] and hooked[head]
            numbers[tail, head] = (
                float(moves.seconds[move]) + transfer_s * swap,
                float(swap),
                float(moves.exposure_s[move]),
            )
    allowed = nx.DiGraph(list(numbers))
    allowed.add_nodes_from((0, len(elements) - 1))
    return [
        tuple(sum(numbers[arc][i] for arc in itertools.pairwise(path)) for i in range(3))
        for path in nx.all_simple_paths(allowed, 0, len(elements) - 1)
    ]


def test_leapfrog_choices_are_complete_under_its_rule() -> None:
    sizes = []
    for number in range(25):
        graph = _random_rails(number)
        every = _all_criteria(graph)
        front = sorted(
            {a for a in every if not any(b != a and all(map(float.__le__, b, a)) for b in every)}
        )
        request = Request(start="HATCH", goal="SOCKET", protocol="leapfrog")
        course = best_course(graph, request, "seconds")
        assert (course is None) == (not front)
        if course is None:
            continue
        assert course_seconds(graph, course) == front[0][0]
        fewest = best_course(graph, request, "transfers")
        assert fewest is not None
        assert sum(not one.starts for one in fewest.anchorings) == min(one[1] for one in front)
        exposed = best_course(graph, request, "exposure")
        assert exposed is not None
        found_s = sum(float(graph.moves.exposure_s[move]) for move in exposed.moves)
        assert found_s == min(one[2] for one in front)
        sizes.append(len(front))
    assert sum(size >= 2 for size in sizes) >= 5
