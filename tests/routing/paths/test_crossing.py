"""Two people's lines: where they cross, who lies over, and the cheapest pair that keeps apart."""

import itertools
import random
from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from routing.graph.build import build_graph
from routing.graph.reach_graph import ReachGraph
from routing.graph.situation import Situation
from routing.limits import Limits
from routing.paths.route import RouteOptions
from routing.paths.tethers.kit import Kit
from routing.paths.tethers.outfit import make_outfit
from routing.paths.tethers.reel import reel_ground
from routing.paths.tethers.stack import hooked_at
from routing.paths.two_people.apart import Traveller, find_apart
from routing.paths.two_people.both import both_routes
from routing.paths.two_people.crossing import contacts, home_order, near_pieces
from routing.paths.two_people.lays import LaidLine, spare_m
from routing.paths.two_people.meeting import meeting_routes
from structures.elements import TetherPoint
from structures.files import read_structure
from structures.polylines import segment_gaps
from structures.units import FOOT_M
from tests.crosscheck.search_cases import random_from
from tests.draws import draws
from tests.routing.paths.route_graphs import Arc, deck, made_graph

EXAMPLE = Path(__file__).parents[3] / "examples" / "station" / "station.toml"
APART_M = 0.3


def line(*corners: tuple[float, float, float], laid_s: tuple[float, ...] = ()) -> LaidLine:
    points_m = np.array(corners, dtype=float)
    count = len(corners) - 1
    return LaidLine(
        pieces=tuple(("move", i, i + 1) for i in range(count)),
        start_m=points_m[:-1],
        end_m=points_m[1:],
        spare_m=np.zeros(count),
        laid_s=np.array(laid_s or range(count), dtype=float) * 10.0,
        staged=(),
    )


def test_a_crossing_seen_in_plan_is_none_if_the_lines_are_apart_in_height() -> None:
    low = line((0, 0, 0), (4, 0, 0))
    assert not contacts(low, line((2, -2, 1), (2, 2, 1)), APART_M)
    (found,) = contacts(low, line((2, -2, 0.25), (2, 2, 0.25)), APART_M)
    assert not found.together
    assert found.distance_m == pytest.approx(0.25)
    assert found.place_m == pytest.approx((2, 0, 0.125))


def test_lines_that_start_apart_and_meet_on_their_first_piece_cross() -> None:
    (found,) = contacts(line((0, 0, 0), (4, 0, 0)), line((4, 1, 0), (4, 0.2, 0)), APART_M)
    assert not found.together


def test_lines_together_from_the_start_do_not_cross_but_do_when_they_meet_again() -> None:
    first = line((0, 0, 0), (1, 0, 0), (2, 0, 0), (3, 0, 0), (4, 0, 0))
    second = line((0, 0.1, 0), (1, 0.1, 0), (2, 2, 0), (3, 2, 0), (4, -1, 0))
    found = contacts(first, second, APART_M, after_s=100.0)
    assert [one.together for one in found] == [True, False]
    assert found[0].first_m == pytest.approx(2.0)
    assert found[1].first_pieces == (3, 3)
    assert found[1].over == "second"
    assert home_order(found) == "second goes home first"
    assert home_order(found[:1]) == "either"


def test_who_lies_over_depends_on_who_laid_later() -> None:
    first = line((0, 0, 0), (4, 0, 0), (4, 4, 0), (0, 4, 0), laid_s=(1, 2, 3))
    second = line((2, -2, 0), (2, 2, 0), (2, 6, 0), laid_s=(2, 20))
    assert [one.over for one in contacts(first, second, APART_M)] == ["second", "second"]
    early = contacts(first, second, APART_M, after_s=-15.0)
    assert [one.over for one in early] == ["first", "second"]
    assert home_order(early) == "none"
    assert {one.over for one in contacts(first, second, APART_M, after_s=-500.0)} == {"first"}
    same = contacts(first, second, APART_M, after_s=-10.0)
    assert same[0].over == "unknown"
    assert home_order(same) == "none"


