"""Where worksites fall off, against asking for routes with every reach of a row of reaches."""

from dataclasses import replace

import networkx as nx
import numpy as np
import pytest

from routing.graph.build import build_graph
from routing.graph.reach_graph import GripKind
from routing.graph.situation import Situation
from routing.paths.answers.results import Protocol
from routing.paths.no_route.answer import NoRouteError
from routing.paths.route import RouteOptions, find_route
from routing.paths.tethers.kit import Kit, default_kit
from routing.paths.tethers.short_tethers import hook_rule
from routing.studies.people.falling_off import BELOW_M, FallingOff, falling_off
from routing.studies.people.feasible import Feasible, PeopleCase, with_reach
from structures.files.reader import read_structure
from tests.cli.command_ground import EXAMPLES
from tests.routing.paths.route_graphs import deck

SMALL = read_structure(EXAMPLES["small"])
STATION = read_structure(EXAMPLES["station"])
UP_TO_M = 36 * 0.0254


def case_of(protocol: str, *, load: bool = False, reels_m: tuple[float, ...] = ()) -> PeopleCase:
    situation = Situation(carry=SMALL.items[0] if load else None)
    return PeopleCase(
        structure=SMALL,
        situation=situation,
        protocol="reel" if protocol == "reel" else "leapfrog",
        kit=Kit(reels_m=reels_m) if reels_m else default_kit(situation.limits),
    )


def is_reached(case: PeopleCase, reach_m: float, worksite: str) -> bool:
    graph = build_graph(case.structure, with_reach(case.situation, reach_m))
    protocol: Protocol = case.protocol
    options = RouteOptions(kit=case.kit, explain=False)
    try:
        find_route(graph, "hatch", worksite, protocol=protocol, options=options)
    except NoRouteError:
        return False
    return True


@pytest.mark.parametrize("load", [False, True])
@pytest.mark.parametrize("protocol", ["leapfrog", "reel"])
def test_routes_are_there_just_above_and_not_just_below(protocol: str, load: bool) -> None:
    case = case_of(protocol, load=load)
    for worksite, falls in falling_off(case, UP_TO_M).items():
        assert falls.exact
        assert falls.reach_m is not None
        assert is_reached(case, falls.reach_m, worksite)
        assert not is_reached(case, falls.reach_m - BELOW_M, worksite)
        for reach_m in np.linspace(0.3, UP_TO_M, 9).tolist():
            assert is_reached(case, reach_m, worksite) == (reach_m >= falls.reach_m)


def test_the_small_example_by_hand() -> None:
    """The widest gap on the only way to W1 and W2 is 18 in: H02 to H03 (by_hand.md)."""
    falls = falling_off(case_of("leapfrog"), UP_TO_M)
    assert falls["W1"].reach_m == pytest.approx(18 * 0.0254, abs=1e-9)
    # A load leaves nine tenths of the reach.
    loaded = falling_off(case_of("leapfrog", load=True), UP_TO_M)
    assert loaded["W1"].reach_m == pytest.approx(18 * 0.0254 / 0.9, abs=1e-9)


def test_a_deck_falls_off_at_its_gaps() -> None:
    """All gaps of the deck are 0.4 m but for the two at the ends of H3, which are 0.5 m.

    The place of W2 is 0.5 m beside its handrail and 0.07 m below it, which takes more.
    """
    case = PeopleCase(
        structure=deck(),
        situation=Situation(),
        protocol="leapfrog",
        kit=default_kit(Situation().limits),
    )
    falls = falling_off(case, 1.0)
    assert falls["W2"].exact
    assert falls["W2"].reach_m == pytest.approx(np.hypot(0.5, 0.07))
    assert falls["W1"].reach_m == pytest.approx(0.5)


def test_what_no_reach_gets_to_is_beyond() -> None:
    falls = falling_off(case_of("reel", reels_m=(2.0,)), UP_TO_M)
    assert falls["W1"] == FallingOff(reach_m=None, not_below_m=UP_TO_M, exact=False)
    short = falling_off(case_of("leapfrog"), 0.4)
    assert short["W1"].reach_m is None
    assert short["W3"].reach_m is not None


def least_ways(found: Feasible) -> dict[str, float]:
    """The least way of each worksite that is reached."""
    ways_m = {site: found.least_way_m(site) for site in found.case.worksites}
    return {site: way_m for site, way_m in ways_m.items() if way_m is not None}


@pytest.mark.parametrize("reach_m", [0.61, 0.9])
def test_least_ways_equal_components_of_networkx(reach_m: float) -> None:
    """In one graph a worksite is in with just the moves up to its length, and not with fewer."""
    case = PeopleCase(
        structure=STATION,
        situation=Situation(),
        protocol="leapfrog",
        kit=default_kit(Situation().limits),
    )
    found = Feasible(case, reach_m)
    graph, rule = found.graph, hook_rule(found.graph)
    moves = graph.moves
    tails = np.repeat(np.arange(len(graph.grips)), np.diff(moves.indptr))
    hatches = {int(g) for place in found.hatches for g in place.grips}
    passed = (graph.grips.kind != GripKind.SOCKET)[tails]
    for site, way_m in least_ways(found).items():
        for limit_m, expected in ((way_m, True), (np.nextafter(way_m, 0.0), False)):
            kept = rule.allowed & passed & (moves.way_m <= limit_m)
            network = nx.DiGraph()
            network.add_nodes_from(hatches)
            network.add_edges_from(
                zip(tails[kept].tolist(), moves.head[kept].tolist(), strict=True)
            )
            reached = set().union(*(nx.descendants(network, hatch) for hatch in hatches))
            assert bool(reached & set(found.places[site].grips.tolist())) == expected
    assert len(least_ways(found)) > 20


def test_reels_by_halves_equal_one_length_after_the_other() -> None:
    case = replace(case_of("reel"), kit=Kit(reels_m=(7.5, 6.0)))
    found = Feasible(case, 0.7)
    ways_m = np.unique(found.graph.moves.way_m).tolist()
    for site, way_m in least_ways(found).items():
        first = next(one for one in ways_m if site in found._search_on_reels(one, [site]))  # noqa: SLF001 (the search itself)
        assert first == way_m