coordinate = st.integers(-20, 20).map(lambda n: n / 4)
corner = st.tuples(coordinate, coordinate, coordinate)


@settings(deadline=None, derandomize=True, max_examples=draws(150))
@given(st.lists(corner, min_size=2, max_size=4), st.lists(corner, min_size=2, max_size=4))
def test_distances_against_dense_sampling(
    one: list[tuple[float, ...]], other: list[tuple[float, ...]]
) -> None:
    first, second = line(*one), line(*other)
    _, distance_m, place_m = near_pieces(first, second, APART_M)
    share = np.linspace(0.0, 1.0, 201)[:, None]
    for i, j in itertools.product(range(len(first)), range(len(second))):
        here = first.start_m[i] + share * (first.end_m[i] - first.start_m[i])
        there = second.start_m[j] + share * (second.end_m[j] - second.start_m[j])
        sampled = np.sqrt(((here[:, None] - there[None]) ** 2).sum(axis=2)).min()
        step = max(np.ptp(here, axis=0).max(), np.ptp(there, axis=0).max()) / 200 * 2
        assert distance_m[i, j] <= sampled + 1e-9
        assert sampled <= distance_m[i, j] + step + 1e-9
        near_m = segment_gaps(place_m[i, j], place_m[i, j], first.start_m[i], first.end_m[i])[0]
        assert near_m == pytest.approx(distance_m[i, j] / 2, abs=1e-9)


@settings(deadline=None, derandomize=True, max_examples=draws(100))
@given(st.lists(corner, min_size=2, max_size=5), st.lists(corner, min_size=2, max_size=5))
def test_distances_in_one_plane_against_shapely(
    one: list[tuple[float, ...]], other: list[tuple[float, ...]]
) -> None:
    flat = [[(x, y, 1.5) for x, y, _ in corners] for corners in (one, other)]
    first, second = (line(*corners) for corners in flat)
    _, distance_m, _ = near_pieces(first, second, APART_M)
    # Older versions of shapely know no distance to a piece without length.
    bare = [[place for place, _ in groupby((x, y) for x, y, _ in corners)] for corners in flat]
    lines = [shapely.LineString(one) if len(one) > 1 else shapely.Point(one[0]) for one in bare]
    assert distance_m.min() == pytest.approx(shapely.distance(*lines), abs=1e-9)


@settings(deadline=None, derandomize=True, max_examples=draws(100))
@given(st.floats(0.01, 3.0), st.floats(1.0, 2.0), st.floats(0.0, 1.0))
def test_no_bent_line_is_farther_from_the_straight_one_than_said(
    gap: float, more: float, at: float
) -> None:
    way = gap * more
    # A line with one corner: the corner anywhere on the ellipse of the two ends.
    half, across = way / 2, float(spare_m(np.array([way]), np.array([gap]))[0])
    x, y = half * np.cos(np.pi * at), across * np.sin(np.pi * at)
    length = np.hypot(x + gap / 2, y) + np.hypot(x - gap / 2, y)
    assert length == pytest.approx(way, rel=1e-9)
    assert y <= across + 1e-12


def grid(rng: random.Random) -> ReachGraph:
    """Make a grid of 4 x 3 grips a metre apart with some diagonals, seconds at random."""
    places = [(x, y) for x in range(4) for y in range(3)]
    arcs = []
    for (i, (x, y)), (j, (u, v)) in itertools.permutations(enumerate(places), 2):
        aside, up = abs(x - u), abs(y - v)
        if max(aside, up) == 1 and (aside + up == 1 or (i + j) % 3 == 0):
            seconds = float(rng.randint(1, 9))
            way_m = float(np.hypot(aside, up))
            arcs.append(Arc(tail=i, head=j, seconds=seconds, way_m=way_m))
    graph = made_graph([f"G{i}" for i in range(12)], arcs)
    at_m = np.array([(x, y, 0.0) for x, y in places], dtype=float)
    return replace(graph, grips=replace(graph.grips, position_m=at_m))


def grid_travellers(
    rng: random.Random, graph: ReachGraph, length_m: float
) -> tuple[Traveller, Traveller]:
    """Two people with a reel each, hooked on right at two grips."""
    ends = rng.sample(range(12), 4)
    at_m = graph.grips.position_m
    points = tuple(
        TetherPoint(id=f"T{grip}", position_m=tuple(at_m[grip].tolist()), rating_n=3000.0)
        for grip in ends[:2]
    )
    limits = Limits(reserve_m=0.0)
    graph = replace(graph, situation=Situation(limits=limits))
    made = make_outfit(graph, Kit(reels_m=(length_m,)))
    outfit, ground = replace(made, points=points), reel_ground(graph)
    both = tuple(
        Traveller(
            graph=graph,
            outfit=outfit,
            ground=ground,
            starts=(hooked_at(point=who, grip=ends[who], distance_m=0.0, tether=0, carried=(0,)),),
            goals=(ends[2 + who],),
        )
        for who in (0, 1)
    )
    return both[0], both[1]


def all_lines(one: Traveller, length_m: float) -> Iterator[tuple[float, LaidLine]]:
    """Yield seconds and line of every simple way that the reel allows: by plain recursion."""
    moves, at_m = one.graph.moves, one.graph.grips.position_m
    start = one.starts[0].grip

    def go(way: list[int], seconds: float, out_m: float) -> Iterator[tuple[float, LaidLine]]:
        if way[-1] in one.goals:
            corners = [tuple(at_m[grip]) for grip in (start, *way)]
            yield seconds, line(*corners)
        for move in range(moves.indptr[way[-1]], moves.indptr[way[-1] + 1]):
            head = int(moves.head[move])
            if head not in way and out_m + moves.way_m[move] <= length_m:
                yield from go(
                    [*way, head], seconds + moves.seconds[move], out_m + moves.way_m[move]
                )

    yield from go([start], 0.0, 0.0)


def test_the_cheapest_clean_pair_against_all_pairs() -> None:
    """Starts are a metre apart, so there is no way together from the start: proven cheapest."""
    rng = random_from(7)
    seen = {"crossed": 0, "no clean pair": 0, "no way": 0, "long": 0}
    for _ in range(140):
        length_m = rng.choice((2.5, 4.0, 6.0))
        first, second = grid_travellers(rng, grid(rng), length_m)
        ways = [sorted(all_lines(one, length_m), key=lambda way: way[0]) for one in (first, second)]
        found = find_apart(first, second, APART_M, most_pairs=5000)
        assert found.proven
        if not ways[0] or not ways[1]:
            assert found.best is None
            seen["no way"] += 1
            continue
        assert found.best is not None
        assert found.best.seconds == ways[0][0][0] + ways[1][0][0]
        best = float("inf")
        for (mine_s, mine), (other_s, other) in itertools.product(*ways):
            if mine_s + other_s < best and not near_pieces(mine, other, APART_M)[0].any():
                best = mine_s + other_s
        if np.isinf(best):
            assert found.clean is None
            seen["no clean pair"] += 1
            continue
        assert found.clean is not None
        assert found.clean.seconds == best == found.lower
        lines = first.line(found.clean.first), second.line(found.clean.second)
        assert not near_pieces(*lines, APART_M)[0].any()
        seen["crossed"] += found.best.crosses
        seen["long"] += found.tried > 3
    assert min(seen.values()) >= 3, seen


def test_a_search_that_gives_up_says_so() -> None:
    rng = random_from(9)
    for _ in range(60):
        first, second = grid_travellers(rng, grid(rng), 6.0)
        full = find_apart(first, second, APART_M, most_pairs=5000)
        if full.tried > 3 and full.clean is not None:
            few = find_apart(first, second, APART_M, most_pairs=1)
            assert few.clean is None
            assert not few.proven
            assert few.lower <= full.clean.seconds
            return
    raise AssertionError("no case that takes more than three pairs")


@pytest.fixture(scope="module")
def station() -> ReachGraph:
    return build_graph(read_structure(EXAMPLE), Situation())


def test_a_crossing_on_the_station_and_the_pair_that_avoids_it(station: ReachGraph) -> None:
    kit = RouteOptions(kit=Kit(reels_m=(85 * FOOT_M, 85 * FOOT_M)))
    found = both_routes(
        station, ("hatch", "W09"), ("hatch", "W19"), second_after_s=60.0, options=kit
    )
    assert found.best is not None
    assert found.clean is not None
    assert [one.kind for one in found.best.contacts] == ["side by side from the start", "crossing"]
    assert found.best.contacts[1].over == "second"
    assert found.best.home_order == "second goes home first"
    assert not found.clean.crosses
    assert found.safe
    assert found.proven
    assert found.clean_costs_s == pytest.approx(found.clean.seconds - found.best.seconds)
    assert 0 < found.clean_costs_s < 60
    alone = both_routes(station, ("hatch", "W05"), ("hatch", "W21"), options=kit)
    assert alone.best == alone.clean
    assert alone.verdict == "the lines of the best routes do not cross"


def test_one_staged_tether_does_not_serve_two() -> None:
    # Both need the reel staged at T2: on their own alone they come to x = 7.5 and no farther.
    points = (
        TetherPoint(id="T1", position_m=(-0.4, 0.3, 0.0), rating_n=3000.0),
        TetherPoint(id="T2", position_m=(5.0, 0.2, 0.0), rating_n=3000.0, staged_m=(9.0,)),
    )
    graph = build_graph(deck(tether_points=points), Situation())
    kit = RouteOptions(kit=Kit(reels_m=(8.5,)))
    found = both_routes(graph, ("A1", "W1"), ("A1", "H3@5.500"), options=kit)
    assert found.best is not None
    assert found.best.both_take == ("T2",)
    assert found.clean is None
    assert found.proven
    assert not found.safe


@pytest.mark.parametrize(
    ("goals", "verdict"),
    [
        (("W1", "W1"), "both would stay at one place"),
        (("W2", "W2"), "both would stay at one place"),
        (("H3@5.250", "H3@5.500"), "both would stay too near to each other"),
        (("H3@5.500", "W1"), "both would stay too near to each other"),
        (("H3@4.000", "W1"), "the lines of the best routes do not cross"),
    ],
)
def test_two_people_do_not_stay_at_one_place(goals: tuple[str, str], verdict: str) -> None:
    graph = build_graph(deck(), Situation())
    trips = (("A1", goals[0]), ("A1", goals[1]))
    found = both_routes(graph, *trips, options=RouteOptions(kit=Kit(reels_m=(20.0,))))
    assert found.verdict == verdict
    assert found.safe == ("stay" not in verdict)
    met = meeting_routes((graph, graph), trips)
    assert (met.goals_near is not None) == ("stay" in verdict)
    if met.goals_near is not None:
        assert met.verdict == verdict
        assert met.goals_near.distance_m < graph.situation.limits.people_apart_m
        assert not met.safe


def test_a_hatch_holds_both() -> None:
    graph = build_graph(deck(), Situation())
    assert meeting_routes((graph, graph), (("W2", "A1"), ("H1@1.500", "A1"))).goals_near is None


def test_a_missing_route_is_told_with_its_reason() -> None:
    graph = build_graph(deck(), Situation())
    kit = RouteOptions(kit=Kit(reels_m=(6.0,)))
    found = both_routes(graph, ("A1", "W2"), ("A1", "W1"), options=kit)
    assert found.verdict == "no route"
    assert [answer.goal.id for answer in found.missing] == ["W1"]
    assert not found.safe
